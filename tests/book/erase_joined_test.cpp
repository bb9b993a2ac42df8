// Personal data of what two books wrote and a settlement made one; texts that went on living in corrections; cars that were withdrawn.
#include "support/erased.hpp"
#include "support/exchange_lines.hpp"

#include <baybook/due.hpp>
#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

#include <fstream>

using namespace baybook;
using namespace baybook::test;

namespace {

// How often these bytes stand in any file beside the book, a backup that is made for it included.
int times_left(TestBook& b, const std::string& bytes) {
  const std::string copy = b.folder().file("new-backup.baybook");
  BackupOptions o;
  o.now = b.now;
  o.force = true;
  const auto made = backup(b.book(), copy, o);
  REQUIRE_MESSAGE(made.ok(), why(made));
  return times_in_files(std::filesystem::path(b.file()).parent_path(), bytes);
}

void sound(TestBook& b) {
  CHECK(findings_of(b.book()) == "");
  const std::string live = b.dump(true);
  REQUIRE(b.book().rebuild().ok());
  CHECK(difference(live, b.dump(true)) == "");
}

// Each takes in what the other has.
void exchange(TestBook& a, TestBook& b) {
  (void)taken(b, file_of(a.book()));
  (void)taken(a, file_of(b.book()));
  a.now = b.now = std::max(a.now, b.now);
}

Erasure of_entry(EntryId entry, std::string field = {}, bool when_allowed = false) {
  Erasure e;
  e.entry = entry;
  e.field = std::move(field);
  e.when_allowed = when_allowed;
  return e;
}
Erasure all_of(CarId car) {
  Erasure e;
  e.car = car;
  e.keeper = e.plate = e.vin = e.texts = true;
  return e;
}
Correction withdrawal(EntryId target, std::string because) {
  Correction c;
  c.target = target;
  c.withdraw = true;
  c.why = std::move(because);
  return c;
}

// The same car, person and firm written in two books, and settled to be one.
struct Joined {
  TestBook bay{"bay", 51};
  TestBook office{"office", 52};
  struct Made {
    PersonId person;
    FirmId firm;
    CarId car;
  } a, b;
  EntryId moved, wrong, whole_join;

  explicit Joined(const char* rules = nullptr) {
    a = make(bay, "bay", rules);
    b = make(office, "office", rules);
    CarChange x;
    x.car = b.car;
    x.plate = "GONE-9901";
    moved = office.write(x).entry.id;
    x.plate = "MARSH-07";
    office.write(x);
    OpenJob j;
    j.car = b.car;
    j.complaint = "WITHDRAWN-COMPLAINT";
    wrong = office.write(j).entry.id;
    Work w;
    w.job = JobId{wrong.n};
    w.text = "WITHDRAWN-WORK";
    office.write(w);
    Correction gone = withdrawal(wrong, "WITHDRAWN-WHY");
    gone.with_dependants = true;
    office.write(gone);
    bay.now = office.now = std::max(bay.now, office.now);
  }
  static Made make(TestBook& book, const std::string& tag, const char* rules) {
    Made m;
    if (rules != nullptr) book.write(ChooseRules{rules, day("2026-01-01"), "", ""});
    NewPerson p;
    p.name = "Oona Reedmark";
    p.contact = "telephone-of-" + tag;
    p.certificate = "certificate-of-" + tag;
    m.person = PersonId{book.write(p).entry.id.n};
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Secretfirm";
    f.contact = "firm-telephone-of-" + tag;
    f.carries = f.receives = true;
    m.firm = FirmId{book.write(f).entry.id.n};
    NewCar c;
    c.plate = "MARSH-07";
    c.make = "Corvane";
    c.keeper = "Keeper-of-" + tag;
    c.circuits = {{"coolant", litres("6.8L"), ""}};
    m.car = CarId{book.write(c).entry.id.n};
    return m;
  }
  void join_all() {
    (void)taken(bay, file_of(office.book()));
    bay.now = std::max(bay.now, office.now);
    const std::vector<std::pair<std::int64_t, std::int64_t>> pairs = {{a.person.n, b.person.n}, {a.firm.n, b.firm.n}, {a.car.n, b.car.n}};
    for (const auto& pair : pairs) {
      Settle s;
      s.keep = EntryId{pair.first};
      s.other = EntryId{pair.second};
      bay.write(s);
    }
  }
};

// A job with a text that was put right, held by a rule, and asked to go.
struct Asked : TestBook {
  CarId car;
  EntryId torque, asked;
  JobId job;
  explicit Asked(std::uint64_t seed = 61) : TestBook("bay", seed, "2026-01-05T18:00:00.000Z") {
    write(ChooseRules{"us-california", day("2026-01-01"), "", ""});
    car = TestBook::car("MARSH-07");
    job = TestBook::job(car);
    torque = write(TorqueNote{job, "wheel of SECRET-A", *parse_torque("20Nm", Units{})}).entry.id;
    CloseJob done;
    done.job = job;
    write(done);
    Correction c;
    c.target = torque;
    c.patch.text = "wheel of SECRET-B";
    c.why = "typo";
    write(c);
    asked = write(of_entry(torque, "", true)).entry.id;
  }
  [[nodiscard]] Correction tighter() const {
    Correction c;
    c.target = torque;
    c.patch.torque = *parse_torque("25Nm", Units{});
    c.why = "misread";
    return c;
  }
};

std::vector<DueLine> paper_lines(TestBook& b, const char* today) {
  DueFilter f;
  f.group = DueGroup::paper;
  std::vector<DueLine> out;
  const DueList list = due_list(b.book(), day(today), f).value();
  for (const DueLine& d : list.lines) {
    if (d.key.starts_with("erasure-")) out.push_back(d);
  }
  return out;
}

}  // namespace

TEST_SUITE("book/erase") {
  TEST_CASE("a plate in a change of a car that was settled to be another goes from the files, and the car stays one") {
    Joined t;
    t.join_all();
    CHECK(times_left(t.bay, "GONE-9901") > 0);
    t.bay.write(of_entry(t.moved, "plate"));
    CHECK(times_left(t.bay, "GONE-9901") == 0);
    CHECK(times_left(t.bay, "GONE9901") == 0);
    CHECK(cars(t.bay.book())->size() == 1);
    CHECK(t.bay->find_car("MARSH-07").value() == t.a.car);
    sound(t.bay);
  }

  TEST_CASE("the same erasure made in the other book, before it knew of the settlement") {
    Joined t;
    t.join_all();
    t.office.write(of_entry(t.moved, "plate"));
    exchange(t.bay, t.office);
    for (TestBook* b : {&t.bay, &t.office}) {
      CHECK(times_left(*b, "GONE-9901") == 0);
      CHECK(cars(b->book())->size() == 1);
      sound(*b);
    }
  }

  TEST_CASE("everything of a car is also what the other book wrote of it and withdrew") {
    Joined t;
    t.join_all();
    t.bay.write(all_of(t.a.car));
    for (const char* secret : {"GONE-9901", "MARSH-07", "MARSH07", "Keeper-of-bay", "Keeper-of-office", "WITHDRAWN-COMPLAINT", "WITHDRAWN-WORK", "WITHDRAWN-WHY"}) {
      CAPTURE(secret);
      CHECK(times_left(t.bay, secret) == 0);
    }
    CHECK(cars(t.bay.book())->size() == 1);
    sound(t.bay);
    exchange(t.bay, t.office);
    CHECK(times_left(t.office, "WITHDRAWN-WORK") == 0);
    sound(t.office);
  }

  TEST_CASE("a person and a firm that two books wrote go with both entries, whichever of the two is named") {
    for (const bool other : {false, true}) {
      CAPTURE(other);
      Joined t;
      t.join_all();
      Erasure e;
      e.person = other ? t.b.person : t.a.person;
      CHECK(t.bay.write(e).summary == "erased 6 texts of person:" + std::to_string(EntryId{t.a.person.n}.number()) + ", on request");
      e = {};
      e.firm = other ? t.b.firm : t.a.firm;
      t.bay.write(e);
      for (const char* secret : {"Oona Reedmark", "telephone-of-bay", "telephone-of-office", "certificate-of-office", "Secretfirm", "firm-telephone-of-office"}) {
        CAPTURE(secret);
        CHECK(times_left(t.bay, secret) == 0);
      }
      sound(t.bay);
    }
  }

  TEST_CASE("a rule holds the name of a person or a firm for what was written under the other entry, too") {
    Joined t("us-federal");
    const PlaceId drum = t.office.place("drum-coolant", Role::waste, "180L", {"coolant"});
    const PlaceId can = t.office.place("cyl-1", Role::stock, "20kg", {"refrigerant"});
    NewFluid f;
    f.code = "gas-1";
    f.of_class = "refrigerant";
    f.dimension = Dimension::mass;
    const FluidId gas{t.office.write(f).entry.id.n};
    Stamp s = t.office.stamp();
    s.by = t.b.person;
    REQUIRE(t.office.book().append(TestBook::move(MoveVerb::receive, kSupplier, can, "5kg", {}, gas), s).ok());
    t.office.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "20L", {}, FluidId{find_class("coolant")->number}));
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L");
    m.carrier_firm = t.b.firm;
    t.office.write(m);
    t.join_all();
    const auto held = [&](const Erasure& e) {
      const auto plan = plan_erasure(t.bay.book(), e, day("2026-03-06"));
      REQUIRE_MESSAGE(plan.ok(), why(plan));
      return plan->held;
    };
    Erasure e;
    e.person = t.a.person;
    CHECK(held(e) == 4);  // two names and two certificates
    CHECK(held(of_entry(EntryId{t.a.person.n})) == 2);
    CHECK(held(of_entry(EntryId{t.b.person.n})) == 2);
    e = {};
    e.firm = t.a.firm;
    CHECK(held(e) == 2);
    CHECK(held(of_entry(EntryId{t.a.firm.n})) == 1);
    CHECK(held(of_entry(EntryId{t.b.firm.n})) == 1);
    CHECK_FALSE(t.bay.try_write(e).ok());
  }

  TEST_CASE("what was asked for reaches the copy of a text that a later correction took along") {
    Asked s;
    s.write(s.tighter());
    s.now = instant("2029-03-10T10:00:00.000Z");
    s.clock_is_right = true;
    REQUIRE(paper_lines(s, "2029-03-10").size() == 1);
    Erasure e;
    e.asked = s.asked;
    s.write(e);
    CHECK(times_left(s, "SECRET-A") == 0);
    CHECK(times_left(s, "SECRET-B") == 0);
    CHECK(entry(s.book(), s.torque)->text == "(erased)");
    CHECK(paper_lines(s, "2029-03-10").empty());
    CHECK(s.try_write(e).refusal().code == Code::not_found);
    // Why a later correction was made was not asked about.
    CHECK(times_left(s, "misread") > 0);
    CHECK(times_left(s, "typo") == 0);
    sound(s);
  }

  TEST_CASE("what was asked for reaches the copy that another installation made, in both books") {
    Asked s;
    TestBook office("office", 62, "2026-01-05T18:00:00.000Z");
    exchange(s, office);
    office.write(s.tighter());
    exchange(s, office);
    s.now = instant("2029-03-10T10:00:00.000Z");
    s.clock_is_right = true;
    Erasure e;
    e.asked = s.asked;
    s.write(e);
    CHECK(times_left(s, "SECRET-B") == 0);
    exchange(s, office);
    CHECK(times_left(office, "SECRET-B") == 0);
    CHECK(times_left(office, "SECRET-A") == 0);
    CHECK(paper_lines(s, "2029-03-10").empty());
    sound(s);
    sound(office);
  }

  TEST_CASE("a text that comes back with the correction of a book that did not know of the erasure is due until it is gone or written anew") {
    Asked s;
    TestBook office("office", 62, "2026-01-05T18:00:00.000Z");
    exchange(s, office);
    s.now = office.now = instant("2029-03-10T10:00:00.000Z");
    s.clock_is_right = office.clock_is_right = true;
    Erasure e;
    e.asked = s.asked;
    s.write(e);
    office.write(s.tighter());
    exchange(s, office);
    for (TestBook* b : {static_cast<TestBook*>(&s), &office}) {
      CHECK(times_left(*b, "SECRET-B") > 0);
      const auto lines = paper_lines(*b, "2029-03-10");
      REQUIRE(lines.size() == 1);
      CHECK(lines.front().state == DueLine::State::over);
      CHECK(lines.front().what.find("erased, and is there again") != std::string::npos);
    }
    CHECK(paper_lines(s, "2029-03-10").front().settle == "baybook erase entry " + std::to_string(s.torque.number()) + " fastener");
    CHECK(paper_lines(office, "2029-03-10").front().settle == "baybook erase entry " + std::to_string(s.torque.number()) + "@bay fastener");
    office.write(of_entry(s.torque, "fastener"));
    exchange(s, office);
    for (TestBook* b : {static_cast<TestBook*>(&s), &office}) {
      CHECK(times_left(*b, "SECRET-B") == 0);
      CHECK(paper_lines(*b, "2029-03-10").empty());
    }
    // Whoever erased it knows what is written there since.
    Correction anew;
    anew.target = s.torque;
    anew.patch.text = "front left wheel";
    anew.why = "without a name";
    office.write(anew);
    exchange(s, office);
    CHECK(paper_lines(s, "2029-03-10").empty());
    CHECK(paper_lines(office, "2029-03-10").empty());
    sound(s);
  }

  TEST_CASE("a car that was withdrawn is found by a plate it wore, and its texts go like those of any other") {
    TestBook b;
    NewCar c;
    c.plate = "FALSE-0001";
    c.make = "Corvane";
    c.keeper = "Keeper-of-nobody";
    const CarId car{b.write(c).entry.id.n};
    CarChange x;
    x.car = car;
    x.plate = "FALSE-0002";
    b.write(x);
    OpenJob j;
    j.car = car;
    j.complaint = "never-complained";
    b.write(j);
    Correction gone = withdrawal(EntryId{car.n}, "never-there");
    gone.with_dependants = true;
    b.write(gone);
    const CarId other = b.car("FEN-20");
    for (const char* plate : {"FALSE-0001", "false 0002"}) CHECK(withdrawn_cars(b.book(), plate).value() == std::vector<CarId>{car});
    CHECK(withdrawn_cars(b.book(), "FALSE-000").value().empty());
    CHECK(withdrawn_cars(b.book(), "FEN-20").value().empty());
    CHECK(withdrawn_cars(b.book(), "").value().empty());
    b.write(all_of(car));
    for (const char* secret : {"FALSE-000", "Keeper-of-nobody", "never-complained", "never-there"}) {
      CAPTURE(secret);
      CHECK(times_left(b, secret) == 0);
    }
    CHECK(withdrawn_cars(b.book(), "FALSE-0001").value().empty());
    CHECK(b->find_car("FEN-20").value() == other);
    sound(b);
  }
}
