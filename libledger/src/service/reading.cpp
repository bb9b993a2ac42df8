#include "service/reading.hpp"

#include "log/entry.hpp"
#include "log/references.hpp"

#include <algorithm>
#include <array>

namespace baybook::service {

using log::Desk;
using log::Value;

namespace {

constexpr std::int64_t kMetresOfThousandMiles = 1'609'344;  // NIST SP 811: 1 mile = 1609.344 m
// 24 hours at about 60 km/h (due/projection.cpp): common sense, no source.
constexpr std::int64_t kMostMetresPerDay = 1'500'000;
constexpr std::int64_t kMinutesPerDay = 1440;

struct Words {
  const char* counter;
  const char* reading_figure;
  const char* before_figure;
  const char* range_figure;
};
constexpr Words kOdometer{"an odometer", "reading_m", "before_m", "range_m"};
constexpr Words kHours{"a counter of hours", "reading_minutes", "before_minutes", "range_minutes"};
const Words& words(Counts c) { return c == Counts::hours ? kHours : kOdometer; }

std::string show(Counts counts, std::int64_t figure, const Units& units) {
  if (counts == Counts::distance) return show_distance(figure, units);
  const std::int64_t tenths = figure % 60 / 6;
  return std::to_string(figure / 60) + (tenths == 0 ? "" : "." + std::to_string(tenths)) + " h";
}

Earlier row(const store::Query& q) { return {EntryId{q.num(2)}, q.num(0), q.num(1), q.num(3)}; }

/// The readings before, the nearest first, until `more` has enough.
template <class More>
void back_from(const Desk& desk, const Said& said, const More& more) {
  auto q = said.counts == Counts::hours
               ? desk.db.query(
                     "SELECT minutes, moment, entry, reset FROM hours WHERE car = ? AND "
                     "(moment, recorded, entry) < (?, ?, ?) AND entry <> ? "
                     "ORDER BY moment DESC, recorded DESC, entry DESC")
               : desk.db.query(
                     "SELECT metres, moment, entry, reset FROM reading WHERE car = ? AND "
                     "(moment, recorded, entry) < (?, ?, ?) AND entry <> ? "
                     "ORDER BY moment DESC, recorded DESC, entry DESC");
  q.bind(said.car.n).bind(desk.effect.moment).bind(desk.effect.recorded).bind(desk.effect.id.n);
  q.bind(said.itself.n);
  while (q.step()) {
    if (!more(row(q))) return;
  }
}

std::optional<Earlier> before(const Desk& desk, const Said& said) {
  std::optional<Earlier> out;
  back_from(desk, said, [&](const Earlier& e) {
    out = e;
    return false;
  });
  return out;
}

std::optional<Earlier> after(const Desk& desk, const Said& said) {
  auto q = said.counts == Counts::hours
               ? desk.db.query(
                     "SELECT minutes, moment, entry, reset FROM hours WHERE car = ? AND "
                     "(moment, recorded, entry) > (?, ?, ?) AND entry <> ? "
                     "ORDER BY moment, recorded, entry LIMIT 1")
               : desk.db.query(
                     "SELECT metres, moment, entry, reset FROM reading WHERE car = ? AND "
                     "(moment, recorded, entry) > (?, ?, ?) AND entry <> ? "
                     "ORDER BY moment, recorded, entry LIMIT 1");
  q.bind(said.car.n).bind(desk.effect.moment).bind(desk.effect.recorded).bind(desk.effect.id.n);
  q.bind(said.itself.n);
  return q.step() ? std::optional(row(q)) : std::nullopt;
}

bool in_miles(std::string_view typed) { return typed.find("mi") != std::string_view::npos; }

std::string typed_of(const Value& details) {
  return details.has("odometer-typed") ? std::string(details.str("odometer-typed")) : std::string();
}

/// "100000 mi": what an instrument counts to, in its own unit.
std::string range_text(Counts counts, std::int64_t range, bool miles) {
  if (counts == Counts::hours) return std::to_string(range / 60) + " h";
  if (!miles) return std::to_string(range / 1000) + " km";
  return std::to_string(range / kMetresOfThousandMiles * 1000) + " mi";
}

/// Of a reading that shows less: what the one before could have counted to.
struct Round {
  std::int64_t range = 0, driven = 0, days = 0;
  bool possible = false;  ///< in the days between
  bool near_end = false;  ///< the one before was in the last fifth of what it counts to
  std::int64_t jumps = kRolledOver;
  std::string range_told;
};
std::optional<Round> round_in(const Desk& desk, const Said& said, const Earlier& earlier,
                              bool miles) {
  const auto range = range_above(said.counts, earlier.figure, miles);
  if (!range) return std::nullopt;
  Round out;
  out.jumps = miles ? kRolledOverMiles : kRolledOver;
  out.range = *range;
  out.driven = *range - earlier.figure + said.figure;
  out.days = log::day_of_moment(desk.effect.moment).n - log::day_of_moment(earlier.moment).n;
  const std::int64_t most = said.counts == Counts::hours ? kMinutesPerDay : kMostMetresPerDay;
  out.possible = out.driven <= most * (out.days + 1);
  out.near_end = earlier.figure >= *range - *range / 5;
  out.range_told = range_text(said.counts, *range, miles);
  return out;
}

/// By the unit that was typed; by the other one where only that can have been.
std::optional<Round> round_of(const Desk& desk, const Said& said, const Earlier& earlier) {
  const bool hours = said.counts == Counts::hours;
  const bool miles = !hours && in_miles(said.typed);
  auto out = round_in(desk, said, earlier, miles);
  if (hours || (out && out->possible)) return out;
  auto other = round_in(desk, said, earlier, !miles);
  return other && other->possible ? other : out;
}

/// Whole miles after whole kilometres of the same spot can be lower by one of the larger unit.
bool only_rounded(const Desk& desk, const Said& said, const Earlier& other) {
  constexpr std::int64_t most = 1610;
  const std::int64_t off = other.figure - said.figure;
  if (said.counts == Counts::hours || off > most || off < -most) return false;
  return in_miles(typed_of(log::read_fact(desk.db, other.entry).details)) != in_miles(said.typed);
}

bool is_below(const Desk& desk, const Said& said, const std::optional<Earlier>& earlier) {
  return earlier && earlier->figure > said.figure && !only_rounded(desk, said, *earlier);
}

std::string on_day(std::int64_t moment) { return to_string(log::day_of_moment(moment)); }

Refusal which_was_it(const Desk& desk, const Said& said, const Earlier& earlier) {
  const Words& w = words(said.counts);
  const std::string name = log::entry_name(desk.known, earlier.entry);
  Refusal r;
  r.code = Code::runs_backwards;
  r.what = said.typed + " is less than the reading before it, " +
           show(said.counts, earlier.figure, desk.units) + " on " + on_day(earlier.moment) +
           " (entry " + name + ")";
  r.why = std::string(w.counter) +
          " goes back only when it rolled over, was replaced, or one of the two was misread; which "
          "it was is not guessed";
  r.figures = {{w.reading_figure, std::to_string(said.figure)},
               {w.before_figure, std::to_string(earlier.figure)}};
  if (!said.asks) {
    r.instead = "the reading again";
    return r;
  }
  const std::string replaced = "--replaced, if it is another instrument";
  const std::string misread = "--misread, if entry " + name + " was misread";
  std::string rolled;
  const auto round = round_of(desk, said, earlier);
  if (round && round->possible) {
    r.figures.push_back({w.range_figure, std::to_string(round->range)});
    rolled = "--rolled-over, if it came to " + round->range_told + " and began again (" +
             show(said.counts, round->driven, desk.units) + " since then)";
  }
  const bool first = !rolled.empty() && round->near_end;
  r.instead = "the same with " + (first ? rolled + "; with " : std::string()) + misread +
              "; with " + replaced + (rolled.empty() || first ? "" : "; with " + rolled) +
              "; or the reading again";
  return r;
}

Refusal more_than_after(const Desk& desk, const Said& said, const Earlier& later) {
  const Words& w = words(said.counts);
  const bool hours = said.counts == Counts::hours;
  const std::string name = log::entry_name(desk.known, later.entry);
  const std::string correct = "baybook correct " + name;
  const std::string why = " --why \"...\"";
  return {Code::runs_backwards,
          said.typed + " is more than the reading after it, " +
              show(said.counts, later.figure, desk.units) + " on " + on_day(later.moment) +
              " (entry " + name + ")",
          std::string(w.counter) + " does not run backwards",
          "the reading again, or another --on date; if entry " + name + " was misread, " + correct +
              (hours ? " --withdraw" : " --odo READING") + why +
              "; if it began again or was replaced in between, " + correct + " --rolled-over" +
              why + " (or --replaced) first",
          {{w.reading_figure, std::to_string(said.figure)},
           {hours ? "after_minutes" : "after_m", std::to_string(later.figure)}}};
}

std::int64_t rolled_code(const Said& said) {
  return said.counts == Counts::distance && in_miles(said.typed) ? kRolledOverMiles : kRolledOver;
}

Result<std::int64_t> rolled_over(const Desk& desk, const Said& said,
                                 const std::optional<Earlier>& earlier) {
  // A list may begin with its newest row: what is added is known once there is a reading before.
  if (!earlier) return rolled_code(said);
  if (earlier->figure <= said.figure)
    return log::refuse(
        Code::not_allowed,
        said.typed + " is not less than the reading before it, " +
            show(said.counts, earlier->figure, desk.units) + " on " + on_day(earlier->moment),
        "what rolled over began again at nothing and shows less", "the same without --rolled-over");
  const auto round = round_of(desk, said, *earlier);
  const std::string name = log::entry_name(desk.known, earlier->entry);
  const std::string others = "the same with --misread, if entry " + name +
                             " was misread; with --replaced, if it is another instrument; or the "
                             "reading again";
  const std::string from =
      show(said.counts, earlier->figure, desk.units) + " on " + on_day(earlier->moment);
  if (!round)
    return log::refuse(Code::not_allowed,
                       "no instrument counts so far past " + from + " and begins again",
                       "the reading before is past the life of any", others);
  if (!round->possible)
    return log::refuse(
        Code::not_allowed,
        "from " + from + " past " + round->range_told + " to " + said.typed + " are " +
            show(said.counts, round->driven, desk.units) + " in " + std::to_string(round->days) +
            (round->days == 1 ? " day" : " days"),
        said.counts == Counts::hours ? "a day has 24 hours" : "no car drives 1500 km day after day",
        others);
  return round->jumps;
}

}  // namespace

std::optional<std::int64_t> range_above(Counts counts, std::int64_t figure, bool miles) {
  const bool hours = counts == Counts::hours;
  std::int64_t units = hours ? 1'000 : 100'000;
  for (const std::int64_t last = hours ? 1'000'000 : 10'000'000; units <= last; units *= 10) {
    const std::int64_t range = hours   ? units * 60
                               : miles ? units / 1000 * kMetresOfThousandMiles
                                       : units * 1000;
    if (figure < range) return range;
  }
  return std::nullopt;
}

std::int64_t added_by(std::int64_t jumps, Counts counts, std::int64_t before, std::int64_t figure) {
  if (jumps < kRolledOver || figure >= before) return 0;
  return range_above(counts, before, jumps == kRolledOverMiles).value_or(0);
}

bool goes_back(const Desk& desk, const Said& said) {
  return is_below(desk, said, before(desk, said));
}

std::vector<Earlier> standing_above(const Desk& desk, const Said& said) {
  std::vector<Earlier> out;
  back_from(desk, said, [&](const Earlier& e) {
    if (e.figure <= said.figure) return false;
    out.push_back(e);
    // Before the first reading of an instrument, or of a round, other figures are right.
    return e.jumps == kGoesOn;
  });
  return out;
}

Result<std::int64_t> fits(const Desk& desk, const Said& said) {
  const auto earlier = before(desk, said);
  const bool back = is_below(desk, said, earlier);
  std::int64_t jumps = kGoesOn;
  if (said.dial == Dial::replaced) {
    jumps = kReplaced;
  } else if (said.dial == Dial::rolled_over) {
    auto range = rolled_over(desk, said, earlier);
    if (!range.ok()) return range;
    jumps = *range;
  } else if (said.inherits && (back || *said.inherits == kReplaced)) {
    jumps = *said.inherits;
  }
  if (back && jumps == kGoesOn) return which_was_it(desk, said, *earlier);
  const auto later = after(desk, said);
  if (later && later->jumps == kGoesOn && later->figure < said.figure &&
      !only_rounded(desk, said, *later))
    return more_than_after(desk, said, *later);
  return jumps;
}

void write_jumps(Value& details, Counts counts, std::int64_t jumps) {
  if (jumps == kReplaced) details["reset"] = true;
  if (jumps < kRolledOver) return;
  details["rolled-over"] = counts == Counts::hours      ? kInHours
                           : jumps == kRolledOverMiles ? kInMiles
                                                       : kInKilometres;
}

std::int64_t jumps_of(const Value& details) {
  if (details.has("reset")) return kReplaced;
  if (!details.has("rolled-over")) return kGoesOn;
  return details.str("rolled-over") == kInMiles ? kRolledOverMiles : kRolledOver;
}

Value without_jumps(const Value& details) {
  Value out;
  for (const auto& [k, v] : details.as_object()) {
    if (k != "reset" && k != "rolled-over") out[k] = v;
  }
  return out;
}

Dial dial_of(const Value& details) {
  const std::int64_t jumps = jumps_of(details);
  return jumps == kGoesOn ? Dial::goes_on : jumps == kReplaced ? Dial::replaced : Dial::rolled_over;
}

std::string told_jumps(const Value& details) {
  const std::int64_t jumps = jumps_of(details);
  return jumps == kGoesOn     ? std::string()
         : jumps == kReplaced ? ", first of another instrument"
                              : ", began again at 0";
}

Refusal said_without_reading() {
  return log::refuse(
      Code::wrong_usage, "no reading is said that rolled over, was replaced or misread",
      "what is said of an instrument goes with its reading", "--odo READING beside it");
}

void say_if_far(const Desk& desk, CarId car, const Distance& reading, EntryId itself,
                std::vector<std::string>& warnings) {
  // A digit too many: nobody drives so far in a day (common practice, no source).
  constexpr std::int64_t far_in_a_day = 2'000'000;
  Said said;
  said.car = car;
  said.itself = itself;
  const auto earlier = before(desk, said);
  if (!earlier) return;
  const Day day = log::day_of_moment(earlier->moment);
  const std::int64_t days =
      std::max<std::int64_t>(1, log::day_of_moment(desk.effect.moment).n - day.n);
  const std::int64_t metres = reading.metres - earlier->figure;
  if (metres <= far_in_a_day * days) return;
  // A dry run has no entry yet that could be corrected.
  const EntryId read = itself.n != 0 ? itself : desk.dry_run ? EntryId{} : desk.effect.id;
  warnings.push_back("that is " + show_distance(metres, desk.units) + " since " + to_string(day) +
                     (read.n == 0 ? "; did a digit slip?"
                                  : "; if a digit slipped: baybook correct " +
                                        log::entry_name(desk.known, read) +
                                        " --odo READING --why \"...\""));
}

}  // namespace baybook::service
