#!/usr/bin/env bash
# The benchmarks write books by a clock of their own: what refuses such a clock, or such a book, must
# not leave them behind. Nothing here asks how long it took.
#   bench_test.sh BENCHES BAYBOOK   the folder of the benchmarks, and the command
set -euo pipefail
benches=$1
baybook=$2
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
"$benches/baybook_load" "$work/small.baybook" --entries 300 >"$work/said"
"$baybook" --book "$work/small.baybook" prove | grep -q '^sound: ' || { echo "the loader's book is not sound"; exit 1; }
"$benches/baybook_append_bench" "$work/small.baybook" --count 20 --rounds 1 >>"$work/said"
"$benches/baybook_due_load" "$work/due.baybook" 20 >>"$work/said"
[[ -s "$work/said" ]] || { echo "a benchmark says nothing"; exit 1; }
