// The derived rows of what the office writes.
#include "returns/build.hpp"

namespace baybook::returns {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

std::int64_t ref(const Fact& fact, const char* key) {
  const Value* v = fact.details.find(key);
  return v ? log::read_ref(*v, fact.origin()) : 0;
}

std::int64_t yes(const Value& details, const char* key) { return details.has(key) ? 1 : 0; }

// A filing stands among what was done, of no car: the tables of format 1 stay as they are.
void fold_filing(store::Db& db, const Fact& fact) {
  const Value& d = fact.details;
  const std::string_view period = d.has("period") ? d.str("period") : std::string_view();
  auto q = db.query(
      "INSERT INTO task_done(car, task, moment, recorded, entry, day, metres, minutes) "
      "VALUES(0, ?, ?, ?, ?, ?, ?, ?)");
  q.bind(std::string(d.str("what")) + " " + std::string(period))
      .bind(fact.effect.moment)
      .bind(fact.effect.recorded)
      .bind(fact.id().n)
      .bind(log::read_day_number(d.str("filed")))
      .bind(ref(fact, "about"))
      .bind(std::int64_t{d.has("way") && d.str("way") == "paper"})
      .run();
}

// A circumstance stands among the marks: of no place, and of each container that is its own.
void mark(store::Db& db, const Fact& fact, std::int64_t place, std::int64_t what) {
  auto q = db.query(
      "INSERT OR IGNORE INTO mark(place, moment, recorded, entry, what) VALUES(?, ?, ?, ?, ?)");
  q.bind(place).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).bind(what);
  q.run();
}

std::vector<std::int64_t> containers_of(const Fact& fact) {
  std::vector<std::int64_t> out;
  if (!fact.details.has("containers")) return out;
  for (const Value& c : fact.details.list("containers"))
    out.push_back(log::read_place(c.at("place"), fact.origin()).n);
  return out;
}

void fold_circumstance(store::Db& db, const Fact& fact) {
  const std::string_view what = fact.details.str("what");
  mark(db, fact, 0, what == "event" ? 5 : what == "hold" ? 6 : what == "extension" ? 7 : 8);
  for (const std::int64_t place : containers_of(fact)) mark(db, fact, place, 9);
}

void unfold_circumstance(store::Db& db, const Fact& fact) {
  std::vector<std::int64_t> all = containers_of(fact);
  all.push_back(0);
  for (const std::int64_t place : all) {
    auto q = db.query("DELETE FROM mark WHERE place = ? AND entry = ?");
    q.bind(place).bind(fact.id().n).run();
  }
}

void unfold_filing(store::Db& db, const Fact& fact) {
  auto q = db.query("DELETE FROM task_done WHERE car = 0 AND entry = ?");
  q.bind(fact.id().n).run();
}

bool is_pickup(const Fact& fact) { return fact.kind == Kind::movement && fact.details.str("verb") == "pickup"; }

}  // namespace

void fold(store::Db& db, const Fact& fact) {
  if (fact.withdrawn) return;
  const Value& d = fact.details;
  const std::int64_t id = fact.id().n;
  const auto in_order = [&](store::Query& q) -> store::Query& { return q.bind(fact.effect.moment).bind(fact.effect.recorded).bind(id); };
  if (fact.kind == Kind::firm) {
    const std::string name = log::surviving_text(db, fact, "name");
    auto q = db.query("INSERT INTO firm(id, code, name, carries, receives) VALUES(?, ?, ?, ?, ?)");
    q.bind(id).bind(std::string(d.str("code"))).bind(name).bind(yes(d, "carries")).bind(yes(d, "receives")).run();
  } else if (fact.kind == Kind::rules) {
    auto q = db.query("INSERT INTO ruling(day, name, moment, recorded, entry) VALUES(?, ?, ?, ?, ?)");
    q.bind(log::read_day_number(d.str("from"))).bind(std::string(d.str("set")));
    in_order(q).run();
  } else if (is_pickup(fact)) {
    auto q = db.query("INSERT INTO pickup(document, carrier, receiver, moment, recorded, entry) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(std::string(d.has("document") ? d.str("document") : std::string_view())).bind(ref(fact, "carrier-firm")).bind(ref(fact, "receiver-firm"));
    in_order(q).run();
  } else if (fact.kind == Kind::confirm) {
    auto q = db.query("INSERT INTO confirmed(pickup, day, moment, recorded, entry) VALUES(?, ?, ?, ?, ?)");
    q.bind(ref(fact, "pickup")).bind(log::read_day_number(d.str("signed")));
    in_order(q).run();
  } else if (fact.kind == Kind::inspection) {
    auto q = db.query("INSERT INTO inspected(area, next, faults, moment, recorded, entry) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(std::string(d.str("area"))).bind(d.has("next") ? log::read_day_number(d.str("next")) : 0).bind(yes(d, "faults"));
    in_order(q).run();
  } else if (fact.kind == Kind::determination) {
    auto q = db.query("INSERT INTO determined(stream, place, hazardous, moment, recorded, entry) VALUES(?, ?, ?, ?, ?, ?)");
    const Value* place = d.find("place");
    q.bind(std::string(d.str("stream"))).bind(place ? log::read_place(*place, fact.origin()).n : 0).bind(std::int64_t{d.flag("hazardous")});
    in_order(q).run();
  } else if (fact.kind == Kind::paper) {
    auto q = db.query("INSERT INTO paper(about, file, digest, bytes, entry) VALUES(?, ?, ?, ?, ?)");
    q.bind(ref(fact, "about")).bind(std::string(d.str("file"))).bind(std::string(d.str("sha256"))).bind(d.num("bytes")).bind(id).run();
  } else if (fact.kind == Kind::deadline) {
    auto q = db.query("INSERT INTO deadline(id, code, due, months) VALUES(?, ?, ?, ?)");
    q.bind(id).bind(std::string(d.str("code"))).bind(log::read_day_number(d.str("due"))).bind(d.has("months") ? d.num("months") : 0).run();
  } else if (fact.kind == Kind::deadline_done) {
    auto q = db.query("INSERT INTO deadline_done(deadline, next, moment, recorded, entry) VALUES(?, ?, ?, ?, ?)");
    q.bind(ref(fact, "deadline")).bind(d.has("next") ? log::read_day_number(d.str("next")) : 0);
    in_order(q).run();
  } else if (fact.kind == Kind::filing) {
    fold_filing(db, fact);
  } else if (fact.kind == Kind::circumstance) {
    fold_circumstance(db, fact);
  } else if (fact.kind == Kind::close) {
    auto q = db.query("INSERT INTO closed(month, moment, recorded, entry) VALUES(?, ?, ?, ?)");
    q.bind(std::int64_t{month_of(Day{static_cast<std::int32_t>(log::read_day_number(std::string(d.str("month")) + "-01"))}).n});
    in_order(q).run();
  }
}

void unfold(store::Db& db, const Fact& fact) {
  if (fact.withdrawn) return;
  if (fact.kind == Kind::filing) return unfold_filing(db, fact);
  if (fact.kind == Kind::circumstance) return unfold_circumstance(db, fact);
  const char* sql = nullptr;
  if (fact.kind == Kind::firm) sql = "DELETE FROM firm WHERE id = ?";
  else if (fact.kind == Kind::rules) sql = "DELETE FROM ruling WHERE entry = ?";
  else if (is_pickup(fact)) sql = "DELETE FROM pickup WHERE entry = ?";
  else if (fact.kind == Kind::confirm) sql = "DELETE FROM confirmed WHERE entry = ?";
  else if (fact.kind == Kind::inspection) sql = "DELETE FROM inspected WHERE entry = ?";
  else if (fact.kind == Kind::determination) sql = "DELETE FROM determined WHERE entry = ?";
  else if (fact.kind == Kind::paper) sql = "DELETE FROM paper WHERE entry = ?";
  else if (fact.kind == Kind::deadline) sql = "DELETE FROM deadline WHERE id = ?";
  else if (fact.kind == Kind::deadline_done) sql = "DELETE FROM deadline_done WHERE entry = ?";
  else if (fact.kind == Kind::close) sql = "DELETE FROM closed WHERE entry = ?";
  if (sql == nullptr) return;
  auto q = db.query(sql);
  q.bind(fact.id().n).run();
}

}  // namespace baybook::returns
