# What run.sh, merge.sh and sum.sh share; targets.list says what a target reads. `here` and `root` are set by who sources it.
build=${BUILD:-$root/build-fuzz}

row_of() {
  grep "^$1|" "$here/targets.list" || { echo "no target $1; one of: $(names | tr '\n' ' ')" >&2; return 2; }
}
names() { grep -v '^#' "$here/targets.list" | cut -d'|' -f1; }
longest_of() { row_of "$1" | cut -d'|' -f2; }
dictionary_of() { row_of "$1" | cut -d'|' -f3; }
# Twelve digits over the bytes of the reader's source and of the target: what was fuzzed, whatever its history is.
digest_of() {
  local files
  # shellcheck disable=SC2086 -- globs
  files=$(cd "$root" && ls $(row_of "$1" | cut -d'|' -f4) "tests/fuzz/targets/$1.cpp" tests/fuzz/property.hpp)
  (cd "$root" && LC_ALL=C sort <<<"$files" | xargs cat | sha256sum | cut -c1-12)
}
# What the program of a target was built from, written beside it: the source may have changed since.
reader_of() { cat "$build/tests/baybook_fuzz_$1.reader"; }
# PREBUILT=1: the programs are there already, and stay as they are.
build_targets() {
  [[ -z ${PREBUILT:-} ]] || return 0
  local programs=() digests=()
  for target in "$@"; do
    digests+=("$(digest_of "$target")")
    programs+=("baybook_fuzz_$target")
  done
  if [[ ! -e $build/build.ninja ]]; then
    cmake -S "$root" -B "$build" -G Ninja -DCMAKE_BUILD_TYPE=None -DCMAKE_CXX_COMPILER="${CXX:-clang++}" \
      -DCMAKE_CXX_FLAGS="-O2 -gline-tables-only" -DBAYBOOK_FUZZ=ON ${LAUNCHER:+-DCMAKE_CXX_COMPILER_LAUNCHER=$LAUNCHER} >/dev/null
  fi
  nice ninja -C "$build" "${programs[@]}" >"$build/build.log" || { tail -n 40 "$build/build.log" >&2; return 1; }
  for i in "${!programs[@]}"; do echo "${digests[$i]}" >"$build/tests/${programs[$i]}.reader"; done
}
