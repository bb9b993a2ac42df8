#!/usr/bin/env bash
# Tries what a book must outlive: kills, disk errors, power cuts, scarce memory, leaping clocks. One line a threat.
#   tests/faults/run.sh                     the short version, as the suite runs it
#   tests/faults/run.sh --full              every verb, every call; takes about an hour and a half of CPU
#   tests/faults/run.sh killed power        these threats alone (--list names them)
#   tests/faults/run.sh --json FILE         the rows as JSON lines as well, appended to FILE
#   tests/faults/run.sh --seed 17           another choice of moments and images
#   tests/faults/run.sh --only "job close"  one verb alone, at every call if with --full
# BAYBOOK_BUILD=FOLDER: a release build that is there already. Mounts (power-ext4, power-xfs, full) need root.
# Ends with 0: nothing found; 1: something; 77: every threat asked for had to be skipped.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
tree=$(cd "$here/../.." && pwd)
build=${BAYBOOK_BUILD:-$tree/build}
if [[ -z "${BAYBOOK_BUILD:-}" ]]; then
  "$tree/tests/install.sh" tests >&2
  cmake -S "$tree" -B "$build" -G Ninja >/dev/null
  cmake --build "$build" --target baybook_cli baybook_faults baybook_scarce >&2
fi
exec "$build/tests/baybook_faults" "$build/tools/baybook" "$here/verbs.txt" --scarce "$build/tests/baybook_scarce" "$@"
