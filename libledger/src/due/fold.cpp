// Derived rows of what is written about what is due.
#include "due/build.hpp"

#include "service/reading.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

namespace baybook::due {

using log::Fact;
using log::Kind;
using log::Value;

namespace {

std::string text(const Value& v, const char* key) { return v.has(key) ? std::string(v.str(key)) : std::string(); }
std::int64_t number(const Value& v, const char* key, std::int64_t none = 0) { return v.has(key) ? v.num(key) : none; }

std::int64_t ref(const Value& v, const char* key, std::int64_t origin) {
  const Value* r = v.find(key);
  return r ? log::read_ref(*r, origin) : 0;
}

// One interval set by hand is a schedule of its own, known by its car and task.
std::string name_of(const Fact& fact) {
  if (fact.details.has("name")) return std::string(fact.details.str("name"));
  const Value& one = fact.details.list("intervals").at(0);
  return "car " + std::to_string(ref(one, "car", fact.origin())) + " " + std::string(one.str("task"));
}

void write_intervals(store::Db& db, const Fact& fact) {
  std::int64_t n = 0;
  for (const Value& v : fact.details.list("intervals")) {
    std::string parts;
    if (v.has("parts")) {
      for (const Value& p : v.list("parts")) parts += (parts.empty() ? "" : "\n") + plate_key(p.as_string());
    }
    const Circuit* circuit = v.has("circuit") ? find_circuit(v.str("circuit")) : nullptr;
    auto q = db.query(
        "INSERT INTO interval(schedule, n, car, make, model, engine, from_year, until_year, specification, task, circuit, parts, months, metres, minutes, filtered) "
        "VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    q.bind(fact.id().n).bind(++n).bind(ref(v, "car", fact.origin())).bind(plate_key(text(v, "make"))).bind(plate_key(text(v, "model"))).bind(plate_key(text(v, "engine")));
    q.bind(number(v, "from-year")).bind(number(v, "until-year", 9999)).bind(plate_key(text(v, "specification"))).bind(std::string(v.str("task")));
    q.bind(circuit ? circuit->number : 0).bind(parts).bind(number(v, "months")).bind(number(v, "distance-m")).bind(number(v, "hours") * 60);
    q.bind(number(v, "filtered-percent", kFilteredPercent)).run();
  }
}

// Of several schedules of one name the latest in effect order holds.
void recompute_schedule(store::Db& db, const std::string& name) {
  std::vector<std::int64_t> entries;
  {
    auto q = db.query("SELECT entry FROM schedule WHERE name = ? ORDER BY moment, recorded, entry");
    q.bind(name);
    while (q.step()) entries.push_back(q.num(0));
  }
  for (const std::int64_t e : entries) {
    auto q = db.query("DELETE FROM interval WHERE schedule = ?");
    q.bind(e).run();
  }
  if (!entries.empty()) write_intervals(db, log::read_fact(db, EntryId{entries.back()}));
}

}  // namespace

std::string task_item(std::string_view task) { return "task " + std::string(task); }
std::string recheck_item(EntryId closing, int number) { return "recheck " + std::to_string(closing.n) + "/" + std::to_string(number); }

std::string show_hours(std::int64_t minutes) {
  const std::int64_t tenths = (minutes + 3) / 6;
  return std::to_string(tenths / 10) + (tenths % 10 != 0 ? "." + std::to_string(tenths % 10) : "") + " h";
}

std::string told(std::int64_t months, const std::optional<Distance>& distance, std::int64_t minutes, const Units& units) {
  std::vector<std::string> limits;
  if (months > 0) limits.push_back(months % 12 == 0 ? std::to_string(months / 12) + (months == 12 ? " year" : " years") : std::to_string(months) + (months == 1 ? " month" : " months"));
  if (distance && distance->metres > 0) limits.push_back(show_distance(*distance, units));
  if (minutes > 0) limits.push_back(show_hours(minutes));
  std::string out = "every ";
  for (std::size_t i = 0; i < limits.size(); ++i) out += (i == 0 ? "" : i + 1 == limits.size() ? " or " : ", ") + limits[i];
  return out;
}

void fold(store::Db& db, const Fact& fact) {
  if (fact.withdrawn) return;
  const Value& d = fact.details;
  const std::int64_t id = fact.id().n;
  if (fact.kind == Kind::schedule) {
    const std::string name = name_of(fact);
    {
      auto q = db.query("INSERT INTO schedule(entry, name, moment, recorded, reuse_days) VALUES(?, ?, ?, ?, ?)");
      q.bind(id).bind(name).bind(fact.effect.moment).bind(fact.effect.recorded).bind(number(d, "reuse-days")).run();
    }
    recompute_schedule(db, name);
  } else if (fact.kind == Kind::task_done) {
    auto q = db.query("INSERT INTO task_done(car, task, moment, recorded, entry, day, metres, minutes) VALUES(?, ?, ?, ?, ?, ?, ?, ?)");
    q.bind(ref(d, "car", fact.origin())).bind(std::string(d.str("task"))).bind(fact.effect.moment).bind(fact.effect.recorded).bind(id);
    q.bind(d.has("when") ? log::read_day_number(d.str("when")) : std::int64_t{log::day_of_moment(fact.effect.moment).n}).bind(number(d, "odometer-m", -1)).bind(number(d, "minutes", -1)).run();
  } else if (fact.kind == Kind::put_off) {
    const std::string item = d.has("task") ? task_item(d.str("task")) : recheck_item(EntryId{ref(d, "closing", fact.origin())}, static_cast<int>(d.num("recheck")));
    auto q = db.query("INSERT INTO put_off(car, item, moment, recorded, entry, until) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(ref(d, "car", fact.origin())).bind(item).bind(fact.effect.moment).bind(fact.effect.recorded).bind(id).bind(log::read_day_number(d.str("until"))).run();
  } else if (fact.kind == Kind::recheck_done) {
    auto q = db.query("INSERT INTO rechecked(closing, n, moment, recorded, entry, good) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(ref(d, "closing", fact.origin())).bind(d.num("recheck")).bind(fact.effect.moment).bind(fact.effect.recorded).bind(id).bind(std::int64_t{d.flag("good")}).run();
  } else if (fact.kind == Kind::hours) {
    auto q = db.query("INSERT INTO hours(car, moment, recorded, entry, minutes, reset) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(ref(d, "car", fact.origin())).bind(fact.effect.moment).bind(fact.effect.recorded).bind(id).bind(d.num("minutes")).bind(service::jumps_of(d)).run();
  }
}

void unfold(store::Db& db, const Fact& fact) {
  if (fact.withdrawn) return;
  const std::int64_t id = fact.id().n;
  const std::int64_t moment = fact.effect.moment;
  const std::int64_t recorded = fact.effect.recorded;
  const Value& d = fact.details;
  if (fact.kind == Kind::schedule) {
    {
      auto q = db.query("DELETE FROM interval WHERE schedule = ?");
      q.bind(id).run();
    }
    {
      auto q = db.query("DELETE FROM schedule WHERE entry = ?");
      q.bind(id).run();
    }
    recompute_schedule(db, name_of(fact));
  } else if (fact.kind == Kind::task_done) {
    auto q = db.query("DELETE FROM task_done WHERE car = ? AND task = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(ref(d, "car", fact.origin())).bind(std::string(d.str("task"))).bind(moment).bind(recorded).bind(id).run();
  } else if (fact.kind == Kind::put_off) {
    auto q = db.query("DELETE FROM put_off WHERE car = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(ref(d, "car", fact.origin())).bind(moment).bind(recorded).bind(id).run();
  } else if (fact.kind == Kind::recheck_done) {
    auto q = db.query("DELETE FROM rechecked WHERE closing = ? AND n = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(ref(d, "closing", fact.origin())).bind(d.num("recheck")).bind(moment).bind(recorded).bind(id).run();
  } else if (fact.kind == Kind::hours) {
    auto q = db.query("DELETE FROM hours WHERE car = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(ref(d, "car", fact.origin())).bind(moment).bind(recorded).bind(id).run();
  }
}

}  // namespace baybook::due
