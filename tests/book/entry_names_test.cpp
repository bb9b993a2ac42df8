// What is said of an entry of another installation names it as it can be typed here: the bare number is an own entry.
#include "support/exchange_lines.hpp"

#include <baybook/due.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

// What bay did, as office has it.
struct Brought {
  TestBook bay{"bay", 71, "2026-01-05T09:00:00.000Z"};
  TestBook office{"office", 72, "2026-01-05T09:00:00.000Z"};
  PlaceId drum;
  FirmId firm;
  CarId car;
  JobId job;
  EntryId pickup, confirmed, closing, looked, rules, determined, month;

  Brought() {
    rules = bay.write(ChooseRules{"eu", day("2026-01-01"), "", ""}).entry.id;
    drum = bay.place("drum-coolant", Role::waste, "180L", {"coolant"});
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.carries = f.receives = true;
    firm = FirmId{bay.write(f).entry.id.n};
    bay.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "20L", {}, FluidId{find_class("coolant")->number}));
    pickup = bay.write(sent_off()).entry.id;
    ConfirmPickup c;
    c.pickup = pickup;
    c.signed_on = day("2026-01-05");
    confirmed = bay.write(c).entry.id;
    car = bay.car("MARSH-07");
    job = bay.job(car);
    CloseJob done;
    done.job = job;
    done.rechecks = {{"look for drops", 3, {}}};
    closing = bay.write(done).entry.id;
    looked = bay.write(good()).entry.id;
    Determination d;
    d.stream = stream();
    d.hazardous = false;
    d.reason = "known product";
    determined = bay.write(d).entry.id;
    bay.now = instant("2026-02-02T09:00:00.000Z");
    month = bay.write(CloseMonth{month_of(day("2026-01-01")), ""}).entry.id;
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
  }
  [[nodiscard]] Movement sent_off() const {
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L");
    m.carrier_firm = firm;
    return m;
  }
  [[nodiscard]] RecheckDone good() const {
    RecheckDone r;
    r.closing = closing;
    return r;
  }
  [[nodiscard]] std::string stream() {
    const RuleSet set = baybook::rules(bay.book(), day("2026-01-05")).value();
    for (const Stream& x : set.streams) {
      if (std::find(x.classes.begin(), x.classes.end(), "coolant") != x.classes.end()) return x.name;
    }
    return "";
  }
  static std::string at_bay(EntryId id) { return std::to_string(id.number()) + "@bay"; }
  Refusal refused(const Draft& d) {
    const auto r = office.try_write(d);
    REQUIRE_FALSE(r.ok());
    return r.refusal();
  }
};

bool says(const std::string& text, const std::string& part) {
  if (text.find(part) != std::string::npos) return true;
  MESSAGE("\"" << text << "\" does not say \"" << part << "\"");
  return false;
}

}  // namespace

TEST_SUITE("book/entry_names") {
  TEST_CASE("what stands in the way and was written by another installation is named with it, and so is what to type") {
    Brought t;
    Work w;
    w.job = t.job;
    w.text = "late";
    CHECK(says(t.refused(w).instead, "baybook correct " + Brought::at_bay(t.closing) + " --withdraw"));
    const Refusal paper = t.refused(t.sent_off());
    CHECK(says(paper.what, "pick-up " + Brought::at_bay(t.pickup) + " already"));
    CHECK(says(paper.instead, "baybook entry " + Brought::at_bay(t.pickup)));
    ConfirmPickup c;
    c.pickup = t.pickup;
    c.signed_on = day("2026-01-06");
    const Refusal again = t.refused(c);
    CHECK(says(again.what, "pick-up " + Brought::at_bay(t.pickup) + " is confirmed"));
    CHECK(says(again.instead, "baybook correct " + Brought::at_bay(t.confirmed) + " --withdraw"));
    c.pickup = t.closing;
    CHECK(says(t.refused(c).what, "entry " + Brought::at_bay(t.closing) + " is not"));
    const Refusal looked = t.refused(t.good());
    CHECK(says(looked.what, "entry " + Brought::at_bay(t.looked)));
    CHECK(says(looked.instead, "baybook correct " + Brought::at_bay(t.looked) + " --withdraw"));
    CHECK(says(t.refused(ChooseRules{"eu", day("2026-01-01"), "", ""}).instead, "baybook correct " + Brought::at_bay(t.rules) + " --withdraw"));
    const Refusal closed = t.refused(CloseMonth{month_of(day("2026-01-01")), ""});
    CHECK(says(closed.what, "was closed by entry " + Brought::at_bay(t.month)));
    CHECK(says(closed.instead, "baybook correct " + Brought::at_bay(t.month) + " --withdraw"));
    Paper p;
    p.about = EntryId{(t.pickup.origin() << 40) | 999};
    p.sha256 = std::string(64, 'a');
    p.file = "a.pdf";
    CHECK(says(t.refused(p).what, "there is no entry 999@bay"));
    const auto shown = pickup(t.office.book(), t.month);
    REQUIRE_FALSE(shown.ok());
    CHECK(says(shown.refusal().what, "entry " + Brought::at_bay(t.month) + " is not a pick-up"));
  }

  TEST_CASE("own entries keep their bare number") {
    Brought t;
    ConfirmPickup c;
    c.pickup = t.pickup;
    c.signed_on = day("2026-01-06");
    const auto r = t.bay.try_write(c);
    REQUIRE_FALSE(r.ok());
    CHECK(says(r.refusal().what, "pick-up " + std::to_string(t.pickup.number()) + " is confirmed"));
  }

  TEST_CASE("the determination on a month's sheet is named with its installation") {
    Brought t;
    const auto rows = streams(t.office.book(), day("2026-01-01"), day("2026-01-31"));
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    bool seen = false;
    for (const StreamRow& r : *rows) {
      if (!r.stream.determined) continue;
      seen = true;
      CHECK(says(r.stream.why, "entry " + Brought::at_bay(t.determined) + ": known product"));
    }
    CHECK(seen);
  }

  TEST_CASE("entries of a month that break a rule are named with their installation") {
    Brought t;
    // Both took the last of the same drum before they knew of each other.
    TestBook third("third", 73, "2026-01-05T09:00:00.000Z");
    (void)taken(third, file_of(t.bay.book()));
    const auto empty = [&](TestBook& b, const char* paper, const char* when) {
      b.now = instant(when);
      Movement m = t.sent_off();
      m.document = paper;
      m.lines.front().amount = litres("8L");
      return b.write(m, "2026-02-01").entry.id;
    };
    empty(t.bay, "0041234", "2026-02-02T10:00:00.000Z");
    const EntryId broken = empty(third, "0041235", "2026-02-02T11:00:00.000Z");
    (void)taken(t.office, file_of(t.bay.book()));
    (void)taken(t.office, file_of(third.book()));
    t.office.now = instant("2026-02-03T09:00:00.000Z");
    t.office.write(TestBook::move(MoveVerb::discard, kSupplier, t.drum, "20L", {}, FluidId{find_class("coolant")->number}));
    t.office.now = instant("2026-03-02T09:00:00.000Z");
    const Refusal r = t.refused(CloseMonth{month_of(day("2026-02-01")), ""});
    CHECK(says(r.what, "entries " + std::to_string(broken.number()) + "@third break a rule"));
  }
}
