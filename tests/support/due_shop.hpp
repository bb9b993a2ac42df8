// A shop with one car whose use is known, for tests of what is due.
#pragma once

#include "support/test_book.hpp"

#include <baybook/due.hpp>

namespace baybook::test {

struct DueShop {
  TestBook b{"bay", 11, "2025-01-02T09:00:00.000Z"};
  CarId car = b.car("MARSH-07");
  PlaceId pan = b.place("pan-1", Role::hold_catch, "200L", {"coolant", "engine-oil"});
  PlaceId keep = b.place("keep-1", Role::reuse, "200L", {"coolant"});
  PlaceId cans = b.place("can-1", Role::stock, "900L", {"coolant"});
  PlaceId oil_cans = b.place("can-2", Role::stock, "900L", {"engine-oil"});
  PlaceId drum = b.place("drum-coolant", Role::waste, "200L", {"coolant"});
  PlaceId oil_drum = b.place("drum-oil", Role::waste, "200L", {"engine-oil"});
  FluidId coolant = b.fluid("oat-violet", "coolant");
  FluidId oil = b.fluid("oil-5w30", "engine-oil");

  DueShop() {
    b.write(TestBook::move(MoveVerb::receive, kSupplier, cans, "800L", {}, coolant));
    b.write(TestBook::move(MoveVerb::receive, kSupplier, oil_cans, "800L", {}, oil));
  }

  void at(std::string_view iso) { b.now = instant(std::string(iso) + "T10:00:00.000Z"); }
  static Distance km(std::int64_t n) { return Distance{n * 1000, std::to_string(n) + "km"}; }

  static Interval every(std::string task, int months, std::int64_t kilometres = 0, int hours = 0) {
    Interval i;
    i.task = std::move(task);
    i.months = months;
    if (kilometres > 0) i.distance = km(kilometres);
    i.hours = hours;
    i.source = "bay card (invented)";
    return i;
  }
  Interval for_car(Interval i) const {
    i.car = car;
    return i;
  }
  Interval for_model(Interval i) const {
    i.make = "Corvane";
    i.model = "Tern";
    return i;
  }
  Result<Receipt> try_set(const Interval& i, std::string name = {}) {
    Schedule s;
    s.name = std::move(name);
    s.intervals.push_back(i);
    return b.try_write(s);
  }
  Receipt set(const Interval& i, std::string name = {}) {
    auto r = try_set(i, std::move(name));
    REQUIRE_MESSAGE(r.ok(), why(r));
    return *r;
  }
  Receipt read(std::int64_t kilometres, const std::string& reason = {}) {
    Odometer o;
    o.car = car;
    o.reading = km(kilometres);
    o.reason = reason;
    if (!reason.empty()) o.dial = Dial::replaced;
    return b.write(o);
  }
  JobId open(std::optional<std::int64_t> kilometres = {}) {
    OpenJob j;
    j.car = car;
    if (kilometres) j.odometer = km(*kilometres);
    return JobId{b.write(j).entry.id.n};
  }
  Receipt close(JobId job, std::vector<Recheck> rechecks = {}) {
    CloseJob c;
    c.job = job;
    c.rechecks = std::move(rechecks);
    c.as_is = "as it is";
    return b.write(c);
  }
  /// Drains and fills the engine oil in a job of its own.
  Receipt change_oil(std::int64_t kilometres, const char* drained = "4.5L") {
    const JobId job = open(kilometres);
    b.write(TestBook::move(MoveVerb::drain, b.oil(car), oil_drum, drained, job));
    b.write(TestBook::move(MoveVerb::fill, oil_cans, b.oil(car), drained, job));
    return close(job);
  }
  Receipt done(std::string task, std::string_view when = {}, std::optional<std::int64_t> kilometres = {}) {
    TaskDone d;
    d.car = car;
    d.task = std::move(task);
    if (!when.empty()) d.when = day(when);
    if (kilometres) d.odometer = km(*kilometres);
    return b.write(d);
  }
  void withdraw(const Receipt& r) {
    Correction c;
    c.target = r.entry.id;
    c.withdraw = true;
    c.why = "wrong car";
    b.write(c);
  }
  DueList all(std::string_view today, bool as_of = false) {
    DueFilter f;
    f.car = car;
    f.as_of = as_of;
    auto l = due_list(b.book(), day(today), f);
    REQUIRE_MESSAGE(l.ok(), why(l));
    return *l;
  }
  DueList shop(std::string_view today, int within = 30) {
    DueFilter f;
    f.within = within;
    auto l = due_list(b.book(), day(today), f);
    REQUIRE_MESSAGE(l.ok(), why(l));
    return *l;
  }
  static const DueLine* find(const DueList& l, std::string_view part) {
    for (const DueLine& d : l.lines) {
      if (d.what.find(part) != std::string::npos) return &d;
    }
    return nullptr;
  }
  std::string day_of(std::string_view task, std::string_view today) {
    const DueList l = all(today);
    const DueLine* d = find(l, task);
    return d == nullptr ? "not there" : d->day ? to_string(*d->day) : "no day";
  }
  bool sound() {
    const auto proof = prove(b.book());
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    for (const Finding& f : proof->findings) MESSAGE(f.what);
    return proof->findings.empty() && proof->tables_compared;
  }
};

}  // namespace baybook::test
