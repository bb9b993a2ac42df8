// "all": what a movement takes that says no amount, on its day and after corrections.
#include "support/exchange_lines.hpp"
#include "support/test_book.hpp"

#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Emptied {
  TestBook b{"bay", 61};
  PlaceId pan = b.place("pan-1", Role::hold_catch, "25L");
  PlaceId drum = b.place("drum-coolant", Role::waste, "200L", {"coolant"});
  CarId car = b.car("MARSH-07", "20L");
  JobId job = b.job(car, "2026-02-20");
  EntryRef drain(const char* amount, const char* on) { return b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, amount, job), on).entry; }
  Receipt all(const char* on) { return b.write(TestBook::move(MoveVerb::decant, pan, drum, "all"), on); }
  [[nodiscard]] Receipt pickup() {
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "all");
    m.lines.front().fate = Fate::recycled;
    return b.write(m);
  }
  [[nodiscard]] std::string says(EntryRef e) {
    const auto v = entry(b.book(), e.id);
    REQUIRE_MESSAGE(v.ok(), why(v));
    return v->summary;
  }
  // A drain taken back with all that cannot hold without it.
  void never_drained(EntryRef drained) {
    Correction c;
    c.target = drained.id;
    c.why = "never drained";
    c.withdraw = c.with_dependants = true;
    b.write(c);
  }
  void unsound_nowhere() {
    const auto p = prove(b.book());
    REQUIRE_MESSAGE(p.ok(), why(p));
    CHECK(p->findings.empty());
  }
};

// Everything in the drum is collected, and the signed copy is back.
EntryRef signed_pickup(TestBook& b, PlaceId drum) {
  Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "all");
  m.lines.front().fate = Fate::recycled;
  const EntryRef gone = b.write(m).entry;
  ConfirmPickup back;
  back.pickup = gone.id;
  back.signed_on = day("2026-03-05");
  b.write(back);
  return gone;
}

}  // namespace

TEST_SUITE("book/all of it") {
  TEST_CASE("all of a place on an earlier day is what it held on that day, in the entry and in what is told of it") {
    Emptied e;
    e.drain("5L", "2026-03-01");
    e.drain("2L", "2026-03-04");
    const Receipt r = e.all("2026-03-02");
    CHECK(r.summary.find("moved 5 L coolant") == 0);
    CHECK(r.body.find("\"best\":\"5000000000\"") != std::string::npos);
    CHECK(e.b.level(e.pan) == 2 * L);
    CHECK(e.b.level(e.drum) == 5 * L);
    e.unsound_nowhere();
  }

  TEST_CASE("a drum without a size that was filled by the kilogram is empty by the kilogram") {
    TestBook b{"bay", 61};
    const PlaceId drum = b.place("drum-x", Role::waste, "", {"coolant"});
    b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "9kg", {}, FluidId{find_class(std::string_view("coolant"))->number}));
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "all");
    m.lines.front().fate = Fate::recycled;
    const Receipt r = b.write(m);
    REQUIRE(r.levels.size() == 1);
    CHECK(r.levels[0].dimension == Dimension::mass);
    CHECK(r.levels[0].best == 0);
  }

  TEST_CASE("all of a place is not taken a second time on an earlier day, and the later one is named") {
    Emptied e;
    e.drain("5L", "2026-03-01");
    const EntryRef later = e.all("2026-03-03").entry;
    auto r = e.b.try_write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "all"), "2026-03-02");
    REQUIRE(!r.ok());
    CHECK(r.refusal().what.find("a later one no longer holds: entry " + std::to_string(later.number()) + " of 2026-03-03") != std::string::npos);
    CHECK(r.refusal().what.find("is empty then, and this takes all that is there: 5 L when it was written") != std::string::npos);
    CHECK(e.b.level(e.drum) == 5 * L);
    // The later one was of the wrong day: withdrawn, and written again.
    Correction c;
    c.target = later.id;
    c.why = "it was the day before";
    c.withdraw = true;
    e.b.write(c);
    CHECK(e.all("2026-03-02").summary.find("moved 5 L coolant") == 0);
    e.unsound_nowhere();
  }

  TEST_CASE("all of a place that was empty on that day is refused, although it holds something now") {
    Emptied e;
    e.drain("2L", "2026-03-04");
    auto r = e.b.try_write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "all"), "2026-03-01");
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::would_overdraw);
    CHECK(r.refusal().what == "pan-1 was empty by the book on 2026-03-01");
    CHECK(r.refusal().instead == "the day on which it held something");
    CHECK(e.b.try_write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "all"), "2026-03-04").ok());
  }

  TEST_CASE("a month that ends with a full pan, emptied later, is told by which entry") {
    Emptied e;
    e.drain("5L", "2026-02-25");
    const EntryRef later = e.all("2026-03-02").entry;
    auto r = e.b.try_write(CloseMonth{parse_month("2026-02", day("2026-03-05")).value()});
    REQUIRE(!r.ok());
    CHECK(r.refusal().instead.find("baybook correct " + std::to_string(later.number()) + " --withdraw --with-dependants") != std::string::npos);
    CHECK(r.refusal().instead.find("then baybook decant pan-1 all --into PLACE --on 2026-02-28") != std::string::npos);
  }

  TEST_CASE("a gauge of an earlier day is held against what the book says of that day") {
    Emptied e;
    e.drain("5L", "2026-03-01");
    e.drain("2L", "2026-03-04");
    Gauge g;
    g.place = e.pan;
    g.level = parse_level("5L", Units{}).value();
    CHECK(e.b.try_write(g, "2026-03-02").ok());  // it agrees, so no reason is asked for
    g.level = parse_level("7L", Units{}).value();
    auto r = e.b.try_write(g, "2026-03-02");
    REQUIRE(!r.ok());
    CHECK(r.refusal().what.find("the book says 5 L: a difference of 2 L") != std::string::npos);
    // Before anything was in it by the book, a reading has to say what it was.
    g.level = parse_level("1L", Units{}).value();
    g.reason = "a rest from before";
    auto unsaid = e.b.try_write(g, "2026-02-25");
    REQUIRE(!unsaid.ok());
    CHECK(unsaid.refusal().instead.find("--fluid coolant, if that is what it was") == 0);
    g.fluid = FluidId{find_class(std::string_view("coolant"))->number};
    CHECK(e.b.try_write(g, "2026-02-25").ok());
    // And a place that takes one kind of fluid is not said to hold another.
    Gauge oil;
    oil.place = e.drum;
    oil.level = parse_level("1L", Units{}).value();
    oil.reason = "looked";
    oil.fluid = FluidId{find_class(std::string_view("engine-oil"))->number};
    CHECK(e.b.try_write(oil).refusal().what == "drum-coolant takes coolant, not engine-oil");
  }

  TEST_CASE("what took all of a place says what it moves now, after a correction before it") {
    Emptied e;
    const EntryRef drained = e.drain("5L", "2026-03-01");
    const EntryRef moved = e.all("2026-03-02").entry;
    const EntryRef gone = e.pickup().entry;
    CHECK(e.says(moved).find("moved 5 L coolant") == 0);
    Correction c;
    c.target = drained.id;
    c.why = "read again";
    c.patch.amount = litres("5.6L");
    const Receipt r = e.b.write(c);
    CHECK(e.says(moved).find("moved 5.6 L coolant") == 0);
    CHECK(e.says(gone).find("picked up 5.6 L coolant") == 0);
    // The paper says what it said: told, so that somebody looks.
    REQUIRE(r.warnings.size() == 1);
    CHECK(r.warnings[0] == "pick-up 0041233 (entry " + std::to_string(gone.number()) + ") comes to another figure by this: 5 L was, 5.6 L is; look at its paper");
    const auto view = pickup(e.b.book(), gone.id);
    REQUIRE_MESSAGE(view.ok(), why(view));
    CHECK(view->lines.at(0).best == 5'600'000'000);
    e.unsound_nowhere();
  }

  TEST_CASE("every place whose level a correction changed is in its answer, also what stands on a later line") {
    TestBook b{"bay", 91};
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
    const PlaceId keep = b.place("keep-1", Role::reuse, "20L", {"coolant"});
    const PlaceId drum = b.place("drum-coolant", Role::waste, "200L", {"coolant"});
    const CarId car = b.car("MARSH-07");
    const JobId job = b.job(car);
    const EntryId drained = b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "6L", job)).entry.id;
    const EntryId filtered = b.write(TestBook::move(MoveVerb::filter, pan, keep, "4L")).entry.id;
    const EntryId moved = b.write(TestBook::move(MoveVerb::decant, pan, drum, "all")).entry.id;
    const auto levels = [](const Receipt& r) {
      std::string out;
      for (const LevelAfter& l : r.levels) out += l.name + " " + std::to_string(l.best / 1'000'000'000) + ", ";
      return out;
    };
    Correction c;
    c.target = filtered;
    c.why = "misread";
    c.patch.amount = litres("5L");
    CHECK(levels(b.write(c)) == "pan-1 0, keep-1 5, drum-coolant 1, ");
    Correction gone;
    gone.target = drained;
    gone.why = "never drained";
    gone.withdraw = gone.with_dependants = true;
    const Receipt r = b.write(gone);
    CHECK(levels(r) == "MARSH-07 coolant 0, pan-1 0, drum-coolant 0, keep-1 0, ");
    REQUIRE_FALSE(r.warnings.empty());
    // As the book had it until now, not as it was first written.
    CHECK_MESSAGE(r.warnings.front() == "withdrawn with it: entry " + std::to_string(filtered.number()) + " (filtered 5 L coolant from pan-1 into keep-1); entry " + std::to_string(moved.number()) + " (moved 1 L coolant from pan-1 to drum-coolant)", r.warnings.front());
    CHECK(entry(b.book(), drained)->summary == "drained 6 L coolant into pan-1");
    Correction back;
    back.target = r.entry.id;
    back.why = "it was drained";
    back.withdraw = true;
    const Receipt again = b.write(back);
    CHECK(levels(again) == "drum-coolant 1, keep-1 5, ");
    REQUIRE_FALSE(again.warnings.empty());
    CHECK(again.warnings.front().starts_with("what holds again: entry " + std::to_string(drained.number()) + " (drained 6 L coolant into pan-1); entry "));
  }

  TEST_CASE("a signed pick-up of all is held against the carrier's figure as it stands after a correction") {
    Emptied e;
    const EntryRef drained = e.drain("5L", "2026-03-01");
    e.all("2026-03-02");
    const EntryRef gone = e.pickup().entry;
    ConfirmPickup back;
    back.pickup = gone.id;
    back.signed_on = day("2026-03-05");
    back.measured = {{1, litres("5.6L")}};
    e.b.write(back);
    CHECK(pickup(e.b.book(), gone.id)->lines.at(0).difference == 600'000'000);
    Correction c;
    c.target = drained.id;
    c.why = "read again";
    c.patch.amount = litres("5.6L");
    const Receipt r = e.b.write(c);
    REQUIRE(r.warnings.size() == 1);
    CHECK(r.warnings[0].find("look at its paper, which is signed") != std::string::npos);
    CHECK(pickup(e.b.book(), gone.id)->lines.at(0).difference == 0);
  }

  TEST_CASE("a correction that would leave nothing for what took all of it is refused, and withdraws it when that is asked for") {
    Emptied e;
    const EntryRef drained = e.drain("5L", "2026-03-01");
    const EntryRef moved = e.all("2026-03-02").entry;
    const EntryRef gone = e.pickup().entry;
    const std::string before = e.b.dump();
    Correction c;
    c.target = drained.id;
    c.why = "another car";
    c.withdraw = true;
    auto r = e.b.try_write(c);
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::has_dependants);
    CHECK(r.refusal().what.find("entry " + std::to_string(moved.number()) + " of 2026-03-02") != std::string::npos);
    CHECK(difference(before, e.b.dump()) == "");
    // Out of another place, which is empty: nothing would move.
    Correction from;
    from.target = moved.id;
    from.why = "another pan";
    from.patch.from = e.b.place("pan-2", Role::hold_catch, "25L");
    auto other = e.b.try_write(from);
    REQUIRE(!other.ok());
    CHECK(other.refusal().what.find("pan-2 is empty then, and this takes all that is there") != std::string::npos);
    c.with_dependants = true;
    e.b.write(c);
    CHECK(entry(e.b.book(), moved.id)->withdrawn);
    CHECK(entry(e.b.book(), gone.id)->withdrawn);
    CHECK(e.b.level(e.drum) == 0);
    e.unsound_nowhere();
  }

  TEST_CASE("what was done with a pan on an earlier day belongs to the job whose fluid was in it on that day") {
    Emptied e;
    e.drain("3L", "2026-03-01");
    Gauge g;
    g.place = e.pan;
    g.level = parse_level("0L", Units{}).value();
    g.reason = "somebody emptied it";
    e.b.write(g, "2026-03-03");
    const JobId second = e.b.job(e.car, "2026-03-04");
    e.b.write(TestBook::move(MoveVerb::drain, e.b.coolant(e.car), e.pan, "2L", second), "2026-03-04");
    const Receipt r = e.b.write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "1L"), "2026-03-02");
    CHECK(r.job_number == 1);
    e.unsound_nowhere();
  }

  TEST_CASE("withdrawn with what stands on it are the entries that cannot hold, and no later one that can") {
    TestBook b;
    const PlaceId keg = b.place("keg", Role::hold_catch, "25L");
    const CarId car = b.car("MARSH-07", "20L");
    const JobId one = b.job(car, "2026-03-01");
    const EntryId drained = b.write(TestBook::move(MoveVerb::drain, b.coolant(car), keg, "4L", one), "2026-03-01").entry.id;
    const EntryId back = b.write(TestBook::move(MoveVerb::fill, keg, b.coolant(car), "4L", one), "2026-03-01").entry.id;
    CloseJob close;
    close.job = one;
    b.write(close, "2026-03-01");
    const JobId two = b.job(car, "2026-03-02");
    const EntryId again = b.write(TestBook::move(MoveVerb::drain, b.coolant(car), keg, "4L", two), "2026-03-02").entry.id;
    const EntryId later = b.write(TestBook::move(MoveVerb::fill, keg, b.coolant(car), "4L", two), "2026-03-02").entry.id;
    Correction c;
    c.target = drained;
    c.why = "never drained";
    c.withdraw = c.with_dependants = true;
    b.write(c);
    CHECK(entry(b.book(), back)->withdrawn);
    CHECK_FALSE(entry(b.book(), again)->withdrawn);
    CHECK_FALSE(entry(b.book(), later)->withdrawn);
    CHECK(b.level(keg) == 0);
  }

  TEST_CASE("a signed pick-up that goes with what it stood on takes its confirmation along") {
    Emptied e;
    const EntryRef drained = e.drain("5L", "2026-03-01");
    e.all("2026-03-02");
    const EntryRef gone = e.pickup().entry;
    ConfirmPickup back;
    back.pickup = gone.id;
    back.signed_on = day("2026-03-05");
    const EntryRef signed_copy = e.b.write(back).entry;
    e.never_drained(drained);
    CHECK(entry(e.b.book(), gone.id)->withdrawn);
    CHECK(entry(e.b.book(), signed_copy.id)->withdrawn);
    CHECK(conflicts(e.b.book())->empty());
    e.unsound_nowhere();
  }

  TEST_CASE("what took all of a place is listed to be settled when another book has taken everything away") {
    TestBook bay("bay", 71), office("office", 72);
    const PlaceId drum = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    const EntryId put = bay.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "5L", {}, FluidId{find_class(std::string_view("coolant"))->number})).entry.id;
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "all");
    m.lines.front().fate = Fate::recycled;
    const EntryId gone = office.write(m).entry.id;
    Correction c;
    c.target = put;
    c.why = "never put there";
    c.withdraw = true;
    bay.now = office.now;
    bay.write(c);
    (void)taken(office, file_of(bay.book()));
    const auto open = conflicts(office.book());
    REQUIRE_MESSAGE(open.ok(), why(open));
    REQUIRE(open->size() == 1);
    CHECK(open->front().text == "entry " + std::to_string(gone.number()) + " took all there was in drum-coolant, and nothing is there any more");
    // Each of what can be typed cures it.
    Correction amount;
    amount.target = gone;
    amount.why = "as the paper says";
    amount.withdraw = true;
    office.write(amount);
    CHECK(conflicts(office.book())->empty());
  }

  TEST_CASE("a signed pick-up that comes to another figure by what another book wrote is told with its paper") {
    TestBook bay("bay", 75), office("office", 76);
    const FluidId coolant{find_class(std::string_view("coolant"))->number};
    const PlaceId drum = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    const EntryId put = bay.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "5L", {}, coolant)).entry.id;
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    const EntryRef gone = signed_pickup(office, drum);
    Correction c;
    c.target = put;
    c.why = "read again";
    c.patch.amount = litres("4L");
    bay.now = office.now;
    const EntryId corrected = bay.write(c).entry.id;
    const std::string file = file_of(bay.book());
    const std::string name = "pick-up 0041233 (entry " + std::to_string(gone.number()) + ")";
    for (const bool dry : {true, false}) {
      const auto e = take_in(office, file, {}, dry);
      REQUIRE_MESSAGE(e.ok(), why(e));
      CHECK(e->pickups_moved == std::vector<std::string>{name + " comes to another figure by this: 5 L was, 4 L is; look at its paper, which is signed"});
    }
    CHECK(taken(office, file).pickups_moved.empty());
    // Taken back where it was written, it is as the paper says again, and that is told too.
    Correction undo;
    undo.target = corrected;
    undo.why = "it was right";
    undo.withdraw = true;
    bay.write(undo);
    CHECK(taken(office, file_of(bay.book())).pickups_moved == std::vector<std::string>{name + " comes to another figure by this: 4 L was, 5 L is; look at its paper, which is signed"});
  }

  TEST_CASE("a signed pick-up of all that two names of one drum held is told when they are joined, and when the joining is taken back") {
    TestBook bay("bay", 77), office("office", 78);
    const FluidId coolant{find_class(std::string_view("coolant"))->number};
    const PlaceId theirs = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    bay.write(TestBook::move(MoveVerb::discard, kSupplier, theirs, "3L", {}, coolant), "2026-03-01");
    office.now = bay.now;
    const PlaceId ours = office.place("drum-c", Role::waste, "200L", {"coolant"});
    office.write(TestBook::move(MoveVerb::discard, kSupplier, ours, "2L", {}, coolant), "2026-03-01");
    const EntryRef gone = signed_pickup(office, ours);
    CHECK(taken(office, file_of(bay.book())).pickups_moved.empty());
    Settle join;
    join.keep = EntryId{ours.n};
    join.other = EntryId{theirs.n};
    const std::string name = "pick-up 0041233 (entry " + std::to_string(gone.number()) + ") comes to another figure by this: ";
    const Receipt joined = office.write(join);
    CHECK(joined.warnings == std::vector<std::string>{name + "2 L was, 5 L is; look at its paper, which is signed"});
    Correction undo;
    undo.target = joined.entry.id;
    undo.why = "they are two";
    undo.withdraw = true;
    CHECK(office.write(undo).warnings == std::vector<std::string>{name + "5 L was, 2 L is; look at its paper, which is signed"});
  }

  TEST_CASE("what another book erased without knowing that a rule holds it here is told when it comes in, once") {
    TestBook bay("bay", 75), office("office", 76);
    bay.write(ChooseRules{"us-california", day("2026-01-01"), "", ""});
    NewCar c;
    c.plate = "MARSH-21";
    c.keeper = "Edda Linn";
    const CarId car{bay.write(c).entry.id.n};
    (void)taken(office, file_of(bay.book()));
    (void)taken(bay, file_of(office.book()));  // accepted before it erases
    OpenJob j;
    j.car = car;
    const JobId job{bay.write(j).entry.id.n};
    CloseJob done;
    done.job = job;
    bay.write(done);
    office.now = bay.now;
    Erasure e;
    e.car = car;
    e.keeper = true;
    CHECK_FALSE(bay.try_write(e).ok());
    office.write(e);
    const auto told = taken(bay, file_of(office.book())).erased_while_held;
    REQUIRE(told.size() == 1);
    CHECK_MESSAGE(told.front().find("@office erased 1 text of car:") != std::string::npos, told.front());
    CHECK(told.front().find("that a rule held here until 2029-") != std::string::npos);
    CHECK(told.front().find("the work order of job 1, 16 CCR 3358") != std::string::npos);
    CHECK(taken(bay, file_of(office.book())).erased_while_held.empty());
    // Here it holds nothing, and is not told.
    CHECK(taken(office, file_of(bay.book())).erased_while_held.empty());
  }

  TEST_CASE("waste in a place that another book has withdrawn is in the register all the same") {
    TestBook bay("bay", 73), office("office", 74);
    const PlaceId drum = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    office.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "5L", {}, FluidId{find_class(std::string_view("coolant"))->number}));
    Correction c;
    c.target = EntryId{drum.n};
    c.why = "a slip";
    c.withdraw = true;
    bay.write(c);
    (void)taken(office, file_of(bay.book()));
    const auto rows = waste_register(office.book(), day("2026-03-01"), day("2026-03-31"));
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    REQUIRE(rows->size() == 1);
    CHECK(rows->front().best == 5 * L);
  }
}
