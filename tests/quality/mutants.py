#!/usr/bin/env python3
"""Breaks the code on purpose, one small change at a time, and counts how many of the changes the tests notice.

    tests/quality/mutants.py [--sample 200] [--seed 1] [--minutes 60]

Folders: libledger/src/log, store, quantity, fluids. A mutant flips a comparison or a sign, swaps and/or, negates a returned truth, or
drops a statement. One that does not compile is drawn again. Works on a copy of the tree; its figures are added to tests/quality/RESULTS.md by hand.
Prints a line for each mutant and the survivors at the end. Exit status 1 when fewer than 90 percent were caught.
"""
import argparse, os, random, re, shutil, signal, subprocess, sys, tempfile, time

FOLDERS = ['log', 'store', 'quantity', 'fluids']
SWAPS = [(' < ', ' <= '), (' <= ', ' < '), (' > ', ' >= '), (' >= ', ' > '), (' == ', ' != '), (' != ', ' == '), (' && ', ' || '),
         (' || ', ' && '), (' + ', ' - '), (' - ', ' + '), (' * ', ' / '), ('return true;', 'return false;'), ('return false;', 'return true;')]
STATEMENT = re.compile(r'^\s+(?!return|throw|break|continue|using|static|const|constexpr|auto|case|default|namespace|friend|if|for|while|else|std::|int |bool |char )[A-Za-z_][\w:.\->\[\]()*&, "]*(\(.*\)|[+\-*/|&^]?= .*|\+\+|--);\s*(//.*)?$')


def code_only(line):
    """The line with strings and comments blanked, so that what is flipped is code."""
    out, i, quote = [], 0, None
    while i < len(line):
        c = line[i]
        if quote:
            if c == '\\': out.append('__'); i += 2; continue
            if c == quote: quote = None
            out.append('_')
        elif c in '"\'' and not (c == "'" and i and line[i - 1].isdigit()):
            quote = c; out.append('_')
        elif line.startswith('//', i):
            out.append('_' * (len(line) - i)); break
        else:
            out.append(c)
        i += 1
    return ''.join(out)


def candidates(root):
    found = []
    for folder in FOLDERS:
        base = os.path.join(root, 'libledger', 'src', folder)
        for name in sorted(os.listdir(base)):
            if not name.endswith('.cpp'): continue
            path = os.path.join('libledger', 'src', folder, name)
            raw = False
            for n, line in enumerate(open(os.path.join(root, path), encoding='utf-8')):
                if raw or 'R"' in line:  # a raw string: SQL, not code
                    raw = ')"' not in line
                    continue
                line = line.rstrip('\n')
                bare = code_only(line)
                for a, b in SWAPS:
                    at = bare.find(a)
                    while at >= 0:
                        if not (a in (' < ', ' > ') and ('template' in bare or 'static_cast' in bare)):
                            found.append((path, n, at, a, b))
                        at = bare.find(a, at + 1)
                if STATEMENT.match(bare.replace('_', 'x')): found.append((path, n, 0, line, re.match(r'\s*', line).group(0) + ';'))
    return found


def run(command, cwd, timeout):
    # Thousands of small books, each synced: in memory, where there is a file system for that.
    place = dict(os.environ, TMPDIR='/dev/shm') if os.path.isdir('/dev/shm') and 'TMPDIR' not in os.environ else None
    child = subprocess.Popen(command, cwd=cwd, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True, env=place)
    try:
        return child.wait(timeout)
    except subprocess.TimeoutExpired:
        os.killpg(child.pid, signal.SIGKILL)
        child.wait()
        return 'hung'


def steps(programs):
    """What is run for a mutant, each until its first failure: the golden books first, they notice most, and soon."""
    book = next(p for p in programs if p.endswith('baybook_book_tests'))
    return [[p, '--abort-after=1'] + only for p, *only in [[book, '-ts=book/golden']] + [[p] for p in programs]]


def first_failure(commands, cwd, limits):
    """0 when all tests pass, else what the first program said that noticed something."""
    for command, limit in zip(commands, limits):
        outcome = run(command, cwd, limit)
        if outcome != 0: return outcome
    return 0


def limits_of(commands, cwd):
    """What each step may take with a mutant in it, from what it takes without: a loop that never ends is told in a minute, a slow machine is not one."""
    limits = []
    for command in commands:
        begun = time.monotonic()
        if run(command, cwd, 1200) != 0: sys.exit('the tests fail without any mutant: ' + ' '.join(command))
        limits.append(60 + 10 * (time.monotonic() - begun))
    return limits


def main():
    p = argparse.ArgumentParser()
    p.add_argument('--sample', type=int, default=200)
    p.add_argument('--seed', type=int, default=1)
    p.add_argument('--skip', type=int, default=0, help='mutants of this seed that an earlier run has done')
    p.add_argument('--minutes', type=float, default=1e9)
    p.add_argument('--work', default='')
    a = p.parse_args()
    source = os.path.abspath(os.path.join(os.path.dirname(__file__), '..', '..'))
    work = a.work or tempfile.mkdtemp(prefix='baybook-mutants-')
    tree, build = os.path.join(work, 'tree'), os.path.join(work, 'build')
    if not os.path.isdir(tree):
        # Build folders lie at the top of the tree; below it build.cpp is code.
        shutil.copytree(source, tree, ignore=lambda folder, names: [n for n in names if folder == source and (n.startswith('build') or n == '.git')], symlinks=True)
    targets = ['baybook_' + n + '_tests' for n in ('quantity', 'log', 'text', 'store', 'book', 'attack')]  # attack last
    # An error in a warning is no test that failed: a mutant may leave a variable unused.
    if run(['cmake', '-S', tree, '-B', build, '-G', 'Ninja', '-DCMAKE_BUILD_TYPE=None', '-DCMAKE_CXX_FLAGS=-O1', '-DBAYBOOK_STRICT=OFF', '-DCMAKE_CXX_COMPILER_LAUNCHER=ccache'], tree, 600) != 0: sys.exit('cmake failed')
    if run(['ninja', '-C', build] + targets, tree, 7200) != 0: sys.exit('the tree does not build')
    tests = [os.path.join(build, 'tests', t) for t in targets]
    commands = steps(tests)
    limits = limits_of(commands, tree)
    pool = candidates(tree)
    random.Random(a.seed).shuffle(pool)
    print(f'{len(pool)} places, seed {a.seed}; the tests may take', ' '.join(f'{l:.0f}' for l in limits), 's', flush=True)
    done, caught, survivors, uncompiled = 0, 0, [], 0
    end = time.monotonic() + a.minutes * 60
    for path, n, at, was, now in pool:
        if done >= a.sample or time.monotonic() > end: break
        if done < a.skip:
            done += 1  # an earlier run's; those that did not compile there are counted in too
            continue
        full = os.path.join(tree, path)
        text = open(full, encoding='utf-8').read()
        lines = text.split('\n')
        lines[n] = lines[n][:at] + now + lines[n][at + len(was):]
        open(full, 'w', encoding='utf-8').write('\n'.join(lines))
        try:
            if run(['ninja', '-C', build] + targets, tree, 1800) != 0:
                uncompiled += 1
                continue
            # Damaged files are for what reads files; elsewhere they would only make the longest step of each mutant that nothing notices.
            met = len(commands) if '/log/' in path or '/store/' in path else len(commands) - 1
            outcome = first_failure(commands[:met], tree, limits)
        finally:
            open(full, 'w', encoding='utf-8').write(text)
        done += 1
        what = f'{path}:{n + 1}: "{was.strip()}" -> "{now.strip()}"'
        if outcome == 0:
            survivors.append(what + '    in: ' + text.split('\n')[n].strip())
            print('SURVIVED', what, flush=True)
        else:
            caught += 1
            print('caught' if outcome != 'hung' else 'caught (hung)', what, flush=True)
    tried = done - min(a.skip, done)
    print(f'\n{tried} mutants, {caught} caught, {len(survivors)} survived, {uncompiled} did not compile')
    for s in survivors: print('survivor:', s)
    if not a.work: shutil.rmtree(work, ignore_errors=True)
    sys.exit(0 if tried and caught >= 0.9 * tried else 1)


main()
