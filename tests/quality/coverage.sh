#!/usr/bin/env bash
# Which branches of the log, the store, the quantities and the fluids the tests take: counted by clang in the source, reported by gcovr.
#   tests/quality/coverage.sh [BUILD]     a build folder of its own (else build-coverage)
# Prints what is not covered, branch by branch and file by file; ends with 1 below 95 percent. Why some cannot be: tests/quality/RESULTS.md.
set -euo pipefail
here=$(cd "$(dirname "$0")/../.." && pwd)
build=${1:-$here/build-coverage}
mkdir -p "$build"
build=$(cd "$build" && pwd)
"$here/tests/install.sh" tests
"$here/tests/install.sh" quality
# The clang and the tools that read its counts are of one version.
version=$(clang++ -dumpversion | cut -d. -f1)
# Every program writes its counts when it ends, a command that a test starts with an empty environment too: the path is compiled in.
counts=$build/counts
cmake -S "$here" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_COMPILER=clang++ -DBAYBOOK_STRICT=OFF \
  -DCMAKE_CXX_FLAGS="-O1 -fcoverage-mapping -fprofile-instr-generate=$counts/%4m.profraw" >/dev/null
cmake --build "$build" >"$build/build.log"
rm -rf "$counts"
# Some tests go on as somebody who owns nothing here, and their counts are wanted too.
mkdir -m 1777 "$counts"
umask 0
# Not run: two attacks and three faults that take long and no branch that the others do not, and the disk that fails at each call, for the
# counts are files themselves.
ctest --test-dir "$build" -j "$(nproc)" --output-on-failure -E '^attack:(huge and malformed|whatever a validly)|^faults: (killed|power|disk)|^package:' \
  >"$build/ctest.log" || { tail -40 "$build/ctest.log"; exit 1; }
"llvm-profdata-$version" merge -sparse "$counts"/*.profraw -o "$build/all.profdata"
programs=("$build/tools/baybook")
for program in "$build"/tests/baybook_*_tests; do programs+=(-object "$program"); done
folders=(libledger/src/log/ libledger/src/store/ libledger/src/quantity/ libledger/src/fluids/)
"llvm-cov-$version" export -format=text -instr-profile="$build/all.profdata" "${programs[@]}" 2>/dev/null \
  | "$here/tests/quality/branches.py" "$here" "$build" "$build/branches.json" "${folders[@]}" >"$build/untaken.txt"
report() {
  (cd "$here" && gcovr -r "$here" -a "$build/branches.json" --branches "${folders[@]/#/-f}" "$@")
}
report
echo "Never true (+), never false (-), never reached (0):"
cat "$build/untaken.txt"
report --csv -o "$build/branches.csv"
report --fail-under-branch 95 >/dev/null
