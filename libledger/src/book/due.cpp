// The list of what is due: rows of cars by their day, standing limits, containers and papers, one order.
#include <baybook/due.hpp>

#include "book/differing.hpp"
#include "book/due_places.hpp"
#include "book/erase.hpp"
#include "book/peers_due.hpp"
#include "book/views.hpp"

#include "due/build.hpp"
#include "due/items.hpp"
#include "due/walked.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>
#include <limits>
#include <map>
#include <tuple>

namespace baybook {

std::string_view name_of(DueGroup group) noexcept {
  constexpr std::array<std::string_view, 4> names = {"car", "recheck", "container", "paper"};
  return names[static_cast<std::size_t>(group)];
}

namespace {

using book::entry_name;
using due::Decided;
using due::Item;
using due::kNoDay;
using due::Known;

// A recheck by distance counts from the reading before the job was closed, and until then the car stood in the shop: nobody could have driven it.
Item stood_in_shop(Item i) {
  if (i.kind != Item::Kind::recheck || i.decided != Decided::distance || i.over || i.put_off != 0 || i.day.n == kNoDay || i.at_day.n >= i.anchor_day.n) return i;
  const std::int32_t days = i.anchor_day.n - i.at_day.n;
  for (Day* day : {&i.day, &i.early, &i.late}) {
    if (day->n != kNoDay) day->n = std::min(day->n + days, kNoDay - 1);
  }
  if (i.time_day.n != kNoDay && i.time_day < i.day) {
    i.day = i.early = i.late = i.time_day;
    i.decided = Decided::time;
  }
  return i;
}

// What a car's counters say, weighed once for all its lines.
struct Counters {
  due::Counter distance;
  std::optional<due::Counter> hours;
  bool drawn = false;  ///< its range by what the shop's cars showed
};

std::string times(std::int64_t percent) {
  return std::to_string(percent / 100) + "." + std::to_string(percent / 10 % 10);
}

// Why the ranges of a list are as wide as they are.
DueRange range_of(const due::Walked& walked) {
  DueRange out;
  out.cars = walked.cars;
  out.forecasts = walked.forecasts;
  out.percent = static_cast<int>(walked.width_millionths / 10'000);
  out.told =
      "About: projected from the readings; the two days are meant to hold it four times in five. "
      "They are drawn " +
      times(out.percent) + " times as wide as a car's own readings alone would have it, ";
  if (walked.cars == 0) {
    out.told += "as is usual: no car here has the " + std::to_string(due::kEnoughReadings) +
                " readings yet that would tell";
  } else {
    const bool one = walked.cars == 1;
    out.told += "by what is usual and by " + std::to_string(walked.cars) +
                (one ? " car" : " cars") + " of this shop, " + std::to_string(walked.forecasts) +
                " readings of which were foretold from those before";
  }
  out.told +=
      "; then wider after each reading of the car that its range missed, narrower after "
      "each that it held (docs/projection.md).";
  return out;
}

// Rows of cars and of rechecks as lines.
class Teller {
 public:
  /// `until`: up to which moment the rows were worked out.
  Teller(Book::Inside& in, Day today, int within, std::int64_t until)
      : in_(in), today_(today), within_(within), until_(until) {}

  DueLine line(const Item& item) {
    Item drawn = item;
    const due::Width width = projected(item) ? draw(drawn) : std::nullopt;
    const Item i = stood_in_shop(drawn);
    DueLine d;
    d.car = i.car;
    d.group = i.kind == Item::Kind::task ? DueGroup::car : DueGroup::recheck;
    const std::string plate = service::plate_of(in_.db, i.car);
    if (i.day.n != kNoDay) {
      d.day = i.day;
      const bool waits = i.put_off != 0 && i.put_off_until >= today_;
      d.projected = projected(i);
      // Of a projected day the likely one is not the last.
      const Day last = d.projected ? i.late : i.day;
      d.state = !waits && (i.over || last < today_) ? DueLine::State::over
                : i.day.n - today_.n <= within_     ? DueLine::State::soon
                                                    : DueLine::State::later;
      if (d.projected) {
        d.early = i.early;
        if (i.late.n != kNoDay) d.late = i.late;
        if (width) d.width_percent = static_cast<int>(*width / 10'000);
        d.about_now = d.state != DueLine::State::over && i.day < today_;
      }
    } else {
      d.state = DueLine::State::no_day;
    }
    if (i.kind == Item::Kind::task) task(i, plate, d);
    else recheck(i, plate, d);
    if (i.put_off != 0) {
      const std::string why = log::private_text(in_.db, EntryId{i.put_off}, "why");
      d.note += (d.note.empty() ? "" : "; ") + ("put off until " + to_string(i.put_off_until) + " (entry " + entry_name(in_, EntryId{i.put_off}) + ")") + (why.empty() ? "" : ": " + why);
      d.entries.push_back(book::ref_of(in_, EntryId{i.put_off}));
    }
    read_last(i, d);
    for (const due::Slip& s : counters(i.car).distance.slips) {
      d.note += (d.note.empty() ? "" : "; ") + ("the reading " + show_distance(s.metres, in_.settings.units) + " of " + to_string(s.day) + " (entry " + entry_name(in_, EntryId{s.entry}) + ") does not fit the others and is not used");
    }
    return d;
  }

  /// How wide the ranges are, and why; empty when no line has one.
  [[nodiscard]] DueRange range() const { return walked_ ? range_of(*walked_) : DueRange(); }

 private:
  // Until when it was put off is a day that somebody named.
  static bool projected(const Item& i) {
    const bool by_counter = i.decided == Decided::distance || i.decided == Decided::hours;
    return !i.over && by_counter && i.day.n != kNoDay &&
           (i.put_off == 0 || i.put_off_until < i.day);
  }

  due::Width draw(Item& item) {
    Counters& c = counters(item.car);
    if (!c.drawn) {
      c.distance.use = due::read_use(c.distance.readings, walked().width_millionths).use;
      c.drawn = true;
    }
    if (item.due_minutes >= 0 && !c.hours) {
      c.hours = due::engine_hours(in_.db, item.car, until_);
      c.hours->weigh(walked().width_millionths);
    }
    return due::widen(item, c.distance, c.hours ? *c.hours : due::Counter());
  }

  const due::Walked& walked() {
    if (!walked_) walked_ = due::walk_forward(in_.db, until_);
    return *walked_;
  }

  // A day by a counter moves with each reading: the newest one belongs to what made it.
  void read_last(const Item& i, DueLine& d) const {
    const auto add = [&](store::Query q) {
      q.bind(i.car.n).bind(log::last_moment(today_));
      if (q.step()) d.entries.push_back(book::ref_of(in_, EntryId{q.num(0)}));
    };
    if (i.decided == Decided::distance) add(in_.db.query("SELECT entry FROM reading WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1"));
    if (i.decided == Decided::hours) add(in_.db.query("SELECT entry FROM hours WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1"));
  }

  bool one_hour_reading(CarId car) const {
    auto q = in_.db.query("SELECT min(moment), max(moment) FROM hours WHERE car = ? AND moment <= ?");
    q.bind(car.n).bind(log::last_moment(today_));
    return q.step() && log::day_of_moment(q.num(0)) == log::day_of_moment(q.num(1));
  }

  void task(const Item& i, const std::string& plate, DueLine& d) {
    const Units& u = in_.settings.units;
    const std::string name = i.item.substr(5);
    d.about = plate;
    d.task = name;
    d.what = plate + " " + name;
    d.bare = "car " + entry_name(in_, EntryId{i.car.n}) + " " + name;
    d.key = "task-" + std::to_string(i.car.n) + "-" + name;
    const Interval& interval = intervals(i.source).at(static_cast<std::size_t>(i.n - 1));
    d.why = due::told(interval.months, interval.distance, std::int64_t{interval.hours} * 60, u);
    const int percent = interval.filtered_percent != 0 ? interval.filtered_percent : kFilteredPercent;
    if (i.filtered) d.why += ", of which " + std::to_string(percent) + " percent since filtered fluid was put back (common practice, no source)";
    if (i.anchor != 0) d.why += "; last done " + to_string(i.anchor_day) + (i.anchor_metres >= 0 ? " at " + show_distance(i.anchor_metres, u) : std::string()) + (i.anchor_minutes >= 0 ? " at " + due::show_hours(i.anchor_minutes) : std::string()) + " (entry " + entry_name(in_, EntryId{i.anchor}) + ")";
    else d.why += "; nothing in the book says when it was last done";
    figures(i, interval.distance.has_value(), interval.hours != 0, d);
    d.source = interval.source + " (entry " + entry_name(in_, EntryId{i.source}) + ")";
    if (i.anchor != 0) d.entries.push_back(book::ref_of(in_, EntryId{i.anchor}));
    d.entries.push_back(book::ref_of(in_, EntryId{i.source}));
    d.settle = i.anchor == 0 ? "baybook due done " + as_typed(plate) + " " + name + " --when DATE" + (interval.distance ? " --odo READING" : "") : "baybook due done " + as_typed(plate) + " " + name + (interval.circuit.empty() && interval.parts.empty() ? "" : "  # or the job that does it");
  }

  // What lies before the figures that the instrument shows now.
  std::string before(const Item& i) {
    const due::Counter& c = counters(i.car).distance;
    const auto jump = std::find_if(c.readings.rbegin(), c.readings.rend(),
                                   [](const auto& r) { return r.replaced || r.turned != 0; });
    const bool round = jump != c.readings.rend() && jump->turned != 0;
    return round ? "before it began again at 0" : "on the instrument before";
  }

  void figures(const Item& i, bool by_distance, bool by_hours, DueLine& d) {
    const Units& u = in_.settings.units;
    const auto more = [&](const std::string& text) { d.figures += (d.figures.empty() ? "" : ", ") + text; };
    if (by_distance && i.anchor != 0) {
      if (i.at_metres < 0) more("no odometer reading, so nothing is known by distance");
      else {
        more("at " + show_distance(i.at_metres, u) + " on " + to_string(i.at_day));
        if (i.due_metres == -1) more("no reading from when it was last done, so nothing is known by distance");
        else if (i.due_metres < 0)
          more("due " + show_distance(i.at_metres - i.due_metres, u) + " ago, " + before(i));
        else more("due " + show_distance(i.due_metres, u));
        if (i.due_metres >= 0 && !i.over && i.known == Known::one_reading) more("one reading alone tells no rate");
        if (i.due_metres >= 0 && !i.over && i.known == Known::standing_still) more("the car stands still by its readings");
      }
    }
    if (by_hours && i.anchor != 0) {
      if (i.at_minutes < 0) more("no hour reading, so nothing is known by hours");
      else more("at " + due::show_hours(i.at_minutes) + (i.due_minutes >= 0 ? ", due " + due::show_hours(i.due_minutes) : i.due_minutes == -1 ? std::string() : ", due " + due::show_hours(i.at_minutes - i.due_minutes) + " ago, on the counter before"));
      if (i.at_minutes >= 0 && i.due_minutes >= 0 && !i.over && one_hour_reading(i.car)) more("one hour reading alone tells no rate");
    }
    if (i.time_day.n != kNoDay) more((d.figures.empty() ? "by " : "or by ") + to_string(i.time_day));
    if (d.projected) {
      more("about " + to_string(i.day) + ", likely between " + to_string(i.early) + " and " + (i.late.n == kNoDay ? std::string("some day") : to_string(i.late)));
      if (i.day < today_)
        more(i.decided == Decided::hours ? "read the hours to know" : "read the odometer to know");
    }
  }

  void recheck(const Item& i, const std::string& plate, DueLine& d) {
    const Units& u = in_.settings.units;
    const log::Fact closing = log::read_fact(in_.db, EntryId{i.source});
    const auto row = service::job_row(in_.db, service::belongs_to(in_.db, closing).job);
    const std::string job = row ? service::job_name(in_.known, *row) : std::string("?");
    const log::Value& spec = closing.details.list("rechecks").at(static_cast<std::size_t>(i.n - 1));
    std::string text = log::private_text(in_.db, closing, "recheck-" + std::to_string(i.n));
    if (text.empty()) text = "what was to be looked at was erased";
    d.about = job + "/" + std::to_string(i.n);
    d.what = plate + " " + text;
    d.bare = "recheck " + d.about;
    d.key = "recheck-" + std::to_string(i.source) + "-" + std::to_string(i.n);
    d.why = "job " + job + " closed " + to_string(i.anchor_day) + " (entry " + entry_name(in_, EntryId{i.source}) + ")";
    std::string after;
    if (spec.has("after-days")) after = "after " + std::to_string(spec.num("after-days")) + (spec.num("after-days") == 1 ? " day" : " days");
    if (spec.has("after-m")) after += (after.empty() ? "after " : " or ") + show_distance(Distance{spec.num("after-m"), spec.has("after-typed") ? std::string(spec.str("after-typed")) : std::string()}, u);
    d.why += after.empty() ? "; when the car is in again" : "; " + after;
    figures(i, spec.has("after-m"), false, d);
    d.source = "the job's closing";
    d.entries.push_back(book::ref_of(in_, EntryId{i.source}));
    d.settle = "baybook recheck " + d.about + " --good --found \"...\"  # or --bad";
    // A code that the recheck names and that came back answers it.
    auto q = in_.db.query("SELECT entry FROM history WHERE car = ? AND kind = 11 AND moment > ? AND moment <= ? ORDER BY moment, recorded, entry");
    q.bind(i.car.n).bind(closing.effect.moment).bind(log::last_moment(today_));
    std::vector<std::int64_t> codes;
    while (q.step()) codes.push_back(q.num(0));
    for (const std::int64_t id : codes) {
      const log::Fact code = log::read_fact(in_.db, EntryId{id});
      if (code.withdrawn || code.details.str("what") == "cleared" || text.find(code.details.str("code")) == std::string::npos) continue;
      const auto back = service::job_row(in_.db, service::belongs_to(in_.db, code).job);
      d.note = std::string(code.details.str("code")) + " came back on " + to_string(log::day_of_moment(code.effect.moment)) + (back ? ", job " + service::job_name(in_.known, *back) : std::string()) + " (entry " + entry_name(in_, EntryId{id}) + ")";
      d.entries.push_back(book::ref_of(in_, EntryId{id}));
      d.state = DueLine::State::over;
      break;
    }
  }

  const std::vector<Interval>& intervals(std::int64_t schedule) {
    auto it = intervals_.find(schedule);
    if (it == intervals_.end()) it = intervals_.emplace(schedule, due::read_intervals(in_.db, EntryId{schedule})).first;
    return it->second;
  }
  Counters& counters(CarId car) {
    auto it = counters_.find(car);
    if (it != counters_.end()) return it->second;
    Counters c;
    c.distance = due::odometer(in_.db, car, until_);
    c.distance.weigh();
    return counters_.emplace(car, std::move(c)).first->second;
  }

  Book::Inside& in_;
  Day today_;
  int within_;
  std::int64_t until_;
  std::map<std::int64_t, std::vector<Interval>> intervals_;
  std::map<CarId, Counters> counters_;
  std::optional<due::Walked> walked_;
};

// The installation whose opening comes first: the same in every book of the shop, and after one was
// put in the place of a lost one, so that a calendar knows these lines again.
std::int64_t first_origin(Book::Inside& in) {
  if (in.known.all.size() < 2) return in.known.own().origin;
  const std::vector<book::Opened> all = book::openings(in);
  const auto first = std::min_element(all.begin(), all.end(), [](const book::Opened& a, const book::Opened& b) {
    return a.effect < b.effect;
  });
  return first == all.end() ? in.known.own().origin : first->installation.origin;
}

// A standing limit of the office as a line: what belongs to a container, and what to paper.
DueLine of_limit(const LimitLine& l, std::int64_t origin, Day today, int within) {
  DueLine d;
  const bool paper = l.group == "paper" || l.group == "renewal" || l.group == "deadline" ||
                     l.group == "hold" || l.group == "spill" || l.group == "own transport" ||
                     l.group == "registration";
  d.group = paper ? DueGroup::paper : DueGroup::container;
  d.day = l.due;
  d.state = l.state == LimitLine::State::over ? DueLine::State::over : !l.due ? DueLine::State::no_day : *l.due < today ? DueLine::State::over : l.due->n - today.n <= within ? DueLine::State::soon : DueLine::State::later;
  d.about = l.what.substr(0, l.what.find(','));
  d.what = l.group + ": " + l.what;
  d.bare = l.group + ": " + d.about;
  d.figures = l.figures;
  d.source = with_words(l.section, l.sure);
  d.why = l.group == "deadline" ? "a date of the shop" : l.sure == Sure::practice ? "a habit of careful shops" : "a limit of the rules";
  d.settle = l.settle;
  d.entries = l.entries;
  // The words of a deadline are private: its code alone names it.
  d.key = "limit-" + std::to_string(origin) + "-" + sha256_hex(l.group + "|" + (l.group == "deadline" ? d.about : l.what) + "|" + l.section + "|" + (l.due ? to_string(*l.due) : std::string())).substr(0, 16);
  return d;
}

// The rows as they would have been at the end of that day: every car is looked at.
std::vector<Item> as_it_stood(Book::Inside& in, const DueFilter& filter, Day until, Day today) {
  std::vector<CarId> cars;
  if (filter.car) {
    cars.push_back(*filter.car);
  } else {
    auto q = in.db.query("SELECT id FROM car ORDER BY id");
    while (q.step()) cars.push_back(CarId{q.num(0)});
  }
  std::vector<Item> out;
  for (const CarId car : cars) {
    for (Item& i : due::items_of(in.db, car, log::last_moment(today))) {
      if (i.day <= until || i.kind == Item::Kind::recheck) out.push_back(std::move(i));
    }
  }
  std::stable_sort(out.begin(), out.end(), [](const Item& a, const Item& b) { return a.day < b.day; });
  return out;
}

}  // namespace

Result<DueList> due_list(const Book& b, Day today, const DueFilter& asked) {
  // Past these nothing is reckoned: the day after the last one would be none.
  static const Day first = *read_day("1900-01-01");
  static const Day last = *read_day("2999-12-31");
  if (today < first || today > last)
    return Refusal{Code::not_allowed,
                   "day " + std::to_string(today.n) + " from 1970 on is none of a workshop",
                   "days of a workshop are of the years 1900 to 2999",
                   "the day of today",
                   {}};
  constexpr int most_ahead = 36'600;
  DueFilter filter = asked;
  filter.within = std::clamp(filter.within, 0, most_ahead);
  const bool offices = !filter.car && (!filter.group || *filter.group == DueGroup::container || *filter.group == DueGroup::paper);
  Limits standing;
  std::vector<LevelRow> level_rows;
  if (offices) {
    auto l = limits(b, today);
    if (!l.ok()) return std::move(l).refusal();
    standing = std::move(*l);
    auto rows = levels(b, today);
    if (!rows.ok()) return std::move(rows).refusal();
    level_rows = std::move(*rows);
  }
  return book::guarded<DueList>([&]() -> Result<DueList> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    DueList out;
    out.day = today;
    out.within = filter.within;
    out.rules = standing.rules;
    out.aid = standing.aid;
    out.cautions = {
        "An aid: the maker's booklet, local codes and the authority have the last word.",
        "A cooling system is opened only when it is cold; coolant is poisonous and tastes sweet; "
        "refrigerant is for trained people."};
    const auto wanted = [&](DueGroup g) { return !filter.group || *filter.group == g; };
    if (wanted(DueGroup::car) || wanted(DueGroup::recheck)) {
      const std::int64_t known =
          filter.as_of ? log::last_moment(today) : std::numeric_limits<std::int64_t>::max();
      Teller teller(in, today, filter.within, known);
      const Day until = filter.car ? Day{kNoDay} : Day{today.n + filter.within};
      std::vector<Item> rows = filter.as_of ? as_it_stood(in, filter, until, today) : due::rows(in.db, filter.car, until, filter.most + 1);
      if (!filter.car && !filter.as_of) {
        // Rechecks without a day, and those further ahead whose code came back, are few and must not be lost from sight.
        for (Item& i : due::rechecks_without_day(in.db, filter.most)) rows.push_back(std::move(i));
        for (Item& i : due::rechecks_with_codes(in.db, until, filter.most)) rows.push_back(std::move(i));
      }
      out.cut = rows.size() > filter.most;
      if (out.cut) rows.resize(filter.most);
      for (const Item& i : rows) {
        if (!wanted(i.kind == Item::Kind::task ? DueGroup::car : DueGroup::recheck)) continue;
        DueLine d = teller.line(i);
        if (!d.day || *d.day <= until || d.state == DueLine::State::over) out.lines.push_back(std::move(d));
      }
      const bool drawn = std::any_of(out.lines.begin(), out.lines.end(),
                                     [](const DueLine& d) { return d.projected; });
      if (drawn) out.range = teller.range();
      if (!filter.car && !filter.as_of && wanted(DueGroup::car)) out.no_day = due::tasks_without_day(in.db);
    }
    if (offices) {
      const std::int64_t origin = first_origin(in);
      for (const LimitLine& l : standing.lines) {
        DueLine d = of_limit(l, origin, today, filter.within);
        const bool told = d.state == DueLine::State::over || d.state == DueLine::State::soon || (d.state == DueLine::State::no_day && l.state != LimitLine::State::fine);
        if (told && wanted(d.group)) out.lines.push_back(std::move(d));
      }
      if (wanted(DueGroup::container)) {
        for (DueLine& d : book::due_of_places(in, level_rows, today, filter.within)) out.lines.push_back(std::move(d));
      }
    }
    if (offices && wanted(DueGroup::paper)) {
      for (DueLine& d : book::due_of_erasures(in, today, filter.within)) out.lines.push_back(std::move(d));
      for (DueLine& d : book::due_of_peers(in, today, filter.within))
        out.lines.push_back(std::move(d));
    }
    const auto rank = [](const DueLine& d) {
      return d.state == DueLine::State::over     ? 0
             : d.about_now                       ? 1
             : d.state == DueLine::State::no_day ? 3
                                                 : 2;
    };
    std::stable_sort(out.lines.begin(), out.lines.end(), [&](const DueLine& x, const DueLine& y) {
      if (rank(x) != rank(y)) return rank(x) < rank(y);
      const Day a = x.day.value_or(Day{kNoDay});
      const Day c = y.day.value_or(Day{kNoDay});
      return std::tie(a, x.group, x.what) < std::tie(c, y.group, y.what);
    });
    for (const DueLine& d : out.lines) {
      out.over += d.state == DueLine::State::over ? 1 : 0;
      out.about_now += d.about_now ? 1 : 0;
    }
    out.seal = b.seal();
    return out;
  });
}

Result<RecheckRef> find_recheck(const Book& b, std::string_view typed, Match how) {
  const std::size_t slash = typed.find('/');
  auto job = b.find_job(typed.substr(0, slash), how);
  const std::string text(typed);
  if (!job.ok()) {
    Refusal r = std::move(job).refusal();
    r.instead = "the name that baybook due shows, for example 17/1";
    return r;
  }
  return book::guarded<RecheckRef>([&]() -> Result<RecheckRef> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    const auto row = service::job_row(in.db, *job);
    RecheckRef out;
    out.car = row->car;
    const std::string name = service::job_name(in.known, *row);
    if (row->closed <= 0) return Refusal{Code::not_found, "job " + name + " is still open", "rechecks are set when a job is closed", "baybook job close " + name + " --recheck \"...\" --after 3d", {}};
    out.closing = EntryId{row->closed};
    const log::Fact closing = log::read_fact(in.db, out.closing);
    const std::int64_t count = closing.details.has("rechecks") ? static_cast<std::int64_t>(closing.details.list("rechecks").size()) : 0;
    if (slash != std::string_view::npos) {
      const std::string digits = text.substr(slash + 1);
      const auto [end, error] = std::from_chars(digits.data(), digits.data() + digits.size(), out.number);
      if (error != std::errc() || end != digits.data() + digits.size() || out.number < 1) return Refusal{Code::unclear, visible(text) + " names no recheck", "a job and the number of its recheck", name + "/1", {}};
    } else {
      std::vector<int> open;
      for (int n = 1; n <= count; ++n) {
        auto q = in.db.query("SELECT 1 FROM rechecked WHERE closing = ? AND n = ? LIMIT 1");
        q.bind(out.closing.n).bind(std::int64_t{n});
        if (!q.step()) open.push_back(n);
      }
      if (open.size() > 1) return Refusal{Code::ambiguous, "job " + name + " has " + std::to_string(open.size()) + " rechecks to be looked at", "", name + "/" + std::to_string(open.front()), {}};
      if (open.size() == 1) {
        out.number = open.front();
      } else {
        // All are settled: the one settled last, so that a retry under its once-key names what the first try did.
        auto q = in.db.query("SELECT n FROM rechecked WHERE closing = ? ORDER BY recorded DESC, entry DESC LIMIT 1");
        q.bind(out.closing.n);
        if (q.step()) out.number = static_cast<int>(q.num(0));
      }
    }
    out.name = name + "/" + std::to_string(out.number);
    return out;
  });
}

}  // namespace baybook
