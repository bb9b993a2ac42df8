#!/usr/bin/env bash
# Adds up LOG.md: processor time behind each target, and how far it is from 30 minutes.
#   tests/fuzz/sum.sh
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/../.." && pwd)
source "$here/common.sh"
wanted=1800
printf '%-12s %9s %14s %8s %9s  %s\n' target "CPU s" executions crashes "to 1800" "of it on the reader as it is now"
for target in $(names); do
  awk -F' *[|] *' -v t="$target" -v digest="$(digest_of "$target")" -v wanted=$wanted '
    $3 == t { cpu += $5; runs += $6; crashes += $10; if ($4 == digest) now += $5 }
    END {
      left = (cpu < wanted) ? sprintf("%.2f", wanted - cpu) : "reached"
      printf "%-12s %9.2f %14d %8d %9s  %.2f\n", t, cpu, runs, crashes, left, now
    }' "$here/LOG.md"
done
awk -F' *[|] *' '$5 ~ /^[0-9.]+$/ { cpu += $5; runs += $6; crashes += $10 } END { printf "%-12s %9.2f %14d %8d\n", "all", cpu, runs, crashes }' "$here/LOG.md"
