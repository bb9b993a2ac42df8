// One thing that was done once and entered in two books.
#include "support/exchange_lines.hpp"
#include "support/has.hpp"

#include <baybook/returns.hpp>

#include <algorithm>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr FluidId kOil{2};

std::vector<Conflict> open_of(TestBook& b) {
  auto all = conflicts(b.book());
  REQUIRE_MESSAGE(all.ok(), why(all));
  return std::move(all).value();
}

std::vector<Conflict> twins_of(TestBook& b) {
  auto all = open_of(b);
  std::erase_if(all, [](const Conflict& c) { return c.what != Conflict::What::twin; });
  return all;
}

// A bay and an office that know the same pan with 8 L in it, a drum, a can and a job.
struct Shared {
  TestBook bay{"bay", 71}, office{"office", 72};
  PlaceId pan = bay.place("pan-1", Role::hold_catch, "20L");
  PlaceId drum = bay.place("drum", Role::waste, "200L", {"engine-oil"});
  PlaceId can = bay.place("can", Role::stock, "200L", {"coolant"});
  FluidId oat = bay.fluid("oat", "coolant");
  CarId car = bay.car("MARSH-07");
  JobId job = bay.job(car);
  Shared() {
    bay.write(TestBook::move(MoveVerb::drain, bay.oil(car), pan, "8L", job));
    both();
  }
  void both() {
    office.now = bay.now = std::max(office.now, bay.now);
    (void)taken(office, file_of(bay.book()));
    (void)taken(bay, file_of(office.book()));
    office.now = bay.now = std::max(office.now, bay.now);
  }
  Movement decant(const std::string& amount) const {
    return TestBook::move(MoveVerb::decant, pan, drum, amount);
  }
  Movement receive(const std::string& amount, const std::string& paper) const {
    Movement m = TestBook::move(MoveVerb::receive, kSupplier, can, amount, {}, oat);
    m.document = paper;
    return m;
  }
  // Types what stands first in the only conflict.
  void withdraw_second(TestBook& b) {
    const auto all = open_of(b);
    REQUIRE(all.size() == 1);
    const std::string& hint = all[0].instead.front();
    REQUIRE(hint.starts_with("baybook correct "));
    REQUIRE(has(hint, " --withdraw --why \"...\""));
    Correction c;
    c.target = b.book().find_entry(hint.substr(16, hint.find(' ', 16) - 16)).value();
    c.withdraw = true;
    c.why = "entered twice";
    b.write(c);
  }
};

}  // namespace

TEST_SUITE("book/twins") {
  TEST_CASE(
      "a decant that both entered is one conflict with the same second in both books, and without it "
      "the figures are those of one entry") {
    for (const char* amount : {"5L", "3L", "all"}) {
      CAPTURE(amount);
      Shared s;
      const EntryId first = s.bay.write(s.decant(amount)).entry.id;
      s.office.now.ms = s.bay.now.ms + 20 * 60'000;
      const EntryId second = s.office.write(s.decant(amount)).entry.id;
      s.both();
      for (TestBook* b : {&s.bay, &s.office}) {
        CAPTURE(b->book().settings().tag);
        const auto all = open_of(*b);
        REQUIRE(all.size() == 1);
        CHECK(all[0].what == Conflict::What::twin);
        CHECK(all[0].entries[0].id == first);
        CHECK(all[0].entries[1].id == second);
        for (const std::string& hint : all[0].instead) CHECK_FALSE(has(hint, "gauge"));
      }
      s.withdraw_second(s.office);
      s.both();
      const std::int64_t left = std::string_view(amount) == "all" ? 0
                                : std::string_view(amount) == "5L" ? 3 * L
                                                                   : 5 * L;
      for (TestBook* b : {&s.bay, &s.office}) {
        CHECK(open_of(*b).empty());
        CHECK(b->level(s.pan) == left);
        CHECK(b->level(s.drum) == 8 * L - left);
      }
    }
  }

  TEST_CASE(
      "a fill, a pick-up and a delivery of one paper that both entered are twins, and two papers, two "
      "amounts, two days or two jobs are none") {
    Shared s;
    s.bay.write(s.receive("20L", "5531"));
    s.office.now = s.bay.now;
    s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "40L", {}, kOil));
    s.both();
    REQUIRE(open_of(s.bay).empty());
    const auto each = [&](const Movement& in_bay, const Movement& in_office, int minutes) {
      s.both();
      const EntryId a = s.bay.write(in_bay).entry.id;
      const std::int64_t was = s.office.now.ms;
      s.office.now.ms = std::max(was, s.bay.now.ms + std::int64_t{minutes} * 60'000);
      const EntryId b = s.office.write(in_office).entry.id;
      s.both();
      const auto all = twins_of(s.bay);
      for (const EntryId gone : {b, a}) {
        Correction c;
        c.target = gone;
        c.withdraw = true;
        c.why = "for the next one";
        s.bay.write(c);
      }
      return all.size();
    };
    const auto fill = [&](const std::string& amount, JobId job) {
      return TestBook::move(MoveVerb::fill, s.can, s.bay.coolant(s.car), amount, job, s.oat);
    };
    const auto pickup = [&](const std::string& amount, const std::string& paper) {
      Movement m = TestBook::move(MoveVerb::pickup, s.drum, kReceiver, amount);
      m.document = paper;
      return m;
    };
    CHECK(each(fill("1L", s.job), fill("1L", s.job), 30) == 1);
    CHECK(each(fill("1L", s.job), fill("1.5L", s.job), 30) == 0);
    CHECK(each(fill("1L", s.job), fill("1L", s.job), 26 * 60) == 0);
    CHECK(each(pickup("10L", "A-1"), pickup("10L", "A-1"), 5 * 24 * 60) == 1);
    CHECK(each(pickup("10L", "A-2"), pickup("12L", "A-2"), 30) == 1);
    CHECK(each(pickup("10L", "A-3"), pickup("10L", "A-4"), 30) == 0);
    CHECK(each(s.receive("20L", "5532"), s.receive("20L", "5532"), 3 * 24 * 60) == 1);
    CHECK(each(s.receive("20L", "5533"), s.receive("20L", "5534"), 30) == 0);
    CHECK(each(s.decant("2L"), s.decant("2L"), 30) == 1);
    // Two people who look at one drum are not one too many.
    Gauge g;
    g.place = s.drum;
    g.level = litres("45L");
    g.reason = "dipstick";
    s.both();
    s.bay.write(g);
    s.office.write(g);
    s.both();
    CHECK(twins_of(s.bay).empty());
    // Who knew of the other's meant a second one.
    s.bay.write(s.decant("1L"));
    s.both();
    s.office.write(s.decant("1L"));
    s.both();
    CHECK(twins_of(s.bay).empty());
  }

  TEST_CASE("two that were done twice are kept apart and not listed again, in either book") {
    Shared s;
    const EntryId a = s.bay.write(s.decant("2L")).entry.id;
    const EntryId b = s.office.write(s.decant("2L")).entry.id;
    s.both();
    REQUIRE(twins_of(s.office).size() == 1);
    Settle apart;
    apart.join = false;
    apart.keep = a;
    apart.other = b;
    apart.why = "two pans full";
    s.office.write(apart);
    s.both();
    CHECK(open_of(s.bay).empty());
    CHECK(open_of(s.office).empty());
    CHECK(s.bay.level(s.pan) == 4 * L);
  }

  TEST_CASE(
      "where something was entered twice no reading is offered, neither for what came later nor to "
      "whoever takes from there next") {
    Shared s;
    s.bay.write(s.decant("3L"));
    s.office.write(s.decant("3L"));
    // What is taken afterwards is more than is left by both.
    s.bay.write(s.decant("4L"));
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) {
      for (const Conflict& c : open_of(*b)) {
        CAPTURE(c.text);
        CHECK(has(c.instead.front(), " --withdraw --why"));
        for (const std::string& hint : c.instead) CHECK_FALSE(has(hint, "gauge"));
      }
      const auto refused = b->try_write(s.decant("1L"));
      REQUIRE_FALSE(refused.ok());
      CHECK(has(refused.refusal().instead, " --withdraw --why \"...\"  # if it is entry "));
      CHECK_FALSE(has(refused.refusal().instead, "gauge"));
      for (const std::string& other : refused.refusal().others) CHECK_FALSE(has(other, "gauge"));
    }
  }
}
