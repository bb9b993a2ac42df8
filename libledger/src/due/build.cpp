// Schedules: each interval checked, and against those that hold already.
#include "due/build.hpp"

#include "due/items.hpp"
#include "service/build.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>
#include <limits>

namespace baybook::due {

using log::Built;
using log::Desk;
using log::keep;
using log::Kind;
using log::refuse;
using log::open_text;
using log::Value;

std::string joined(const std::vector<std::string>& names) {
  std::string out;
  for (const std::string& n : names) out += (out.empty() ? "" : ", ") + n;
  return out;
}

Result<Done> alive(const Desk& desk, CarId car, const char* what) {
  auto q = desk.db.query("SELECT scrapped FROM car WHERE id = ?");
  q.bind(car.n);
  if (!q.step()) return refuse(Code::not_found, "there is no such car", "", "baybook car list");
  if (q.num(0) == 0) return Done{};
  const std::string plate = service::plate_of(desk.db, car);
  return refuse(Code::not_allowed, visible(plate) + " is scrapped", std::string(what) + " is for a car that still runs", "baybook entries --car " + as_typed(plate) + "  # then correct the entry that scrapped it");
}

namespace {

// Which cars an interval is about, as text for a refusal.
std::string scope_of(const Desk& desk, const Interval& i) {
  if (i.car) return service::plate_of(desk.db, i.car);
  if (!i.specification.empty()) return "specification " + i.specification;
  std::string out = i.make + " " + i.model;
  if (!i.engine.empty()) out += " " + i.engine;
  if (i.from_year != 0 || i.until_year != 0) out += ", " + (i.from_year != 0 ? std::to_string(i.from_year) : std::string("first")) + " to " + (i.until_year != 0 ? std::to_string(i.until_year) : std::string("last"));
  return out;
}

std::string limits_of(const Interval& i, const Units& units) { return told(i.months, i.distance, std::int64_t{i.hours} * 60, units); }

bool years_meet(int from_a, int until_a, int from_b, int until_b) {
  const auto last = [](int year) { return year == 0 ? std::numeric_limits<int>::max() : year; };
  return from_a <= last(until_b) && from_b <= last(until_a);
}

// Whether two intervals say what is due of the same task for the same cars, and neither is nearer to the car.
bool contradict(const Interval& a, const Interval& b) {
  return a.task == b.task && a.car == b.car && plate_key(a.make) == plate_key(b.make) && plate_key(a.model) == plate_key(b.model) && plate_key(a.engine) == plate_key(b.engine) &&
         plate_key(a.specification) == plate_key(b.specification) && years_meet(a.from_year, a.until_year, b.from_year, b.until_year);
}

Result<Done> known_cars(const Desk& desk, const Interval& i) {
  if (i.car) return alive(desk, i.car, "a schedule");
  if (!i.specification.empty()) {
    {
      auto q = desk.db.query("SELECT 1 FROM place WHERE specification = ? AND role = 0 LIMIT 1");
      q.bind(plate_key(i.specification));
      if (q.step()) return Done{};
    }
    std::vector<std::string> known;
    auto q = desk.db.query("SELECT DISTINCT specification FROM place WHERE role = 0 AND specification <> '' ORDER BY specification");
    while (q.step()) known.push_back(q.text(0));
    const auto near = near_names(plate_key(i.specification), known);
    return refuse(Code::not_found, "no car in the book asks for " + visible(i.specification),
                  "a specification is one that a car's circuit was registered with",
                  near.empty() ? "baybook car change CAR --circuit engine-oil=4.5L:" +
                                     visible(i.specification)
                               : "specification = \"" + visible(near.front()) + "\"");
  }
  {
    auto q = desk.db.query("SELECT 1 FROM car WHERE make = ? AND model = ? LIMIT 1");
    q.bind(plate_key(i.make)).bind(plate_key(i.model));
    if (q.step()) return Done{};
  }
  std::vector<std::string> known;
  std::map<std::string, std::string> typed;  // as it stands in a file
  auto q = desk.db.query("SELECT DISTINCT make, model FROM car WHERE model <> '' ORDER BY make, model");
  while (q.step()) {
    known.push_back(q.text(0) + " " + q.text(1));
    typed[known.back()] =
        "make = \"" + visible(q.text(0)) + "\", model = \"" + visible(q.text(1)) + "\"";
  }
  const auto near = near_names(plate_key(i.make) + " " + plate_key(i.model), known);
  return refuse(Code::not_found, "no car in the book is a " + visible(i.make + " " + i.model),
                "a schedule is for cars that are in the book",
                near.empty() ? "baybook car list" : typed.at(near.front()));
}

// One interval, checked; what is missing is filled in.
Result<Interval> checked(const Desk& desk, const Interval& draft) {
  Interval i = draft;
  auto task = clean_code(draft.task, "task");
  if (!task.ok()) return std::move(task).refusal();
  i.task = *task;
  const int scopes = (i.car ? 1 : 0) + (!i.make.empty() || !i.model.empty() ? 1 : 0) + (!i.specification.empty() ? 1 : 0);
  if (scopes != 1) return refuse(Code::wrong_usage, i.task + (scopes == 0 ? " is for no car" : " is for more than one sort of cars"), "an interval is for a car, for a make and model, or for a specification", "one of the three");
  if (!i.car && i.specification.empty() && (i.make.empty() || i.model.empty())) return refuse(Code::wrong_usage, i.task + " names a " + std::string(i.make.empty() ? "model without its make" : "make without a model"), "", "make and model");
  if (i.make.empty() && (!i.engine.empty() || i.from_year != 0 || i.until_year != 0)) return refuse(Code::wrong_usage, "engine and years of " + i.task + " go with a make and model", "", "make and model beside them");
  if (i.from_year != 0 && i.until_year != 0 && i.until_year < i.from_year) return refuse(Code::not_allowed, i.task + " is for the years " + std::to_string(i.from_year) + " to " + std::to_string(i.until_year), "the last year is before the first", "the years in order");
  if (i.circuit.empty() && i.parts.empty() && find_circuit(std::string_view(i.task)) != nullptr) i.circuit = i.task;
  if (!i.circuit.empty() && find_circuit(std::string_view(i.circuit)) == nullptr) {
    std::vector<std::string> names;
    for (const Circuit& c : circuits()) names.emplace_back(c.name);
    const auto near = near_names(i.circuit, names);
    return refuse(Code::not_found, "no car has a circuit named " + visible(i.circuit), "", near.empty() ? "one of: " + joined(names) : near.front());
  }
  if (!i.specification.empty() && i.circuit.empty()) return refuse(Code::wrong_usage, i.task + " is for a specification, but of which circuit?", "", "circuit = \"engine-oil\"");
  for (const std::string& p : i.parts) {
    if (plate_key(p).empty()) return refuse(Code::unclear, "a part number has at least one letter or digit", "", "part = \"TB-4410\"");
  }
  if (i.months < 0 || i.months > log::most::kMonths)
    return refuse(Code::not_allowed,
                  i.task + " every " + std::to_string(i.months) + " months is not likely",
                  "between 1 and 1200", "12 months");
  if (i.hours < 0 || i.hours > log::most::kHours)
    return refuse(Code::not_allowed,
                  i.task + " every " + std::to_string(i.hours) + " hours is not likely",
                  "between 1 and 100000", "250 hours");
  if (i.distance && i.distance->metres == 0) return refuse(Code::not_allowed, i.task + " every 0 km is an interval of nothing", "it would be due for ever", "15000 km");
  if (i.months == 0 && i.hours == 0 && !i.distance) return refuse(Code::not_allowed, i.task + " has an interval of nothing", "at least one of time, distance and engine hours says when it is due", "--every 12mo, --every 15000km or --every 250h");
  if (i.filtered_percent < 0 || i.filtered_percent > 100) return refuse(Code::not_allowed, std::to_string(i.filtered_percent) + " percent of an interval is not a shorter one", "between 1 and 100", "50 percent");
  if (i.filtered_percent != 0 && i.circuit.empty()) return refuse(Code::wrong_usage, i.task + " is no fluid of a circuit, so nothing filtered is put back", "", "circuit = \"coolant\" beside it");
  if (i.source.empty()) return refuse(Code::wrong_usage, i.task + " has no source", "an interval without its source cannot be checked by anybody", "the source, for example: workshop booklet, page 12");
  if (auto ok = known_cars(desk, i); !ok.ok()) return std::move(ok).refusal();
  return i;
}

Result<Value> written(const Desk& desk, const Interval& i) {
  Value v;
  v["task"] = i.task;
  if (i.car) v["car"] = log::write_ref(i.car.n, desk.known);
  for (const auto& [key, text] : {std::pair<const char*, const std::string*>{"make", &i.make}, {"model", &i.model}, {"engine", &i.engine}, {"specification", &i.specification}, {"source", &i.source}}) {
    if (auto ok = open_text(v, key, *text, log::most::kInterval); !ok.ok())
      return std::move(ok).refusal();
  }
  if (i.from_year != 0) v["from-year"] = i.from_year;
  if (i.until_year != 0) v["until-year"] = i.until_year;
  if (!i.circuit.empty()) v["circuit"] = i.circuit;
  if (!i.parts.empty()) {
    std::vector<Value> parts;
    for (const std::string& p : i.parts) {
      auto clean = clean_text(p, "part number", log::most::kPart);
      if (!clean.ok()) return std::move(clean).refusal();
      parts.emplace_back(*clean);
    }
    v["parts"] = Value(std::move(parts));
  }
  if (i.months != 0) v["months"] = i.months;
  if (i.distance) {
    v["distance-m"] = i.distance->metres;
    v["distance-typed"] = i.distance->typed;
  }
  if (i.hours != 0) v["hours"] = i.hours;
  if (i.filtered_percent != 0) v["filtered-percent"] = i.filtered_percent;
  return v;
}

// The intervals that hold already, of schedules other than `name`.
Result<Done> against_others(const Desk& desk, const std::string& name, const std::vector<Interval>& mine) {
  std::vector<std::int64_t> entries;
  {
    auto q = desk.db.query("SELECT DISTINCT s.entry FROM schedule s JOIN interval i ON i.schedule = s.entry WHERE s.name <> ? AND s.name NOT LIKE 'car %' ORDER BY s.moment, s.recorded, s.entry");
    q.bind(name);
    while (q.step()) entries.push_back(q.num(0));
  }
  // Those set by hand: only of the cars that are named here.
  for (const Interval& i : mine) {
    if (!i.car) continue;
    auto q = desk.db.query("SELECT i.schedule FROM interval i JOIN schedule s ON s.entry = i.schedule WHERE i.car = ? AND i.car <> 0 AND i.task = ? AND s.name <> ? AND s.name LIKE 'car %'");
    q.bind(i.car.n).bind(i.task).bind(name);
    while (q.step()) entries.push_back(q.num(0));
  }
  for (const std::int64_t e : entries) {
    for (const Interval& other : read_intervals(desk.db, EntryId{e})) {
      for (const Interval& i : mine) {
        if (!contradict(i, other)) continue;
        const std::string entry = log::entry_name(desk.known, EntryId{e});
        return refuse(
            Code::already_there,
            i.at + i.task + " of " + visible(scope_of(desk, i)) + " is due " +
                limits_of(other, desk.units) + " by entry " + entry + " (" + visible(other.source) +
                ")",
            "two intervals for one task contradict each other: this one says " +
                limits_of(i, desk.units),
            "one of them, or baybook correct " + entry + " --withdraw --why \"...\" first");
      }
    }
  }
  return Done{};
}

}  // namespace

std::vector<Interval> read_intervals(store::Db& db, EntryId schedule) {
  const log::Fact fact = log::read_fact(db, schedule);
  std::vector<Interval> out;
  const auto text = [](const Value& v, const char* key) { return v.has(key) ? std::string(v.str(key)) : std::string(); };
  const auto number = [](const Value& v, const char* key) { return v.has(key) ? static_cast<int>(v.num(key)) : 0; };
  for (const Value& v : fact.details.list("intervals")) {
    Interval i;
    i.task = v.str("task");
    if (const Value* car = v.find("car")) i.car = CarId{log::read_ref(*car, fact.origin())};
    i.make = text(v, "make");
    i.model = text(v, "model");
    i.engine = text(v, "engine");
    i.specification = text(v, "specification");
    i.circuit = text(v, "circuit");
    i.source = text(v, "source");
    i.from_year = number(v, "from-year");
    i.until_year = number(v, "until-year");
    i.months = number(v, "months");
    i.hours = number(v, "hours");
    i.filtered_percent = number(v, "filtered-percent");
    if (v.has("distance-m")) i.distance = Distance{v.num("distance-m"), std::string(v.str("distance-typed"))};
    if (v.has("parts")) {
      for (const Value& p : v.list("parts")) i.parts.push_back(p.as_string());
    }
    out.push_back(std::move(i));
  }
  return out;
}

Result<Built> build(Desk& desk, const Schedule& draft) {
  Built out;
  out.kind = Kind::schedule;
  std::string name;
  if (!draft.name.empty()) {
    auto code = clean_code(draft.name, "schedule");
    if (!code.ok()) return std::move(code).refusal();
    name = *code;
    out.details["name"] = name;
  }
  constexpr std::size_t most = log::most::kIntervals;
  if (draft.intervals.size() > most) return refuse(Code::not_allowed, "the schedule has " + std::to_string(draft.intervals.size()) + " intervals", "at most " + std::to_string(most) + " stand in one entry", "several schedules, each with a name of its own");
  if (draft.intervals.empty() && name.empty()) return refuse(Code::wrong_usage, "nothing is due by this schedule", "", "an interval");
  if (name.empty() && (draft.intervals.size() != 1 || !draft.intervals.front().car)) return refuse(Code::wrong_usage, "a schedule of more than one car's interval has a name", "", "name = \"tern-service\"");
  std::vector<Interval> mine;
  for (const Interval& d : draft.intervals) {
    auto i = checked(desk, d);
    if (!i.ok()) {
      Refusal r = std::move(i).refusal();
      r.what.insert(0, d.at);
      return r;
    }
    for (const Interval& other : mine) {
      if (contradict(*i, other)) {
        return refuse(Code::already_there,
                      d.at + i->task + " of " + visible(scope_of(desk, *i)) +
                          " has two intervals: " + limits_of(other, desk.units) + ", and " +
                          limits_of(*i, desk.units),
                      "two intervals for one task contradict each other", "one of them");
      }
    }
    mine.push_back(std::move(*i));
  }
  if (name.empty()) name = "car " + std::to_string(mine.front().car.n) + " " + mine.front().task;
  if (auto ok = against_others(desk, name, mine); !ok.ok()) return std::move(ok).refusal();
  std::vector<Value> list;
  for (const Interval& i : mine) {
    auto v = written(desk, i);
    if (!v.ok()) return std::move(v).refusal();
    list.push_back(std::move(*v));
  }
  out.details["intervals"] = Value(std::move(list));
  if (draft.reuse_days < 0 || draft.reuse_days > log::most::kReuseDays)
    return refuse(Code::not_allowed,
                  "a batch kept for " + std::to_string(draft.reuse_days) + " days is not likely",
                  "between 1 and 3650", "reuse-days = 30");
  if (draft.reuse_days > 0) out.details["reuse-days"] = draft.reuse_days;
  return out;
}

}  // namespace baybook::due
