#!/usr/bin/env python3
"""Turns what llvm-cov counted (lcov form, on standard input) into the JSON that gcovr reads with -a, version 0.3 of its format.

    llvm-cov export -format=lcov ... | tests/quality/branches.py ROOT BUILD > branches.json

Clang counts the conditions of the source. GCC's arcs, which gcovr reads by itself, hold the clean-up of every temporary text as well, and
say nothing of what the tests try. A condition that the compiler knew beforehand (`if constexpr`) has no count and is left out.
"""
import json
import os
import sys

root, build = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2])


def path_of(told):
    # The compiler is told to forget where the tree lies (libledger/CMakeLists.txt), and llvm-cov then looks for it below the build folder.
    inside = os.path.relpath(told, build)
    return os.path.relpath(told, root) if inside.startswith('..') else inside


files = []
lines = None
for text in sys.stdin:
    kind, _, rest = text.strip().partition(':')
    if kind == 'SF':
        lines = {}
        files.append({'file': path_of(rest), 'lines': lines, 'functions': []})
    elif kind == 'DA':
        line, count = (int(x) for x in rest.split(',')[:2])
        lines[line] = {'line_number': line, 'count': count, 'branches': [], 'gcovr/noncode': False, 'gcovr/excluded': False}
    elif kind == 'BRDA':
        line, _, _, count = rest.split(',')
        entry = lines.setdefault(int(line), {'line_number': int(line), 'count': 0, 'branches': [], 'gcovr/noncode': False, 'gcovr/excluded': False})
        entry['branches'].append({'count': 0 if count == '-' else int(count), 'fallthrough': False, 'throw': False})
for f in files:
    f['lines'] = [f['lines'][n] for n in sorted(f['lines'])]
json.dump({'gcovr/format_version': '0.3', 'files': [f for f in files if not f['file'].startswith('..')]}, sys.stdout)
