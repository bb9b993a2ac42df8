#!/usr/bin/env bash
# Keeps an invented workshop's book for three months through the real command line, then prints what a workshop would look at.
#   demo_fleet/run.sh     installs what is missing, builds the command (only it, into build-demo/), keeps the book anew in demo_fleet/out/
# BAYBOOK_PROGRAM=FILE uses a program that is there already; DEMO_OUT=FOLDER keeps the book somewhere else.
# Everything but the three odometer series is invented. BAYBOOK_NOW sets the clock, so that the days pass as written in *.book.
set -euo pipefail
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
out=${DEMO_OUT:-$here/out}

if [[ -z "${BAYBOOK_PROGRAM:-}" ]]; then
  "$here/../tests/install.sh"
  echo "building the command into build-demo/ (without the tests)"
  cmake -S "$here/.." -B "$here/../build-demo" -G Ninja -DBAYBOOK_TESTS=OFF >/dev/null
  cmake --build "$here/../build-demo" --target baybook_cli
  BAYBOOK_PROGRAM=$here/../build-demo/tools/baybook
fi
[[ -x "$BAYBOOK_PROGRAM" ]] || { echo "there is no program at $BAYBOOK_PROGRAM" >&2; exit 2; }

# A second run starts clean: the files that this script makes, and no others.
mkdir -p "$out"
for book in saltmarsh fen-road; do rm -f "$out/$book.baybook" "$out/$book.baybook-wal" "$out/$book.baybook-shm"; done
rm -f "$out"/kept.txt
rm -rf "$out"/print
cd "$out"
export BAYBOOK_BOOK=saltmarsh.baybook BAYBOOK_NOW=2026-01-02T08:00:00.000Z
unset BAYBOOK_BY
where="the start"
minute=0 today=2026-01-02 written=0

fail() {
  echo "demo: $*" >&2
  exit 1
}

# Three minutes on. The book's clock is UTC; Lisbon is an hour ahead of it from 2026-03-29 on.
tick() {
  local utc=$minute
  [[ "$today" < 2026-03-29 ]] || utc=$((minute - 60))
  printf -v BAYBOOK_NOW '%sT%02d:%02d:00.000Z' "$today" $((utc / 60)) $((utc % 60))
  minute=$((minute + 3))
}

# Types one command into the book; what was typed and answered goes to kept.txt.
bay() {
  local status=0 typed
  tick
  answer=$("$BAYBOOK_PROGRAM" "$@" 2>&1) || status=$?
  printf -v typed ' %q' "$@"
  printf '\n%s $ baybook%s\n%s\n' "${BAYBOOK_NOW:0:16}" "$typed" "$answer" >>kept.txt
  if [[ $status -ne 0 ]]; then
    echo "$answer" >&2
    fail "$where: 'baybook $*' answered $status"
  fi
  written=$((written + 1))
}

# The same for what must be refused and leave nothing.
refused() {
  local status=0 before after
  tick
  before=$("$BAYBOOK_PROGRAM" prove --json)
  answer=$("$BAYBOOK_PROGRAM" "$@" 2>&1) || status=$?
  after=$("$BAYBOOK_PROGRAM" prove --json)
  [[ $status -eq 1 ]] || fail "$where: 'baybook $*' should be refused, answered $status"
  [[ "$before" == "$after" ]] || fail "$where: a refusal left something behind"
  printf '\n%s $ baybook %s\n%s\n' "${BAYBOOK_NOW:0:16}" "$*" "$answer" >>kept.txt
  refusal=("baybook $*" "$answer")
}

# Short-hands: what these jobs have in common. Each line is a command as above.
oil() {  # car reading drained filled keg filter lot [why they differ]
  bay job open "$1" --odo "$2" --for "oil and filter"
  bay drain "$1" engine-oil "$3" --into drum-oil
  bay fit "$1" "$6" --what "filter, spin-on" --lot "$7" --old waste:box-filters --old-class oil-filters
  bay torque "$1" "sump plug" 25Nm
  bay fill "$1" engine-oil "$4" --from "$5"
  bay work "$1" "sump drained warm, filter renewed, no drips"
  bay job close "$1" --result "level on the mark" ${8:+--as-is "$8"}
}
brake() {  # car reading drained filled
  bay job open "$1" --odo "$2" --for "pedal soft, two years since the last bleed"
  [[ "$1" != CREEK-22 && "$1" != DUNE-40 && "$1" != CREEK-05 ]] || bay car change "$1" --circuit brake=0.9L
  bay drain "$1" brake "$3" --into drum-brake
  bay fill "$1" brake "$4" --from can-brake
  bay work "$1" "bled at four corners, far one first"
  bay torque "$1" "bleed screws" 9Nm
  bay job close "$1" --result "pedal firm"
}
battery() {  # car reading part lot
  bay job open "$1" --odo "$2" --for "slow to crank"
  bay fit "$1" "$3" --what "starter battery" --lot "$4" --warranty 36mo --old waste:box-batteries --old-class batteries
  bay torque "$1" "battery clamp" 9Nm
  bay work "$1" "charging voltage checked with lamps on"
  bay job close "$1" --result "cranks well"
}
tyres() {  # car reading part how-many torque
  bay job open "$1" --odo "$2" --for "worn below the bars"
  bay fit "$1" "$3" --what "road tyre" --qty "$4" --old waste:rack-tyres --old-class tyres
  bay torque "$1" "wheel nuts" "$5"
  bay job close "$1" --result "balanced" --recheck "wheel nuts" --after 50km
}
mark() {
  [[ "$answer" =~ ^entry\ ([0-9]+) ]] || fail "$where: no entry to mark"
  printf -v "$1" '%s' "${BASH_REMATCH[1]}"
}

# Reads a *.book file: see the head of cast.book.
keep() {
  local line number=0
  local -a words
  while IFS= read -r line || [[ -n "$line" ]]; do
    number=$((number + 1))
    where="$1:$number"
    [[ -n "$line" && "$line" != \#* ]] || continue
    eval "words=($line)"
    case ${words[0]} in
      @)
        today=${words[1]}
        minute=$((10#${words[2]%:*} * 60 + 10#${words[2]#*:}))
        if [[ -n "${words[3]:-}" ]]; then export BAYBOOK_BY=${words[3]}; fi
        ;;
      !) refused "${words[@]:1}" ;;
      oil | brake | battery | tyres | mark) "${words[@]}" ;;
      *) bay "${words[@]}" ;;
    esac
  done <"$here/$1"
}

echo "Saltmarsh Motor Works keeps its book, January to March 2026 (all invented)"
minute=480
bay start "$BAYBOOK_BOOK" --site "Saltmarsh Motor Works" --tag bay --zone Europe/Lisbon
for file in cast.book 2026-01.book 2026-02.book 2026-03.book; do
  keep "$file"
  echo "  $file  $written commands so far"
done

# Three real series, each as a car. In a series a reading may be lower than the one before (a slip at the desk, another unit): whoever
# keeps the book says so with --replaced. In these three none is.
today=2026-03-31 minute=960 where=odometer.csv
declare -A last_reading=()
while IFS=, read -r series day reading unit _; do
  [[ "$series" != series ]] || continue
  car=SERIES-$series
  [[ -n "${last_reading[$car]:-}" ]] || bay car add "$car" --keeper "a real series without a name"
  reason=()
  [[ "$reading" -ge "${last_reading[$car]:-0}" ]] || reason=(--replaced --reason "stands so in the published series")
  bay odo "$car" "$reading$unit" --on "$day" "${reason[@]}"
  last_reading[$car]=$reading
done <"$here/odometer.csv"
tick

show() {
  printf '\n== %s\n$ baybook%s\n' "$1" "$(printf ' %s' "${@:2}")"
  "$BAYBOOK_PROGRAM" "${@:2}" || fail "'baybook ${*:2}' answered $?"
}
bay rules set eu --from 2026-01-01
show "The office: the month" totals 2026-03
show "The owner: what stands where" levels
show "The technician: a car rolls in" last MARSH-07
show "The same car, one circuit" last MARSH-07 coolant
show "Water pumps of lot L22 are called back: who carries one?" fitted WP-4471 --lot L22
for car in SERIES-A SERIES-B SERIES-C; do show "A real odometer series (its source: odometer.LICENCE.md)" history "$car"; done
printf '\n== A refusal: what the book said, and left nothing\n$ %s\n%s\n' "${refusal[@]}"
show "The inspector: did nobody rewrite it?" prove

# This script's own sums, over what the program answers to other programs.
figure() { [[ $1 =~ \"$2\":\{\"(nl|ug|pcs)\":\"(-?[0-9]+)\" ]] || fail "no figure '$2'"; figure=${BASH_REMATCH[2]}; }
add_up() {  # month: opening + in - out = closing, for each fluid, exactly
  local row name in opening name_of_row rows=0
  while IFS= read -r row; do
    name_of_row=${row#*\"fluid\":\"}
    name_of_row=${name_of_row%%\"*}
    figure "$row" opening
    opening=$figure in=$figure
    for name in drained received brought_in gauge; do figure "$row" "$name"; in=$((in + figure)); done
    for name in put_back new_used lost_here recycled disposed shipped_other used_up; do figure "$row" "$name"; in=$((in - figure)); done
    figure "$row" closing
    [[ $in -eq $figure ]] || fail "$1 $name_of_row: opening + in - out is $in, closing is $figure"
    [[ -z "${closed[$name_of_row]:-}" || "${closed[$name_of_row]}" -eq "$opening" ]] || fail "$1 $name_of_row: does not open as the month before closed"
    closed[$name_of_row]=$figure
    rows=$((rows + 1))
  done < <("$BAYBOOK_PROGRAM" totals "$1" --json | sed 's/{"fluid":"/\n&/g' | grep '"opening"')
  [[ $rows -gt 0 ]] || fail "$1 has no rows"
  echo "$1: $rows fluids, opening + in - out = closing in every one"
}
printf '\n== Checked by this script\n'
declare -A closed=() # what the month before closed with
for month in 2026-01 2026-02 2026-03; do add_up "$month"; done

# No plate, name or free text in any body: each private value that the book has, and each part of a person's name, looked for in all bodies.
"$BAYBOOK_PROGRAM" entries --newest 1000000 --json | sed 's/{"entry":{"number"/\n&/g' >entries.txt
sed -n 's/.*"body":"\(.*\)","private":{.*/\1/p' entries.txt >bodies.txt
sed -n 's/.*","private":{\(.*\)}}.*/\1/p' entries.txt | grep -o '":"[^"]*"' | sed 's/^":"//; s/"$//' | sort -u >private.txt
printf '%s\n' Oona Tavish Birchall Ilsa Wrenfield Pell Marrowby Okehurst Sandrail Quillory Pebblesby MARSH DUNE REED CREEK TIDE SALT SERIES 'Quill & Tarn' >>private.txt
found=$(grep -c -F -f private.txt bodies.txt || true)
bodies=$(wc -l <bodies.txt) values=$(wc -l <private.txt)
rm -f entries.txt bodies.txt private.txt
cars=$("$BAYBOOK_PROGRAM" car list --json | grep -o '"plate":' | wc -l)
jobs=$("$BAYBOOK_PROGRAM" job list --json | grep -o '"complaint":' | wc -l)
echo "$cars cars, $jobs jobs, $bodies entries"
echo "bodies in which one of $values plates, names and free texts occurs: $found"
[[ "$found" -eq 0 ]] || fail "a private value stands in a body"
[[ "$bodies" -gt 300 && "$values" -gt 100 && "$cars" -ge 14 && "$jobs" -ge 60 ]] || fail "the book is smaller than it should be"
# The office: a quarter on paper, labels for the drums, the list of limits.
mkdir -p print
print_it() { "$BAYBOOK_PROGRAM" "$@" || fail "'baybook $*' answered $?"; }
printf '\n== The office prints the quarter, by the EU rules\n'
for form in pdf html csv; do print_it totals 2026-q1 --out print/quarter.$form; done
print_it register 2026-q1 --out print/register.pdf
print_it history MARSH-07 --out print/marsh-07.pdf
print_it label drum-coolant drum-oil drum-brake --sheet --out print/labels.pdf
print_it label drum-coolant --out print/label.html
print_it limits --as-of 2026-03-31 --out print/limits.pdf
show "Limits and deadlines, the nearest first" limits --as-of 2026-03-31

# What must happen next, for cars, rechecks, containers and papers; and its calendar, for the telephone on the wall.
printf '\n== April begins: what is due (schedules.toml and due.book are invented)\n'
keep due.book
today=2026-04-01 minute=600
tick
show "The technician: what this car needs" last MARSH-07
show "The week: what must happen next, by when, and why" due --within 2w
show "One car, however far: filtered coolant was put back, so its interval is shorter" due --car MARSH-07
show "A task of which the book does not know when it was last done" due --car REED-03 --for cars
show "Codes that came back, by the part that was fitted" comebacks --by part
print_it due --within 7d --out print/week.pdf
print_it due --within 60d --out print/due.ics
show "Still sound" prove

# A second book: another workshop, by the US federal rules, in gallons; its months are closed.
printf '\n== A second book, by the US federal rules: Fen Road Garage (invented)\n'
export BAYBOOK_BOOK=fen-road.baybook
unset BAYBOOK_BY
today=2026-01-05 minute=420
bay start "$BAYBOOK_BOOK" --site "Fen Road Garage" --tag fen --zone America/Chicago --volume usgal --distance mi --gallon us
keep fen-road.book
today=2026-04-02 minute=600
tick
show "February: what counts, and the category" totals 2026-02
show "Limits on 1 April" limits --as-of 2026-04-01
bay discard solvent 40usgal --into drum-solvent --note "parts washer emptied, invented amount"
bay pickup --carrier quill-tarn --receiver quill-tarn --transport road --doc F-2004 --from drum-solvent=all --fate recycle
show "What is due there: clocks, papers and renewals of the rules" due --within 60d
for form in pdf html csv; do print_it totals 2026-q1 --page letter --out print/fen-road.$form; done
print_it label drum-solvent --page letter --out print/fen-road-label.pdf
show "The second book is sound" prove
printf '\nPrinted into the folder print/: %s\n' "$(cd print && echo *)"

printf '\nEverything typed and answered stands in kept.txt beside the book saltmarsh.baybook'
[[ -n "${DEMO_OUT:-}" ]] || printf ', in demo_fleet/out/'
printf '.\n'
