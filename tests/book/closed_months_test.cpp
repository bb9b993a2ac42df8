// What is written into a month that is closed: told with the entry, before anybody prints it.
#include "support/brought_in.hpp"
#include "support/exchange_lines.hpp"

#include <baybook/bulk.hpp>
#include <baybook/peers.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

Month january_2026() { return month_of(day("2026-01-01")); }

bool says(const std::vector<std::string>& lines, std::string_view words) {
  return std::any_of(lines.begin(), lines.end(),
                     [&](const std::string& l) { return l.find(words) != std::string::npos; });
}

constexpr std::string_view kAmends =
    "this changes its figures, and what is printed of it from now on says AMENDED";
constexpr std::string_view kNothing = "this changes none of its figures";

/// January and February are closed; a job of January is still open.
struct Closed : TestBook {
  CarId car{};
  PlaceId drum{};
  JobId open{};
  EntryId drained{}, january{}, february{};
  Closed() : TestBook("bay", 7, "2026-01-02T09:00:00.000Z") {
    car = TestBook::car("MARSH-07", "200L");
    drum = place("drum-coolant", Role::waste, "200L", {"coolant"});
    now = instant("2026-01-05T10:00:00.000Z");
    open = job(car);
    drained = write(move(MoveVerb::drain, coolant(car), drum, "5L", open)).entry.id;
    now = instant("2026-02-03T10:00:00.000Z");
    january = write(CloseMonth{january_2026(), ""}).entry.id;
    now = instant("2026-03-03T10:00:00.000Z");
    february = write(CloseMonth{month_of(day("2026-02-01")), ""}).entry.id;
  }
  Correction amount(const std::string& litre) {
    Correction c;
    c.target = drained;
    c.patch.amount = litres(litre);
    c.why = "misread";
    return c;
  }
};

}  // namespace

TEST_SUITE("book/closed_months") {
  TEST_CASE(
      "whatever changes a figure of a closed month says so with the months and their closings, and "
      "counts those that only carry it on") {
    Closed b;
    const Receipt late = b.write(
        TestBook::move(MoveVerb::drain, b.coolant(b.car), b.drum, "1L", b.open), "2026-01-20");
    REQUIRE(late.closed_months.size() == 2);
    CHECK(late.closed_months[0].month == january_2026());
    CHECK(late.closed_months[0].entry.id == b.january);
    CHECK(late.closed_months[0].changes);
    CHECK(late.closed_months[0].amended);
    CHECK(late.closed_months[1].entry.id == b.february);
    CHECK(says(late.warnings,
               "2026-01 and 2026-02 are closed (entries 6 and 7): this changes their figures, and "
               "what is printed of them from now on says AMENDED"));
    // February alone.
    const Receipt second = b.write(
        TestBook::move(MoveVerb::drain, b.coolant(b.car), b.drum, "1L", b.open), "2026-02-20");
    REQUIRE(second.closed_months.size() == 1);
    CHECK(says(second.warnings, "2026-02 is closed (entry 7): " + std::string(kAmends)));
    // In March nothing is closed.
    const Receipt today =
        b.write(TestBook::move(MoveVerb::drain, b.coolant(b.car), b.drum, "1L", b.open));
    CHECK(today.closed_months.empty());
    CHECK_FALSE(says(today.warnings, "closed"));
  }

  TEST_CASE(
      "a correction of today of what a closed month counted says so, and taking it back says that "
      "the figures are those of the closing again") {
    Closed b;
    const Receipt r = b.write(b.amount("5.5L"));
    CHECK(says(r.warnings, "2026-01 and 2026-02 are closed"));
    CHECK(says(r.warnings, "says AMENDED"));
    CHECK_FALSE(closed_month(b.book(), january_2026())->value().differences.empty());
    const Receipt back = b.write(Correction{r.entry.id, true, {}, "it was right", false});
    REQUIRE(back.closed_months.size() == 2);
    CHECK(back.closed_months[0].changes);
    CHECK_FALSE(back.closed_months[0].amended);
    CHECK(says(back.warnings, "with this their figures are again those of the closing"));
    CHECK(closed_month(b.book(), january_2026())->value().differences.empty());
  }

  TEST_CASE("what lies in a closed month and changes none of its figures is told as that") {
    Closed b;
    Work w;
    w.job = b.open;
    w.text = "looked again";
    const Receipt work = b.write(w, "2026-01-21");
    REQUIRE(work.closed_months.size() == 1);
    CHECK_FALSE(work.closed_months[0].changes);
    CHECK_FALSE(work.closed_months[0].amended);
    CHECK(says(work.warnings, "2026-01 is closed (entry 6): " + std::string(kNothing)));
    Correction c;
    c.target = work.entry.id;
    c.why = "clearer";
    c.patch.text = "looked once more";
    CHECK(says(b.write(c).warnings, kNothing));
    // What is written today about an open month says nothing of closed ones.
    CHECK(b.write(w).closed_months.empty());
  }

  TEST_CASE("a dry run tells what it would change and leaves the month as it was closed") {
    Closed b;
    Stamp s = b.stamp();
    s.dry_run = true;
    const auto r = b->append(b.amount("6L"), s);
    REQUIRE(r.ok());
    CHECK(says(r->warnings, "says AMENDED"));
    CHECK(closed_month(b.book(), january_2026())->value().differences.empty());
  }

  TEST_CASE(
      "rules that are chosen for a closed month change what it is judged to be, and a "
      "determination in it too") {
    Closed b;
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    const Receipt r = b.write(rules);
    REQUIRE(r.closed_months.size() == 2);
    CHECK(r.closed_months[0].amended);
    CHECK(says(r.warnings, "says AMENDED"));
    rules.from = day("2026-03-01");
    CHECK(b.write(rules).closed_months.empty());
  }

  TEST_CASE(
      "the closing that is withdrawn is no longer told of, and a month that is not closed says "
      "nothing") {
    Closed b;
    CHECK(b.write(Correction{b.february, true, {}, "too early", false}).closed_months.empty());
    const Receipt r = b.write(
        TestBook::move(MoveVerb::drain, b.coolant(b.car), b.drum, "1L", b.open), "2026-02-20");
    CHECK(r.closed_months.empty());
  }

  TEST_CASE("a file from another book says which closed months it changes, dry or not") {
    BroughtIn both;
    const std::string file = file_of(both.office.book());
    const std::string before = both.bay.dump();
    const auto dry = take_in(both.bay, file, {}, true);
    REQUIRE_MESSAGE(dry.ok(), why(dry));
    REQUIRE(dry->closed_months.size() == 1);
    CHECK(says(dry->closed_told, kAmends));
    CHECK(both.bay.dump() == before);
    const ExchangeIn in = taken(both.bay, file);
    REQUIRE(in.closed_months.size() == 1);
    CHECK(in.closed_months[0].month == january_2026());
    CHECK(in.closed_months[0].amended);
    CHECK(says(in.closed_told, "2026-01 is closed (entry 6): " + std::string(kAmends)));
    CHECK(taken(both.bay, file).closed_months.empty());
  }

  TEST_CASE(
      "a stranger's correction changes a closed month when it is accepted, and the acceptance says "
      "so") {
    BroughtIn both;
    const auto met = meet(both.bay, file_of(both.office.book()));
    REQUIRE_MESSAGE(met.ok(), why(met));
    // The discard is the office's own; its correction of the bay's entry waits.
    CHECK(says(met->closed_told, kAmends));
    PeerWord word;
    const auto& all = both.bay->inside().known.all;
    for (const log::Installation& i : all) {
      if (!i.own) word.entry = EntryId{i.origin << 40 | 1};
    }
    const Receipt r = both.bay.write(word);
    REQUIRE(r.closed_months.size() == 1);
    CHECK(r.closed_months[0].changes);
    CHECK(says(r.warnings, kAmends));
  }

  TEST_CASE(
      "what is thrown out of a book again gives a closed month its figures back, and says so") {
    BroughtIn both;
    taken(both.bay, file_of(both.office.book()));
    const auto plan = plan_forget(both.bay.book(), "office", 1);
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    const auto r = forget_installation(both.bay.book(), *plan, both.bay.stamp());
    REQUIRE_MESSAGE(r.ok(), why(r));
    REQUIRE(r->closed_months.size() == 1);
    CHECK_FALSE(r->closed_months[0].amended);
    CHECK(says(r->warnings, "with this its figures are again those of the closing"));
  }

  TEST_CASE("many entries in one go tell once which closed months they change") {
    Closed b;
    std::vector<Item> items;
    for (const char* on : {"2026-01-20", "2026-01-21"}) {
      Item i;
      i.draft = TestBook::move(MoveVerb::drain, b.coolant(b.car), b.drum, "1L", b.open);
      i.stamp = b.stamp(on);
      items.push_back(i);
    }
    std::size_t at = 0;
    const auto next = [&]() -> Result<std::optional<Item>> {
      return at < items.size() ? std::optional<Item>(items[at++]) : std::nullopt;
    };
    const auto batch = append_all(b.book(), next);
    REQUIRE_MESSAGE(batch.ok(), why(batch));
    CHECK(batch->written == 2);
    REQUIRE(batch->closed_months.size() == 2);
    REQUIRE(batch->closed_told.size() == 1);
    CHECK(says(batch->closed_told, "2026-01 and 2026-02 are closed"));
  }

  TEST_CASE("closing a month names the jobs that are open since then, and no others") {
    TestBook b("bay", 7, "2026-01-02T09:00:00.000Z");
    const CarId car = b.car("MARSH-07");
    const CarId other = b.car("BRISK-9");
    b.job(car);
    CloseJob done;
    done.job = b.job(other);
    b.write(done);
    b.now = instant("2026-02-03T10:00:00.000Z");
    b.job(other);
    const Receipt r = b.write(CloseMonth{january_2026(), ""});
    CHECK(says(r.warnings,
               "a job is still open since 2026-01 or before: 1 (MARSH-07, since 2026-01-02); what "
               "is written on it with a day in 2026-01 amends its print"));
    CHECK_FALSE(says(r.warnings, "BRISK-9"));
  }
}
