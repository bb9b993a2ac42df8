#include "support/exchange_lines.hpp"

#include <baybook/returns.hpp>

#include <algorithm>

using namespace baybook;
using namespace baybook::test;

namespace {

// The same car, drum, product, man and firm entered in two books before they were brought together.
struct Twins {
  TestBook bay{"bay", 41};
  TestBook office{"office", 42};
  struct Made {
    CarId car;
    PlaceId pan, drum;
    FluidId product;
    PersonId person;
    FirmId firm;
    JobId job;
  } a, b;

  Twins() {
    a = make(bay, "4L");
    b = make(office, "3L");
    (void)taken(bay, file_of(office.book()));
  }
  static Made make(TestBook& book, const std::string& drained) {
    Made m;
    m.product = book.fluid("oat-violet", "coolant");
    m.pan = book.place("pan-1", Role::hold_catch, "5L");
    m.drum = book.place("drum-coolant", Role::waste, "6L", {"coolant"});
    m.car = book.car("MARSH-07", "200L");
    NewPerson p;
    p.name = "Maren Quill";
    m.person = PersonId{book.write(p).entry.id.n};
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.carries = f.receives = true;
    m.firm = FirmId{book.write(f).entry.id.n};
    m.job = book.job(m.car);
    book.write(TestBook::move(MoveVerb::drain, book.coolant(m.car), m.drum, drained, m.job));
    return m;
  }
  Receipt join(std::int64_t keep, std::int64_t other) {
    Settle s;
    s.keep = EntryId{keep};
    s.other = EntryId{other};
    return bay.write(s);
  }
  [[nodiscard]] std::vector<Conflict> open() {
    auto r = conflicts(bay.book());
    REQUIRE_MESSAGE(r.ok(), why(r));
    return std::move(r).value();
  }
  [[nodiscard]] std::size_t open_of(Conflict::What what) {
    const auto all = open();
    return static_cast<std::size_t>(std::count_if(all.begin(), all.end(), [&](const Conflict& c) { return c.what == what; }));
  }
  void same_when_rebuilt() {
    const std::string live = bay.dump(true);
    REQUIRE(bay.book().rebuild().ok());
    CHECK(difference(live, bay.dump(true)) == "");
  }
};

}  // namespace

TEST_SUITE("book/settle") {
  TEST_CASE("what two books named alike is listed, each with both entries and what can be typed") {
    Twins t;
    using W = Conflict::What;
    for (const W w : {W::car, W::fluid, W::person, W::firm}) {
      CAPTURE(name_of(w));
      CHECK(t.open_of(w) == 1);
    }
    CHECK(t.open_of(W::place) == 2);
    const auto all = t.open();
    const auto place = std::find_if(all.begin(), all.end(), [](const Conflict& c) { return c.text.find("drum-coolant") != std::string::npos; });
    REQUIRE(place != all.end());
    CHECK(place->text == "drum-coolant is the name of two places");
    REQUIRE(place->entries.size() == 2);
    const std::string other = std::to_string(EntryId{t.b.drum.n}.number()) + "@office";
    const std::string one = std::to_string(EntryId{t.a.drum.n}.number());
    const bool bay_first = place->entries[0].id.n == t.a.drum.n;
    CHECK(place->instead[0] == "baybook settle join " + (bay_first ? one + " " + other : other + " " + one));
  }

  TEST_CASE("until it is settled a name of two places is refused with both, and each can be named with its tag") {
    Twins t;
    const auto r = t.bay.book().find_place("drum-coolant");
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::ambiguous);
    CHECK(r.refusal().what.find("drum-coolant@bay") != std::string::npos);
    CHECK(t.bay.book().find_place("drum-coolant@bay").value() == t.a.drum);
    CHECK(t.bay.book().find_place("drum-coolant@office").value() == t.b.drum);
    CHECK(t.bay.book().find_car("MARSH-07@office").value() == t.b.car);
    CHECK(t.bay.book().find_fluid("oat-violet@office").value() == t.b.product);
    CHECK(t.bay.book().find_person("Maren Quill@bay").value() == t.a.person);
    CHECK(t.bay.book().find_firm("quill-tarn@office").value() == t.b.firm);
  }

  TEST_CASE("two drums that are one hold together what each held, and a size that is overrun is listed") {
    Twins t;
    CHECK(t.bay.level(t.a.drum) == 4 * L);
    CHECK(t.bay.level(t.b.drum) == 3 * L);
    t.join(t.a.drum.n, t.b.drum.n);
    CHECK(t.bay.level(t.a.drum) == 7 * L);
    CHECK(t.bay.book().find_place("drum-coolant").value() == t.a.drum);
    CHECK(t.open_of(Conflict::What::level) == 1);
    const auto shown = levels(t.bay.book());
    REQUIRE(shown.ok());
    CHECK(std::count_if(shown->begin(), shown->end(), [](const LevelRow& r) { return r.level.name == "drum-coolant"; }) == 1);
    t.same_when_rebuilt();
  }

  TEST_CASE(
      "of two drums of other sizes the one is not kept that would not hold both, and the other one is "
      "named") {
    TestBook bay("bay", 43), office("office", 44);
    const PlaceId small = bay.place("drum", Role::waste, "60L", {"coolant"});
    const PlaceId large = office.place("drum", Role::waste, "200L", {"coolant"});
    const FluidId coolant{find_class("coolant")->number};
    bay.write(TestBook::move(MoveVerb::discard, kSupplier, small, "40L", {}, coolant));
    office.write(TestBook::move(MoveVerb::discard, kSupplier, large, "30L", {}, coolant));
    (void)taken(bay, file_of(office.book()));
    bay.now = std::max(bay.now, office.now);
    Settle s;
    s.keep = EntryId{small.n};
    s.other = EntryId{large.n};
    const std::string before = bay.dump();
    const auto refused = bay.try_write(s);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().what == "drum would hold 70 L, 10 L over its size of 60 L");
    CHECK(refused.refusal().instead.starts_with("baybook settle join 2@office 2 --dry-run"));
    CHECK(bay.dump() == before);
    std::swap(s.keep, s.other);
    const Receipt joined = bay.write(s);
    REQUIRE_FALSE(joined.warnings.empty());
    CHECK(joined.warnings[0] ==
          "their sizes are 200 L and 60 L; that of the one that stays holds");
    CHECK(bay.level(large) == 70 * L);
    CHECK(conflicts(bay.book()).value().empty());
  }

  TEST_CASE(
      "a join of cars shows the plate, model and circuit of the one that stays, until somebody "
      "changes them") {
    for (const bool earlier : {false, true}) {
      CAPTURE(earlier);
      TestBook bay("bay", 45), office("office", 46);
      const auto enter = [](TestBook& b, const std::string& plate, const std::string& model,
                            const std::string& coolant) {
        NewCar c;
        c.plate = plate;
        c.vin = "";
        c.make = "Corvane";
        c.model = model;
        c.circuits = {{"coolant", litres(coolant), ""}};
        return CarId{b.write(c).entry.id.n};
      };
      CarId kept, other;
      const auto enter_kept = [&] { kept = enter(bay, "MARSH-07", "Tern", "6.8L"); };
      const auto enter_other = [&] { other = enter(office, "MARSH-70", "Tern 2", "7.5L"); };
      if (earlier) enter_kept();
      office.now = std::max(office.now, bay.now);
      enter_other();
      bay.now = std::max(office.now, bay.now);
      if (!earlier) enter_kept();
      (void)taken(bay, file_of(office.book()));
      Settle s;
      s.keep = EntryId{kept.n};
      s.other = EntryId{other.n};
      bay.write(s);
      const auto shown = [&] {
        const auto v = car(bay.book(), kept);
        REQUIRE_MESSAGE(v.ok(), why(v));
        return *v;
      };
      CHECK(shown().plate == "MARSH-07");
      CHECK(bay.book().plate_of(kept) == "MARSH-07");
      CHECK(shown().model == "Tern");
      REQUIRE(shown().circuits.size() == 1);
      CHECK(shown().circuits[0].capacity->best == litres("6.8L").best);
      CHECK(bay.book().find_car("MARSH-70").value() == kept);
      CarChange change;
      change.car = kept;
      change.plate = "MARSH-71";
      bay.write(change);
      CHECK(shown().plate == "MARSH-71");
      CHECK(bay.book().plate_of(kept) == "MARSH-71");
      const std::string live = bay.dump(true);
      REQUIRE(bay.book().rebuild().ok());
      CHECK(difference(live, bay.dump(true)) == "");
    }
  }

  TEST_CASE("two cars that are one have one history, one circuit and the jobs of both") {
    Twins t;
    t.join(t.a.car.n, t.b.car.n);
    CHECK(t.bay.book().find_car("MARSH-07").value() == t.a.car);
    const auto story = history(t.bay.book(), t.a.car);
    REQUIRE(story.ok());
    CHECK(std::count_if(story->begin(), story->end(), [](const EntryView& e) { return e.verb == "drain"; }) == 2);
    CHECK(t.bay.book().car_of_job(t.b.job).value() == t.a.car);
    CHECK(cars(t.bay.book())->size() == 1);
    CHECK(t.bay.level(t.bay.coolant(t.a.car)) == 0);
    t.same_when_rebuilt();
    // And it can be written on: the office's job is a job of this car.
    t.bay.write(TestBook::move(MoveVerb::drain, t.bay.coolant(t.a.car), t.a.pan, "1L", t.b.job));
    t.same_when_rebuilt();
  }

  TEST_CASE("products, people and firms that are one are listed once") {
    Twins t;
    t.join(t.a.product.n, t.b.product.n);
    t.join(t.a.person.n, t.b.person.n);
    t.join(t.a.firm.n, t.b.firm.n);
    CHECK(t.bay.book().find_fluid("oat-violet").ok());
    CHECK(t.bay.book().find_person("Maren Quill").value() == t.a.person);
    CHECK(t.bay.book().find_firm("quill-tarn").value() == t.a.firm);
    t.same_when_rebuilt();
    const auto p = prove(t.bay.book());
    REQUIRE(p.ok());
    CHECK(p->findings.empty());
  }

  TEST_CASE("a settlement that is withdrawn is as if it had not been") {
    Twins t;
    const std::string before = t.bay.dump(true);
    const Receipt joined = t.join(t.a.drum.n, t.b.drum.n);
    Correction c;
    c.target = joined.entry.id;
    c.withdraw = true;
    c.why = "they stand side by side";
    t.bay.write(c);
    CHECK(t.bay.level(t.a.drum) == 4 * L);
    CHECK(t.bay.level(t.b.drum) == 3 * L);
    CHECK(t.open_of(Conflict::What::place) == 2);
    t.same_when_rebuilt();
  }

  TEST_CASE("two that are settled to be two are not listed again") {
    Twins t;
    Settle s;
    s.keep = EntryId{t.a.person.n};
    s.other = EntryId{t.b.person.n};
    s.join = false;
    s.why = "aunt and niece";
    t.bay.write(s);
    CHECK(t.open_of(Conflict::What::person) == 0);
    const auto again = t.bay.try_write(s);
    REQUIRE(!again.ok());
    CHECK(again.refusal().code == Code::already_there);
    s.join = true;
    CHECK(t.bay.try_write(s).ok());  // a later word
  }

  TEST_CASE("a rename settles it too, and the old name means one thing again") {
    Twins t;
    Correction c;
    c.target = EntryId{t.b.drum.n};
    c.patch.code = "drum-coolant";
    c.why = "two of one name";
    CHECK(!t.bay.try_write(c).ok());
    c.patch.code = "drum-coolant-2";
    t.bay.write(c);
    CHECK(t.bay.book().find_place("drum-coolant").value() == t.a.drum);
    CHECK(t.bay.book().find_place("drum-coolant-2").value() == t.b.drum);
    CHECK(t.open_of(Conflict::What::place) == 1);
    t.same_when_rebuilt();
  }

  TEST_CASE("what cannot be one is refused: another kind, another content, itself, what moved from one into the other") {
    Twins t;
    Settle s;
    s.keep = EntryId{t.a.drum.n};
    s.other = EntryId{t.b.car.n};
    CHECK(t.bay.try_write(s).refusal().code == Code::not_allowed);
    s.other = EntryId{t.b.pan.n};
    CHECK(t.bay.try_write(s).refusal().what.find("their role is waste and catch") != std::string::npos);
    s.other = s.keep;
    CHECK(t.bay.try_write(s).refusal().code == Code::wrong_usage);
    t.bay.write(TestBook::move(MoveVerb::decant, t.b.drum, t.a.drum, "1L"));
    s.other = EntryId{t.b.drum.n};
    CHECK(t.bay.try_write(s).refusal().what.find("moved from one into the other") != std::string::npos);
    t.join(t.a.car.n, t.b.car.n);
    s.keep = EntryId{t.a.car.n};
    s.other = EntryId{t.b.car.n};
    CHECK(t.bay.try_write(s).refusal().code == Code::already_there);
  }

  TEST_CASE("settlements of both books in any order end in the same rows") {
    Twins t;
    (void)taken(t.office, file_of(t.bay.book()));
    t.join(t.a.drum.n, t.b.drum.n);
    Settle s;
    s.keep = EntryId{t.b.drum.n};
    s.other = EntryId{t.a.drum.n};
    t.office.now = t.bay.now;
    t.office.now.ms += 5000;
    t.office.write(s);
    (void)taken(t.office, file_of(t.bay.book()));
    (void)taken(t.bay, file_of(t.office.book()));
    CHECK(difference(t.bay.dump(true), t.office.dump(true)) == "");
    CHECK(t.bay.book().find_place("drum-coolant").value() == t.b.drum);  // the later word
    t.same_when_rebuilt();
  }

  TEST_CASE("a withdrawn entry that named what goes by another can be read") {
    Twins t;
    const EntryId theirs = t.office.write(TestBook::move(MoveVerb::discard, kSupplier, t.b.drum, "1L", {}, FluidId{1})).entry.id;
    (void)taken(t.bay, file_of(t.office.book()));
    t.join(t.a.drum.n, t.b.drum.n);
    Correction c;
    c.target = theirs;
    c.withdraw = true;
    c.why = "twice";
    t.bay.write(c);
    const auto all = entries(t.bay.book(), EntryFilter{});
    REQUIRE_MESSAGE(all.ok(), why(all));
    const auto shown = entry(t.bay.book(), theirs);
    REQUIRE_MESSAGE(shown.ok(), why(shown));
    CHECK(shown->summary == "discarded 1 L coolant into drum-coolant");
    CHECK(shown->withdrawn);
    t.same_when_rebuilt();
  }

  TEST_CASE("a correction made while two are one holds nothing of the join, which can be taken back afterwards") {
    Twins t;
    const EntryId discarded = t.office.write(TestBook::move(MoveVerb::discard, kSupplier, t.b.drum, "1L", {}, FluidId{1})).entry.id;
    (void)taken(t.bay, file_of(t.office.book()));
    const std::int64_t here = t.bay.level(t.a.drum);
    const std::int64_t there = t.bay.level(t.b.drum);
    const Receipt places = t.join(t.a.drum.n, t.b.drum.n);
    const Receipt cars = t.join(t.a.car.n, t.b.car.n);
    Correction c;
    c.target = discarded;
    c.patch.text = "old coolant of the shop";
    c.why = "said what it was";
    t.bay.write(c);
    // Again, of what a correction holds by now, and with an amount: the places are checked as they are meant.
    c.patch = {};
    c.patch.amount = litres("0.5L");
    t.bay.write(c);
    c = {};
    c.target = EntryId{t.b.job.n};
    c.patch.text = "a knock";
    c.patch.odometer = parse_distance("88210km", Units{}).value();
    c.why = "said what it was";
    t.bay.write(c);
    CHECK(t.bay.book().car_of_job(t.b.job).value() == t.a.car);
    for (const Receipt* join : {&places, &cars}) {
      Correction back;
      back.target = join->entry.id;
      back.withdraw = true;
      back.why = "they are two";
      t.bay.write(back);
    }
    CHECK(t.bay.level(t.a.drum) == here);
    CHECK(t.bay.level(t.b.drum) == there - L / 2);
    CHECK(t.bay.book().car_of_job(t.b.job).value() == t.b.car);
    t.same_when_rebuilt();
  }

  TEST_CASE("what two did who are one counts for the one who stays, in the totals by person and in every entry") {
    Twins t;
    Stamp s = t.office.stamp();
    s.by = t.b.person;
    const auto theirs = t.office.book().append(TestBook::move(MoveVerb::drain, t.office.coolant(t.b.car), t.b.drum, "1L", t.b.job), s);
    REQUIRE_MESSAGE(theirs.ok(), why(theirs));
    (void)taken(t.bay, file_of(t.office.book()));
    Correction c;
    c.target = EntryId{t.a.person.n};
    c.patch.text = "Maren Quill of the bay";
    c.why = "her whole name";
    t.bay.write(c);
    s = t.bay.stamp();
    s.by = t.a.person;
    const auto ours = t.bay.book().append(TestBook::move(MoveVerb::drain, t.bay.coolant(t.a.car), t.a.drum, "1L", t.a.job), s);
    REQUIRE_MESSAGE(ours.ok(), why(ours));
    t.join(t.a.person.n, t.b.person.n);
    const auto rows = split_totals(t.bay.book(), day("2026-03-01"), day("2026-03-31"), SplitBy::person);
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    REQUIRE(rows->size() == 2);
    CHECK(rows->back().key == "Maren Quill of the bay");
    CHECK(rows->back().drained.best == 2 * L);
    CHECK(entry(t.bay.book(), theirs->entry.id)->by == "Maren Quill of the bay");
  }
}
