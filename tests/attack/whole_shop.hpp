// A book with every kind of entry and a row in every derived table, of two installations. A new kind or table that is missing here fails a
// test (insider_test.cpp): the attacks reach only what stands in this book.
#pragma once

#include "support/carry.hpp"
#include "support/test_book.hpp"

#include <baybook/returns.hpp>

#include <fstream>

namespace baybook::test {

inline std::string paper_text() { return "weighbridge slip 0041233, invented\n"; }
/// Papers lie beside the book; a copy of the book needs them as well.
inline void put_papers(const std::string& book) {
  std::filesystem::create_directories(papers_folder(book));
  std::ofstream(papers_folder(book) + "/slip.txt", std::ios::binary) << paper_text();
}

[[nodiscard]] inline std::string read_bytes(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}
/// The bytes of a book: the file and the write-ahead log beside it.
struct Bytes {
  std::string main, wal;
  friend bool operator==(const Bytes&, const Bytes&) = default;
};
[[nodiscard]] inline Bytes bytes_of_book(const std::string& path) { return {read_bytes(path), read_bytes(path + "-wal")}; }

struct WholeShop {
  TestBook bay{"bay", 21, "2026-01-02T09:00:00.000Z"};
  TestBook office{"office", 22, "2026-01-02T09:00:00.000Z"};
  std::string seal, office_seal;
  Bytes open;  ///< the book while a program has it open: its newest entries lie in the write-ahead log
  Bytes rest;  ///< the book at rest: one file

  /// `spread`: more cars and jobs, so that the book has more pages and some of them free again.
  explicit WholeShop(int spread = 3) {
    put_papers(bay.file());
    definitions();
    for (int i = 0; i < spread; ++i) a_job("REED-" + std::to_string(10 + i), i);
    whole_job();
    waste();
    what_is_due();
    what_was_off();
    bay.now = instant("2026-02-03T10:00:00.000Z");
    bay.write(CloseMonth{month_of(day("2026-01-01")), "as weighed"});
    from_the_office();
    // What is written from here on stays in the write-ahead log: the connection before has folded its own into the file.
    bay.reopen();
    bay.book().inside().db.exec("PRAGMA wal_checkpoint(TRUNCATE)");
    bay.reopen();
    once("note-1", work("last look, all dry"));
    once("note-2", work("keys on the board"));
    Work last;
    last.job = open_job;
    last.text = "waits for its keeper";
    last.takes_out = {{fitted, {}}};
    bay.write(last);
    seal = bay->seal();
    office_seal = office->seal();
    open = bytes_of_book(bay.file());
    bay.close();
    rest = bytes_of_book(bay.file());
    office.close();
  }

 private:
  PersonId tam;
  FirmId firm;
  PlaceId pan, keep, can, drum, absorb, parts;
  FluidId coolant;
  CarId car;
  JobId open_job;
  EntryId closing, pickup, wrong, fitted;

  void at(std::string_view iso) { bay.now = instant(std::string(iso) + "T10:00:00.000Z"); }
  Work work(const std::string& text) const {
    Work w;
    w.job = open_job;
    w.text = text;
    w.kind = "cooling";
    return w;
  }
  void once(const std::string& key, const Draft& d) {
    Stamp s = bay.stamp();
    s.once = key;
    s.by = tam;
    const auto r = bay.book().append(d, s);
    REQUIRE_MESSAGE(r.ok(), why(r));
  }
  PlaceId waste_place(const std::string& code, const std::string& takes, const std::string& size) {
    NewPlace p;
    p.code = code;
    p.role = Role::waste;
    p.size = litres(size);
    p.takes = {takes};
    p.area = "yard";
    return PlaceId{bay.write(p).entry.id.n};
  }
  void definitions() {
    NewPerson p;
    p.name = "Tam Birchall";
    p.contact = "bench 2";
    tam = PersonId{bay.write(p).entry.id.n};
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.contact = "gate 3";
    f.carries = f.receives = true;
    f.numbers = {{"permit", "QT-17"}};
    firm = FirmId{bay.write(f).entry.id.n};
    ChooseRules rules;
    rules.set = "eu";
    rules.from = day("2026-01-01");
    bay.write(rules);
    pan = bay.place("pan-1", Role::hold_catch, "40L");
    keep = bay.place("keep-1", Role::reuse, "40L");
    can = bay.place("can-1", Role::stock, "200L", {"coolant"});
    drum = waste_place("drum-coolant", "coolant", "180L");
    absorb = waste_place("drum-absorb", "absorbent", "60kg");
    parts = waste_place("bin-parts", "old-parts", "900pcs");
    NewFluid fluid;
    fluid.code = "oat-violet";
    fluid.of_class = "coolant";
    fluid.product = "Violet OAT premix";
    fluid.density = parse_density("1.07kg/L", Units{}).value();
    fluid.density_source = "invented sheet";
    coolant = FluidId{bay.write(fluid).entry.id.n};
    auto delivery = TestBook::move(MoveVerb::receive, kSupplier, can, "150L", {}, coolant);
    delivery.lines.front().lot = "7731";
    delivery.document = "55402";
    bay.write(delivery);
    NewCar c;
    c.plate = "MARSH-07";
    c.vin = "1M8GDM9AXKP042788";
    c.make = "Corvane";
    c.model = "Tern";
    c.engine = "T4";
    c.year = 2014;
    c.keeper = "Oona Sandrail";
    c.keeper_contact = "555 0100";
    c.circuits = {{"coolant", litres("6.8L"), "OAT"}, {"engine-oil", litres("4.5L"), ""}};
    car = CarId{bay.write(c).entry.id.n};
    CarChange change;
    change.car = car;
    change.plate = "MARSH-08";
    change.note = "new plate";
    change.circuits = {{"brake", litres("0.9L"), ""}};
    bay.write(change);
  }
  void a_job(const std::string& plate, int n) {
    const CarId other = bay.car(plate);
    const JobId job = bay.job(other);
    bay.write(TestBook::move(MoveVerb::drain, bay.coolant(other), pan, "5L", job));
    bay.write(TestBook::move(MoveVerb::filter, pan, keep, "3L"));
    bay.write(TestBook::move(MoveVerb::fill, keep, bay.coolant(other), "3L", job));
    bay.write(TestBook::move(MoveVerb::fill, can, bay.coolant(other), "2L", job));
    bay.write(TestBook::move(MoveVerb::decant, pan, drum, "all"));
    CloseJob c;
    c.job = job;
    c.result = "done " + std::to_string(n);
    bay.write(c);
  }
  void whole_job() {
    at("2026-01-05");
    OpenJob j;
    j.car = car;
    j.odometer = parse_distance("88210km", Units{}).value();
    j.complaint = "water pump weeping";
    const JobId job{bay.write(j).entry.id.n};
    Odometer o;
    o.car = car;
    o.job = job;
    o.reading = parse_distance("88100km", Units{}).value();
    o.reason = "cluster replaced";
    o.dial = Dial::replaced;
    bay.write(o);
    for (const auto what : {CodeNote::What::read, CodeNote::What::cleared}) {
      CodeNote code;
      code.job = job;
      code.code = "P0217";
      code.what = what;
      code.note = "hot";
      bay.write(code);
    }
    Work w;
    w.job = job;
    w.text = "pump renewed";
    w.kind = "cooling";
    bay.write(w);
    Fit f;
    f.job = job;
    f.part = "WP-4471";
    f.description = "water pump";
    f.lot = "L22";
    f.quantity = parse_amount("1pcs", Units{}).value();
    f.warranty_months = 24;
    f.warranty_distance = parse_distance("40000km", Units{}).value();
    f.old = Fit::Old::waste;
    f.old_into = parts;
    fitted = bay.write(f).entry.id;
    TorqueNote t;
    t.job = job;
    t.fastener = "pump bolts";
    t.torque = parse_torque("25Nm", Units{}).value();
    bay.write(t);
    auto drain = TestBook::move(MoveVerb::drain, bay.coolant(car), pan, "~5.4L", job);
    drain.note = "brown";
    bay.write(drain);
    bay.write(TestBook::move(MoveVerb::filter, pan, keep, "4L"));
    bay.write(TestBook::move(MoveVerb::fill, keep, bay.coolant(car), "4L", job));
    wrong = bay.write(TestBook::move(MoveVerb::fill, can, bay.coolant(car), "1.5L", job)).entry.id;
    auto spill = TestBook::move(MoveVerb::spill, pan, kGround, "0.2L");
    spill.reached = Reached::floor;
    spill.cleaned = "wiped up";
    bay.write(spill);
    bay.write(TestBook::move(MoveVerb::decant, pan, drum, "all"));
    CloseJob c;
    c.job = job;
    c.result = "dry";
    c.book_missing = true;
    Recheck r;
    r.what = "coolant level";
    r.after_days = 5;
    r.after_distance = parse_distance("500km", Units{}).value();
    c.rechecks = {r, r};
    closing = bay.write(c).entry.id;
    Correction fix;
    fix.target = wrong;
    fix.patch.amount = litres("1.4L");
    fix.why = "jug read wrong";
    bay.write(fix);
    Correction back;
    back.target = bay.write(reading("88300km")).entry.id;
    back.withdraw = true;
    back.why = "another car";
    bay.write(back);
  }
  Odometer reading(const std::string& text) const {
    Odometer o;
    o.car = car;
    o.reading = parse_distance(text, Units{}).value();
    return o;
  }
  void waste() {
    at("2026-01-12");
    Gauge g;
    g.place = drum;
    g.level = litres("19.2L");
    g.reason = "dip stick";
    bay.write(g);
    Movement discard = TestBook::move(MoveVerb::discard, kSupplier, absorb, "3kg", {}, FluidId{find_class("absorbent")->number});
    discard.note = "sacks";
    bay.write(discard);
    Movement p = TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L");
    p.carrier_firm = p.receiver_firm = firm;
    p.transport = "road";
    p.lines.front().fate = Fate::recycled;
    p.lines.front().treatment = "R3";
    p.note = "two men";
    pickup = bay.write(p).entry.id;
    ConfirmPickup confirm;
    confirm.pickup = pickup;
    confirm.signed_on = day("2026-01-12");
    confirm.measured = {{1, litres("9.9L")}};
    confirm.note = "signed";
    bay.write(confirm);
    Inspection i;
    i.area = "yard";
    i.faults = true;
    i.findings = "a lid was open";
    i.next = day("2026-02-20");
    bay.write(i);
    Determination d;
    d.stream = "waste-coolant";
    d.place = drum;
    d.hazardous = true;
    d.reason = "glycol";
    d.laboratory = "none, by knowledge";
    d.basis = Determination::Basis::knowledge;
    bay.write(d);
    Paper paper;
    paper.about = pickup;
    paper.file = "slip.txt";
    paper.sha256 = sha256_hex(paper_text());
    paper.bytes = static_cast<std::int64_t>(paper_text().size());
    paper.title = "slip";
    bay.write(paper);
    Deadline line;
    line.code = "carrier-check";
    line.due = day("2026-01-20");
    line.every_months = 12;
    line.section = "own rule";
    line.what = "look whether the permit still holds";
    DeadlineDone done;
    done.deadline = DeadlineId{bay.write(line).entry.id.n};
    done.next = day("2027-01-20");
    done.note = "holds";
    bay.write(done);
    filed_and_held();
    PlaceMark mark;
    mark.what = PlaceMark::What::seal;
    mark.place = absorb;
    mark.note = "full enough";
    bay.write(mark);
  }
  // A return that came, a hold that ended, an event that lies ahead under rules that know events.
  void filed_and_held() {
    Filing f;
    f.what = "return-received";
    f.period = "2025-q4";
    f.on = day("2026-01-12");
    f.about = EntryId{firm.n};
    f.way = Filing::Way::electronic;
    f.note = "by mail";
    bay.write(f);
    Circumstance c;
    c.what = Circumstance::What::hold;
    c.day = day("2026-01-11");
    c.note = "a letter";
    const EntryId hold = bay.write(c).entry.id;
    Circumstance end;
    end.what = Circumstance::What::end;
    end.about = hold;
    end.day = day("2026-01-12");
    end.note = "resolved";
    bay.write(end);
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2027-01-01");
    bay.write(rules);
    Circumstance event;
    event.planned = true;
    event.petitioned = true;
    event.day = day("2027-06-01");
    event.containers = {parts};
    event.note = "yard clean-out";
    bay.write(event);
  }
  void what_is_due() {
    at("2026-01-20");
    Schedule s;
    s.name = "plan";
    Interval i;
    i.task = "coolant";
    i.make = "Corvane";
    i.model = "Tern";
    i.engine = "T4";
    i.from_year = 2010;
    i.until_year = 2020;
    i.circuit = "coolant";
    i.parts = {"WP-4471"};
    i.months = 24;
    i.distance = parse_distance("40000km", Units{}).value();
    i.hours = 900;
    i.filtered_percent = 40;
    i.source = "bay card (invented)";
    Interval by_specification;
    by_specification.task = "coolant-look";
    by_specification.specification = "OAT";
    by_specification.circuit = "coolant";
    by_specification.months = 6;
    by_specification.source = "bay card (invented)";
    s.intervals = {i, by_specification};
    s.reuse_days = 20;
    bay.write(s);
    Schedule own;
    Interval one;
    one.task = "belt";
    one.car = car;
    one.months = 48;
    one.source = "bay card (invented)";
    own.intervals = {one};
    bay.write(own);
    EngineHours h;
    h.car = car;
    h.minutes = 60 * 1250;
    h.typed = "1250h";
    bay.write(h);
    TaskDone done;
    done.car = car;
    done.task = "belt";
    done.when = day("2025-06-01");
    done.odometer = parse_distance("80000km", Units{}).value();
    done.engine_minutes = 60 * 1100;
    done.note = "elsewhere";
    bay.write(done);
    PutOff off;
    off.car = car;
    off.task = "belt";
    off.until = day("2026-09-01");
    off.why = "on holiday";
    const EntryId put_off = bay.write(off).entry.id;
    PutOff later;
    later.closing = closing;
    later.recheck = 2;
    later.until = day("2026-02-15");
    later.why = "far away";
    bay.write(later);
    RecheckDone looked;
    looked.closing = closing;
    looked.number = 1;
    looked.note = "level holds";
    bay.write(looked);
    open_job = bay.job(car);
    settled_and_erased(put_off);
  }
  // A job of which something is missing, and one on a car that was low when it came.
  void what_was_off() {
    const CarId other = bay.car("REED-01");
    const JobId missing = bay.job(other);
    bay.write(TestBook::move(MoveVerb::drain, bay.coolant(other), pan, "5L", missing));
    bay.write(TestBook::move(MoveVerb::fill, can, bay.coolant(other), "5.5L", missing));
    bay.write(TestBook::move(MoveVerb::decant, pan, drum, "all"));
    CloseJob c;
    c.job = missing;
    c.book_missing = true;
    bay.write(c);
    const JobId low = bay.job(other);
    bay.write(TestBook::move(MoveVerb::fill, can, bay.coolant(other), "1L", low));
    CloseJob topped_up;
    topped_up.job = low;
    topped_up.was_low = true;
    bay.write(topped_up);
  }
  void settled_and_erased(EntryId text) {
    NewPerson one;
    one.name = "Ida Reedling";
    NewPerson two;
    two.name = "Ida Reedling (again)";
    NewPerson three;
    three.name = "Ida Reedling the younger";
    Settle s;
    s.keep = bay.write(one).entry.id;
    s.other = bay.write(two).entry.id;
    s.why = "entered twice";
    bay.write(s);
    s.other = bay.write(three).entry.id;
    s.join = false;
    s.why = "aunt and niece";
    bay.write(s);
    Erasure e;
    e.entry = text;
    bay.write(e);
  }
  static void carry(TestBook& from, TestBook& to, const std::string& tag) {
    store::Transaction t(to->inside().db);
    for (const Carried& e : carry_out(from->inside())) {
      if (e.installation.tag == tag) bring_in(to->inside(), e);
    }
    t.commit();
  }
  void from_the_office() {
    carry(bay, office, "bay");
    office.now = instant("2026-02-04T10:00:00.000Z");
    NewPerson p;
    p.name = "Maren Tidewell";
    const PersonId maren{office.write(p).entry.id.n};
    Movement m = TestBook::move(MoveVerb::discard, kSupplier, drum, "0.5L", {}, FluidId{find_class("coolant")->number});
    m.note = "cloudy";
    Stamp s = office.stamp();
    s.by = maren;
    REQUIRE(office.book().append(m, s).ok());
    CarChange c;
    c.car = car;
    c.keeper = "Oona Quillory";
    office.write(c);
    carry(office, bay, "office");
    bay.now = office.now;
    bay.write(PeerWord{PeerWord::What::accept, EntryId{EntryId{maren.n}.origin() << 40 | 1}, {}});
  }
};

}  // namespace baybook::test
