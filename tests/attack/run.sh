#!/usr/bin/env bash
# Damages books by accident and by hand, and opens what was made to hurt: docs/promises.md has the promises, this has the figures.
#   tests/attack/run.sh            the short run that ctest does
#   tests/attack/run.sh --full     every case: 6,000 flipped bits, every page, sector and cut, every column, every field of a body
#   SANITIZE=1 tests/attack/run.sh the same under AddressSanitizer and UndefinedBehaviorSanitizer
# BAYBOOK_ATTACK_PROGRAM=FILE runs a program that is built already. Prints one JSON line for each threat: how many runs, what was found by prove,
# only by a printed seal, without effect, refused, missed, written to, crashed, hung. The last four must be 0.
set -euo pipefail
here=$(cd "$(dirname "$0")/../.." && pwd)
[[ "${1:-}" != --full ]] || export BAYBOOK_ATTACK=full
program=${BAYBOOK_ATTACK_PROGRAM:-}
if [[ -z "$program" ]]; then
  "$here/tests/install.sh" tests
  build=$here/build options=()
  if [[ -n "${SANITIZE:-}" ]]; then
    build+=-sanitize
    options+=(-DBAYBOOK_SANITIZE=ON)
  fi
  cmake -S "$here" -B "$build" -G Ninja "${options[@]}" >/dev/null
  cmake --build "$build" --target baybook_attack_tests >/dev/null
  program=$build/tests/baybook_attack_tests
fi
figures=$(mktemp)
trap 'rm -f "$figures"' EXIT
status=0
BAYBOOK_FIGURES=$figures "$program" >&2 || status=$?
cat "$figures"
exit "$status"
