// A small shop as another program fills it: public headers alone. One valid draft of every kind
// that can follow.
#pragma once

#include <baybook/book.hpp>
#include <baybook/due.hpp>
#include <baybook/reports.hpp>

#include <cstdint>
#include <random>
#include <stdexcept>
#include <string>
#include <utility>
#include <vector>

namespace consumer {

using namespace baybook;

inline Random repeatable(std::uint64_t seed) {
  return [engine = std::mt19937_64(seed)](std::uint8_t* bytes, std::size_t size) mutable {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine());
    return true;  // an example needs no secrets, and must come out the same every time
  };
}

inline Settings bay_settings() {
  Settings s;
  s.site = "Saltmarsh Motor Works";
  s.tag = "bay";
  s.zone = "Europe/Lisbon";
  s.rules = "eu";
  return s;
}

/// What a value must be for the example to go on; the words of a refusal otherwise.
template <class T>
T must(Result<T> r) {
  return std::move(r).value();
}

class Shop {
 public:
  explicit Shop(const std::string& file, std::uint64_t seed = 7)
      : now(*read_instant("2026-03-05T09:40:00.000Z")),
        book(must(Book::start(file, bay_settings(), now, repeatable(seed)))) {
    tam = PersonId{write(NewPerson{"Tam", "", ""})};
    gone = PersonId{write(NewPerson{"Somebody Else", "", ""})};
    oat = FluidId{write(NewFluid{"oat-violet", "coolant", "Violet OAT premix"})};
    pan = place("pan-1", Role::hold_catch, "20L", {});
    keep = place("keep-1", Role::reuse, "20L", {"coolant"});
    can = place("can-1", Role::stock, "25L", {"coolant"});
    drum = place("drum-1", Role::waste, "200L", {"coolant"});
    parts = place("bin-1", Role::waste, "", {"old-parts"});
    gone_place = place("pan-9", Role::hold_catch, "20L", {});
    marsh = car("MARSH-07");
    tern = car("TERN-12");
    gone_car = car("GONE-01");
    NewFirm f{"quill-tarn", "Quill & Tarn Recovery", "", true, true, {{"permit", "T-118"}}};
    firm = FirmId{write(f)};
    Movement got = move(MoveVerb::receive, kSupplier, can, "20L");
    got.lines[0].fluid = oat;
    received = EntryId{write(got)};
    // A job that was closed with a recheck, and what came of it.
    closed_job = open(marsh, "88210km");
    write(with_job(move(MoveVerb::drain, coolant(marsh), pan, "5L"), closed_job));
    write(with_job(move(MoveVerb::fill, can, coolant(marsh), "5L"), closed_job));
    CloseJob close;
    close.job = closed_job;
    close.result = "tight";
    close.rechecks = {{"coolant level", 3, {}}, {"hose", {}, Distance{500'000, "500km"}}};
    closing = EntryId{write(close)};
    write(move(MoveVerb::decant, pan, drum, "5L"));
    Movement away = move(MoveVerb::pickup, drum, kReceiver, "1L");
    away.carrier = "Quill & Tarn Recovery";
    away.document = "0041233";
    away.carrier_firm = firm;
    pickup = EntryId{write(away)};
    job = open(marsh, "88220km");
    other_job = open(tern, "1200km");
    Deadline d;
    d.code = "carrier-registration";
    d.due = *read_day("2026-09-01");
    d.every_months = 12;
    deadline = DeadlineId{write(d)};
    Schedule s;
    Interval i;
    i.task = "engine-oil";
    i.car = marsh;
    i.months = 12;
    i.source = "workshop booklet, page 12";
    s.intervals = {i};
    write(s);
    torqued = EntryId{write(TorqueNote{job, "pump bolts", {25'000, "25Nm"}})};
    withdraw(gone.n);
    withdraw(gone_place.n);
    withdraw(gone_car.n);
  }

  Stamp stamp() {
    now.ms += 1000;
    Stamp s;
    s.now = now;
    s.by = tam;
    return s;
  }
  std::int64_t write(const Draft& d) { return must(book.append(d, stamp())).entry.id.n; }
  std::int64_t withdraw(std::int64_t entry) {
    Correction c;
    c.target = EntryId{entry};
    c.withdraw = true;
    c.why = "entered by mistake";
    return write(c);
  }

  PlaceId place(const std::string& code, Role role, const std::string& size,
                std::vector<std::string> takes) {
    NewPlace p;
    p.code = code;
    p.role = role;
    if (!size.empty()) p.size = amount(size);
    p.takes = std::move(takes);
    p.area = "yard";
    return PlaceId{write(p)};
  }
  CarId car(const std::string& plate) {
    NewCar c;
    c.plate = plate;
    c.make = "Corvane";
    c.model = "Tern";
    c.year = 2014;
    c.circuits = {{"coolant", amount("6.8L"), "OAT"}, {"engine-oil", amount("4.5L"), ""}};
    return CarId{write(c)};
  }
  JobId open(CarId of, const std::string& reading) {
    return JobId{write(OpenJob{of, must(parse_distance(reading, Units{})), "", "weeping"})};
  }
  static Amount amount(const std::string& typed) { return must(parse_amount(typed, Units{})); }
  static PlaceId coolant(CarId of) { return circuit_of(of, *find_circuit("coolant")); }
  static Movement move(MoveVerb verb, PlaceId from, PlaceId to, const std::string& typed) {
    Movement m;
    m.verb = verb;
    MoveLine line;
    line.from = from;
    line.to = to;
    line.amount = amount(typed);
    m.lines = {line};
    return m;
  }
  static Movement with_job(Movement m, JobId of) {
    m.job = of;
    return m;
  }

  Instant now;
  Book book;
  PersonId tam, gone;
  FluidId oat;
  PlaceId pan, keep, can, drum, parts, gone_place;
  CarId marsh, tern, gone_car;
  FirmId firm;
  JobId closed_job, job, other_job;
  DeadlineId deadline;
  EntryId received, closing, pickup, torqued;
};

/// A draft of every kind that the shop takes, with as many of its fields said as go together.
inline std::vector<std::pair<std::string, Draft>> valid_drafts(const Shop& s) {
  std::vector<std::pair<std::string, Draft>> out;
  const auto add = [&](const std::string& name, Draft d) { out.emplace_back(name, std::move(d)); };
  const Distance reading{88'230'000, "88230km"};
  const Density density = must(parse_density("1.07kg/L", Units{}));
  NewPlace place;
  place.code = "drum-2";
  place.role = Role::waste;
  place.size = Shop::amount("60L");
  place.takes = {"coolant"};
  place.stream = "waste-coolant";
  place.area = "yard";
  add("NewPlace", place);
  add("PlaceMark", PlaceMark{PlaceMark::What::seal, s.drum, "full"});
  add("NewFluid", NewFluid{"oat-green",
                           "coolant",
                           "Green OAT",
                           Dimension::volume,
                           density,
                           "sheet",
                           {must(parse_share("ethylene glycol=45..55%"))}});
  add("NewPerson", NewPerson{"Oona", "at the office", "R-1"});
  NewCar car{"REED-10",
             "1M8GDM9AXKP042788",
             "Corvane",
             "Tern",
             "T14",
             2014,
             {{"coolant", Shop::amount("6.8L"), "OAT"}},
             "somebody",
             "by mail"};
  add("NewCar", car);
  CarChange change;
  change.car = s.marsh;
  change.keeper = "somebody";
  change.circuits = {{"brake", Shop::amount("1L"), ""}};
  add("CarChange", change);
  add("OpenJob", OpenJob{s.marsh, reading, "", "weeping"});
  CloseJob close;
  close.job = s.job;
  close.result = "tight";
  close.rechecks = {{"level", 3, Distance{500'000, "500km"}}};
  add("CloseJob", close);
  add("Odometer", Odometer{s.marsh, s.job, reading, ""});
  add("CodeNote", CodeNote{CodeNote::What::cleared, s.job, "P0217", "once"});
  add("Work", Work{s.job, "pump renewed", "cooling"});
  Fit fit;
  fit.job = s.job;
  fit.part = "WP-4471";
  fit.description = "water pump";
  fit.lot = "L22";
  fit.quantity = Shop::amount("1pcs");
  fit.warranty_months = 24;
  fit.warranty_distance = Distance{20'000'000, "20000km"};
  fit.old = Fit::Old::waste;
  fit.old_into = s.parts;
  fit.old_amount = Shop::amount("1pcs");
  fit.old_class = "old-parts";
  add("Fit", fit);
  add("TorqueNote", TorqueNote{s.job, "bolts", {25'000, "25Nm"}});
  Movement drain =
      Shop::with_job(Shop::move(MoveVerb::drain, Shop::coolant(s.marsh), s.pan, "1L"), s.job);
  drain.machine = "AC-7";
  add("Movement, drain", drain);
  Movement receive = Shop::move(MoveVerb::receive, kSupplier, s.can, "1L");
  receive.lines[0].fluid = s.oat;
  receive.lines[0].lot = "7731";
  receive.document = "5531";
  add("Movement, receive", receive);
  Movement away = Shop::move(MoveVerb::pickup, s.drum, kReceiver, "1L");
  away.lines[0].fate = Fate::recycled;
  away.lines[0].treatment = "R9";
  away.lines[0].measured = Shop::amount("1L");
  away.carrier = "Quill & Tarn Recovery";
  away.document = "0041234";
  away.carrier_firm = s.firm;
  away.receiver_firm = s.firm;
  away.transport = "road";
  away.own_vehicle = true;
  away.haul = reading;
  add("Movement, pickup", away);
  Movement ran_out = Shop::move(MoveVerb::spill, s.drum, kGround, "1L");
  ran_out.reached = Reached::floor;
  ran_out.shares = {must(parse_share("ethylene glycol=50%"))};
  add("Movement, spill", ran_out);
  Gauge gauge;
  gauge.place = s.drum;
  gauge.level = must(parse_level("2L", Units{}));
  gauge.fluid = FluidId{find_class("coolant")->number};
  gauge.reason = "dipped";
  add("Gauge", gauge);
  Gauge weighed;
  weighed.place = s.drum;
  weighed.gross = must(parse_level("20kg", Units{}));
  weighed.tare = must(parse_level("18kg", Units{}));
  weighed.density = density;
  weighed.density_source = "sheet";
  weighed.reason = "weighed";
  add("Gauge, weighed", weighed);
  Correction correction;
  correction.target = s.received;
  correction.patch.amount = Shop::amount("21L");
  correction.patch.into = s.can;
  correction.why = "misread";
  add("Correction", correction);
  Correction torque;
  torque.target = s.torqued;
  torque.patch.torque = Torque{30'000, "30Nm"};
  torque.why = "as the sheet says";
  add("Correction, torque", torque);
  add("NewFirm", NewFirm{"fen-haulage",
                         "Fen Haulage",
                         "by mail",
                         true,
                         true,
                         {{"permit", "T-9"}},
                         reading,
                         ReceivesAs::collection_centre,
                         {"waste-coolant"},
                         *read_day("2026-01-02")});
  Correction of_firm;
  of_firm.target = EntryId{s.firm.n};
  of_firm.patch.haul = reading;
  of_firm.patch.receives_as = ReceivesAs::collection_centre;
  of_firm.patch.streams = std::vector<std::string>{"waste-coolant"};
  of_firm.patch.registered = *read_day("2026-01-02");
  of_firm.why = "as they said";
  add("Correction, firm", of_firm);
  Correction of_fluid;
  of_fluid.target = EntryId{s.oat.n};
  of_fluid.patch.shares = std::vector<MassShare>{must(parse_share("ethylene glycol=50%"))};
  of_fluid.why = "as the sheet says";
  add("Correction, product", of_fluid);
  ChooseRules rules;
  rules.set = "us-federal";
  rules.from = *read_day("2026-03-05");
  add("ChooseRules", rules);
  add("ConfirmPickup",
      ConfirmPickup{s.pickup, *read_day("2026-03-05"), {{1, Shop::amount("1L")}}, "back"});
  add("Inspection", Inspection{"yard", true, "a lid was open", *read_day("2026-04-12")});
  add("Determination", Determination{"waste-coolant", s.drum, true, Determination::Basis::test,
                                     "lead 1.2 mg/L", "a laboratory"});
  add("Paper", Paper{s.pickup, "slip.pdf", std::string(64, 'a'), 4711, "the slip"});
  add("Deadline",
      Deadline{"tank-test", *read_day("2026-10-01"), 12, "of the permit", "pressure test"});
  add("DeadlineDone", DeadlineDone{s.deadline, *read_day("2027-09-01"), "sent"});
  add("Filing", Filing{"tank-report", "2025", *read_day("2026-03-04"), s.pickup,
                       Filing::Way::electronic, "sent"});
  Circumstance hold;
  hold.what = Circumstance::What::hold;
  hold.day = *read_day("2026-03-04");
  hold.note = "a letter";
  add("Circumstance", hold);
  add("CloseMonth", CloseMonth{month_of(*read_day("2026-03-05")), "all there"});
  Interval by_model;
  by_model.task = "coolant";
  by_model.make = "Corvane";
  by_model.model = "Tern";
  by_model.from_year = 2010;
  by_model.until_year = 2020;
  by_model.circuit = "coolant";
  by_model.parts = {"TB-4410"};
  by_model.months = 48;
  by_model.distance = Distance{60'000'000, "60000km"};
  by_model.hours = 500;
  by_model.filtered_percent = 50;
  by_model.source = "booklet";
  add("Schedule, a file", Schedule{"tern-service", {by_model}, 30});
  Interval by_hand;
  by_hand.task = "belt";
  by_hand.car = s.marsh;
  by_hand.months = 48;
  by_hand.source = "booklet";
  add("Schedule, by hand", Schedule{"", {by_hand}, 0});
  add("TaskDone",
      TaskDone{s.marsh, s.job, "engine-oil", *read_day("2026-03-05"), reading, 1250 * 60, "done"});
  PutOff off;
  off.car = s.marsh;
  off.task = "engine-oil";
  off.until = *read_day("2026-05-01");
  off.why = "part on order";
  add("PutOff, a task", off);
  PutOff recheck;
  recheck.car = s.marsh;
  recheck.closing = s.closing;
  recheck.recheck = 1;
  recheck.until = *read_day("2026-05-01");
  recheck.why = "not in";
  add("PutOff, a recheck", recheck);
  add("RecheckDone", RecheckDone{s.closing, 1, false, s.job, "down by a finger"});
  add("EngineHours", EngineHours{s.marsh, s.job, 1250 * 60, "1250h", ""});
  add("Settle", Settle{EntryId{s.marsh.n}, EntryId{s.tern.n}, false, "two cars"});
  Erasure name;
  name.person = s.gone;
  add("Erasure", name);
  return out;
}

}  // namespace consumer
