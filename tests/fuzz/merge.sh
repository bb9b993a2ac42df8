#!/usr/bin/env bash
# Takes what the fuzzers found into corpus/TARGET: the smallest set of inputs that reaches what all of them reach, and of these, when
# they are too many, short and long ones evenly: at most 200 files and 200 KB a target.
#   tests/fuzz/merge.sh [TARGET...]
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
source "$here/common.sh"
targets=("$@")
[[ ${#targets[@]} -gt 0 ]] || mapfile -t targets < <(names)
build_targets "${targets[@]}"
for target in "${targets[@]}"; do
  work=$build/work/$target
  mkdir -p "$work/corpus" "$here/corpus/$target"
  rm -rf "$work/merged"
  mkdir "$work/merged"
  nice -n 19 "$build/tests/baybook_fuzz_$target" -merge=1 -rss_limit_mb=2048 -timeout=25 -max_len="$(longest_of "$target")" \
    "$work/merged" "$here/corpus/$target" "$work/corpus" >"$work/merge.log" 2>&1
  rm -rf "$here/corpus/$target"
  mkdir "$here/corpus/$target"
  bytes=0 files=0
  # Too many: evenly from the shortest to the longest, for each kind of them reaches something.
  while read -r size file; do
    ((bytes + size <= 200000)) || continue
    cp "$file" "$here/corpus/$target/"
    bytes=$((bytes + size)) files=$((files + 1))
  done < <(find "$work/merged" -type f -printf '%s %p\n' | sort -n | awk '{ row[NR] = $0 }
    END { most = (NR < 200) ? NR : 200; for (i = 1; i <= most; ++i) print row[int(i * NR / most)] }')
  echo "$target: $files files, $bytes bytes of $(find "$work/merged" -type f | wc -l) that count"
done
