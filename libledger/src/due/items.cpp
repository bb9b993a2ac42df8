#include "due/items.hpp"

#include "due/anchors.hpp"
#include "due/build.hpp"

#include <algorithm>
#include <limits>
#include <map>

namespace baybook::due {

namespace {

// A minute of the engine stands for a kilometre of the road, so that one projection serves both counters.
constexpr std::int64_t kMetresForAMinute = 1000;

struct Wanted {
  std::int64_t schedule = 0, n = 0;
  int rank = 0;
  DoneBy by;
  std::int64_t months = 0, metres = 0, minutes = 0, filtered = 0;
};

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    out.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

// Of the intervals that a car has for one task the nearest to it holds: its own, its model's with that engine, its model's, its
// circuit's specification.
std::vector<Wanted> wanted(store::Db& db, CarId car, std::int64_t until) {
  std::string make, model, engine;
  std::int64_t year = 0;
  {
    auto q = db.query("SELECT make, model, engine, year, scrapped FROM car WHERE id = ?");
    q.bind(car.n);
    if (!q.step() || q.num(4) != 0) return {};
    make = q.text(0);
    model = q.text(1);
    engine = q.text(2);
    year = q.num(3);
  }
  std::map<std::string, Wanted> by_task;
  const auto take = [&](store::Query& q, int rank) {
    while (q.step()) {
      if (q.num(13) > until) continue;
      Wanted w;
      w.schedule = q.num(0);
      w.n = q.num(1);
      w.rank = rank;
      w.by = {q.text(2), q.num(3), lines_of(q.text(4))};
      w.months = q.num(5);
      w.metres = q.num(6);
      w.minutes = q.num(7);
      w.filtered = q.num(8);
      const bool every_year = q.num(11) == 0 && q.num(12) == 9999;
      if (!every_year && (year == 0 || year < q.num(11) || year > q.num(12))) continue;
      const std::string of_engine = q.text(9);
      if (!of_engine.empty()) {
        if (of_engine != engine) continue;
        w.rank = 2;
      }
      // Two of one rank are refused when they are written; brought together from two books, the later entry holds.
      Wanted& held = by_task[w.by.task];
      if (held.schedule == 0 || w.rank >= held.rank) held = std::move(w);
    }
  };
#define BAYBOOK_INTERVAL "SELECT i.schedule, i.n, i.task, i.circuit, i.parts, i.months, i.metres, i.minutes, i.filtered, i.engine, i.model, i.from_year, i.until_year, s.moment FROM interval i JOIN schedule s ON s.entry = i.schedule WHERE "
#define BAYBOOK_ORDER " ORDER BY s.moment, s.recorded, s.entry, i.n"
  bool by_specification = false;
  {
    auto q = db.query("SELECT 1 FROM interval WHERE specification <> '' LIMIT 1");
    by_specification = q.step();
  }
  if (by_specification) {
    for (const Circuit& c : circuits()) {
      std::string specification;
      {
        auto q = db.query("SELECT specification FROM place WHERE id = ?");
        q.bind(circuit_of(car, c).n);
        if (q.step()) specification = q.text(0);
      }
      if (specification.empty()) continue;
      auto q = db.query(BAYBOOK_INTERVAL "i.specification = ? AND i.specification <> '' AND i.circuit = ?" BAYBOOK_ORDER);
      q.bind(specification).bind(c.number);
      take(q, 0);
    }
  }
  if (!model.empty()) {
    auto q = db.query(BAYBOOK_INTERVAL "i.make = ? AND i.model = ? AND i.model <> ''" BAYBOOK_ORDER);
    q.bind(make).bind(model);
    take(q, 1);
  }
  {
    auto q = db.query(BAYBOOK_INTERVAL "i.car = ? AND i.car <> 0" BAYBOOK_ORDER);
    q.bind(car.n);
    take(q, 3);
  }
#undef BAYBOOK_INTERVAL
#undef BAYBOOK_ORDER
  std::vector<Wanted> out;
  for (auto& [task, w] : by_task) out.push_back(std::move(w));
  return out;
}

// What a counter says: its readings, how it is used, and how far it came since a moment.
struct Counter {
  std::vector<OdometerReading> readings;  ///< metres, or minutes that stand for kilometres
  std::vector<std::int64_t> moments;
  Use use;

  void weigh() { use = read_use(readings).use; }
  [[nodiscard]] bool any() const { return use.readings > 0; }
  /// As shown at a moment by the last reading up to it; -1: none.
  [[nodiscard]] std::int64_t at(std::int64_t moment) const {
    std::int64_t out = -1;
    for (std::size_t i = 0; i < readings.size() && moments[i] <= moment; ++i) out = readings[i].metres;
    return out;
  }
  /// What the instrument of now shows when `interval` has been driven since it showed `from` at that moment: a replaced one counts on.
  [[nodiscard]] std::int64_t due_after(std::int64_t moment, std::int64_t from, std::int64_t interval) const {
    std::int64_t shown = from;
    std::int64_t driven = 0;
    for (std::size_t i = 0; i < readings.size(); ++i) {
      if (moments[i] <= moment) continue;
      if (!readings[i].replaced) driven += readings[i].metres - shown;
      shown = readings[i].metres;
    }
    return shown - driven + interval;
  }
  /// The first day on which a reading showed that much; none: no reading did.
  [[nodiscard]] std::optional<Day> reached(std::int64_t since, std::int64_t shown_now) const {
    // By the readings that are used: a slip neither makes a task due nor puts it off.
    if (!any() || use.last_metres < shown_now) return std::nullopt;
    std::size_t first = readings.size() - 1;
    while (first > 0 && moments[first - 1] > since && !readings[first].replaced && readings[first - 1].metres >= shown_now) --first;
    return readings[first].day;
  }
};

Counter odometer(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, metres, reset, entry FROM reading WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    c.readings.push_back({log::day_of_moment(q.num(0)), q.num(1), q.num(2) != 0, q.num(3)});
    c.moments.push_back(q.num(0));
  }
  return c;
}

Counter engine(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, minutes, reset, entry FROM hours WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    c.readings.push_back({log::day_of_moment(q.num(0)), q.num(1) * kMetresForAMinute, q.num(2) != 0, q.num(3)});
    c.moments.push_back(q.num(0));
  }
  return c;
}

// One limit of an item: its day takes the item over when it is the sooner one.
void reckon(Item& item, Decided by, Day early, Day likely, Day late) {
  if (likely < item.day || item.decided == Decided::nothing) {
    item.day = likely;
    item.decided = by;
  }
  item.early = std::min(item.early, early);
  item.late = std::min(item.late, late);
}

// A limit by a counter. `due` is what the counter shows then, -1 when that is not known.
void by_counter(Item& item, Decided by, const Counter& c, std::int64_t since, std::int64_t due) {
  if (due < 0) return;
  if (const auto day = c.reached(since, due)) {
    item.over = true;
    if (by == Decided::distance) item.known = Known::projected;
    reckon(item, by, *day, *day, *day);
    return;
  }
  const Reach r = when_reaches(c.use, due);
  if (by == Decided::distance) item.known = r.known;
  if (r.known != Known::projected || r.likely_open) return;
  reckon(item, by, r.early, r.likely, r.late_open ? Day{kNoDay} : r.late);
}

void put_off(store::Db& db, Item& item, std::int64_t since, std::int64_t until) {
  auto q = db.query("SELECT entry, until FROM put_off WHERE car = ? AND item = ? AND moment BETWEEN ? AND ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(item.car.n).bind(item.item).bind(since).bind(until);
  if (!q.step()) return;
  item.put_off = q.num(0);
  item.put_off_until = Day{static_cast<std::int32_t>(q.num(1))};
  if (item.put_off_until > item.day || item.day.n == kNoDay) item.day = item.put_off_until;
}

Item task(store::Db& db, CarId car, const Wanted& w, const Counter& distance, const Counter& hours, std::int64_t until) {
  Item item;
  item.kind = Item::Kind::task;
  item.car = car;
  item.item = task_item(w.by.task);
  item.source = w.schedule;
  item.n = w.n;
  if (distance.any()) {
    item.at_metres = distance.use.last_metres;
    item.at_day = distance.use.last_day;
  }
  if (hours.any()) item.at_minutes = hours.use.last_metres / kMetresForAMinute;
  const auto anchor = last_done(db, car, w.by, until);
  if (!anchor) {
    put_off(db, item, std::numeric_limits<std::int64_t>::min(), until);
    return item;
  }
  item.anchor = anchor->entry;
  item.anchor_day = anchor->day;
  item.filtered = anchor->filtered;
  const auto share = [&](std::int64_t whole) { return anchor->filtered && whole > 0 ? std::max<std::int64_t>(1, whole * w.filtered / 100) : whole; };
  if (w.months > 0) {
    item.time_day = add_months(anchor->day, static_cast<int>(share(w.months)));
    reckon(item, Decided::time, item.time_day, item.time_day, item.time_day);
  }
  if (w.metres > 0) {
    item.anchor_metres = anchor->metres >= 0 ? anchor->metres : distance.at(anchor->moment);
    if (item.anchor_metres >= 0 && distance.any()) item.due_metres = distance.due_after(anchor->moment, item.anchor_metres, share(w.metres));
    by_counter(item, Decided::distance, distance, anchor->moment, item.due_metres);
  }
  if (w.minutes > 0) {
    const std::int64_t shown = hours.at(anchor->moment);
    item.anchor_minutes = anchor->minutes >= 0 ? anchor->minutes : shown < 0 ? -1 : shown / kMetresForAMinute;
    if (item.anchor_minutes >= 0 && hours.any()) item.due_minutes = hours.due_after(anchor->moment, item.anchor_minutes * kMetresForAMinute, share(w.minutes) * kMetresForAMinute) / kMetresForAMinute;
    by_counter(item, Decided::hours, hours, anchor->moment, item.due_minutes < 0 ? -1 : item.due_minutes * kMetresForAMinute);
  }
  put_off(db, item, anchor->moment, until);
  return item;
}

void rechecks(store::Db& db, CarId car, const Counter& distance, std::int64_t until, std::vector<Item>& out) {
  std::vector<std::int64_t> closings;
  {
    auto q = db.query("SELECT entry FROM recheck WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
    q.bind(car.n).bind(until);
    while (q.step()) closings.push_back(q.num(0));
  }
  for (const std::int64_t id : closings) {
    const log::Fact closing = log::read_fact(db, EntryId{id});
    int n = 0;
    for (const log::Value& v : closing.details.list("rechecks")) {
      ++n;
      {
        auto q = db.query("SELECT 1 FROM rechecked WHERE closing = ? AND n = ? AND moment <= ? LIMIT 1");
        q.bind(id).bind(std::int64_t{n}).bind(until);
        if (q.step()) continue;
      }
      Item item;
      item.kind = Item::Kind::recheck;
      item.car = car;
      item.item = recheck_item(EntryId{id}, n);
      item.source = item.anchor = id;
      item.n = n;
      const std::int64_t moment = closing.effect.moment;
      item.anchor_day = log::day_of_moment(moment);
      if (distance.any()) {
        item.at_metres = distance.use.last_metres;
        item.at_day = distance.use.last_day;
      }
      if (v.has("after-days")) {
        item.time_day = Day{item.anchor_day.n + static_cast<std::int32_t>(v.num("after-days"))};
        reckon(item, Decided::time, item.time_day, item.time_day, item.time_day);
      }
      if (v.has("after-m")) {
        item.anchor_metres = distance.at(moment);
        if (item.anchor_metres >= 0) item.due_metres = distance.due_after(moment, item.anchor_metres, v.num("after-m"));
        by_counter(item, Decided::distance, distance, moment, item.due_metres);
      }
      put_off(db, item, moment, until);
      out.push_back(std::move(item));
    }
  }
}

}  // namespace

std::vector<OdometerReading> readings_of(store::Db& db, CarId car, std::int64_t until) { return odometer(db, car, until).readings; }

std::vector<Item> items_of(store::Db& db, CarId car, std::int64_t until) {
  std::vector<Item> out;
  bool scheduled = false;
  {
    auto q = db.query("SELECT 1 FROM schedule LIMIT 1");
    scheduled = q.step();
  }
  bool watched = false;
  {
    auto q = db.query("SELECT 1 FROM recheck WHERE car = ? LIMIT 1");
    q.bind(car.n);
    watched = q.step();
  }
  if (!scheduled && !watched) return out;
  {
    auto q = db.query("SELECT 1 FROM car WHERE id = ? AND scrapped = 0");
    q.bind(car.n);
    if (!q.step()) return out;
  }
  const std::vector<Wanted> tasks = scheduled ? wanted(db, car, until) : std::vector<Wanted>();
  if (tasks.empty() && !watched) return out;
  Counter distance = odometer(db, car, until);
  distance.weigh();
  Counter hours;
  if (std::any_of(tasks.begin(), tasks.end(), [](const Wanted& w) { return w.minutes > 0; })) {
    hours = engine(db, car, until);
    hours.weigh();
  }
  for (const Wanted& w : tasks) out.push_back(task(db, car, w, distance, hours, until));
  if (watched) rechecks(db, car, distance, until, out);
  return out;
}

void refresh(store::Db& db, const std::set<CarId>& cars) {
  for (const CarId car : cars) {
    {
      auto q = db.query("DELETE FROM due_item WHERE car = ?");
      q.bind(car.n).run();
    }
    for (const Item& i : items_of(db, car, std::numeric_limits<std::int64_t>::max())) {
      auto q = db.query(
          "INSERT INTO due_item(car, item, kind, day, early, late, decided_by, time_day, due_metres, at_metres, at_day, due_minutes, at_minutes, known, over, anchor, anchor_day, "
          "anchor_metres, anchor_minutes, filtered, source, n, put_off, put_off_until) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
      q.bind(car.n).bind(i.item).bind(static_cast<std::int64_t>(i.kind)).bind(std::int64_t{i.day.n}).bind(std::int64_t{i.early.n}).bind(std::int64_t{i.late.n}).bind(static_cast<std::int64_t>(i.decided));
      q.bind(std::int64_t{i.time_day.n}).bind(i.due_metres).bind(i.at_metres).bind(std::int64_t{i.at_day.n}).bind(i.due_minutes).bind(i.at_minutes).bind(static_cast<std::int64_t>(i.known));
      q.bind(std::int64_t{i.over}).bind(i.anchor).bind(std::int64_t{i.anchor_day.n}).bind(i.anchor_metres).bind(i.anchor_minutes).bind(std::int64_t{i.filtered}).bind(i.source).bind(i.n);
      q.bind(i.put_off).bind(std::int64_t{i.put_off_until.n}).run();
    }
  }
}

namespace {

#define BAYBOOK_DUE "SELECT car, item, kind, day, early, late, decided_by, time_day, due_metres, at_metres, at_day, due_minutes, at_minutes, known, over, anchor, anchor_day, anchor_metres, anchor_minutes, filtered, source, n, put_off, put_off_until FROM due_item "

Day day_in(const store::Query& q, int column) { return Day{static_cast<std::int32_t>(q.num(column))}; }

Item read(const store::Query& q) {
  Item i;
  i.car = CarId{q.num(0)};
  i.item = q.text(1);
  i.kind = static_cast<Item::Kind>(q.num(2));
  i.day = day_in(q, 3);
  i.early = day_in(q, 4);
  i.late = day_in(q, 5);
  i.decided = static_cast<Decided>(q.num(6));
  i.time_day = day_in(q, 7);
  i.due_metres = q.num(8);
  i.at_metres = q.num(9);
  i.at_day = day_in(q, 10);
  i.due_minutes = q.num(11);
  i.at_minutes = q.num(12);
  i.known = static_cast<Known>(q.num(13));
  i.over = q.num(14) != 0;
  i.anchor = q.num(15);
  i.anchor_day = day_in(q, 16);
  i.anchor_metres = q.num(17);
  i.anchor_minutes = q.num(18);
  i.filtered = q.num(19) != 0;
  i.source = q.num(20);
  i.n = q.num(21);
  i.put_off = q.num(22);
  i.put_off_until = day_in(q, 23);
  return i;
}

}  // namespace

std::vector<Item> rows(store::Db& db, std::optional<CarId> car, Day until, std::size_t most) {
  std::vector<Item> out;
  const auto limit = static_cast<std::int64_t>(most);
  if (car) {
    auto q = db.query(BAYBOOK_DUE "WHERE car = ? AND day <= ? ORDER BY day, item LIMIT ?");
    q.bind(car->n).bind(std::int64_t{until.n}).bind(limit);
    while (q.step()) out.push_back(read(q));
    return out;
  }
  // Kind by kind in the order of the index: what is not due is not looked at, however many cars there are.
  for (const Item::Kind kind : {Item::Kind::task, Item::Kind::recheck}) {
    auto q = db.query(BAYBOOK_DUE "WHERE kind = ? AND day <= ? ORDER BY day, car, item LIMIT ?");
    q.bind(static_cast<std::int64_t>(kind)).bind(std::int64_t{until.n}).bind(limit);
    while (q.step()) out.push_back(read(q));
  }
  std::stable_sort(out.begin(), out.end(), [](const Item& a, const Item& b) { return a.day < b.day; });
  if (out.size() > most) out.resize(most);
  return out;
}

std::vector<Item> rechecks_without_day(store::Db& db, std::size_t most) {
  std::vector<Item> out;
  auto q = db.query(BAYBOOK_DUE "WHERE day = ? AND kind = 2 ORDER BY car, item LIMIT ?");
  q.bind(std::int64_t{kNoDay}).bind(static_cast<std::int64_t>(most));
  while (q.step()) out.push_back(read(q));
  return out;
}

std::vector<Item> rechecks_with_codes(store::Db& db, Day after, std::size_t most) {
  std::vector<Item> out;
  auto q = db.query(BAYBOOK_DUE
                    "WHERE kind = 2 AND day > ? AND day < ? AND EXISTS (SELECT 1 FROM recheck r JOIN history h ON h.car = r.car AND h.kind = 11 AND h.moment > r.moment WHERE r.car = due_item.car AND r.entry = due_item.source) "
                    "ORDER BY day, car, item LIMIT ?");
  q.bind(std::int64_t{after.n}).bind(std::int64_t{kNoDay}).bind(static_cast<std::int64_t>(most));
  while (q.step()) out.push_back(read(q));
  return out;
}

#undef BAYBOOK_DUE

std::int64_t tasks_without_day(store::Db& db) {
  auto q = db.query("SELECT count(*) FROM due_item WHERE day = ? AND kind = 1");
  q.bind(std::int64_t{kNoDay});
  return q.step_num();
}

}  // namespace baybook::due
