#include "service/build.hpp"
#include "service/parts.hpp"
#include "service/reading.hpp"

#include "log/private_fields.hpp"
#include "log/references.hpp"
#include "log/sum.hpp"

#include "fluids/build.hpp"
#include "fluids/ledger.hpp"

#include <baybook/text.hpp>
#include <baybook/vin.hpp>

#include <algorithm>

namespace baybook::service {

using log::Built;
using log::Desk;
using log::Kind;
using log::refuse;
using log::keep;
using log::open_text;
using log::Value;

namespace {

Result<Done> write_circuits(Value& details, const std::vector<CircuitDraft>& drafts) {
  if (drafts.empty()) return Done{};
  std::vector<Value> list;
  for (const CircuitDraft& c : drafts) {
    const Circuit* known = find_circuit(std::string_view(c.circuit));
    if (known == nullptr) {
      std::vector<std::string> names;
      for (const Circuit& x : circuits()) names.emplace_back(x.name);
      std::string near;
      for (const std::string& n : near_names(c.circuit, names)) near += near.empty() ? n : ", " + n;
      std::string all;
      for (const std::string& n : names) all += all.empty() ? n : ", " + n;
      return refuse(Code::not_found, "no car has a circuit named " + visible(c.circuit), near.empty() ? "circuits are: " + all : "near it: " + near, "--circuit coolant=6.8L");
    }
    for (const Value& v : list) {
      if (v.str("circuit") == known->name) return refuse(Code::already_there, "circuit " + c.circuit + " is named twice", "", "each circuit once");
    }
    Value v;
    v["circuit"] = known->name;
    if (c.capacity) v["capacity"] = log::write_amount(*c.capacity);
    if (auto ok = open_text(v, "specification", c.specification); !ok.ok()) return ok;
    list.push_back(std::move(v));
  }
  details["circuits"] = Value(std::move(list));
  return Done{};
}

Result<std::string> checked_vin(const std::string& typed, std::int64_t year,
                                std::vector<std::string>& warnings) {
  auto vin = read_vin(typed);
  if (!vin.ok()) return std::move(vin).refusal();
  for (const std::string& w : vin->warnings) warnings.push_back(w);
  std::string note = vin_year_note(*vin, static_cast<int>(year));
  if (!note.empty()) warnings.push_back(std::move(note));
  return vin->text;
}

std::int64_t year_of(store::Db& db, CarId car) {
  auto q = db.query("SELECT year FROM car WHERE id = ?");
  q.bind(car.n);
  return q.step() ? q.num(0) : 0;
}

}  // namespace

// "car:3" is how a car without a plate is named, "-7" would be read as an option.
Result<std::string> clean_plate(const std::string& typed) {
  auto plate = clean_text(typed, "plate", log::most_private(Kind::car, "plate"));
  if (!plate.ok()) return plate;
  if (plate_key(*plate).empty())
    return refuse(Code::unclear, "a plate has at least one letter or digit", "",
                  "baybook car add PLATE");
  if (plate->starts_with("car:")) return refuse(Code::unclear, visible(*plate) + " is no plate", "car: and a number is how a car is named whose plate was erased", "the plate as it stands on the car");
  if (plate->starts_with('-')) return refuse(Code::unclear, "plate " + visible(*plate) + " begins with a dash", "a word that begins with a dash is read as an option", "the plate without the dash: it is found either way");
  return plate;
}

Result<std::string> clean_part(const std::string& typed) {
  auto part = clean_text(typed, "part number", log::most::kPart);
  if (part.ok() && plate_key(*part).empty())
    return refuse(Code::unclear, "a part number has at least one letter or digit", "",
                  "baybook fit JOB WP-7731");
  return part;
}

int last_model_year(Day day) {
  return std::stoi(to_string(day).substr(0, 4)) + static_cast<int>(log::most::kYearsAhead);
}

bool person_can_be_named(std::string_view name) noexcept { return !name.starts_with("person:"); }

Result<std::string> clean_person(const Desk& desk, const std::string& typed, EntryId except) {
  auto name = clean_text(typed, "name", log::most_private(Kind::person, "name"));
  if (!name.ok()) return name;
  if (!person_can_be_named(*name))
    return refuse(Code::unclear, visible(*name) + " is no name",
                  "person: and a number is how a person is named whose name was erased",
                  "the name");
  auto q = desk.db.query("SELECT id FROM person WHERE name = ? AND id <> ?");
  q.bind(*name).bind(except.n);
  if (q.step()) return refuse(Code::already_there, visible(*name) + " is in the book already", "names are for people: each means one person", "the name with something that tells them apart");
  return name;
}

Result<Done> plate_is_free(const Desk& desk, const std::string& plate, CarId except) {
  auto q = desk.db.query("SELECT id, plate FROM car WHERE scrapped = 0 AND id IN (SELECT car FROM plate WHERE key = ?) AND key = ?");
  const std::string key = plate_key(plate);
  q.bind(key).bind(key);
  while (q.step()) {
    if (q.num(0) != except.n) return refuse(Code::already_there, "plate " + visible(plate) + " is on a car in the book already", "a plate is on one car at a time", "baybook car show " + as_typed(plate));
  }
  return Done{};
}

namespace {

Result<Done> with_reading(const Desk& desk, Built& out, CarId car, const Distance& reading,
                          Dial dial) {
  Said said;
  said.car = car;
  said.figure = reading.metres;
  said.typed = reading.typed;
  said.dial = dial;
  said.inherits = desk.inherits;
  auto jumps = fits(desk, said);
  if (!jumps.ok()) return std::move(jumps).refusal();
  out.details["odometer-m"] = reading.metres;
  out.details["odometer-typed"] = reading.typed;
  write_jumps(out.details, Counts::distance, *jumps);
  if (*jumps == kGoesOn) say_if_far(desk, car, reading, EntryId{}, out.warnings);
  return Done{};
}

void say_if_late(const Desk& desk, Built& out, CarId car) {
  if (desk.of_a_list) return;
  auto q = desk.db.query("SELECT moment FROM history WHERE car = ? ORDER BY moment DESC LIMIT 1");
  q.bind(car.n);
  if (q.step() && log::day_of_moment(desk.effect.moment) < log::day_of_moment(q.num(0))) {
    out.warnings.push_back("this happened on " + to_string(log::day_of_moment(desk.effect.moment)) + ", before the car's last entry of " + to_string(log::day_of_moment(q.num(0))) + "; it is sorted in there");
  }
}

}  // namespace

Result<JobRow> open_job(const Desk& desk, JobId id) {
  const auto row = job_row(desk.db, id);
  if (!row || row->closed == -1) return refuse(Code::not_found, "there is no such job", "", "baybook job list");
  const std::string name = job_name(desk.known, *row);
  if (row->closed != 0) {
    return refuse(Code::not_allowed, "job " + name + " is closed since " + to_string(log::day_of_moment(row->closed_moment)), "what is closed is not written on", "baybook job open " + as_typed(plate_of(desk.db, row->car)) + " --for \"...\"  # or baybook correct " + log::entry_name(desk.known, EntryId{row->closed}) + " --withdraw --why \"...\"");
  }
  if (desk.effect.moment < row->moment && log::day_of_moment(desk.effect.moment) < log::day_of_moment(row->moment)) {
    return refuse(Code::not_allowed,
                  to_string(log::day_of_moment(desk.effect.moment)) + " is before job " + name +
                      " was opened (" + to_string(log::day_of_moment(row->moment)) + ")",
                  "what belongs to a job happens while it is open",
                  log::on_its_day(desk, EntryId{row->id.n}, log::day_of_moment(row->moment)));
  }
  return *row;
}

Result<Built> build(Desk& desk, const NewPerson& draft) {
  Built out;
  out.kind = Kind::person;
  auto name = clean_person(desk, draft.name, EntryId{});
  if (!name.ok()) return std::move(name).refusal();
  out.keep_private("name", *name);
  if (auto ok = keep(out, "contact", draft.contact); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "certificate", draft.certificate); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const NewCar& draft) {
  Built out;
  out.kind = Kind::car;
  auto plate = clean_plate(draft.plate);
  if (!plate.ok()) return std::move(plate).refusal();
  if (auto ok = plate_is_free(desk, *plate, CarId{}); !ok.ok()) return std::move(ok).refusal();
  out.keep_private("plate", *plate);
  if (!draft.vin.empty()) {
    auto vin = checked_vin(draft.vin, draft.year, out.warnings);
    if (!vin.ok()) return std::move(vin).refusal();
    auto q = desk.db.query("SELECT plate FROM car WHERE vin = ?");
    q.bind(*vin);
    if (q.step()) out.warnings.push_back("that VIN is on " + visible(q.text(0)) + " as well; if it is the same car with a new plate: baybook car change");
    out.keep_private("vin", *vin);
  }
  for (const auto& [field, text] : {std::pair<const char*, const std::string*>{"make", &draft.make}, {"model", &draft.model}, {"engine", &draft.engine}}) {
    if (auto ok = open_text(out.details, field, *text); !ok.ok()) return std::move(ok).refusal();
  }
  if (draft.year != 0) {
    constexpr std::int64_t first = log::most::kFirstYear;
    const int last = last_model_year(log::day_of_moment(desk.effect.moment));
    if (draft.year < first || draft.year > last) {
      return refuse(
          Code::unclear, "a car of the year " + std::to_string(draft.year) + " is not likely",
          "between " + std::to_string(first) + " and " + std::to_string(last), "--year 2014");
    }
    out.details["year"] = draft.year;
  }
  if (auto ok = write_circuits(out.details, draft.circuits); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "keeper", draft.keeper); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "keeper-contact", draft.keeper_contact); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const CarChange& draft) {
  Built out;
  out.kind = Kind::car_change;
  out.details["car"] = log::write_ref(draft.car.n, desk.known);
  bool changes = false;
  if (draft.plate) {
    auto plate = clean_plate(*draft.plate);
    if (!plate.ok()) return std::move(plate).refusal();
    if (auto ok = plate_is_free(desk, *plate, draft.car); !ok.ok()) return std::move(ok).refusal();
    out.keep_private("plate", *plate);
    changes = true;
  }
  if (draft.vin) {
    auto vin = checked_vin(*draft.vin, year_of(desk.db, draft.car), out.warnings);
    if (!vin.ok()) return std::move(vin).refusal();
    out.keep_private("vin", *vin);
    changes = true;
  }
  for (const auto& [field, text] : {std::pair<const char*, const std::optional<std::string>*>{"keeper", &draft.keeper}, {"keeper-contact", &draft.keeper_contact}}) {
    if (!*text) continue;
    if (auto ok = keep(out, field, **text); !ok.ok()) return std::move(ok).refusal();
    changes = true;
  }
  if (auto ok = write_circuits(out.details, draft.circuits); !ok.ok()) return std::move(ok).refusal();
  if (draft.scrapped) {
    auto q = desk.db.query("SELECT number FROM job WHERE car = ? AND closed = 0");
    q.bind(draft.car.n);
    if (q.step()) return refuse(Code::not_allowed, "job " + std::to_string(q.num(0)) + " is still open on this car", "a car is scrapped when nothing is being done on it", "baybook job close " + std::to_string(q.num(0)) + " --result \"...\"");
    out.details["scrapped"] = true;
  }
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  if (!changes && draft.circuits.empty() && !draft.scrapped && draft.note.empty()) return refuse(Code::wrong_usage, "nothing changes", "", "--plate, --keeper, --circuit, --scrapped or --note");
  return out;
}

Result<Built> build(Desk& desk, const OpenJob& draft) {
  Built out;
  out.kind = Kind::job;
  {
    auto q = desk.db.query("SELECT scrapped FROM car WHERE id = ?");
    q.bind(draft.car.n);
    if (!q.step()) return refuse(Code::not_found, "there is no such car", "", "baybook car list");
    if (q.num(0) != 0) return refuse(Code::not_allowed, plate_of(desk.db, draft.car) + " is scrapped", "no job is opened on a scrapped car", "baybook entries --car " + as_typed(plate_of(desk.db, draft.car)) + "  # then correct the entry that scrapped it");
  }
  out.details["car"] = log::write_ref(draft.car.n, desk.known);
  const log::Installation& own = desk.known.own();
  std::int64_t number = 1;
  // A copy that goes on counts on: the numbers on the work sheets stay what they were.
  for (std::int64_t origin = own.origin; origin != 0 && number == 1; origin = log::continued_origin(desk.db, origin)) {
    auto q = desk.db.query("SELECT number FROM job WHERE id < ? AND id > ? ORDER BY id DESC LIMIT 1");
    q.bind((origin + 1) << 40).bind(origin << 40);
    if (q.step()) number = q.num(0) + 1;
  }
  out.details["number"] = number;
  if (!draft.odometer && draft.dial != Dial::goes_on) return said_without_reading();
  if (draft.odometer) {
    if (auto ok = with_reading(desk, out, draft.car, *draft.odometer, draft.dial); !ok.ok())
      return std::move(ok).refusal();
  }
  if (auto ok = keep(out, "complaint", draft.complaint); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = keep(out, "reason", draft.odometer_reason); !ok.ok()) return std::move(ok).refusal();
  {
    auto q = desk.db.query("SELECT number FROM job WHERE car = ? AND closed = 0");
    q.bind(draft.car.n);
    if (q.step()) out.warnings.push_back("job " + std::to_string(q.num(0)) + " is still open on this car");
  }
  say_if_late(desk, out, draft.car);
  return out;
}

Result<Built> build(Desk& desk, const Odometer& draft) {
  Built out;
  out.kind = Kind::odometer;
  out.details["car"] = log::write_ref(draft.car.n, desk.known);
  if (draft.job) {
    auto row = open_job(desk, draft.job);
    if (!row.ok()) return std::move(row).refusal();
    out.details["job"] = log::write_ref(draft.job.n, desk.known);
  }
  if (auto ok = with_reading(desk, out, draft.car, draft.reading, draft.dial); !ok.ok())
    return std::move(ok).refusal();
  if (auto ok = keep(out, "reason", draft.reason); !ok.ok()) return std::move(ok).refusal();
  say_if_late(desk, out, draft.car);
  return out;
}

Result<Built> build(Desk& desk, const CodeNote& draft) {
  auto row = open_job(desk, draft.job);
  if (!row.ok()) return std::move(row).refusal();
  auto code = read_fault_code(draft.code);
  if (!code.ok()) return std::move(code).refusal();
  Built out;
  out.kind = Kind::code;
  out.details["job"] = log::write_ref(draft.job.n, desk.known);
  out.details["code"] = code->text;
  out.details["what"] = draft.what == CodeNote::What::read ? "read" : draft.what == CodeNote::What::cleared ? "cleared" : "returned";
  if (auto ok = keep(out, "note", draft.note); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const Work& draft) {
  auto row = open_job(desk, draft.job);
  if (!row.ok()) return std::move(row).refusal();
  auto text = clean_text(draft.text, "work");
  if (!text.ok()) return std::move(text).refusal();
  Built out;
  out.kind = Kind::work;
  out.details["job"] = log::write_ref(draft.job.n, desk.known);
  if (!draft.kind.empty()) {
    auto kind = clean_code(draft.kind, "kind of work");
    if (!kind.ok()) return std::move(kind).refusal();
    out.details["kind"] = *kind;
  }
  out.keep_private("text", *text);
  if (auto ok = write_takes_out(desk, out.details, draft.takes_out, row->car, EntryId{}); !ok.ok())
    return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, const Fit& draft) {
  auto row = open_job(desk, draft.job);
  if (!row.ok()) return std::move(row).refusal();
  Built out;
  out.kind = Kind::fit;
  out.details["job"] = log::write_ref(draft.job.n, desk.known);
  auto part = clean_part(draft.part);
  if (!part.ok()) return std::move(part).refusal();
  out.details["part"] = *part;
  if (!draft.lot.empty()) {
    auto lot = clean_text(draft.lot, "lot", log::most::kPart);
    if (!lot.ok()) return std::move(lot).refusal();
    out.details["lot"] = *lot;
  }
  out.details["quantity"] = log::write_amount(draft.quantity);
  if (draft.warranty_months < 0 || draft.warranty_months > log::most::kMonths)
    return refuse(
        Code::unclear,
        "a warranty of " + std::to_string(draft.warranty_months) + " months is not likely", "",
        "--warranty 24mo");
  if (draft.warranty_months > 0) out.details["warranty-months"] = draft.warranty_months;
  if (draft.warranty_distance) out.details["warranty-m"] = draft.warranty_distance->metres;
  if (auto ok = keep(out, "description", draft.description); !ok.ok()) return std::move(ok).refusal();
  if (auto ok = write_takes_out(desk, out.details, draft.takes_out, row->car, EntryId{}); !ok.ok())
    return std::move(ok).refusal();
  say_if_fitted_before(desk, draft, *part, row->car, out.warnings);
  switch (draft.old) {
    case Fit::Old::not_said:
      break;
    case Fit::Old::none:
      out.details["old"] = "none";
      break;
    case Fit::Old::core:
      out.details["old"] = "core";
      break;
    case Fit::Old::customer:
      out.details["old"] = "customer";
      break;
    case Fit::Old::waste: {
      out.details["old"] = "waste";
      const FluidClass* c = find_class(std::string_view(draft.old_class.empty() ? "old-parts" : draft.old_class));
      if (c == nullptr) return refuse(Code::not_found, "there is no class of waste named " + visible(draft.old_class), "", "one of those that `baybook fluid list` names");
      auto q = desk.db.query("SELECT role, code FROM place WHERE id = ?");
      q.bind(draft.old_into.n);
      if (!q.step() || static_cast<Role>(q.num(0)) != Role::waste) return refuse(Code::not_allowed, "an old part goes into a waste place", "F6", "--old waste:bin-parts");
      const fluids::Marks marks = fluids::marks_of(desk.db, draft.old_into, desk.effect.moment);
      if (marks.retired || marks.sealed) return refuse(Code::not_allowed, q.text(1) + (marks.retired ? " is retired" : " is sealed: nothing more goes in"), "F6", "another waste place");
      const Amount amount = draft.old_amount.value_or(draft.quantity);
      out.details["lines"] = Value(std::vector<Value>{fluids::write_line(desk, kBefore, draft.old_into, amount, FluidId{c->number})});
      break;
    }
  }
  return out;
}

Result<Built> build(Desk& desk, const TorqueNote& draft) {
  auto row = open_job(desk, draft.job);
  if (!row.ok()) return std::move(row).refusal();
  auto fastener =
      clean_text(draft.fastener, "fastener", log::most_private(Kind::torque, "fastener"));
  if (!fastener.ok()) return std::move(fastener).refusal();
  Built out;
  out.kind = Kind::torque;
  out.details["job"] = log::write_ref(draft.job.n, desk.known);
  out.details["torque-mnm"] = draft.torque.millinewton_metres;
  out.details["torque-typed"] = draft.torque.typed;
  out.keep_private("fastener", *fastener);
  return out;
}

}  // namespace baybook::service
