#!/usr/bin/env bash
# Measures the book against the bare engine, both in this run, and prints ratios with their median and spread.
#
#   tools/bench/run.sh [--big] [--quick] [--dir FOLDER] [--keep]
#
#   --big     also a book of 10,000,000 entries (5 GB, minutes)
#   --quick   1/10 of the sizes and 3 rounds: to see that everything runs, not for figures
#   --dir     where the books go (default: a temporary folder); the disk measured is the one under it
#   --keep    leave the books there
set -euo pipefail

here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
root=$(cd "$here/../.." && pwd)
big=0 keep=0 rounds=7 small=10000 large=1000000 huge=10000000 dir=
while [ $# -gt 0 ]; do
  case $1 in
    --big) big=1 ;;
    --quick) rounds=3 large=100000 huge=1000000 ;;
    --keep) keep=1 ;;
    --dir) dir=${2:?--dir needs a folder}; shift ;;
    *) sed -n '2,10s/^# \{0,1\}//p' "${BASH_SOURCE[0]}"; exit 2 ;;
  esac
  shift
done

"$root/tests/install.sh"
missing=()
for tool in hyperfine sqlite3; do command -v "$tool" > /dev/null || missing+=("$tool"); done
if [ ${#missing[@]} -gt 0 ]; then
  as_root=; [ "$(id -u)" = 0 ] || as_root=sudo
  $as_root apt-get update -qq && $as_root apt-get install -y -qq "${missing[@]}"
fi

build=${BAYBOOK_BENCH_BUILD:-$root/build/bench}
cmake -S "$root" -B "$build" -G Ninja -DBAYBOOK_TESTS=OFF -DCMAKE_BUILD_TYPE=Release "-DCMAKE_CXX_FLAGS_RELEASE=-O2 -DNDEBUG" > /dev/null
cmake --build "$build" --target baybook_cli baybook_load baybook_append_bench baybook_due_load baybook_hello > /dev/null
baybook=$build/tools/baybook bench=$build/tools/bench

work=$(mktemp -d "${dir:-${TMPDIR:-/tmp}}/baybook-bench-XXXXXX")
trap '[ "$keep" = 1 ] && echo "books kept in $work" >&2 || rm -rf "$work"' EXIT
cd "$work"

# hyperfine measures one command after the other. To have both sides of a ratio meet the same machine, each round runs all
# of them briefly, and a ratio is made within a round.
runs=20
time_round() {  # GROUP NAME COMMAND [NAME COMMAND ...]
  local group=$1 round i names commands; shift
  names=() commands=()
  while [ $# -gt 0 ]; do names+=("$1") commands+=("$2"); shift 2; done
  for round in $(seq "$rounds"); do
    hyperfine -N --warmup 3 --runs "$runs" --output null --style none --export-json round.json "${commands[@]}" > /dev/null 2>&1 \
      || { echo "a command of $group fails:" >&2; hyperfine -N --runs 2 "${commands[@]}" >&2; exit 1; }
    for i in "${!names[@]}"; do
      printf '%s\t%s\t%s\t%s\n' "$group" "$round" "${names[$i]}" "$(sqlite3 -separator $'\t' :memory: "SELECT json_extract(r, '\$.median') * 1000, (json_extract(r, '\$.user') + json_extract(r, '\$.system')) * 1000 FROM (SELECT json_extract(readfile('round.json'), '\$.results[$i]') AS r)")" >> times.tsv
    done
  done
}

ratio() {  # LABEL GROUP A B TARGET: A / B within each round
  awk -F'\t' -v label="$1" -v group="$2" -v a="$3" -v b="$4" -v target="$5" '
    $1 == group && $3 == a { x[$2] = $4; u[$2] = $5 }
    $1 == group && $3 == b { y[$2] = $4; v[$2] = $5 }
    function sort(v, n,   i, j, t) { for (i = 2; i <= n; ++i) { t = v[i]; for (j = i - 1; j > 0 && v[j] > t; --j) v[j + 1] = v[j]; v[j + 1] = t } }
    function middle(v, n) { return n % 2 ? v[(n + 1) / 2] : (v[n / 2] + v[n / 2 + 1]) / 2 }
    END {
      for (r in x) if (r in y) { ++n; q[n] = x[r] / y[r]; p[n] = x[r]; s[n] = y[r]; c[n] = u[r] / v[r] }
      sort(q, n); sort(p, n); sort(s, n); sort(c, n)
      f = middle(q, n) < 0.05 ? "| %s | %.2f ms | %.2f ms | %.5f | %.5f..%.5f | %.5f | %s |\n" : "| %s | %.2f ms | %.2f ms | %.2f | %.2f..%.2f | %.2f | %s |\n"
      printf f, label, middle(p, n), middle(s, n), middle(q, n), q[1], q[n], middle(c, n), target
    }' times.tsv
}

echo "date: $(date -u +%Y-%m-%d)"
echo "cpu: $(lscpu | sed -n 's/^Model name: *//p' | head -1), $(nproc) cores; memory $(awk '/MemTotal/ { printf "%.0f GiB", $2 / 1048576 }' /proc/meminfo); load at the start $(cut -d' ' -f1-3 /proc/loadavg)"
disk=$(df --output=source . | tail -1)
echo "disk: $disk, $(df --output=fstype . | tail -1), $(lsblk -dno SIZE,ROTA,MODEL "$disk" 2> /dev/null | awk '{ print $1 ", rota=" $2 " " $3 " " $4 }' || true)"
echo "kernel $(uname -r), sqlite3 $(sqlite3 --version | cut -d' ' -f1), $(${CXX:-c++} --version | head -1)"
echo "rounds: $rounds, $runs runs of each command in a round"
echo

load() {  # SIZE
  local file=book-$1.baybook TIMEFORMAT='%R s, %U s + %S s of processor'
  { time "$bench/baybook_load" "$file" --entries "$1" --seed 1 2> load.txt; } 2> took.txt || { cat load.txt >&2; exit 1; }
  echo "load $1 entries: $(cat took.txt), $(stat -c %s "$file" | awk -v n="$1" '{ printf "%.0f MiB, %.0f bytes an entry", $1 / 1048576, $1 / n }')  ($(head -1 load.txt))"
}
sizes=("$small" "$large")
[ "$big" = 0 ] || sizes+=("$huge")
for n in "${sizes[@]}"; do load "$n"; done
echo

# T8 asks for a million movements, and a book of a million entries has some 600,000.
movements=$large
{ "$bench/baybook_load" book-t8.baybook --movements "$movements" --seed 1 2> load.txt; } || { cat load.txt >&2; exit 1; }
echo "for T8: $(head -1 load.txt)"
main=book-$large.baybook
plate_in() { sqlite3 "$1" "SELECT plate FROM car ORDER BY id LIMIT 1 OFFSET (SELECT count(*) / 2 FROM car)"; }
plate=$(plate_in "$main")

echo "T4, resident process on the book of $large:"
cp "$main" t4.baybook
"$bench/baybook_append_bench" t4.baybook --rounds "$rounds"
rm -f t4.baybook*
echo

# T5: the shell gets the log alone, without index, in WAL and FULL as the book has it.
cp "$main" t5.baybook
sqlite3 t5.bare "PRAGMA page_size=4096; PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; ATTACH '$main' AS b;
  CREATE TABLE log(id INTEGER PRIMARY KEY, recorded INTEGER NOT NULL, moment INTEGER NOT NULL, kind INTEGER NOT NULL, who INTEGER NOT NULL, body TEXT NOT NULL, digest BLOB NOT NULL);
  INSERT INTO log SELECT * FROM b.entry;" > /dev/null
body=$(sqlite3 "$main" "SELECT body FROM entry WHERE kind = (SELECT number FROM kind WHERE name = 'movement') ORDER BY id DESC LIMIT 1")
insert="PRAGMA synchronous=FULL; INSERT INTO log(recorded, moment, kind, who, body, digest) VALUES(1767225600000, 29479000, 15, 1, '$body', randomblob(32))"
"$baybook" place add pan-bench --role catch --book t5.baybook > /dev/null
"$baybook" job open "$plate" --for "bench" --book t5.baybook > /dev/null
# The odometer reads the same every time: a reading may stand still.
"$baybook" odo "$plate" 9000000km --book t5.baybook > /dev/null
quoted() { printf "'%s'" "${1//\'/\'\\\'\'}"; }
time_round T5 drain "$baybook drain $plate coolant 5ml --into pan-bench --book t5.baybook" \
  odo "$baybook odo $plate 9000000km --book t5.baybook" \
  shell "sqlite3 t5.bare $(quoted "$insert")" hello "$bench/baybook_hello"
rm -f t5.baybook* t5.bare*

# T6: the same car's last 20 entries as the shell gives them.
select_last() { echo "SELECT e.id, e.recorded, h.moment, h.kind, h.job, e.body FROM history h JOIN entry e ON e.id = h.entry WHERE h.car = (SELECT id FROM car WHERE plate = '$1') ORDER BY h.moment DESC, h.recorded DESC, h.entry DESC LIMIT 20"; }
group=()
for n in "${sizes[@]}"; do
  p=$(plate_in "book-$n.baybook")
  group+=("last-$n" "$baybook last $p --book book-$n.baybook" "entries-$n" "$baybook entries --car $p --newest 20 --book book-$n.baybook" "shell-$n" "sqlite3 book-$n.baybook $(quoted "$(select_last "$p")")")
done
time_round T6 "${group[@]}" hello "$bench/baybook_hello"

# T8: what someone with the shell would write over the same tables; once by month, once as the one sum that totals prints.
role() { echo "CASE WHEN $1 < 1000 THEN $1 + 4 WHEN $1 >= 1 << 58 THEN 0 ELSE (SELECT role FROM place WHERE id = $1) END"; }
by_month="SELECT strftime('%Y-%m', (e.moment >> 12) * 86400, 'unixepoch'), f.dimension, f.fluid, $(role f.source), $(role f.target), f.fate, sum(f.best) FROM flow f JOIN entry e ON e.id = f.entry GROUP BY 1, 2, 3, 4, 5, 6"
one_sum="SELECT f.dimension, f.fluid, $(role f.source), $(role f.target), f.fate, sum(f.best) FROM flow f JOIN entry e ON e.id = f.entry WHERE e.moment >> 12 BETWEEN 16801 AND 20453 GROUP BY 1, 2, 3, 4, 5"
group=()
for n in "${sizes[@]}"; do group+=("totals-$n" "$baybook totals 2016-01-01..2025-12-31 --book book-$n.baybook"); done
group+=("totals-t8" "$baybook totals 2016-01-01..2025-12-31 --book book-t8.baybook")
time_round T8 "${group[@]}"
runs=3
time_round T8 months "sqlite3 book-t8.baybook $(quoted "$by_month")" sum "sqlite3 book-t8.baybook $(quoted "$one_sum")"
echo "flows summed by the shell: $(sqlite3 book-t8.baybook "SELECT count(*) FROM flow") in $(sqlite3 book-t8.baybook "SELECT count(DISTINCT entry) FROM flow") entries that move something"
echo

# T9: what is due, with a hundred times as many cars. The books are made for one day, so the clock of the command is set to it.
runs=20
few=$((large / 1000)) many=$((large / 10))
for n in $few $many; do "$bench/baybook_due_load" "due-$n.baybook" "$n" 2> load.txt || { cat load.txt >&2; exit 1; }; echo "for T9: $(head -1 load.txt)"; done
export BAYBOOK_NOW=2028-01-02T09:00:00.000Z
group=()
for n in $few $many; do group+=("due-$n" "$baybook due --book due-$n.baybook" "due-car-$n" "$baybook due --car BENCH-500 --book due-$n.baybook" "odo-$n" "$baybook odo BENCH-77 900000km --book due-$n.baybook"); done
time_round T9 "${group[@]}"
unset BAYBOOK_NOW
echo

# The processor's time beside the wall's: on a busy machine the wall mostly tells who had to wait.
echo "| what | this | against | ratio | min..max | ratio of processor time | target |"
echo "| --- | --- | --- | --- | --- | --- | --- |"
ratio "T5 \`drain\` as one process / shell insert" T5 drain shell "<= 0.6"
ratio "T5 \`odo\` as one process / shell insert" T5 odo shell "<= 0.6"
ratio "T5 \`drain\` / static hello" T5 drain hello ""
ratio "T6 \`last CAR\` at $large / shell select" T6 "last-$large" "shell-$large" "<= 0.7 (0.6)"
ratio "T6 \`last CAR\` at $large / static hello" T6 "last-$large" hello "<= 3.2"
ratio "T6 \`entries --car\` at $large / shell select" T6 "entries-$large" "shell-$large" ""
ratio "T7 \`last CAR\` at $large / at $small" T6 "last-$large" "last-$small" "<= 1.1"
[ "$big" = 0 ] || ratio "T7 \`last CAR\` at $huge / at $small" T6 "last-$huge" "last-$small" "<= 1.1"
ratio "T8 ten years of totals, $movements movements / GROUP BY month" T8 totals-t8 months "<= 0.005 (0.004)"
ratio "T8 ten years of totals, $movements movements / GROUP BY, one sum" T8 totals-t8 sum ""
ratio "T8 totals at $large / at $small" T8 "totals-$large" "totals-$small" ""
[ "$big" = 0 ] || ratio "T8 totals at $huge / at $large" T8 "totals-$huge" "totals-$large" "<= 1.1"
ratio "T9 \`due\` with $many cars of five intervals / with $few" T9 "due-$many" "due-$few" ""
ratio "T9 \`due --car\` with $many / with $few" T9 "due-car-$many" "due-car-$few" ""
ratio "T9 \`odo\` with $many / with $few" T9 "odo-$many" "odo-$few" ""
