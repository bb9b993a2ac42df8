#!/usr/bin/env bash
# Measures the promises of docs/promises.md and prints their table.
#   tests/promises.sh            the short runs, some minutes
#   tests/promises.sh --full     every kill point, fault, flip, page and column: hours
#   tests/promises.sh --full --quality   and the branches taken and the mutants caught (tests/quality/)
# BAYBOOK_BUILD=FOLDER: a release build that is there already.
# The rows go to promises.jsonl in the build folder as well. Mounts need root; what cannot be run says why and counts as skipped. Exit status 1 when one is broken.
set -euo pipefail
here=$(cd "$(dirname "$0")" && pwd)
root=$(cd "$here/.." && pwd)
full=() quality=
for word in "$@"; do
  case $word in
    --full) full=(--full) ;;
    --quality) quality=yes ;;
    *) echo "usage: tests/promises.sh [--full] [--quality]" >&2; exit 2 ;;
  esac
done
build=${BAYBOOK_BUILD:-$root/build}
if [[ -z ${BAYBOOK_BUILD:-} ]]; then
  "$here/install.sh" tests
  cmake -S "$root" -B "$build" -G Ninja >/dev/null
  cmake --build "$build" --target baybook_cli baybook_faults baybook_scarce baybook_attack_tests >&2
fi
rows=$build/promises.jsonl
rm -f "$rows"
status=0
BAYBOOK_BUILD=$build "$here/faults/run.sh" "${full[@]}" --json "$rows" >&2 || [[ $? -eq 77 ]] || status=1
BAYBOOK_ATTACK_PROGRAM=$build/tests/baybook_attack_tests "$here/attack/run.sh" "${full[@]}" >>"$rows" || status=1
python3 - "$rows" <<'PY'
import json, sys
rows = [json.loads(l) for l in open(sys.argv[1], encoding='utf-8') if l.strip()]
# What holds for every attack on a book.
seen = 'found by prove or the printed seal, without effect, or refused; never a crash'
print('| threat | promise | runs | lost | unsound | missed | crashed | |')
print('| --- | --- | --- | --- | --- | --- | --- | --- |')
for r in rows:
    n = lambda *keys: sum(int(r.get(k, 0)) for k in keys)
    notes = [f'{w} {r[k]}' for k, w in (('found', 'found'), ('by_seal', 'by the seal alone'), ('harmless', 'without effect'), ('refused', 'refused')) if r.get(k)]
    if r.get('skipped'): notes.append('skipped: ' + str(r['skipped']))
    print(f"| {r['threat']} | {r.get('promise') or seen} | {r.get('runs', 0)} | {n('lost')} | {n('unsound', 'wrote')} | {n('missed', 'lies', 'silent')} | {n('crashed', 'died', 'hung')} | {', '.join(notes)} |")
PY
"$here/fuzz/sum.sh" >&2
if [[ -n $quality ]]; then
  "$here/quality/coverage.sh" || status=1
  "$here/quality/mutants.py" --sample 200 || status=1
fi
exit $status
