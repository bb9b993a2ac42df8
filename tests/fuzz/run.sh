#!/usr/bin/env bash
# Fuzzes each target (or those named) for that many seconds of processor time, and adds a line for each to LOG.md.
#   tests/fuzz/run.sh SECONDS [TARGET...]
# BUILD=folder: where it is built (build-fuzz). What is found beyond the corpus in the tree stays in BUILD/work/TARGET/corpus until
# tests/fuzz/merge.sh takes the best of it. A crash is copied to crashes/TARGET, and the status is 1.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
source "$here/common.sh"
seconds=${1:?usage: tests/fuzz/run.sh SECONDS [TARGET...]}
shift
targets=("$@")
[[ ${#targets[@]} -gt 0 ]] || mapfile -t targets < <(names)
build_targets "${targets[@]}"

status=0
for target in "${targets[@]}"; do
  work=$build/work/$target
  mkdir -p "$work/corpus" "$work/found" "$here/corpus/$target" "$here/crashes/$target"
  digest=$(reader_of "$target")
  options=(-rss_limit_mb=2048 -timeout=25 -max_len="$(longest_of "$target")" -print_final_stats=1 -artifact_prefix="$work/found/")
  dictionary=$(dictionary_of "$target")
  [[ $dictionary == - ]] || options+=(-dict="$here/dictionaries/$dictionary.dict")
  # The clock on the wall runs faster than the processor's when others build: go on until the time is really used.
  hundredths=0 runs=0 cov=0 features=0 crashes=0
  while ((hundredths / 100 + 2 <= seconds)); do
    rc=0
    TIMEFORMAT='%U %S'
    { time nice -n 19 "$build/tests/baybook_fuzz_$target" "${options[@]}" -max_total_time=$((seconds - hundredths / 100)) \
      "$work/corpus" "$here/corpus/$target" "$here/crashes/$target" >"$work/log" 2>&1 || rc=$?; } 2>"$work/time"
    read -r user system < <(tail -n 1 "$work/time")
    hundredths=$((hundredths + 10#${user/./} / 10 + 10#${system/./} / 10))
    runs=$((runs + $(sed -n 's/^stat::number_of_executed_units: *//p' "$work/log" | tail -n 1 | grep . || echo 0)))
    last=$(grep -E '^#[0-9]+' "$work/log" | tail -n 1 || true)
    [[ $last =~ cov:\ ([0-9]+) ]] && cov=${BASH_REMATCH[1]}
    [[ $last =~ ft:\ ([0-9]+) ]] && features=${BASH_REMATCH[1]}
    if [[ $rc -ne 0 ]]; then
      cp "$work/log" "$work/log.crash"
      tail -n 2 "$work/log" >&2
      grep -aE 'what\(\):|ERROR:|runtime error|Broken|SUMMARY' "$work/log" | head -n 8 >&2 || true
      for found in "$work/found/"*; do
        # A slow input is told by libFuzzer and is no crash.
        [[ -e $found && $found != */slow-unit-* ]] || continue
        name=$(basename "$found")
        [[ -e $here/crashes/$target/$name ]] || crashes=$((crashes + 1))
        mv "$found" "$here/crashes/$target/$name"
        echo "$target: $here/crashes/$target/$name" >&2
      done
      status=1
      # It would fall over the kept input at once: what was run counts, the rest waits for the repair.
      break
    fi
  done
  kept=$(find "$work/corpus" "$here/corpus/$target" -type f | wc -l)
  printf '| %s | %s | %s | %d.%02d | %d | %d | %d | %d | %d |\n' "$(date -u +%F)" "$target" "$digest" \
    $((hundredths / 100)) $((hundredths % 100)) "$runs" "$cov" "$features" "$kept" "$crashes" | tee -a "$here/LOG.md"
done
exit $status
