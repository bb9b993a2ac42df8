#!/usr/bin/env python3
"""Hands what clang counted to gcovr, and names each condition that no test made true, or none made false.

    llvm-cov export -format=text ... | tests/quality/branches.py ROOT BUILD TRACEFILE FOLDER...

Reads llvm-cov's JSON and writes TRACEFILE, the JSON that gcovr reads with -a (version 0.3 of its format); both tell the files below FOLDER alone. Clang counts the
conditions of the source: GCC's arcs, which gcovr reads by itself, hold the clean-up of every temporary text as well, and say nothing of
what the tests try. Prints a line for each file: its path, then the conditions, "+" those that were never true, "-" those that were never
false, "0" those never reached.
"""
import json
import os
import re
import sys

root, build, tracefile, folders = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), sys.argv[3], sys.argv[4:]


def path_of(told):
    # The compiler is told to forget where the tree lies (libledger/CMakeLists.txt), and llvm-cov then looks for it below the build folder.
    inside = os.path.relpath(told, build)
    return os.path.relpath(told, root) if inside.startswith('..') else inside


def conditions(branches):
    """Of each place in the source how often it was true and false, in all the functions made of it."""
    taken = {}
    for line, column, end_line, end_column, true, false, *_ in branches:
        sums = taken.setdefault((line, column, end_line, end_column), [0, 0])
        sums[0] += true
        sums[1] += false
    return sorted(taken.items())


def words(source, line, column, end_line, end_column):
    text = source[line - 1][column - 1:end_column - 1] if line == end_line else source[line - 1][column - 1:] + ' ...'
    # A loop over a range has no condition of its own in the text.
    if text == ':': text = source[line - 1].strip().split(':')[0] + ': ...)'
    return re.sub(' +', ' ', text).replace('`', ' ')


files = []
for f in json.load(sys.stdin)['data'][0]['files']:
    path = path_of(f['filename'])
    if not any(path.startswith(folder) for folder in folders): continue
    source = open(os.path.join(root, path), encoding='utf-8').read().split('\n')
    lines, named = {}, []
    for place, (true, false) in conditions(f['branches']):
        entry = lines.setdefault(place[0], {'line_number': place[0], 'count': 0, 'branches': [], 'gcovr/noncode': False, 'gcovr/excluded': False})
        entry['count'] += true + false
        entry['branches'] += [{'count': n, 'fallthrough': False, 'throw': False} for n in (true, false)]
        if not (true and false): named.append(('0' if not true and not false else '+' if not true else '-') + f'{place[0]} `{words(source, *place)}`')
    if named: print(f'{path}: ' + ', '.join(named))
    files.append({'file': path, 'lines': [lines[n] for n in sorted(lines)], 'functions': []})
json.dump({'gcovr/format_version': '0.3', 'files': files}, open(tracefile, 'w', encoding='utf-8'))
