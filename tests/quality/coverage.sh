#!/usr/bin/env bash
# Which branches of the log, the store, the quantities and the fluids the tests take, by gcovr; fails below 95 percent.
#   tests/quality/coverage.sh [BUILD]     a build folder of its own (else build-coverage)
set -euo pipefail
here=$(cd "$(dirname "$0")/../.." && pwd)
build=${1:-$here/build-coverage}
"$here/tests/install.sh" tests
command -v gcovr >/dev/null || { sudo=(); [[ $(id -u) -eq 0 ]] || sudo=(sudo); "${sudo[@]}" apt-get install -y -qq --no-install-recommends gcovr >/dev/null; }
# Lines and branches as they are written: no optimisation, no inlining across them.
cmake -S "$here" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_FLAGS="-O0 --coverage -fno-inline" -DBAYBOOK_STRICT=OFF >/dev/null
cmake --build "$build" >/dev/null
find "$build" -name '*.gcda' -delete
# Two attacks work for many minutes where nothing is optimised, and take no branch that the others do not.
ctest --test-dir "$build" -j "$(nproc)" --output-on-failure -R "${TESTS:-^(quantity|log|text|book|returns|due|tools|attack|fuzz):}" -E '^attack:(huge and malformed|whatever a validly)' >"$build/ctest.log" || { tail -40 "$build/ctest.log"; exit 1; }
report() {
  gcovr -r "$here" --object-directory "$build" --branches --exclude-throw-branches --exclude-unreachable-branches \
    -f "libledger/src/log/" -f "libledger/src/store/" -f "libledger/src/quantity/" -f "libledger/src/fluids/" "$@"
}
report
report --csv -o "$build/branches.csv"
report --fail-under-branch 95 >/dev/null
