// What can be and is a slip more often than not: taken with a word, or asked about.
#include "support/test_book.hpp"

#include <baybook/due.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Bay : TestBook {
  PlaceId pan = place("pan-1", Role::hold_catch, "200L");
  CarId car = TestBook::car("MARSH-07", "6.5L");
  JobId open = job(car, "2026-03-01");
  Movement drain(const char* amount) {
    Movement m = move(MoveVerb::drain, coolant(car), pan, "1L", open);
    m.lines.front().amount = parse_amount(amount, Units{}).value();
    return m;
  }
  Odometer reading(const char* text) {
    Odometer o;
    o.car = car;
    o.reading = parse_distance(text, Units{}).value();
    return o;
  }
};

bool says(const Receipt& r, std::string_view text) {
  for (const std::string& w : r.warnings) {
    if (w.find(text) != std::string::npos) return true;
  }
  return false;
}

}  // namespace

TEST_SUITE("book/unlikely") {
  TEST_CASE("bare ounces of a liquid are asked about, and those of a refrigerant are a weight") {
    Bay b;
    for (const char* typed : {"8oz", "8 OZ", "~8 ounces"}) {
      const auto r = b.try_write(b.drain(typed));
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::unclear);
    }
    CHECK(b.try_write(b.drain("8oz")).refusal().instead == "8usfloz or 8impfloz, or in g if it was weighed");
    CHECK(b.try_write(b.drain("8usfloz")).ok());
    CHECK(b.try_write(b.drain("8lb")).ok());
    NewCar c;
    c.plate = "BRISK-9";
    c.circuits = {{"refrigerant", {}, ""}};
    const CarId cold{b.write(c).entry.id.n};
    const JobId j = b.job(cold, "2026-03-05");
    const PlaceId cylinder = b.place("cylinder", Role::reuse, "12kg", {"refrigerant"});
    CHECK(b.try_write(TestBook::move(MoveVerb::drain, circuit_of(cold, *find_circuit(std::string_view("refrigerant"))), cylinder, "8oz", j)).ok());
  }

  TEST_CASE("more out of a circuit than it holds is said") {
    Bay b;
    CHECK(says(b.write(b.drain("18L")), "more than the circuit holds (6.5 L)"));
    CHECK_FALSE(says(b.write(b.drain("6.5L")), "than the circuit holds"));
  }

  TEST_CASE("what is not held against a size is said to be so") {
    Bay b;
    CHECK(says(b.write(b.drain("500kg")), "pan-1 has its size by volume, and this is by weight"));
    CHECK_FALSE(says(b.write(b.drain("1L")), "has its size by"));
  }

  TEST_CASE("a place that holds litres and kilograms is emptied by a gauge of each before it is retired") {
    Bay b;
    b.write(b.drain("2L"));
    b.write(b.drain("3kg"));
    PlaceMark m;
    m.place = b.pan;
    m.what = PlaceMark::What::retire;
    CHECK(b.try_write(m).refusal().instead == "baybook gauge pan-1 0L --reason \"...\", then baybook gauge pan-1 0kg --reason \"...\"");
  }

  TEST_CASE("a reading with a digit too many is said, and the one to put right is named when the next one does not fit") {
    Bay b;
    b.write(b.reading("50000km"), "2026-03-02");
    CHECK_FALSE(says(b.write(b.reading("53000km"), "2026-03-04"), "if a digit slipped"));
    const Receipt slip = b.write(b.reading("530400km"));
    const std::string put_right = "baybook correct " + std::to_string(slip.entry.number()) + " --odo READING --why \"...\"";
    CHECK(says(slip, "477400 km since 2026-03-04; if a digit slipped: " + put_right));
    const auto next = b.try_write(b.reading("53050km"));
    REQUIRE_FALSE(next.ok());
    CHECK(next.refusal().instead ==
          "the same with --misread, if entry " + std::to_string(slip.entry.number()) +
              " was misread; with --replaced, if it is another instrument; or the reading again");
  }

  TEST_CASE("what is put right is looked at like what is written") {
    Bay b;
    const EntryId drained = b.write(b.drain("5L")).entry.id;
    Correction c;
    c.target = drained;
    c.why = "read again";
    c.patch.amount = parse_amount("19L", Units{}).value();
    CHECK(says(b.write(c), "more than the circuit holds (6.5 L)"));
    c.patch.amount = parse_amount("8oz", Units{}).value();
    CHECK(b.try_write(c).refusal().code == Code::unclear);
    b.write(b.reading("50000km"), "2026-03-02");
    const EntryId second = b.write(b.reading("50100km"), "2026-03-04").entry.id;
    Correction far;
    far.target = second;
    far.why = "read again";
    far.patch.odometer = parse_distance("501000km", Units{}).value();
    CHECK(says(b.write(far), "451000 km since 2026-03-02; if a digit slipped: baybook correct " + std::to_string(second.number()) + " --odo"));
  }

  TEST_CASE("a recheck by distance is not overdue while the car stood in the shop") {
    Bay b;
    b.write(b.reading("49000km"), "2026-01-01");
    b.write(b.reading("51000km"), "2026-03-01");
    b.now.ms += std::int64_t{100} * 86'400'000;
    CloseJob c;
    c.job = b.open;
    Recheck r;
    r.what = "wheel nuts";
    r.after_distance = parse_distance("31mi", Units{}).value();
    c.rechecks = {r};
    b.write(c);
    const Day today = day("2026-06-13");
    DueFilter f;
    f.within = 30;
    const auto list = due_list(b.book(), today, f);
    REQUIRE_MESSAGE(list.ok(), why(list));
    REQUIRE(list->lines.size() == 1);
    CHECK(list->lines[0].state == DueLine::State::soon);
    REQUIRE(list->lines[0].day.has_value());
    CHECK(*list->lines[0].day > today);
    f.within = 0;
    CHECK(due_list(b.book(), day("2026-06-11"), f)->lines.empty());
    // As it was typed, beside the book's unit.
    CHECK_MESSAGE(list->lines[0].why.find("after 50 km (typed 31mi)") != std::string::npos, list->lines[0].why);
  }

  TEST_CASE("a job is not shown as it stood before it was opened") {
    Bay b;
    const auto r = job(b.book(), b.open, day("2026-02-28"));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().what == "job 1 was opened on 2026-03-01, after 2026-02-28");
    CHECK(job(b.book(), b.open, day("2026-03-01")).ok());
  }
}
