#!/usr/bin/env python3
"""Names each condition that no test made true, or none made false, from what llvm-cov counted (its JSON, on standard input).

    llvm-cov export -format=text ... | tests/quality/untaken.py ROOT BUILD FOLDER...

One line a file: its path, then the conditions, "+" those that were never true, "-" those that were never false, "0" those never reached.
"""
import json
import os
import re
import sys

root, build, folders = os.path.abspath(sys.argv[1]), os.path.abspath(sys.argv[2]), sys.argv[3:]
for f in json.load(sys.stdin)['data'][0]['files']:
    inside = os.path.relpath(f['filename'], build)
    path = os.path.relpath(f['filename'], root) if inside.startswith('..') else inside
    if not any(path.startswith(folder) for folder in folders): continue
    taken = {}
    for line, column, end_line, end_column, true, false, *_ in f['branches']:
        sums = taken.setdefault((line, column, end_line, end_column), [0, 0])
        sums[0] += true
        sums[1] += false
    source = open(os.path.join(root, path), encoding='utf-8').read().split('\n')
    named = []
    for (line, column, end_line, end_column), (true, false) in sorted(taken.items()):
        if true and false: continue
        text = source[line - 1][column - 1:end_column - 1 if line == end_line else None]
        if line != end_line: text += ' ...'
        # A loop over a range has no condition of its own in the text.
        if text == ':': text = source[line - 1].strip().split(':')[0] + ': ...)'
        named.append(('0' if not true and not false else '+' if not true else '-') + f'{line} `{re.sub(" +", " ", text).replace("`", " ")}`')
    if named: print(f'{path}: ' + ', '.join(named))
