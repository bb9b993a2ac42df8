#include "book/due_places.hpp"

#include "fluids/ledger.hpp"
#include "log/sum.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

__extension__ using Wide = __int128;

constexpr const char* kPractice = "common practice, no source";

DueLine line(const LevelRow& l, Day day, Day today, int within) {
  DueLine d;
  d.group = DueGroup::container;
  d.about = l.level.name;
  d.day = day;
  d.state = day < today ? DueLine::State::over : day.n - today.n <= within ? DueLine::State::soon : DueLine::State::later;
  return d;
}

// A drum, and the day on which it will be full when as much comes in as in the last three months.
std::optional<DueLine> fills_up(Book::Inside& in, const LevelRow& l, Day today, int within) {
  if (!l.level.size || *l.level.size <= 0 || l.sealed) return std::nullopt;
  const std::int64_t room = *l.level.size - l.level.best;
  std::int64_t came = 0;
  Day first{today.n + 1};
  {
    auto q = in.db.query("SELECT l.moment, f.best FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND l.moment >= ?2 AND f.target = ?1 AND f.dimension = ?3 AND f.mode <> 2 ORDER BY l.moment");
    q.bind(l.level.place.n).bind(log::first_moment(Day{today.n - kRateDays})).bind(static_cast<std::int64_t>(l.level.dimension));
    while (q.step()) {
      if (q.num(0) > log::last_moment(today)) continue;
      log::add_to(came, 1, q.num(1));
      first = std::min(first, log::day_of_moment(q.num(0)));
    }
  }
  // A drum that is younger than the span is judged by its own days, of which there must be enough to make a rate.
  std::int64_t days = kRateDays;
  {
    auto q = in.db.query("SELECT moment FROM leg WHERE place = ? ORDER BY moment LIMIT 1");
    q.bind(l.level.place.n);
    if (q.step()) days = std::min<std::int64_t>(days, today.n - log::day_of_moment(q.num(0)).n);
  }
  const bool near = static_cast<Wide>(l.level.best) * 100 >= static_cast<Wide>(*l.level.size) * kNearFullPercent;
  constexpr std::int64_t least = 7;
  std::optional<Day> full;
  if (room <= 0) full = today;
  else if (came > 0 && days >= least) {
    // ceil(room * days / came), in 128 bits: nanolitres times days do not fit into 64.
    const auto whole = static_cast<Wide>(room) * days;
    const auto left = static_cast<std::int64_t>((whole + came - 1) / came);
    if (left <= 3650) full = Day{today.n + static_cast<std::int32_t>(left)};
  }
  if (!near && !(full && full->n - today.n <= within)) return std::nullopt;
  const Units& u = in.settings.units;
  DueLine d = line(l, full.value_or(today), today, within);
  if (!full) {
    d.day.reset();
    d.state = DueLine::State::no_day;
  }
  if (room <= 0) d.state = DueLine::State::over;
  d.projected = full && room > 0;
  d.what = l.level.name + (room <= 0 ? " is full" : " fills up");
  d.bare = d.what;
  d.figures = "holds " + show(l.level.best, l.level.dimension, u) + " of " + show(*l.level.size, l.level.dimension, u);
  if (came > 0 && days >= least) d.figures += "; " + show(came, l.level.dimension, u) + " came in over the last " + std::to_string(days) + " days";
  d.why = d.projected ? "at that rate full about " + to_string(*full) : room <= 0 ? "nothing more goes in" : "at " + std::to_string(kNearFullPercent) + " percent or more";
  d.source = kPractice;
  d.settle = "baybook pickup --from " + place_to_type(in, l.level.place) + "=all --carrier FIRM --doc NUMBER  # or another drum";
  d.key = "full-" + std::to_string(l.level.place.n);
  auto q = in.db.query("SELECT entry FROM leg WHERE place = ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(l.level.place.n);
  if (q.step()) d.entries.push_back(ref_of(in, EntryId{q.num(0)}));
  return d;
}

std::optional<DueLine> kept_too_long(Book::Inside& in, const LevelRow& l, int days, bool by_schedule, Day today, int within) {
  if (l.level.best <= 0 || !l.since) return std::nullopt;
  DueLine d = line(l, Day{l.since->n + days}, today, within);
  if (d.state == DueLine::State::later) return std::nullopt;
  d.what = "filtered batch in " + l.level.name;
  d.bare = d.what;
  d.figures = show(l.level.best, l.level.dimension, in.settings.units) + " kept since " + to_string(*l.since);
  d.why = "looked at again after " + std::to_string(days) + " days: put back, or to waste";
  d.source = by_schedule ? "reuse-days of the schedule" : kPractice;
  d.settle = "baybook fill JOB CIRCUIT AMOUNT --from " + place_to_type(in, l.level.place) + "  # or baybook decant " + place_to_type(in, l.level.place) + " all --into DRUM";
  d.key = "kept-" + std::to_string(l.level.place.n) + "-" + to_string(*l.since);
  auto q = in.db.query("SELECT entry FROM leg WHERE place = ? AND moment >= ? ORDER BY moment, recorded, entry LIMIT 1");
  q.bind(l.level.place.n).bind(log::first_moment(*l.since));
  if (q.step()) d.entries.push_back(ref_of(in, EntryId{q.num(0)}));
  return d;
}

}  // namespace

std::vector<DueLine> due_of_places(Book::Inside& in, const std::vector<LevelRow>& levels, Day today, int within) {
  int reuse_days = 0;
  {
    auto q = in.db.query("SELECT reuse_days FROM schedule WHERE reuse_days > 0 AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
    q.bind(log::last_moment(today));
    if (q.step()) reuse_days = static_cast<int>(q.num(0));
  }
  std::vector<DueLine> out;
  for (const LevelRow& l : levels) {
    if (l.retired) continue;
    std::optional<DueLine> d;
    if (l.level.role == Role::waste) d = fills_up(in, l, today, within);
    else if (l.level.role == Role::reuse) d = kept_too_long(in, l, reuse_days > 0 ? reuse_days : kReuseDays, reuse_days > 0, today, within);
    if (d) out.push_back(std::move(*d));
  }
  return out;
}

}  // namespace baybook::book
