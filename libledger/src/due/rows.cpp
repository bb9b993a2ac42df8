// Items as rows of due_item: made anew for the cars that moved, read by their day.
#include "due/items.hpp"

#include <algorithm>
#include <limits>

namespace baybook::due {

void refresh(store::Db& db, const std::set<CarId>& cars) {
  for (const CarId car : cars) {
    {
      // Most movements are of cars of which nothing is scheduled and nothing watched: one question, and nothing to do.
      auto q = db.query("SELECT EXISTS(SELECT 1 FROM schedule) OR EXISTS(SELECT 1 FROM recheck WHERE car = ?1) OR EXISTS(SELECT 1 FROM due_item WHERE car = ?1)");
      q.bind(car.n);
      if (q.step_num() == 0) continue;
    }
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
