#!/usr/bin/env python3
"""Breaks the code on purpose, one small change at a time, and counts how many of the changes the tests notice.

    tests/quality/mutants.py [--sample 200] [--seed 1] [--minutes 60] [--jobs 1]

Folders: libledger/src/log, store, quantity, fluids. A mutant flips a comparison or a sign, swaps and/or, negates a returned truth, or
drops a statement. All that were drawn are built into one tree, each behind a switch that the environment sets (BAYBOOK_MUTANT=number), so that
the tree is built once and not once for each; one that cannot stand behind a switch is built alone, and one that does not compile even so is drawn again.
Works on a copy of the tree; its figures are added to tests/quality/RESULTS.md by hand.
Prints a line for each mutant and the survivors at the end. Exit status 1 when fewer than 90 percent were caught.
"""
import argparse, concurrent.futures, os, random, re, shutil, signal, subprocess, sys, tempfile, time

FOLDERS = ['log', 'store', 'quantity', 'fluids']
SWAPS = [(' < ', ' <= '), (' <= ', ' < '), (' > ', ' >= '), (' >= ', ' > '), (' == ', ' != '), (' != ', ' == '), (' && ', ' || '),
         (' || ', ' && '), (' + ', ' - '), (' - ', ' + '), (' * ', ' / '), ('return true;', 'return false;'), ('return false;', 'return true;')]
STATEMENT = re.compile(r'^\s+(?!return|assert|throw|break|continue|using|static|const|constexpr|auto|case|default|namespace|friend|if|for|while|else|std::|int |bool |char )[A-Za-z_][\w:.\->\[\]()*&, "]*(\(.*\)|[+\-*/|&^]?= .*|\+\+|--);\s*(//.*)?$')
# In a scope of its own it would end at once: `Held held(db);`.
DECLARATION = re.compile(r'^\s+[\w:<>]+[&*]? [\w]+(\(|\{| = )')
SWITCHES = '''// Written by tests/quality/mutants.py.
#pragma once
#ifdef __cplusplus
#include <cstdlib>
namespace mutants {
inline int chosen() {
  static const int n = [] { const char* text = std::getenv("BAYBOOK_MUTANT"); return text == nullptr ? -1 : std::atoi(text); }();
  return n;
}
inline bool on(int n) { return chosen() == n; }
}
#endif
'''


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


class Mutant:
    def __init__(self, path, n, at, was, now, line):
        self.path, self.n, self.at, self.was, self.now, self.line = path, n, at, was, now, line

    def words(self):
        return f'{self.path}:{self.n + 1}: "{self.was.strip()}" -> "{self.now.strip()}"'

    def changed(self):
        return self.line[:self.at] + self.now + self.line[self.at + len(self.was):]

    def drops(self):
        return self.was == self.line

    def part(self):
        """(from, to) of what is written twice, once as it is and once changed; None where that takes more than its line."""
        if self.drops(): return None if DECLARATION.match(self.line) else (len(self.line) - len(self.line.lstrip()), len(self.line))
        bare = code_only(self.line)
        if self.was.startswith('return'): return (self.at + len('return '), self.at + len(self.was) - 1)
        depth, i = 0, self.at - 1
        while i >= 0:
            c = bare[i]
            if c in ')]}': depth += 1
            elif c in '([{':
                if depth == 0: break
                depth -= 1
            elif depth == 0:
                if c in ',;?' or (c == ':' and ':' not in (bare[i - 1], bare[i + 1])): break
                if c == '=' and bare[i - 1] not in '=<>!' and bare[i + 1] != '=': break
                if bare.startswith('return ', i) and (i == 0 or bare[i - 1] == ' '):
                    i += len('return ') - 1
                    break
            i -= 1
        if i < 0: return None
        begin = i + 1
        depth, i = 0, self.at
        while i < len(bare):
            c = bare[i]
            if c in '([{': depth += 1
            elif c in ')]}':
                if depth == 0: break
                depth -= 1
            elif depth == 0 and (c in ',;?' or (c == ':' and ':' not in (bare[i - 1], bare[i + 1:i + 2]))): break
            i += 1
        return None if i == len(bare) else (begin, i)


def behind_switches(line, mutants):
    """The line with each of them (number, mutant) behind its switch; those that would lie across one another are left out, and told."""
    out, taken, left = line, [], []
    parts = []
    for number, m in mutants:
        part = m.part()
        if part is None or any(part[0] < t[1] and t[0] < part[1] for t in taken): left.append(number)
        else:
            taken.append(part)
            parts.append((part, number, m))
    for (begin, end), number, m in sorted(parts, key=lambda p: p[0][0], reverse=True):
        was = line[begin:end]
        if m.drops(): new = f'{{ if (!::mutants::on({number})) {was.split("  //")[0]} }}'
        else:
            now = m.changed()[begin:end + len(m.now) - len(m.was)]
            new = f' (::mutants::on({number}) ? ({now}) : ({was})) '
        out = out[:begin] + new + out[end:]
    return out, left


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
                            found.append(Mutant(path, n, at, a, b, line))
                        at = bare.find(a, at + 1)
                if STATEMENT.match(bare.replace('_', 'x')): found.append(Mutant(path, n, 0, line, re.match(r'\s*', line).group(0) + ';', line))
    return found


def run(command, cwd, timeout, number=None):
    place = dict(os.environ)
    # Thousands of small books, each synced: in memory, where there is a file system for that.
    if os.path.isdir('/dev/shm') and 'TMPDIR' not in place: place['TMPDIR'] = '/dev/shm'
    if number is not None: place['BAYBOOK_MUTANT'] = str(number)
    child = subprocess.Popen(command, cwd=cwd, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True, env=place)
    try:
        outcome = child.wait(timeout)
    except subprocess.TimeoutExpired:
        outcome = 'hung'
    try:
        os.killpg(child.pid, signal.SIGKILL)  # and what it may have started
    except ProcessLookupError:
        pass
    child.wait()
    return outcome


def steps(programs):
    """What is run for a mutant, each until its first failure: the golden books first, they notice most, and soon."""
    book = next(p for p in programs if p.endswith('baybook_book_tests'))
    return [[p, '--abort-after=1'] + only for p, *only in [[book, '-ts=book/golden']] + [[p] for p in programs]]


def first_failure(commands, cwd, limits, number=None):
    """0 when all tests pass, else what the first program said that noticed something."""
    for command, limit in zip(commands, limits):
        outcome = run(command, cwd, limit, number)
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


class Tree:
    def __init__(self, source, work):
        self.root, self.build = os.path.join(work, 'tree'), os.path.join(work, 'build')
        if not os.path.isdir(self.root):
            # Build folders lie at the top of the tree; below it build.cpp is code.
            shutil.copytree(source, self.root, ignore=lambda folder, names: [n for n in names if folder == source and (n.startswith('build') or n == '.git')], symlinks=True)
        with open(os.path.join(work, 'switches.hpp'), 'w') as f: f.write(SWITCHES)
        self.targets = ['baybook_' + n + '_tests' for n in ('quantity', 'log', 'text', 'store', 'book', 'attack')]  # attack last
        # An error in a warning is no test that failed: a mutant may leave a variable unused.
        if run(['cmake', '-S', self.root, '-B', self.build, '-G', 'Ninja', '-DCMAKE_BUILD_TYPE=None', f'-DCMAKE_CXX_FLAGS=-O1 -fmax-errors=0 -include {work}/switches.hpp',
                '-DBAYBOOK_STRICT=OFF', '-DCMAKE_CXX_COMPILER_LAUNCHER=ccache'], self.root, 600) != 0: sys.exit('cmake failed')
        self.commands = steps([os.path.join(self.build, 'tests', t) for t in self.targets])
        self.texts = {}

    def write(self, path, lines):
        full = os.path.join(self.root, path)
        if path not in self.texts: self.texts[path] = open(full, encoding='utf-8').read()
        with open(full, 'w', encoding='utf-8') as f: f.write('\n'.join(lines))

    def lines(self, path):
        return (self.texts.get(path) or open(os.path.join(self.root, path), encoding='utf-8').read()).split('\n')

    def restore(self, path):
        with open(os.path.join(self.root, path), 'w', encoding='utf-8') as f: f.write(self.texts[path])

    def make(self):
        return run(['ninja', '-C', self.build] + self.targets, self.root, 7200) == 0

    def errors(self):
        """The lines the compiler does not take, by file; {} when it takes all."""
        made = subprocess.run(['ninja', '-k', '0', '-C', self.build, 'baybook_ledger'], cwd=self.root, capture_output=True, text=True)
        if made.returncode == 0: return {}
        wrong = {}
        # The place it is asked for too: the error itself may be told within a header.
        for path, n in re.findall(r'(libledger/src/\w+/\w+\.cpp):(\d+):\d+:\s+(?:error|required from)', made.stdout + made.stderr): wrong.setdefault(path, set()).add(int(n) - 1)
        if not wrong: sys.exit('the tree does not build:\n' + made.stdout[-3000:])
        return wrong

    def tests_for(self, path):
        # Damaged files are for what reads files; elsewhere they would only make the longest step of each mutant that nothing notices.
        return len(self.commands) if '/log/' in path or '/store/' in path else len(self.commands) - 1


def put_behind_switches(tree, drawn):
    """Writes the tree with all that can be switched; the numbers of those that cannot."""
    alone = set()
    while True:
        for path in {m.path for m in drawn}:
            lines = tree.lines(path)
            for n in {m.n for m in drawn if m.path == path}:
                here = [(i, m) for i, m in enumerate(drawn) if m.path == path and m.n == n and i not in alone]
                lines[n], left = behind_switches(lines[n], here)
                alone.update(left)
            tree.write(path, lines)
        wrong = tree.errors()
        if not wrong: return alone
        named = {i for i, m in enumerate(drawn) if i not in alone and m.n in wrong.get(m.path, ())}
        # Told of another line of the statement: the whole file's then.
        for path in wrong:
            if not any(drawn[i].path == path for i in named): named.update(i for i, m in enumerate(drawn) if m.path == path and i not in alone)
        if not named: sys.exit('the tree does not build')
        alone.update(named)


def main():
    p = argparse.ArgumentParser()
    p.add_argument('--sample', type=int, default=200)
    p.add_argument('--seed', type=int, default=1)
    p.add_argument('--skip', type=int, default=0, help='mutants of this seed that an earlier run has done')
    p.add_argument('--minutes', type=float, default=1e9)
    p.add_argument('--jobs', type=int, default=1)
    p.add_argument('--work', default='')
    a = p.parse_args()
    source = os.path.abspath(os.path.join(os.path.dirname(__file__), '..', '..'))
    work = os.path.abspath(a.work) if a.work else tempfile.mkdtemp(prefix='baybook-mutants-')
    os.makedirs(work, exist_ok=True)
    tree = Tree(source, work)
    pool = candidates(tree.root)
    random.Random(a.seed).shuffle(pool)
    # Some do not compile, and others are drawn for them.
    drawn = pool[:a.sample + a.sample // 4]
    alone = put_behind_switches(tree, drawn)
    if not tree.make(): sys.exit('the tree does not build')
    limits = limits_of(tree.commands, tree.root)
    print(f'{len(pool)} places, seed {a.seed}; {len(alone)} of {len(drawn)} are built alone; the tests may take', ' '.join(f'{l:.0f}' for l in limits), 's', flush=True)
    end = time.monotonic() + a.minutes * 60
    outcomes, uncompiled = {}, set()

    def told(i, outcome):
        outcomes[i] = outcome
        print('SURVIVED' if outcome == 0 else 'caught (hung)' if outcome == 'hung' else 'caught', i, drawn[i].words(), flush=True)

    def tried(i):
        if time.monotonic() > end: return None
        met = tree.tests_for(drawn[i].path)
        return first_failure(tree.commands[:met], tree.root, limits[:met], i)

    with concurrent.futures.ThreadPoolExecutor(a.jobs) as pool_of_threads:
        switched = [i for i in range(a.skip, a.sample) if i not in alone]
        for i, outcome in zip(switched, pool_of_threads.map(tried, switched)):
            if outcome is not None: told(i, outcome)
    for path in {m.path for m in drawn}: tree.restore(path)
    more = iter(range(a.sample, len(drawn)))
    waiting = [i for i in range(a.skip, a.sample) if i in alone]
    while waiting and time.monotonic() < end:
        i = waiting.pop(0)
        m = drawn[i]
        lines = tree.lines(m.path)
        lines[m.n] = m.changed()
        tree.write(m.path, lines)
        try:
            if not tree.make():
                uncompiled.add(i)
                waiting.extend([j] if (j := next(more, None)) is not None else [])
                continue
            told(i, tried(i))
        finally:
            tree.restore(m.path)
    survivors = [i for i, outcome in sorted(outcomes.items()) if outcome == 0]
    caught = len(outcomes) - len(survivors)
    print(f'\n{len(outcomes)} mutants, {caught} caught, {len(survivors)} survived, {len(uncompiled)} did not compile')
    for i in survivors: print('survivor:', drawn[i].words() + '    in: ' + drawn[i].line.strip())
    if not a.work: shutil.rmtree(work, ignore_errors=True)
    sys.exit(0 if outcomes and caught >= 0.9 * len(outcomes) else 1)


main()
