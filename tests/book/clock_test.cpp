// A clock that stands wrongly, or stood so once: what it may not move.
#include "../support/carry.hpp"
#include "../support/has.hpp"
#include "../support/test_book.hpp"

#include "book/clock.hpp"

#include <baybook/drafts.hpp>
#include <baybook/erase.hpp>
#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr const char* kLeapt = "2039-01-01T00:00:00.000Z";

Draft pan(const std::string& code) {
  NewPlace p;
  p.code = code;
  p.role = Role::hold_catch;
  p.size = litres("20L");
  return p;
}

Draft withdrawal(EntryId target) {
  Correction c;
  c.target = target;
  c.withdraw = true;
  c.why = "the clock was ahead";
  return c;
}

// A shop with a can of 20 L, in which one entry was written while the clock was 13 years ahead.
struct OnceAhead : TestBook {
  PlaceId can;
  FluidId oat;
  EntryId leapt;
  Instant right;

  OnceAhead() {
    can = place("can-1", Role::stock, "60L", {"coolant"});
    oat = fluid("oat-violet", "coolant");
    right = now;
    now = instant(kLeapt);
    leapt = write(receive("20L")).entry.id;
    now = right;
    now.ms += 60'000;
  }
  [[nodiscard]] Draft receive(const std::string& amount) const {
    return move(MoveVerb::receive, kSupplier, can, amount, {}, oat);
  }
  std::string day_of(EntryId e) { return to_string(entry(book(), e)->happened); }
};

std::string all_of(const Receipt& r) {
  std::string out;
  for (const std::string& w : r.warnings) out += w + "\n";
  return out;
}

}  // namespace

TEST_SUITE("book/clock") {
  TEST_CASE(
      "after a clock that was once ahead an entry has the day of the clock, and the order of the log") {
    OnceAhead s;
    const Receipt r = s.write(s.receive("1L"));
    CHECK(s.day_of(r.entry.id) == "2026-03-05");
    CHECK(r.clock.is == ClockCheck::Is::behind);
    CHECK(has(r.body, "\"clock-behind\":true"));
    CHECK(has(r.body, "\"recorded\":\"2039-01-01T00:00:01.000Z\""));
    CHECK(has(all_of(r), "4684 days before entry 4 (2039-01-01 00:00)"));
    CHECK(has(all_of(r), "baybook entries --from 2026-03-06"));
    // The next day as well, whatever stands in the log.
    s.now.ms += 86'400'000;
    CHECK(s.day_of(s.write(s.receive("1L")).entry.id) == "2026-03-06");
    CHECK(s.try_write(s.receive("1L"), "2026-03-07").refusal().code == Code::in_future);
    CHECK(prove(s.book())->findings.empty());
    const std::string live = s.dump(true);
    REQUIRE(s.book().rebuild().ok());
    CHECK(difference(live, s.dump(true)) == "");
  }

  TEST_CASE(
      "a clock that is set back a little does not send an entry of today before what it stands on, whether the log was ahead before or not") {
    for (const bool ahead : {false, true}) {
      CAPTURE(ahead);
      OnceAhead once;
      TestBook plain;
      TestBook& b = ahead ? static_cast<TestBook&>(once) : plain;
      const PlaceId from = b.place("can-2", Role::stock, "60L", {"coolant"});
      const PlaceId to = b.place("can-3", Role::stock, "60L", {"coolant"});
      const FluidId f = b.fluid("oat-blue", "coolant");
      b.now.ms += 600'000;
      b.write(TestBook::move(MoveVerb::receive, kSupplier, from, "5L", {}, f));
      b.now.ms -= 120'000;
      const auto r = b.try_write(TestBook::move(MoveVerb::decant, from, to, "5L"));
      REQUIRE_MESSAGE(r.ok(), why(r));
      CHECK(b.level(to) == 5 * L);
      // A time that is typed stays what was typed.
      Stamp typed = b.stamp();
      typed.at = Minute{8 * 60};
      const auto early =
          b->append(TestBook::move(MoveVerb::receive, kSupplier, from, "1L", {}, f), typed);
      REQUIRE_MESSAGE(early.ok(), why(early));
      CHECK(has(early->body, "\"time\":\"08:00+00:00\""));
    }
  }

  TEST_CASE("a clock that is set back over midnight gives an entry its own day") {
    TestBook b("bay", 5, "2026-03-06T00:02:00.000Z");
    b.write(pan("pan-1"));
    b.now = instant("2026-03-05T20:00:00.000Z");
    const Receipt r = b.write(pan("pan-2"));
    CHECK(has(r.body, "\"happened\":\"2026-03-05\""));
    CHECK(has(r.body, "\"time\":\"20:00+00:00\""));
  }

  TEST_CASE(
      "a month that is not over by the clock is not closed, whatever the log was once recorded at or the closing is dated") {
    OnceAhead s;
    const CloseMonth march{month_of(day("2026-03-01")), ""};
    auto early = s.try_write(march);
    REQUIRE_FALSE(early.ok());
    CHECK(early.refusal().code == Code::in_future);
    CHECK(has(early.refusal().what, "2026-03 has not ended"));
    CHECK_FALSE(s.try_write(CloseMonth{month_of(day("2026-04-01")), ""}).ok());
    s.now = instant("2026-04-02T09:00:00.000Z");
    CHECK(s.try_write(march, "2026-03-20").refusal().code == Code::in_future);
    CHECK(s.try_write(march).ok());
  }

  TEST_CASE("what a rule holds is not free because the log was once recorded after its day") {
    TestBook b("bay", 4, "2026-01-05T09:00:00.000Z");
    b.write(ChooseRules{"us-federal", day("2026-01-01"), "", ""});
    const PlaceId drum = b.place("drum-coolant", Role::waste, "180L", {"coolant"});
    b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "20L", {},
                           FluidId{find_class("coolant")->number}));
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L");
    m.note = "driver was Bram";
    const EntryId pickup = b.write(m).entry.id;
    const Instant right = b.now;
    b.now = instant(kLeapt);
    b.write(pan("pan-1"));
    b.now = right;
    Erasure e;
    e.entry = pickup;
    e.field = "note";
    const auto held = b.try_write(e);
    REQUIRE_FALSE(held.ok());
    CHECK(has(held.refusal().what, "held by a rule"));
  }

  TEST_CASE(
      "what a clock that leapt ahead would free is erased only when somebody answered for the clock") {
    TestBook b("bay", 4, "2026-01-05T09:00:00.000Z");
    b.write(ChooseRules{"us-federal", day("2026-01-01"), "", ""});
    const PlaceId drum = b.place("drum-coolant", Role::waste, "180L", {"coolant"});
    b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "20L", {},
                           FluidId{find_class("coolant")->number}));
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "10L");
    m.note = "driver was Bram";
    Erasure e;
    e.entry = b.write(m).entry.id;
    e.field = "note";
    b.now = instant(kLeapt);
    const std::string before = b.dump();
    const auto leapt = b.try_write(e);
    REQUIRE_FALSE(leapt.ok());
    CHECK(
        leapt.refusal().what ==
        "1 text was held by a rule on 2026-01-05, the day of the last entry, and is free only because the clock of this machine says 2039-01-01");
    CHECK(has(leapt.refusal().instead, "--clock-is-right"));
    CHECK(difference(before, b.dump()) == "");
    Stamp answered = b.stamp();
    answered.clock_is_right = true;
    CHECK(b->append(e, answered).ok());
  }

  TEST_CASE(
      "a clock in a year in which none can stand begins no book, writes no entry, continues no copy and is no today") {
    TestBook b;
    b.write(pan("pan-1"));
    const std::string before = b.dump();
    for (const char* at :
         {"1970-01-01T00:00:00.000Z", "1980-01-01T00:00:00.000Z", "2024-12-31T23:59:59.999Z",
          "2100-01-01T00:00:00.000Z", "2106-02-07T06:28:15.000Z"}) {
      CAPTURE(at);
      Stamp s;
      s.now = instant(at);
      s.on = day("2026-03-05");
      const auto r = b->append(pan("pan-2"), s);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::not_allowed);
      CHECK(has(r.refusal().what, std::string(at).substr(0, 10)));
      CHECK(has(r.refusal().instead, "set right"));
      CHECK_FALSE(b->today(s.now).ok());
      CHECK_FALSE(clock_against(b.book(), s.now).ok());
      const Folder f;
      CHECK_FALSE(Book::start(f.file("new.baybook"), b->settings(), s.now, repeatable(3)).ok());
      CHECK_FALSE(std::filesystem::exists(f.file("new.baybook")));
      BackupOptions o;
      o.now = s.now;
      CHECK_FALSE(continue_as(b.book(), f.file("copy.baybook"), "van", o).ok());
      CHECK_FALSE(std::filesystem::exists(f.file("copy.baybook")));
      // A copy is made all the same: nothing is judged by its name.
      CHECK(backup(b.book(), f.file("backup.baybook"), o).ok());
      CHECK(backup_into(b.book(), f.file(""), 0, o).ok());
    }
    CHECK(difference(before, b.dump()) == "");
    for (const char* at : {"2025-01-01T00:00:00.000Z", "2099-12-31T23:59:59.999Z"})
      CHECK(b->today(instant(at)).ok());
  }

  TEST_CASE("a day that no record can have is refused, and one of long ago is said aloud") {
    TestBook b;
    Stamp s = b.stamp();
    s.on = Day{-30'000};  // 1887
    const auto r = b->append(pan("pan-1"), s);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::not_allowed);
    CHECK(has(r.refusal().what, "1887-11-12"));
    CHECK(has(all_of(b.write(pan("pan-2"), "1970-01-01")), "1970-01-01 is 56 years ago"));
    CHECK(all_of(b.write(pan("pan-3"), "1996-03-05")) == "");
    CHECK(prove(b.book())->findings.empty());
  }

  TEST_CASE(
      "a clock far ahead or behind is worth a question, and nobody is asked twice about the same") {
    TestBook b;
    b.write(pan("pan-1"));
    const auto asked = [&](const char* at) {
      const auto c = clock_against(b.book(), instant(at));
      REQUIRE_MESSAGE(c.ok(), why(c));
      return std::string(name_of(c->is)) + (c->ask ? ", ask" : "");
    };
    CHECK(asked("2026-03-05T09:40:30.000Z") == "fits");
    CHECK(asked("2026-04-19T09:40:00.000Z") == "fits");
    CHECK(asked("2026-04-19T09:41:30.000Z") == "ahead, ask");
    CHECK(asked("2026-03-05T09:36:30.000Z") == "behind");
    CHECK(asked("2026-03-05T09:34:30.000Z") == "behind, ask");
    CHECK(asked("2026-03-04T09:40:00.000Z") == "behind, ask");
    const Instant right = b.now;
    b.now = instant(kLeapt);
    const Receipt leapt = b.write(pan("pan-2"));
    CHECK(leapt.clock.is == ClockCheck::Is::ahead);
    CHECK(has(all_of(leapt), "baybook correct 3 --withdraw --why \"the clock was ahead\""));
    CHECK(asked("2026-03-05T09:45:00.000Z") == "behind, ask");
    b.now = right;
    b.write(pan("pan-3"));
    // Written by it once, it stands beside what it wrote then.
    CHECK(asked("2026-03-05T09:45:00.000Z") == "behind");
    CHECK(asked("2026-04-10T09:40:00.000Z") == "behind");
    CHECK(asked("2031-03-05T09:45:00.000Z") == "ahead, ask");
    CHECK(asked("2026-03-04T09:40:00.000Z") == "behind, ask");
    CHECK(asked("2039-01-01T00:00:02.000Z") == "ahead, ask");
    // An entry with a day of its own says nothing of the clock.
    b.write(pan("pan-4"), "2025-06-01");
    CHECK(asked("2026-03-05T09:45:00.000Z") == "behind");
  }

  TEST_CASE("a dry run with a clock far ahead names no entry, for none was written") {
    TestBook b;
    b.write(pan("pan-1"));
    Stamp s = b.stamp();
    s.now = instant(kLeapt);
    s.dry_run = true;
    const auto r = b->append(pan("pan-2"), s);
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(has(all_of(*r), "4684 days ago"));
    CHECK_FALSE(has(all_of(*r), "correct"));
  }

  TEST_CASE(
      "a dry run that may have a digit too many names no entry, and what is written names its own") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const auto reading = [&](const char* text) {
      Odometer d;
      d.car = car;
      d.reading = *parse_distance(text, Units{});
      return Draft(d);
    };
    b.write(reading("52600km"));
    Stamp s = b.stamp();
    s.dry_run = true;
    const auto dry = b->append(reading("526000km"), s);
    REQUIRE_MESSAGE(dry.ok(), why(dry));
    CHECK(has(all_of(*dry), "did a digit slip?"));
    CHECK_FALSE(has(all_of(*dry), "baybook correct"));
    CHECK(has(all_of(b.write(reading("526000km"))), "baybook correct 4 --odo"));
  }

  TEST_CASE(
      "what belongs to a job that a clock dated ahead is refused with what takes the job away from there, and a day of the past with --on") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const PlaceId pan_1 = b.place("pan-1", Role::hold_catch, "20L");
    const Instant right = b.now;
    b.now = instant(kLeapt);
    const JobId ahead = b.job(car);
    b.now = right;
    const Draft drain = TestBook::move(MoveVerb::drain, b.coolant(car), pan_1, "5L", ahead);
    const auto refused = b.try_write(drain);
    REQUIRE_FALSE(refused.ok());
    CHECK(
        refused.refusal().instead ==
        "baybook correct 4 --withdraw --with-dependants --why \"the clock was ahead\"  # then it again on its day");
    b.write(withdrawal(EntryId{ahead.n}));
    const JobId again = b.job(car);
    CHECK(b.try_write(TestBook::move(MoveVerb::drain, b.coolant(car), pan_1, "5L", again)).ok());
    CHECK(b.try_write(TestBook::move(MoveVerb::drain, b.coolant(car), pan_1, "5L", again),
                      "2026-03-01")
              .refusal()
              .instead == "--on 2026-03-05");
  }

  TEST_CASE(
      "what a clock that was ahead dated wrongly is withdrawn today and written again on its day") {
    OnceAhead s;
    REQUIRE(s.day_of(s.leapt) == "2039-01-01");
    const auto taken = s.try_write(withdrawal(s.leapt));
    REQUIRE_MESSAGE(taken.ok(), why(taken));
    CHECK(s.day_of(taken->entry.id) == "2026-03-05");
    CHECK(s.level(s.can) == 0);
    const Receipt again = s.write(s.receive("20L"), "2026-03-05");
    CHECK(s.level(s.can) == 20 * L);
    // Nothing is left that is dated after today, so nothing of it is said.
    CHECK_FALSE(has(all_of(again), "entries --from"));
    // A day before today is still no day for a correction of something later.
    CHECK(s.try_write(withdrawal(again.entry.id), "2026-03-04").refusal().code ==
          Code::not_allowed);
  }

  TEST_CASE(
      "a correction that would stand before another of the same entry is refused with what makes room for it") {
    OnceAhead s;
    const EntryId target = s.write(s.receive("5L")).entry.id;
    const auto corrected = [&](const char* amount) {
      Correction c;
      c.target = target;
      c.patch.amount = litres(amount);
      c.why = "read the jug again";
      return Draft(c);
    };
    const Instant right = s.now;
    s.now = instant("2039-02-01T00:00:00.000Z");
    const EntryId later = s.write(corrected("6L")).entry.id;
    s.now = right;
    const auto before = s.try_write(corrected("7L"));
    REQUIRE_FALSE(before.ok());
    CHECK(before.refusal().instead == "baybook correct " + std::to_string(later.number()) +
                                          " --withdraw --why \"...\"  # then the same again");
    s.write(withdrawal(later));
    s.write(corrected("7L"));
    CHECK(s.level(s.can) == 27 * L);
    // By a day that was typed, too: it was written before, and changed nothing.
    s.now.ms += 2 * std::int64_t{86'400'000};
    s.write(corrected("8L"));
    const auto typed = s.try_write(corrected("9L"), "2026-03-06");
    REQUIRE_FALSE(typed.ok());
    CHECK(typed.refusal().instead == "without --on and --at");
    s.write(corrected("9L"));
    CHECK(s.level(s.can) == 29 * L);
  }

  TEST_CASE("a refusal that comes from what is dated after today says so") {
    OnceAhead s;
    const PlaceId other = s.place("can-2", Role::stock, "60L", {"coolant"});
    const auto r = s.try_write(TestBook::move(MoveVerb::decant, s.can, other, "5L"));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::would_overdraw);
    CHECK(
        has(r.refusal().why,
            "what is dated after today has not happened yet (baybook entries --from 2026-03-06)"));
    s.write(withdrawal(s.leapt));
    CHECK_FALSE(has(s.try_write(TestBook::move(MoveVerb::decant, s.can, other, "5L")).refusal().why,
                    "dated after today"));
  }

  TEST_CASE(
      "entries of another installation with a clock far ahead move the order and never our day, and "
      "it is said") {
    TestBook bay("bay", 1);
    TestBook office("office", 2);
    bay.write(pan("pan-1"));
    office.now = instant(kLeapt);
    office.write(pan("pan-9"));
    for (const Carried& e : carry_out(office->inside())) bring_in(bay->inside(), e);
    const Receipt r = bay.write(pan("pan-2"));
    CHECK(r.clock.is == ClockCheck::Is::behind);
    CHECK(has(all_of(r), "4684 days before entry 2@office (2039-01-01 00:00)"));
    CHECK(has(all_of(r), "if it is right, the one of office is ahead"));
    CHECK(has(r.body, "\"happened\":\"2026-03-05\""));
    // What is written here knowing of that entry comes after it.
    CHECK(has(r.body, "\"recorded\":\"2039-01-01T00:00:01.001Z\""));
    // The furthest that a file can say moves no chain beyond what can be written.
    CHECK(prove(bay.book())->findings.empty());
  }
}
