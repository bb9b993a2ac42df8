#!/usr/bin/env bash
# Installs what is missing, builds, and runs every test.
#   tests/run.sh                 all tests
#   tests/run.sh -R "a pattern"  those whose name fits (anything ctest takes)
#   SANITIZE=1 tests/run.sh      the same under AddressSanitizer and UndefinedBehaviorSanitizer
#   CXX=clang++ tests/run.sh     with another compiler
#   BAYBOOK_SEED=17 tests/run.sh repeats a random run
set -euo pipefail
here=$(cd "$(dirname "$0")/.." && pwd)
"$here/tests/install.sh" tests
build=$here/build
options=()
if [[ -n "${SANITIZE:-}" ]]; then
  build+=-sanitize
  options+=(-DBAYBOOK_SANITIZE=ON)
fi
if [[ -n "${CXX:-}" ]]; then
  build+=-$(basename "$CXX")
  options+=(-DCMAKE_CXX_COMPILER="$CXX")
fi
cmake -S "$here" -B "$build" -G Ninja "${options[@]}" >/dev/null
cmake --build "$build"
# A zone that is not UTC and has summer time, so that nothing leans on UTC by accident.
TZ=America/St_Johns ctest --test-dir "$build" --output-on-failure --no-tests=error -j "$(nproc)" "$@"
