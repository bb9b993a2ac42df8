#include "due/items.hpp"

#include "due/build.hpp"
#include "due/counter.hpp"
#include "due/wanted.hpp"

#include <algorithm>

namespace baybook::due {

namespace {

// One limit of an item: its day takes the item over when it is the sooner one.
void reckon(Item& item, Decided by, Day early, Day likely, Day late) {
  if (likely < item.day || item.decided == Decided::nothing) {
    item.day = likely;
    item.decided = by;
  }
  item.early = std::min(item.early, early);
  item.late = std::min(item.late, late);
}

// What the counter of now shows when it is due; below nothing when that was on the instrument before. -1 stands for not known, so no sum is it.
std::int64_t told_apart(std::int64_t due) { return due == -1 ? -2 : due; }

// A limit by a counter. `due` is what the counter shows then, -1 when that is not known.
void by_counter(Item& item, Decided by, const Counter& c, std::int64_t since, std::int64_t due) {
  if (due == -1) return;
  if (const auto day = c.reached(since, due)) {
    item.over = true;
    if (by == Decided::distance) item.known = Known::projected;
    reckon(item, by, *day, *day, *day);
    return;
  }
  const Reach r = when_reaches_as_kept(c.use, due);
  if (by == Decided::distance) item.known = r.known;
  if (r.known != Known::projected || r.likely_open) return;
  reckon(item, by, r.early, r.likely, r.late_open ? Day{kNoDay} : r.late);
}

// A task is put off until it is done: what was written before it was put down as done, on whatever day that was, was meant for the time before.
void put_off(store::Db& db, Item& item, std::int64_t until) {
  auto q = db.query("SELECT entry, until FROM put_off WHERE car = ?1 AND item = ?2 AND moment <= ?3 AND (?4 = 0 OR (recorded, entry) > ((SELECT recorded FROM entry WHERE id = ?4), ?4)) ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(item.car.n).bind(item.item).bind(until).bind(item.anchor);
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
    put_off(db, item, until);
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
    if (item.anchor_metres >= 0 && distance.any()) item.due_metres = told_apart(distance.due_after(anchor->moment, item.anchor_metres, share(w.metres)));
    by_counter(item, Decided::distance, distance, anchor->moment, item.due_metres);
  }
  if (w.minutes > 0) {
    const std::int64_t shown = hours.at(anchor->moment);
    item.anchor_minutes = anchor->minutes >= 0 ? anchor->minutes : shown < 0 ? -1 : shown / kMetresForAMinute;
    if (item.anchor_minutes >= 0 && hours.any()) item.due_minutes = told_apart(hours.due_after(anchor->moment, item.anchor_minutes * kMetresForAMinute, share(w.minutes) * kMetresForAMinute) / kMetresForAMinute);
    by_counter(item, Decided::hours, hours, anchor->moment, item.due_minutes == -1 ? -1 : item.due_minutes * kMetresForAMinute);
  }
  put_off(db, item, until);
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
        if (item.anchor_metres >= 0) item.due_metres = told_apart(distance.due_after(moment, item.anchor_metres, v.num("after-m")));
        by_counter(item, Decided::distance, distance, moment, item.due_metres);
      }
      put_off(db, item, until);
      out.push_back(std::move(item));
    }
  }
}

}  // namespace

Width widen(Item& item, const Counter& distance, const Counter& hours) {
  if (item.over) return std::nullopt;
  item.early = item.late = item.time_day;
  Width out;
  const auto draw = [&](Decided by, const Counter& c, std::int64_t due) {
    const Reach r = when_reaches(c.use, due);
    if (r.known != Known::projected || r.reached || r.likely_open) return;
    item.early = std::min(item.early, r.early);
    item.late = std::min(item.late, r.late_open ? Day{kNoDay} : r.late);
    if (by == item.decided) out = c.use.width_millionths;
  };
  if (item.due_metres >= 0) draw(Decided::distance, distance, item.due_metres);
  if (item.due_minutes >= 0) draw(Decided::hours, hours, item.due_minutes * kMetresForAMinute);
  return out;
}

std::vector<OdometerReading> readings_of(store::Db& db, CarId car, std::int64_t until) { return odometer(db, car, until).readings; }

std::vector<std::string> tasks_of(store::Db& db, CarId car) {
  std::vector<std::string> out;
  for (const Wanted& w : wanted(db, car)) out.push_back(w.by.task);
  return out;
}

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
  const std::vector<Wanted> tasks = scheduled ? wanted(db, car) : std::vector<Wanted>();
  if (tasks.empty() && !watched) return out;
  Counter distance = odometer(db, car, until);
  distance.weigh();
  Counter hours;
  if (std::any_of(tasks.begin(), tasks.end(), [](const Wanted& w) { return w.minutes > 0; })) {
    hours = engine_hours(db, car, until);
    hours.weigh();
  }
  for (const Wanted& w : tasks) out.push_back(task(db, car, w, distance, hours, until));
  if (watched) rechecks(db, car, distance, until, out);
  return out;
}

}  // namespace baybook::due
