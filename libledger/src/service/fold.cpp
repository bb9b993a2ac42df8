#include "service/build.hpp"
#include "service/parts.hpp"
#include "service/reading.hpp"

#include "log/describing.hpp"
#include "log/references.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

#include <map>

namespace baybook::service {

using log::Fact;
using log::Kind;
using log::Value;

std::optional<JobRow> job_row(store::Db& db, JobId id) {
  auto q = db.query("SELECT number, car, moment, closed, closed_moment FROM job WHERE id = ?");
  q.bind(id.n);
  if (!q.step()) return std::nullopt;
  return JobRow{id, q.num(0), CarId{q.num(1)}, q.num(2), q.num(3), q.num(4)};
}

std::string job_name(const log::Installations& known, const JobRow& job) {
  const std::int64_t origin = EntryId{job.id.n}.origin();
  const std::string number = std::to_string(job.number);
  return origin == known.own().origin ? number : number + "@" + std::string(known.tag_of(origin));
}

std::string plate_of(store::Db& db, CarId car) {
  auto q = db.query("SELECT plate FROM car WHERE id = ?");
  q.bind(car.n);
  if (!q.step()) return "a car that was withdrawn";
  std::string plate = q.text(0);
  return plate.empty() ? by_number(db, "car", EntryId{car.n}) : plate;
}

std::string by_number(store::Db& db, std::string_view what, EntryId entry) {
  std::string out = std::string(what) + ":" + std::to_string(entry.number());
  auto q = db.query("SELECT tag FROM installation WHERE origin = ? AND own = 0");
  q.bind(entry.origin());
  if (q.step()) out += "@" + q.text(0);
  return out;
}

std::string person_name(store::Db& db, EntryId person) {
  std::string name = log::private_text(db, person, "name");
  if (name == log::kErased) name = by_number(db, "person", person) + " " + name;
  return name;
}

Belongs belongs_to(store::Db& db, const Fact& fact) {
  Belongs out;
  if (fact.kind == Kind::job) {
    out.job = JobId{fact.id().n};
    out.car = CarId{log::read_ref(fact.details.at("car"), fact.origin())};
    return out;
  }
  if (fact.kind == Kind::car) {
    out.car = CarId{log::goes_by(db, fact.id().n)};
    return out;
  }
  if (const Value* job = fact.details.find("job")) {
    out.job = JobId{log::read_ref(*job, fact.origin())};
    if (const auto row = job_row(db, out.job)) out.car = row->car;
  }
  if (const Value* car = fact.details.find("car")) out.car = CarId{log::read_ref(*car, fact.origin())};
  return out;
}

void recompute_car(store::Db& db, CarId car) {
  {
    auto q = db.query("DELETE FROM car WHERE id = ?");
    q.bind(car.n).run();
  }
  {
    auto q = db.query("DELETE FROM plate WHERE car = ?");
    q.bind(car.n).run();
  }
  for (const Circuit& c : circuits()) {
    auto q = db.query("DELETE FROM place WHERE id = ?");
    q.bind(circuit_of(car, c).n).run();
  }
  const auto first = log::find_fact(db, EntryId{car.n});
  if (!first || first->withdrawn) return;
  std::vector<Fact> facts;
  for (const EntryId id : log::describing(db, car)) facts.push_back(log::read_fact(db, id));
  // An entry that an older version took may call something else a car: as long as that entry holds.
  if (first->kind != Kind::car && facts.size() == 1) return;
  std::string plate;
  std::string vin;
  std::string make, model, engine;
  std::int64_t year = 0;
  bool scrapped = false;
  for (const Fact& f : facts) {
    if (f.withdrawn) continue;
    const std::string worn = log::surviving_text(db, f, "plate");
    // A plate that was erased hides the ones before it: an older one is not worn again because the newer is not known.
    if (worn.empty() && log::private_text(db, f, "plate") == log::kErased) plate.clear();
    if (!worn.empty()) {
      plate = worn;
      auto q = db.query("INSERT OR REPLACE INTO plate(key, car, entry, worn) VALUES(?, ?, ?, ?)");
      q.bind(plate_key(worn)).bind(car.n).bind(f.id().n).bind(worn).run();
    }
    const std::string number = log::surviving_text(db, f, "vin");
    if (!number.empty() || log::private_text(db, f, "vin") == log::kErased) vin = number;
    if (f.details.has("scrapped")) scrapped = true;
    for (const auto& [key, into] : {std::pair<const char*, std::string*>{"make", &make}, {"model", &model}, {"engine", &engine}}) {
      if (f.details.has(key)) *into = f.details.str(key);
    }
    if (f.details.has("year")) year = f.details.num("year");
    if (const Value* list = f.details.find("circuits")) {
      for (const Value& c : list->as_array()) {
        const Circuit* circuit = find_circuit(c.str("circuit"));
        if (circuit == nullptr) throw log::Malformed("a car has an unknown circuit");
        std::int64_t size = -1;
        std::int64_t dimension = 0;
        if (const Value* capacity = c.find("capacity")) {
          const Amount a = log::read_amount(*capacity);
          size = a.best;
          dimension = static_cast<std::int64_t>(a.dimension);
        }
        auto q = db.query("INSERT OR REPLACE INTO place(id, code, role, size, dimension, takes, stream, area, satellite, specification) VALUES(?, ?, 0, ?, ?, ?, '', '', 0, ?)");
        q.bind(circuit_of(car, *circuit).n).bind(circuit->name).bind(size).bind(dimension).bind(circuit->takes).bind(c.has("specification") ? plate_key(c.str("specification")) : std::string()).run();
      }
    }
  }
  auto q = db.query("INSERT INTO car(id, plate, key, vin, scrapped, make, model, engine, year) VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?)");
  q.bind(car.n).bind(plate).bind(plate_key(plate)).bind(vin).bind(std::int64_t{scrapped}).bind(plate_key(make)).bind(plate_key(model)).bind(plate_key(engine)).bind(year).run();
}

namespace {

void recompute_close(store::Db& db, JobId job) {
  const auto row = job_row(db, job);
  if (!row || row->closed == -1) return;
  std::int64_t closed = 0;
  std::int64_t moment = 0;
  std::vector<std::pair<std::int64_t, std::int64_t>> closings;
  {
    // A job is closed on the day it was opened or later: what the car had before need not be read.
    auto q = db.query("SELECT entry, moment FROM history WHERE car = ? AND moment >= ? AND kind = 9 AND job = ? ORDER BY moment, recorded, entry");
    q.bind(row->car.n).bind(log::first_moment(log::day_of_moment(row->moment))).bind(job.n);
    while (q.step()) closings.emplace_back(q.num(0), q.num(1));
  }
  for (const auto& [entry, at] : closings) {
    closed = entry;
    moment = at;
  }
  auto q = db.query("UPDATE job SET closed = ?, closed_moment = ? WHERE id = ?");
  q.bind(closed).bind(moment).bind(job.n).run();
}

}  // namespace

void fold(store::Db& db, const Fact& fact) {
  const Value& d = fact.details;
  if (fact.kind == Kind::job) {
    const std::int64_t car = log::read_ref(d.at("car"), fact.origin());
    auto q = db.query("INSERT INTO job(id, number, car, moment, closed, closed_moment) VALUES(?, ?, ?, ?, ?, 0)");
    q.bind(fact.id().n).bind(d.num("number")).bind(car).bind(fact.effect.moment).bind(std::int64_t{fact.withdrawn ? -1 : 0}).run();
  }
  if (fact.withdrawn) {
    if (fact.kind == Kind::car) recompute_car(db, belongs_to(db, fact).car);
    return;
  }
  if (fact.kind == Kind::person) {
    auto q = db.query("INSERT INTO person(id, name) VALUES(?, ?)");
    q.bind(fact.id().n).bind(log::surviving_text(db, fact, "name")).run();
    return;
  }
  const Belongs b = belongs_to(db, fact);
  if (b.car) {
    auto q = db.query("INSERT INTO history(car, moment, recorded, entry, job, kind) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).bind(b.job.n).bind(static_cast<std::int64_t>(fact.kind)).run();
  }
  switch (fact.kind) {
    case Kind::car:
    case Kind::car_change:
      recompute_car(db, b.car);
      break;
    case Kind::job:
      recompute_close(db, b.job);
      [[fallthrough]];
    case Kind::odometer:
      if (d.has("odometer-m")) {
        auto q = db.query("INSERT INTO reading(car, moment, recorded, entry, metres, reset) VALUES(?, ?, ?, ?, ?, ?)");
        q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).bind(d.num("odometer-m")).bind(jumps_of(d)).run();
      }
      break;
    case Kind::job_close:
      recompute_close(db, b.job);
      if (b.car && d.has("rechecks")) {
        auto q = db.query("INSERT INTO recheck(car, moment, recorded, entry) VALUES(?, ?, ?, ?)");
        q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).run();
      }
      break;
    case Kind::fit: {
      auto q = db.query("INSERT INTO part(number, lot, entry) VALUES(?, ?, ?)");
      q.bind(plate_key(d.str("part"))).bind(d.has("lot") ? plate_key(d.str("lot")) : std::string()).bind(fact.id().n).run();
      fold_takes_out(db, fact);
      break;
    }
    case Kind::work:
      fold_takes_out(db, fact);
      break;
    default:
      break;
  }
}

void unfold(store::Db& db, const Fact& fact) {
  if (fact.kind == Kind::job) {
    auto q = db.query("DELETE FROM job WHERE id = ?");
    q.bind(fact.id().n).run();
  }
  if (fact.withdrawn) return;
  if (fact.kind == Kind::person) {
    auto q = db.query("DELETE FROM person WHERE id = ?");
    q.bind(fact.id().n).run();
    return;
  }
  const Belongs b = belongs_to(db, fact);
  if (b.car) {
    auto q = db.query("DELETE FROM history WHERE car = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).run();
  }
  switch (fact.kind) {
    case Kind::car:
    case Kind::car_change:
      recompute_car(db, b.car);
      break;
    case Kind::job:
    case Kind::odometer: {
      auto q = db.query("DELETE FROM reading WHERE car = ? AND moment = ? AND recorded = ? AND entry = ?");
      q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).run();
      break;
    }
    case Kind::job_close: {
      recompute_close(db, b.job);
      auto q = db.query("DELETE FROM recheck WHERE car = ? AND moment = ? AND recorded = ? AND entry = ?");
      q.bind(b.car.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.id().n).run();
      break;
    }
    case Kind::fit: {
      auto q = db.query("DELETE FROM part WHERE number = ? AND entry = ?");
      q.bind(plate_key(fact.details.str("part"))).bind(fact.id().n).run();
      unfold_takes_out(db, fact);
      break;
    }
    case Kind::work:
      unfold_takes_out(db, fact);
      break;
    default:
      break;
  }
}

}  // namespace baybook::service
