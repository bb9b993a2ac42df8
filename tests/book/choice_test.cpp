// Settling is choosing what holds.
#include "support/two_books.hpp"

#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr FluidId kOil{2};

EntryId oil_into(TestBook& b, PlaceId drum, const std::string& amount) {
  return b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, amount, {}, kOil)).entry.id;
}

// 20 L that the bay corrected to 21 L and the office to 22 L, neither knowing of the other.
struct CorrectedTwice : TwoBooks {
  EntryId filled = oil_into(bay, drum, "20L");
  EntryId of_bay, of_office;
  CorrectedTwice() {
    both();
    of_bay = bay.write(amount_of(filled, "21L")).entry.id;
    office.now.ms += 120'000;
    of_office = office.write(amount_of(filled, "22L")).entry.id;
    both();
  }
};

}  // namespace

TEST_SUITE("book/choice") {
  TEST_CASE(
      "of two corrections the one that is kept holds, the same when it is typed on both sides") {
    for (const bool both_type : {false, true}) {
      CAPTURE(both_type);
      CorrectedTwice s;
      for (TestBook* b : s.books()) {
        const auto all = listed(*b, Conflict::What::correction);
        REQUIRE(all.size() == 1);
        REQUIRE(all[0].choices.size() == 2);
        CHECK(all[0].instead[0].starts_with("baybook settle keep "));
      }
      s.bay.write(Choice{s.of_bay, "the jug was the big one"});
      if (both_type) s.office.write(Choice{s.of_bay, ""});
      s.both();
      for (TestBook* b : s.books()) {
        CHECK(b->level(s.drum) == 21 * L);
        CHECK(conflicts(b->book())->empty());
      }
      agree(s);
    }
  }

  TEST_CASE("two choices that differ are listed again, the later one holds, and a third decides") {
    CorrectedTwice s;
    s.bay.write(Choice{s.of_bay, ""});
    s.later(5);
    s.office.write(Choice{s.of_office, ""});
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(b->level(s.drum) == 22 * L);
      const auto all = listed(*b, Conflict::What::choice);
      REQUIRE(all.size() == 1);
      CHECK_MESSAGE(all[0].text.find("two chose otherwise") == 0, all[0].text);
      CHECK(all[0].choices.size() == 2);
      CHECK(listed(*b, Conflict::What::correction).empty());
    }
    s.bay.write(Choice{s.of_bay, "asked Bram"});
    CHECK(conflicts(s.bay.book())->empty());
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(b->level(s.drum) == 21 * L);
      CHECK(conflicts(b->book())->empty());
    }
    agree(s);
  }

  TEST_CASE("a choice that is withdrawn leaves everything as it was before, and may be made anew") {
    CorrectedTwice s;
    const EntryId chosen = s.bay.write(Choice{s.of_bay, ""}).entry.id;
    CHECK(s.bay.level(s.drum) == 21 * L);
    s.bay.write(withdrawal_of(chosen));
    CHECK(s.bay.level(s.drum) == 22 * L);
    CHECK(listed(s.bay, Conflict::What::correction).size() == 1);
    s.bay.write(Choice{s.of_office, ""});
    s.both();
    CHECK(conflicts(s.office.book())->empty());
    agree(s);
  }

  TEST_CASE("each withdraws the correction of the other, and neither is gone in silence") {
    CorrectedTwice s;
    s.bay.write(withdrawal_of(s.of_office));
    s.office.write(withdrawal_of(s.of_bay));
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(b->level(s.drum) == 20 * L);
      const auto all = listed(*b, Conflict::What::withdrawn);
      REQUIRE(all.size() == 1);
      CHECK(all[0].choices.size() == 2);
    }
    s.office.write(Choice{s.of_office, ""});
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(b->level(s.drum) == 22 * L);
      CHECK(conflicts(b->book())->empty());
    }
    agree(s);
  }

  TEST_CASE("both withdraw their own of two closings, and the month is not open in silence") {
    TwoBooks s;
    s.later(std::int64_t{40} * 24 * 60);
    const CloseMonth march{month_of(day("2026-03-05")), ""};
    const EntryId of_bay = s.bay.write(march).entry.id;
    const EntryId of_office = s.office.write(march).entry.id;
    s.both();
    s.bay.write(withdrawal_of(of_bay));
    s.office.write(withdrawal_of(of_office));
    s.both();
    REQUIRE(listed(s.bay, Conflict::What::withdrawn).size() == 1);
    s.bay.write(Choice{of_office, ""});
    CHECK(conflicts(s.bay.book())->empty());
    CHECK(closed_month(s.bay.book(), month_of(day("2026-03-05")))->has_value());
  }

  TEST_CASE("of a month closed twice the closing that is kept holds and the other does not") {
    TwoBooks s;
    s.later(std::int64_t{40} * 24 * 60);
    const CloseMonth march{month_of(day("2026-03-05")), ""};
    s.bay.write(march);
    const EntryId of_office = s.office.write(march).entry.id;
    s.both();
    REQUIRE(listed(s.bay, Conflict::What::closing).size() == 1);
    s.bay.write(Choice{of_office, "signed there"});
    CHECK(conflicts(s.bay.book())->empty());
    const auto closed = closed_month(s.bay.book(), month_of(day("2026-03-05")));
    REQUIRE(closed.ok());
    REQUIRE(closed->has_value());
    CHECK((*closed)->entry.id == of_office);
    s.both();
    agree(s);
  }

  TEST_CASE("two identical withdrawals and two corrections that say the same need nothing") {
    TwoBooks s;
    const EntryId one = oil_into(s.bay, s.drum, "20L");
    const EntryId two = oil_into(s.bay, s.drum, "10L");
    s.both();
    for (TestBook* b : s.books()) {
      b->write(withdrawal_of(one));
      b->write(amount_of(two, "11L"));
    }
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(conflicts(b->book())->empty());
      CHECK(b->level(s.drum) == 11 * L);
    }
  }

  TEST_CASE("what was corrected knowing of the other correction is no conflict") {
    TwoBooks s;
    const EntryId filled = oil_into(s.bay, s.drum, "20L");
    s.both();
    s.bay.write(amount_of(filled, "21L"));
    s.to_office();
    s.office.write(amount_of(filled, "22L"));
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(conflicts(b->book())->empty());
      CHECK(b->level(s.drum) == 22 * L);
    }
  }

  TEST_CASE("a third correction by somebody who held both decides between two") {
    CorrectedTwice s;
    s.bay.write(amount_of(s.filled, "21.5L"));
    CHECK(conflicts(s.bay.book())->empty());
    s.both();
    for (TestBook* b : s.books()) {
      CHECK(conflicts(b->book())->empty());
      CHECK(b->level(s.drum) == 21'500'000'000);
    }
  }

  TEST_CASE("what is in no conflict is not chosen, and what is chosen already is said") {
    CorrectedTwice s;
    const auto none = s.bay.try_write(Choice{s.filled, ""});
    REQUIRE_FALSE(none.ok());
    CHECK(none.refusal().code == Code::not_allowed);
    CHECK(none.refusal().instead == "baybook settle list");
    s.bay.write(Choice{s.of_bay, ""});
    const auto again = s.bay.try_write(Choice{s.of_bay, ""});
    REQUIRE_FALSE(again.ok());
    CHECK(again.refusal().code == Code::already_there);
    CHECK(s.bay.try_write(Choice{EntryId{s.filled.n + 999}, ""}).refusal().code == Code::not_found);
  }

  TEST_CASE("a closing on which a recheck was answered is not set aside before that") {
    TwoBooks s;
    const JobId job = s.bay.job(s.car);
    s.both();
    CloseJob c;
    c.job = job;
    Recheck r;
    r.what = "coolant level";
    r.after_days = 1;
    c.rechecks = {r};
    const EntryId of_bay = s.bay.write(c).entry.id;
    const EntryId of_office = s.office.write(c).entry.id;
    RecheckDone d;
    d.closing = of_office;
    d.number = 1;
    d.good = true;
    s.office.write(d);
    s.both();
    const auto all = listed(s.bay, Conflict::What::job);
    REQUIRE(all.size() == 1);
    CHECK(all[0].choices.size() == 2);
    const auto refused = s.bay.try_write(Choice{of_bay, ""});
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().code == Code::has_dependants);
    CHECK(refused.refusal().instead.find("--with-dependants") != std::string::npos);
    s.bay.write(Choice{of_office, ""});
    s.both();
    CHECK(conflicts(s.office.book())->empty());
    agree(s);
  }

  TEST_CASE("what a newly met installation chooses among entries of others waits for a word") {
    TwoBooks s;
    TestBook van("van", 73);
    const EntryId filled = oil_into(s.bay, s.drum, "20L");
    s.both();
    const EntryId of_bay = s.bay.write(amount_of(filled, "21L")).entry.id;
    s.office.now.ms += 120'000;
    const EntryId of_office = s.office.write(amount_of(filled, "22L")).entry.id;
    s.both();
    (void)taken(van, file_of(s.bay.book()));
    van.now = std::max(van.now, s.bay.now);
    van.write(Choice{of_bay, ""});
    const auto met = meet(s.bay, file_of(van.book()));
    REQUIRE_MESSAGE(met.ok(), why(met));
    CHECK(s.bay.level(s.drum) == 22 * L);
    CHECK(met->waiting == 1);
    reads_well(s.bay);
    CHECK(of_office.n != 0);
  }

  TEST_CASE("a correction that changes nothing says why") {
    TwoBooks s;
    const EntryId filled = oil_into(s.office, s.drum, "20L");
    (void)meet(s.bay, file_of(s.office.book()));
    s.bay.now = std::max(s.bay.now, s.office.now);
    TestBook van("van", 74);
    (void)meet(s.bay, file_of(van.book()));
    // The bay corrects an entry of somebody who has not accepted it.
    const EntryId of_van = van.place("keg", Role::waste, "50L", {"engine-oil"}).n != 0
                               ? oil_into(van, PlaceId{van.book().find_entry("2")->n}, "3L")
                               : EntryId{};
    (void)meet(van, file_of(s.bay.book()));
    (void)meet(s.bay, file_of(van.book()));
    s.bay.now = std::max(s.bay.now, van.now);
    const Receipt r = s.bay.write(amount_of(of_van, "4L"));
    CHECK_MESSAGE(r.no_effect.starts_with("nothing changes until it is agreed to"), r.no_effect);
    CHECK(r.was == r.now);
    const Receipt good = s.bay.write(amount_of(filled, "21L"));
    CHECK(good.no_effect.empty());
  }
}
