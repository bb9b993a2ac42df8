// What an installation held of the others when it wrote, and that it comes after that.
#include "support/two_books.hpp"

#include "book/knowing.hpp"

#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr FluidId kOil{2};

bool says_seen(const Receipt& r) { return r.body.find("\"seen\":[") != std::string::npos; }

EntryId oil_into(TestBook& b, PlaceId drum, const std::string& amount) {
  return b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, amount, {}, kOil)).entry.id;
}

}  // namespace

TEST_SUITE("book/knowing") {
  TEST_CASE("the first entry after others came in says how far they are here, and only that one") {
    TwoBooks s;
    const EntryId before = oil_into(s.office, s.drum, "1L");
    const EntryId unaware = oil_into(s.bay, s.drum, "2L");
    s.to_bay();
    const Receipt first = s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "3L", {}, kOil));
    CHECK(says_seen(first));
    CHECK(first.body.find("\"version\":3") != std::string::npos);
    const Receipt second = s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "3L", {}, kOil));
    CHECK_FALSE(says_seen(second));
    CHECK(second.body.find("\"version\":1") != std::string::npos);
    s.both();
    for (TestBook* b : s.books()) {
      auto& db = b->book().inside().db;
      CHECK(book::apart_in_knowledge(db, before, unaware));
      CHECK(book::knows(db, first.entry.id, before));
      CHECK(book::knows(db, second.entry.id, before));
      CHECK_FALSE(book::knows(db, before, first.entry.id));
      CHECK(book::knows(db, second.entry.id, unaware));
      CHECK_FALSE(book::knows(db, unaware, second.entry.id));
    }
    agree(s);
  }

  TEST_CASE("a book without others says nothing of having seen any") {
    TestBook b;
    const Receipt r = b.write(NewPerson{"Oona", "", ""});
    CHECK_FALSE(says_seen(r));
    CHECK(r.body.find("\"version\":1") != std::string::npos);
  }

  TEST_CASE("what a third book held is known over the second") {
    TwoBooks s;
    TestBook van("van", 75);
    const EntryId of_bay = oil_into(s.bay, s.drum, "1L");
    s.to_office();
    (void)taken(van, file_of(s.office.book()));
    van.now = std::max(van.now, s.office.now);
    const EntryId of_van = oil_into(van, s.drum, "2L");
    (void)taken(s.office, file_of(van.book()));
    CHECK(book::knows(s.office.book().inside().db, of_van, of_bay));
  }

  TEST_CASE("an entry that says to have seen what cannot be is refused") {
    TwoBooks s;
    const EntryId e = oil_into(s.office, s.drum, "1L");
    const auto row = log::row_of(s.office.book().inside().db, e);
    CHECK(row.body.find("\"seen\"") != std::string::npos);
    std::string file = file_of(s.office.book());
    const std::size_t at = file.rfind("\"seen\":[");
    REQUIRE(at != std::string::npos);
    const std::string own = "\"seen\":[1],";
    const std::size_t end = file.find("],", at) + 2;
    file.replace(at, end - at, own);
    const auto r = take_in(s.bay, file);
    CHECK_FALSE(r.ok());
  }

  TEST_CASE(
      "a clock 20 minutes slow cancels nothing that is typed knowing of what came from elsewhere") {
    TwoBooks s;
    const EntryId filled = oil_into(s.bay, s.drum, "20L");
    s.to_office();
    const Instant slow = s.bay.now;
    s.office.now.ms += 20 * 60'000;
    s.office.write(amount_of(filled, "21L"));
    (void)taken(s.bay, file_of(s.office.book()));
    s.bay.now = slow;

    SUBCASE("the entry is withdrawn") {
      const Receipt r = s.bay.write(withdrawal_of(filled));
      CHECK(r.no_effect.empty());
      CHECK(r.now == "withdrawn");
      CHECK(r.clock.is == ClockCheck::Is::behind);
      CHECK(r.clock.ask);
      CHECK(r.clock.what.find("20 minutes before entry ") != std::string::npos);
      CHECK(r.clock.way_out.find("office") != std::string::npos);
      CHECK(r.body.find("\"clock-behind\":true") != std::string::npos);
      CHECK(s.bay.level(s.drum) == 0);
    }
    SUBCASE("its amount is corrected again") {
      s.bay.write(amount_of(filled, "23L"));
      CHECK(s.bay.level(s.drum) == 23 * L);
    }
    SUBCASE("the drum is gauged after something came in") {
      oil_into(s.office, s.drum, "5L");
      (void)taken(s.bay, file_of(s.office.book()));
      s.bay.now = slow;
      Gauge g;
      g.place = s.drum;
      g.level = litres("30L");
      g.reason = "dipped";
      s.bay.write(g);
      CHECK(s.bay.level(s.drum) == 30 * L);
    }
    SUBCASE("a stream is determined otherwise") {
      Determination d;
      d.stream = "waste-engine-oil";
      d.reason = "the bay's own look";
      d.hazardous = true;
      s.office.write(d);
      (void)taken(s.bay, file_of(s.office.book()));
      s.bay.now = slow;
      d.hazardous = false;
      const EntryId mine = s.bay.write(d).entry.id;
      auto q = s.bay.book().inside().db.query(
          "SELECT entry FROM determined WHERE stream = 'waste-engine-oil' ORDER BY moment DESC, recorded "
          "DESC, entry DESC LIMIT 1");
      REQUIRE(q.step());
      CHECK(EntryId{q.num(0)} == mine);
      CHECK(listed(s.bay, Conflict::What::determination).empty());
    }
    SUBCASE("a car is given a plate after the other gave it one") {
      CarChange c;
      c.car = s.car;
      c.plate = "MARSH-08";
      s.office.write(c);
      (void)taken(s.bay, file_of(s.office.book()));
      s.bay.now = slow;
      c.plate = "MARSH-09";
      s.bay.write(c);
      CHECK(s.bay.book().plate_of(s.car) == "MARSH-09");
    }
    SUBCASE("a place is renamed after the other renamed it") {
      Correction c;
      c.target = EntryId{s.drum.n};
      c.patch.code = "drum-office";
      c.why = "another name";
      s.office.write(c);
      (void)taken(s.bay, file_of(s.office.book()));
      s.bay.now = slow;
      c.patch.code = "drum-bay";
      s.bay.write(c);
      CHECK(s.bay.book().find_place("drum-bay").ok());
    }
    // The same in the other book, whatever its own clock says.
    s.to_office();
    s.to_bay();
    agree(s);
  }

  TEST_CASE("a clock that is ahead elsewhere moves no entry to another day") {
    TwoBooks s;
    s.office.now.ms += std::int64_t{3} * 24 * 3'600'000;
    oil_into(s.office, s.drum, "1L");
    const Instant right = s.bay.now;
    (void)taken(s.bay, file_of(s.office.book()));
    s.bay.now = right;
    const Receipt r = s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "2L", {}, kOil));
    CHECK(to_string(entry(s.bay.book(), r.entry.id)->happened) == "2026-03-05");
    // Nobody is asked a second time by the same clock.
    const auto again = clock_against(s.bay.book(), s.bay.now);
    REQUIRE(again.ok());
    CHECK_MESSAGE(!again->ask, again->what, " / ", r.body);
  }
}
