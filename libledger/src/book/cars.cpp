// Cars, jobs, and what was last done.
#include "book/account.hpp"
#include "book/views.hpp"

#include "due/items.hpp"
#include "fluids/follow.hpp"
#include "fluids/whereabouts.hpp"
#include "log/describing.hpp"
#include "log/sum.hpp"
#include "service/build.hpp"

#include <algorithm>
#include <map>

namespace baybook {

using log::Fact;
using log::Kind;
using log::Value;

namespace book {

std::optional<std::int64_t> odometer_at(Book::Inside& in, CarId car, std::int64_t moment) {
  auto q = in.db.query("SELECT metres FROM reading WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(car.n).bind(moment);
  if (!q.step()) return std::nullopt;
  return q.num(0);
}

CarView car_view(Book::Inside& in, CarId id, AsOf as_of) {
  store::Db& db = in.db;
  CarView out;
  out.id = id;
  const auto first = log::find_fact(db, EntryId{id.n});
  if (!first || first->kind != Kind::car || first->withdrawn) throw store::Failure(Code::not_found, "there is no such car", "baybook car list");
  std::vector<Fact> facts;
  for (const EntryId e : log::describing(db, id, last_moment(as_of)))
    facts.push_back(log::read_fact(db, e));
  for (const Fact& f : facts) {
    if (f.withdrawn) continue;
    const auto take = [&](const char* field, std::string& into) {
      std::string text = log::private_text(db, f, field);
      if (!text.empty()) into = std::move(text);
    };
    const std::string plate = log::private_text(db, f, "plate");
    if (!plate.empty()) {
      if (!out.plate.empty() && (out.plate != plate || plate == log::kErased)) out.earlier_plates.push_back(out.plate);
      out.plate = plate;
      out.plate_erased = plate == log::kErased;
    }
    take("vin", out.vin);
    take("keeper", out.keeper);
    for (const auto& [key, into] : {std::pair<const char*, std::string*>{"make", &out.make}, {"model", &out.model}, {"engine", &out.engine}}) {
      if (f.details.has(key)) *into = f.details.str(key);
    }
    if (f.details.has("year")) out.year = static_cast<int>(f.details.num("year"));
    if (f.details.has("scrapped")) out.scrapped = true;
    if (const Value* list = f.details.find("circuits")) {
      for (const Value& c : list->as_array()) {
        CarView::CircuitView v;
        v.name = c.str("circuit");
        if (const Circuit* known = find_circuit(std::string_view(v.name))) v.takes = known->takes;
        if (c.has("specification")) v.specification = c.str("specification");
        if (const Value* capacity = c.find("capacity")) v.capacity = log::read_amount(*capacity);
        const auto same = std::find_if(out.circuits.begin(), out.circuits.end(), [&](const auto& x) { return x.name == v.name; });
        if (same != out.circuits.end()) *same = std::move(v);
        else out.circuits.push_back(std::move(v));
      }
    }
  }
  if (out.plate_erased) out.plate = service::by_number(db, "car", EntryId{id.n});
  auto q = db.query("SELECT moment, metres FROM reading WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(id.n).bind(last_moment(as_of));
  if (q.step()) {
    out.odometer_day = log::day_of_moment(q.num(0));
    out.odometer_metres = q.num(1);
  }
  return out;
}

namespace {

void add(JobAccount::Figure& f, std::int64_t low, std::int64_t best, std::int64_t high) {
  log::add_to(f.low, 1, low);
  log::add_to(f.best, 1, best);
  log::add_to(f.high, 1, high);
}

std::vector<JobAccount> accounts_of(Book::Inside& in, const service::JobRow& job, AsOf as_of) {
  store::Db& db = in.db;
  std::map<std::pair<std::int64_t, std::int64_t>, JobAccount> by_circuit;
  struct Line {
    std::int64_t source, target, dimension, low, best, high;
  };
  std::vector<Line> flows;
  {
    auto q = db.query("SELECT f.source, f.target, f.dimension, f.low, f.best, f.high FROM history h JOIN flow f ON f.entry = h.entry WHERE h.car = ? AND h.job = ? AND h.kind IN (9, 15) AND h.moment <= ?");
    q.bind(job.car.n).bind(job.id.n).bind(last_moment(as_of));
    while (q.step()) flows.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4), q.num(5)});
  }
  for (const Line& f : flows) {
    const PlaceId from{f.source};
    const PlaceId to{f.target};
    if (is_circuit(from)) {
      JobAccount& a = by_circuit[{from.n >> 58, f.dimension}];
      add(a.left, f.low, f.best, f.high);
      add(a.change, -f.high, -f.best, -f.low);
    }
    if (is_circuit(to) && from != kBefore) {
      JobAccount& a = by_circuit[{to.n >> 58, f.dimension}];
      const Role role = in.ledger.info(from).role;
      add(role == Role::reuse || role == Role::hold_catch ? a.entered_back : a.entered_new, f.low, f.best, f.high);
      add(a.change, f.low, f.best, f.high);
    }
  }
  const std::int64_t began = [&] {
    auto q = db.query("SELECT coalesce(min(moment), 0) FROM history WHERE car = ? AND job = ?");
    q.bind(job.car.n).bind(job.id.n);
    return q.step_num();
  }();
  std::vector<JobAccount> out;
  for (auto& [key, a] : by_circuit) {
    const auto& [circuit, dimension] = key;
    a.circuit = log::circuit_at(PlaceId{circuit << 58}).name;
    a.dimension = static_cast<Dimension>(dimension);
    // Where what left is (or was on that day), wherever it went since: the account follows it by its origin.
    const std::int64_t origin = job.id.n + (circuit << 58);
    std::map<PlaceId, fluids::Bounds> where;
    if (as_of) {
      const std::int64_t until = last_moment(as_of);
      for (const Where& w : account_then(in, {job.car, job.id, origin, dimension, until}).where)
        where[PlaceId{w.place}] += fluids::Bounds{w.low, w.best, w.high};
      fluids::Follower(db, in.ledger, origin, dimension).follow(began, until, where);
    } else {
      where = fluids::whereabouts(db, in.ledger, origin, dimension, began);
    }
    for (const auto& [place, w] : where) {
      switch (in.ledger.info(place).role) {
        case Role::circuit: add(a.put_back, w.low, w.best, w.high); break;
        case Role::reuse:
        case Role::stock: add(a.kept, w.low, w.best, w.high); break;
        case Role::hold_catch:
          add(a.undecided, w.low, w.best, w.high);
          if (w.best != 0) a.undecided_in.push_back(place_name(in, place));
          break;
        case Role::waste: add(a.to_waste, w.low, w.best, w.high); break;
        case Role::receiver: add(a.shipped, w.low, w.best, w.high); break;
        case Role::ground:
        case Role::missing:
          add(place == kMissing ? a.missing : a.gone, w.low, w.best, w.high);
          add(a.lost, w.low, w.best, w.high);
          break;
        default: add(a.difference, w.low, w.best, w.high); break;
      }
    }
    out.push_back(std::move(a));
  }
  return out;
}

}  // namespace

std::vector<std::string> was_low(const Fact& closing) {
  std::vector<std::string> out;
  const Value* list = closing.details.find("was-low");
  if (list == nullptr) return out;
  for (const Value& name : list->as_array()) out.push_back(name.as_string());
  return out;
}

void read_rechecks(Book::Inside& in, const Fact& close, std::vector<Recheck>& out) {
  const Value* list = close.details.find("rechecks");
  if (list == nullptr) return;
  std::size_t n = 0;
  for (const Value& v : list->as_array()) {
    Recheck r;
    r.what = log::private_text(in.db, close, "recheck-" + std::to_string(++n));
    if (v.has("after-days")) r.after_days = static_cast<int>(v.num("after-days"));
    if (v.has("after-m")) r.after_distance = Distance{v.num("after-m"), std::string(v.str("after-typed"))};
    out.push_back(std::move(r));
  }
}

JobView job_view(Book::Inside& in, JobId id, AsOf as_of, bool whole) {
  store::Db& db = in.db;
  const auto row = service::job_row(db, id);
  if (!row || row->closed == -1) throw store::Failure(Code::not_found, "there is no such job", "baybook job list");
  JobView out;
  out.id = id;
  out.number = row->number;
  out.ref = service::job_name(in.known, *row);
  out.car = row->car;
  out.plate = service::plate_of(db, row->car);
  out.opened = log::day_of_moment(row->moment);
  const Fact opening = log::read_fact(db, EntryId{id.n});
  out.complaint = log::private_text(db, opening, "complaint");
  std::vector<std::string> low;
  if (opening.details.has("odometer-m")) out.odometer_metres = opening.details.num("odometer-m");
  if (row->closed > 0 && row->closed_moment <= last_moment(as_of)) {
    out.closed = log::day_of_moment(row->closed_moment);
    const Fact close = log::read_fact(db, EntryId{row->closed});
    out.result = log::private_text(db, close, "result");
    low = was_low(close);
    read_rechecks(in, close, out.rechecks);
  }
  std::vector<std::int64_t> ids;
  std::vector<std::int64_t> who;
  {
    auto q = db.query("SELECT h.entry, h.kind, e.who FROM history h JOIN entry e ON e.id = h.entry WHERE h.car = ? AND h.job = ? AND h.moment <= ? ORDER BY h.moment, h.recorded, h.entry");
    q.bind(row->car.n).bind(id.n).bind(last_moment(as_of));
    while (q.step()) {
      const auto kind = static_cast<Kind>(q.num(1));
      const std::int64_t by = q.num(2);
      if (whole || kind == Kind::work || kind == Kind::fit || kind == Kind::code || kind == Kind::torque) ids.push_back(q.num(0));
      if (by != 0 && std::find(who.begin(), who.end(), by) == who.end()) who.push_back(by);
    }
  }
  for (const std::int64_t person : who) out.people.push_back(service::person_name(db, EntryId{person}));
  out.lines = views_of(in, ids, false);
  if (whole) out.accounts = accounts_of(in, *row, as_of);
  for (JobAccount& a : out.accounts)
    a.was_low = a.change.best > 0 && std::find(low.begin(), low.end(), a.circuit) != low.end();
  return out;
}

}  // namespace book

using book::guarded;

Result<CarView> car(const Book& b, CarId id, AsOf as_of) {
  return guarded<CarView>([&]() -> Result<CarView> {
    store::Snapshot snapshot(b.inside().db);
    return book::car_view(b.inside(), id, as_of);
  });
}

Result<std::vector<CarView>> cars(const Book& b) {
  return guarded<std::vector<CarView>>([&]() -> Result<std::vector<CarView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<std::int64_t> ids;
    {
      auto q = in.db.query("SELECT id FROM car ORDER BY key, id");
      while (q.step()) ids.push_back(q.num(0));
    }
    std::vector<CarView> out;
    for (const std::int64_t id : ids) out.push_back(book::car_view(in, CarId{id}, {}));
    return out;
  });
}

Result<JobView> job(const Book& b, JobId id, AsOf as_of) {
  return guarded<JobView>([&]() -> Result<JobView> {
    store::Snapshot snapshot(b.inside().db);
    const auto row = service::job_row(b.inside().db, id);
    if (row && row->moment > book::last_moment(as_of)) {
      const std::string name = service::job_name(b.inside().known, *row);
      return Refusal{Code::not_found, "job " + name + " was opened on " + to_string(log::day_of_moment(row->moment)) + ", after " + to_string(*as_of), "", "baybook job show " + name, {}};
    }
    JobView out = book::job_view(b.inside(), id, as_of, true);
    book::note_what_came_off(b.inside(), out.lines, as_of);
    return out;
  });
}

Result<std::vector<JobLine>> jobs(const Book& b, bool open_only, AsOf as_of) {
  return guarded<std::vector<JobLine>>([&]() -> Result<std::vector<JobLine>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<service::JobRow> rows;
    {
      auto q = in.db.query("SELECT id, number, car, moment, closed, closed_moment FROM job WHERE closed <> -1 AND moment <= ? ORDER BY moment, id");
      q.bind(book::last_moment(as_of));
      while (q.step()) rows.push_back({JobId{q.num(0)}, q.num(1), CarId{q.num(2)}, q.num(3), q.num(4), q.num(5)});
    }
    std::vector<JobLine> out;
    for (const service::JobRow& r : rows) {
      const bool closed = r.closed > 0 && r.closed_moment <= book::last_moment(as_of);
      if (open_only && closed) continue;
      JobLine line{r.number, service::job_name(in.known, r), service::plate_of(in.db, r.car), log::private_text(in.db, EntryId{r.id.n}, "complaint"), log::day_of_moment(r.moment), {}};
      if (closed) line.closed = log::day_of_moment(r.closed_moment);
      out.push_back(std::move(line));
    }
    return out;
  });
}

Result<LastDone> last(const Book& b, CarId car, std::string_view circuit, AsOf as_of, bool movements) {
  return guarded<LastDone>([&]() -> Result<LastDone> {
    Book::Inside& in = b.inside();
    store::Db& db = in.db;
    store::Snapshot snapshot(db);
    LastDone out;
    out.car = book::car_view(in, car, as_of);
    const std::int64_t until = book::last_moment(as_of);
    const auto newest_job = [&](std::int64_t before) -> std::int64_t {
      auto q = db.query("SELECT job FROM history WHERE car = ? AND job <> 0 AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
      q.bind(car.n).bind(before);
      return q.step() ? q.num(0) : 0;
    };
    std::int64_t job = newest_job(until);
    std::vector<const Circuit*> wanted;
    for (const Circuit& c : circuits()) {
      const auto registered = std::any_of(out.car.circuits.begin(), out.car.circuits.end(), [&](const auto& x) { return x.name == c.name; });
      if (circuit.empty() ? registered : c.name == circuit) wanted.push_back(&c);
    }
    for (const Circuit* one : wanted) {
      const Circuit& c = *one;
      const PlaceId place = circuit_of(car, c);
      std::int64_t newest = 0;
      {
        auto q = db.query("SELECT entry FROM leg WHERE place = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
        q.bind(place.n).bind(until);
        if (q.step()) newest = q.num(0);
      }
      if (newest == 0) continue;
      const Fact fact = log::read_fact(db, EntryId{newest});
      const service::Belongs belongs = service::belongs_to(db, fact);
      LastDone::Touched t;
      t.circuit = c.name;
      t.day = log::day_of_moment(fact.effect.moment);
      if (fact.who != 0) t.by = service::person_name(db, EntryId{fact.who});
      if (const auto row = service::job_row(db, belongs.job)) t.job = service::job_name(in.known, *row);
      t.odometer_metres = book::odometer_at(in, car, fact.effect.moment);
      std::vector<std::int64_t> ids;
      {
        auto q = db.query("SELECT l.entry FROM leg l JOIN history h ON h.car = ? AND h.moment = l.moment AND h.recorded = l.recorded AND h.entry = l.entry WHERE l.place = ? AND l.moment <= ? AND h.job = ? ORDER BY l.moment, l.recorded, l.entry");
        q.bind(car.n).bind(place.n).bind(until).bind(belongs.job.n);
        while (q.step()) ids.push_back(q.num(0));
      }
      std::map<std::string, int> fluids_in;
      for (const std::int64_t id : ids) {
        auto q = db.query("SELECT source, target, fluid, dimension, best, line FROM flow WHERE entry = ? ORDER BY seq");
        q.bind(id);
        struct Line { std::int64_t source, target, fluid, dimension, best; };
        std::vector<Line> flows;
        while (q.step()) flows.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4)});
        for (const Line& f : flows) {
          // What soaked it up, or another circuit of the same entry, has its own kind of quantity.
          if (f.source != place.n && f.target != place.n) continue;
          t.dimension = static_cast<Dimension>(f.dimension);
          const bool lost = f.target == kGround.n || f.target == kMissing.n;
          if (f.source == place.n) log::add_to(lost ? t.lost : t.drained, 1, f.best);
          if (f.source == place.n && f.target == kMissing.n) log::add_to(t.missing, 1, f.best);
          if (f.target == place.n && f.source != kBefore.n) {
            const Role role = in.ledger.info(PlaceId{f.source}).role;
            log::add_to(role == Role::reuse || role == Role::hold_catch ? t.put_back : t.new_in, 1, f.best);
            std::string name = book::fluid_name(db, FluidId{f.fluid});
            if (role == Role::reuse || role == Role::hold_catch) name += " (put back)";
            if (fluids_in[name]++ == 0) t.fluids_in.push_back(std::move(name));
          }
        }
      }
      if (movements || !circuit.empty()) t.lines = book::views_of(in, ids, false);
      if (!circuit.empty() && belongs.job) job = belongs.job.n;
      out.circuits.push_back(std::move(t));
    }
    if (job != 0) {
      out.last_job = book::job_view(in, JobId{job}, as_of, movements);
      std::vector<EntryView>& lines = out.last_job->lines;
      book::note_comebacks(in, car, lines);
      book::note_what_came_off(in, lines, as_of);
      for (const EntryView& line : lines) {
        if (line.kind == "fit") out.parts.push_back(line);
        if (line.kind == "code") out.codes.push_back(line);
      }
    }
    // What earlier jobs left to watch is to be watched until somebody writes down what was found.
    std::vector<std::int64_t> closes;
    {
      auto q = db.query("SELECT entry FROM recheck WHERE car = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC");
      q.bind(car.n).bind(until);
      while (q.step()) closes.push_back(q.num(0));
    }
    const std::vector<due::Item> items = closes.empty() ? std::vector<due::Item>() : due::items_of(db, car, until);
    for (const std::int64_t id : closes) {
      const Fact close = log::read_fact(db, EntryId{id});
      std::vector<Recheck> rechecks;
      book::read_rechecks(in, close, rechecks);
      const auto row = service::job_row(db, service::belongs_to(db, close).job);
      int number = 0;
      for (Recheck& r : rechecks) {
        ++number;
        {
          auto q = db.query("SELECT 1 FROM rechecked WHERE closing = ? AND n = ? AND moment <= ? LIMIT 1");
          q.bind(id).bind(std::int64_t{number}).bind(until);
          if (q.step()) continue;
        }
        LastDone::Watch w;
        w.recheck = std::move(r);
        w.closed = log::day_of_moment(close.effect.moment);
        if (row) w.job = service::job_name(in.known, *row);
        w.name = w.job + "/" + std::to_string(number);
        w.odometer_metres = book::odometer_at(in, car, close.effect.moment);
        // Nothing is due on a scrapped car; its story is told all the same.
        if (items.empty() && w.recheck.after_distance && w.odometer_metres) w.due_metres = *w.odometer_metres + w.recheck.after_distance->metres;
        for (const due::Item& i : items) {
          if (i.kind != due::Item::Kind::recheck || i.source != id || i.n != number) continue;
          if (i.due_metres != -1) w.due_metres = i.due_metres;
          if (i.put_off != 0) w.put_off_until = i.put_off_until;
        }
        out.watch.push_back(std::move(w));
      }
    }
    return out;
  });
}

}  // namespace baybook
