// What one book took back while the other went on using it, and movements that a join bends into themselves.
#include "support/two_books.hpp"

#include <baybook/erase.hpp>
#include <baybook/returns.hpp>

#include <algorithm>
#include <set>

using namespace baybook;
using namespace baybook::test;

namespace {

Correction withdrawal(EntryId target) { return withdrawal_of(target); }

std::vector<Conflict> open_of(TestBook& b, Conflict::What what) { return listed(b, what); }

struct Shared : TwoBooks {
  // The first of what can be typed is typed in `b`: "baybook correct ENTRY --withdraw ...".
  void bring_back(TestBook& b) {
    const auto listed = open_of(b, Conflict::What::withdrawn);
    REQUIRE(listed.size() == 1);
    const std::string& typed = listed[0].instead.front();
    if (const std::string keep = "baybook settle keep "; typed.starts_with(keep)) {
      const auto holds = b.book().find_entry(typed.substr(keep.size()));
      REQUIRE_MESSAGE(holds.ok(), why(holds));
      b.write(Choice{*holds, ""});
      return;
    }
    REQUIRE(typed.starts_with("baybook correct "));
    REQUIRE(typed.find(" --withdraw") != std::string::npos);
    const auto entry = b.book().find_entry(typed.substr(16, typed.find(' ', 16) - 16));
    REQUIRE_MESSAGE(entry.ok(), why(entry));
    b.write(withdrawal(*entry));
  }
};

constexpr FluidId kOil{2};

}  // namespace

TEST_SUITE("book/conflicts") {
  TEST_CASE("of three things with one name every pair is settled before nothing is listed any more") {
    TestBook bay("bay", 61), office("office", 62), van("van", 63);
    for (TestBook* b : {&bay, &office, &van}) b->place("drum", Role::waste, "200L", {"engine-oil"});
    (void)taken(bay, file_of(office.book()));
    (void)taken(bay, file_of(van.book()));
    bay.now = std::max({bay.now, office.now, van.now});
    std::set<std::pair<EntryId, EntryId>> apart;
    for (int round = 0; round < 3; ++round) {
      const auto listed = open_of(bay, Conflict::What::place);
      REQUIRE_FALSE(listed.empty());
      const EntryId one = listed.front().entries.at(0).id;
      const EntryId other = listed.front().entries.at(1).id;
      CHECK(apart.insert(std::minmax(one, other)).second);
      Settle s;
      s.join = false;
      s.keep = one;
      s.other = other;
      s.why = "two drums";
      bay.write(s);
    }
    CHECK(open_of(bay, Conflict::What::place).empty());
  }

  TEST_CASE(
      "two closings, corrections, answers or pick-ups of which each was withdrawn by the other installation are listed, and either is brought back") {
    enum class Kind { closing, correction, recheck, pickup };
    for (const Kind kind : {Kind::closing, Kind::correction, Kind::recheck, Kind::pickup}) {
      CAPTURE(static_cast<int>(kind));
      Shared s;
      const EntryId filled =
          s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "20L", {}, kOil))
              .entry.id;
      CloseJob c;
      c.job = s.bay.job(s.car);
      Recheck look;
      look.what = "coolant level";
      look.after_days = 1;
      c.rechecks = {look};
      const EntryId done = s.bay.write(c).entry.id;
      s.both();
      s.bay.now.ms += std::int64_t{40} * 86'400'000;
      s.office.now = s.bay.now;
      const auto one = [&](TestBook& b, bool first) {
        if (kind == Kind::closing)
          return b.write(CloseMonth{month_of(day("2026-03-05")), ""}).entry.id;
        if (kind == Kind::pickup)
          return b.write(TestBook::move(MoveVerb::pickup, s.drum, kReceiver, "2L")).entry.id;
        if (kind == Kind::recheck) {
          RecheckDone d;
          d.closing = done;
          d.number = 1;
          d.good = first;
          d.note = "looked at";
          return b.write(d).entry.id;
        }
        Correction x;
        x.target = filled;
        x.patch.amount = litres(first ? "21L" : "22L");
        x.why = "read the jug wrong";
        return b.write(x).entry.id;
      };
      const EntryId of_bay = one(s.bay, true);
      const EntryId of_office = one(s.office, false);
      s.both();
      CHECK(open_of(s.bay, Conflict::What::withdrawn).empty());
      // Nobody waits for the other's answer.
      s.bay.write(withdrawal(of_office));
      s.office.write(withdrawal(of_bay));
      s.both();
      for (TestBook* b : {&s.bay, &s.office}) {
        const auto listed = open_of(*b, Conflict::What::withdrawn);
        REQUIRE(listed.size() == 1);
        CHECK_MESSAGE(listed[0].text.find("neither holds") != std::string::npos, listed[0].text);
        CHECK(listed[0].said.size() == 4);
      }
      // If neither is to hold, that is said; otherwise what is typed first brings one back.
      Settle apart;
      apart.join = false;
      apart.keep = of_bay;
      apart.other = of_office;
      apart.why = "neither was right";
      const EntryId said = s.bay.write(apart).entry.id;
      CHECK(open_of(s.bay, Conflict::What::withdrawn).empty());
      s.bay.write(withdrawal(said));
      s.bring_back(s.bay);
      CHECK(open_of(s.bay, Conflict::What::withdrawn).empty());
      if (kind == Kind::closing)
        CHECK(closed_month(s.bay.book(), month_of(day("2026-03-05")))->has_value());
      reads_well(s.bay);
    }
  }

  TEST_CASE("what one installation took back by itself, all of it, is not listed") {
    Shared s;
    s.bay.now.ms += std::int64_t{40} * 86'400'000;
    s.office.now = s.bay.now;
    const CloseMonth march{month_of(day("2026-03-05")), ""};
    const EntryId of_bay = s.bay.write(march).entry.id;
    const EntryId of_office = s.office.write(march).entry.id;
    s.both();
    s.bay.write(withdrawal(of_bay));
    s.bay.write(withdrawal(of_office));
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) CHECK(open_of(*b, Conflict::What::withdrawn).empty());
  }

  TEST_CASE("two answers to one recheck that differ are listed, and one of them is withdrawn") {
    Shared s;
    const JobId job = s.bay.job(s.car);
    CloseJob c;
    c.job = job;
    Recheck r;
    r.what = "coolant level";
    r.after_days = 1;
    c.rechecks = {r};
    const EntryId closing = s.bay.write(c).entry.id;
    s.both();
    RecheckDone d;
    d.closing = closing;
    d.number = 1;
    d.good = true;
    const EntryId good = s.bay.write(d).entry.id;
    d.good = false;
    d.note = "level low";
    const EntryId bad = s.office.write(d).entry.id;
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) {
      const auto listed = open_of(*b, Conflict::What::recheck);
      REQUIRE(listed.size() == 1);
      CHECK_MESSAGE(listed[0].text.starts_with("recheck 1"), listed[0].text);
      CHECK(listed[0].text.find("good by one and not good by another") != std::string::npos);
      CHECK(listed[0].entries.size() == 2);
    }
    CHECK(good != bad);
    s.bay.write(withdrawal(good));
    CHECK(open_of(s.bay, Conflict::What::recheck).empty());
  }

  TEST_CASE("two things that were joined are not kept apart before that is taken back, and the entry to take back is named") {
    Shared s;
    const PlaceId second = s.office.place("drum-2", Role::waste, "200L", {"engine-oil"});
    Settle join;
    join.keep = EntryId{s.drum.n};
    join.other = EntryId{second.n};
    const EntryId joined = s.office.write(join).entry.id;
    Settle apart = join;
    apart.join = false;
    apart.why = "they are two";
    const auto r = s.office.try_write(apart);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().instead == "baybook correct " + std::to_string(joined.number()) + " --withdraw --why \"...\"");
  }

  TEST_CASE("a place that one book withdrew while the other used it stops nothing, is listed with what brings it back, and comes back") {
    Shared s;
    const EntryId gone = s.bay.write(withdrawal(EntryId{s.drum.n})).entry.id;
    const EntryId used = s.office.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "3L", {}, kOil)).entry.id;
    s.both();
    CHECK(difference(s.bay.dump(true), s.office.dump(true)) == "");
    for (TestBook* b : {&s.bay, &s.office}) {
      reads_well(*b);
      CHECK(b->level(s.drum) == 3 * L);
      const auto listed = open_of(*b, Conflict::What::withdrawn);
      REQUIRE(listed.size() == 1);
      REQUIRE(listed[0].entries.size() == 3);
      CHECK(listed[0].entries[0].id.n == s.drum.n);
      CHECK(listed[0].entries[1].id == gone);
      CHECK(listed[0].entries[2].id == used);
      // A part of a month is summed from the flows, the whole month from the tally: the same figures.
      const auto month = totals(b->book(), day("2026-03-01"), day("2026-03-31"));
      const auto part = totals(b->book(), day("2026-03-02"), day("2026-03-30"));
      REQUIRE_MESSAGE(month.ok(), why(month));
      REQUIRE_MESSAGE(part.ok(), why(part));
      REQUIRE(month->rows.size() == 1);
      REQUIRE(part->rows.size() == 1);
      CHECK(month->rows[0].brought_in.best == 3 * L);
      CHECK(part->rows[0].brought_in.best == 3 * L);
    }
    // What names it can be corrected; nothing new is written on it.
    Correction c;
    c.target = used;
    c.why = "misread";
    c.patch.amount = litres("2L");
    s.office.write(c);
    const auto again = s.office.try_write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "1L", {}, kOil));
    REQUIRE(!again.ok());
    CHECK(again.refusal().what.find("was withdrawn") != std::string::npos);
    CHECK(!again.refusal().instead.empty());
    s.bring_back(s.office);
    s.to_bay();
    for (TestBook* b : {&s.bay, &s.office}) {
      reads_well(*b);
      CHECK(open_of(*b, Conflict::What::withdrawn).empty());
      CHECK(b->level(b->book().find_place("drum").value()) == 2 * L);
    }
  }

  TEST_CASE("a mark or a determination of the other book on a withdrawn place stops nothing either") {
    Shared s;
    s.bay.write(withdrawal(EntryId{s.drum.n}));
    PlaceMark m;
    m.place = s.drum;
    m.what = PlaceMark::What::retire;
    s.office.write(m);
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) {
      reads_well(*b);
      CHECK(open_of(*b, Conflict::What::withdrawn).size() == 1);
    }
  }

  TEST_CASE("a place that a determination names is not withdrawn without it") {
    Shared s;
    Determination d;
    d.stream = "waste-engine-oil";
    d.place = s.drum;
    d.hazardous = false;
    d.basis = Determination::Basis::knowledge;
    d.reason = "known";
    const EntryId determined = s.bay.write(d).entry.id;
    const auto no = s.bay.try_write(withdrawal(EntryId{s.drum.n}));
    REQUIRE(!no.ok());
    CHECK(no.refusal().code == Code::has_dependants);
    Correction c = withdrawal(EntryId{s.drum.n});
    c.with_dependants = true;
    s.bay.write(c);
    CHECK(entry(s.bay.book(), determined)->withdrawn);
    reads_well(s.bay);
  }

  TEST_CASE("what goes by another is not withdrawn without the entries that name it, and those that name the other stay") {
    Shared s;
    const PlaceId theirs = s.office.place("drum-2", Role::waste, "200L", {"engine-oil"});
    const EntryId named = s.office.write(TestBook::move(MoveVerb::discard, kSupplier, theirs, "3L", {}, kOil)).entry.id;
    const EntryId other = s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "5L", {}, kOil)).entry.id;
    s.both();
    const EntryId join = s.bay.write(Settle{EntryId{s.drum.n}, EntryId{theirs.n}, true, {}}).entry.id;
    const auto no = s.bay.try_write(withdrawal(EntryId{theirs.n}));
    REQUIRE(!no.ok());
    CHECK(no.refusal().code == Code::has_dependants);
    Correction c = withdrawal(EntryId{theirs.n});
    c.with_dependants = true;
    s.bay.write(c);
    CHECK(entry(s.bay.book(), named)->withdrawn);
    CHECK_FALSE(entry(s.bay.book(), other)->withdrawn);
    CHECK(s.bay.level(s.drum) == 5 * L);
    reads_well(s.bay);
    s.bay.write(withdrawal(join));
    reads_well(s.bay);
  }

  TEST_CASE("a fluid that one book withdrew while the other used it keeps its class for what moved, and is listed") {
    for (const bool withdrawn_first : {true, false}) {
      CAPTURE(withdrawn_first);
      Shared s;
      const auto withdraw = [&] { s.bay.write(withdrawal(EntryId{s.oat.n})); };
      if (withdrawn_first) withdraw();
      s.office.write(TestBook::move(MoveVerb::receive, kSupplier, s.can, "20L", {}, s.oat));
      if (!withdrawn_first) withdraw();
      s.both();
      CHECK(difference(s.bay.dump(true), s.office.dump(true)) == "");
      for (TestBook* b : {&s.bay, &s.office}) {
        reads_well(*b);
        CHECK(open_of(*b, Conflict::What::level).empty());
        CHECK(open_of(*b, Conflict::What::withdrawn).size() == 1);
        CHECK(totals(b->book(), day("2026-03-01"), day("2026-03-31"))->rows.front().of_class == "coolant");
      }
      s.bring_back(s.office);
      s.to_bay();
      for (TestBook* b : {&s.bay, &s.office}) {
        reads_well(*b);
        CHECK(open_of(*b, Conflict::What::withdrawn).empty());
      }
    }
  }

  TEST_CASE("a car that one book withdrew while the other opened a job on it is listed with the job") {
    Shared s;
    s.bay.write(withdrawal(EntryId{s.car.n}));
    const JobId job = s.office.job(s.car);
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) {
      reads_well(*b);
      const auto listed = open_of(*b, Conflict::What::withdrawn);
      REQUIRE(listed.size() == 1);
      CHECK(listed[0].entries.back().id.n == job.n);
    }
    s.bring_back(s.bay);
    CHECK(open_of(s.bay, Conflict::What::withdrawn).empty());
    CHECK(s.bay.book().find_car("MARSH-07").value() == s.car);
  }

  TEST_CASE("a join that makes a movement of the other book go from a place into itself is listed with both ways out") {
    Shared s;
    const PlaceId second = s.bay.place("drum-2", Role::waste, "200L", {"engine-oil"});
    s.bay.write(TestBook::move(MoveVerb::discard, kSupplier, second, "9L", {}, kOil));
    s.both();
    const EntryId moved = s.office.write(TestBook::move(MoveVerb::decant, second, s.drum, "4L")).entry.id;
    const EntryId join = s.bay.write(Settle{EntryId{s.drum.n}, EntryId{second.n}, true, {}}).entry.id;
    s.both();
    for (TestBook* b : {&s.bay, &s.office}) {
      reads_well(*b);
      const auto listed = open_of(*b, Conflict::What::movement);
      REQUIRE(listed.size() == 1);
      REQUIRE(listed[0].entries.size() == 2);
      CHECK(listed[0].entries[0].id == moved);
      CHECK(listed[0].entries[1].id == join);
      CHECK(listed[0].instead.size() == 2);
    }
    s.bay.write(withdrawal(join));
    CHECK(open_of(s.bay, Conflict::What::movement).empty());
    CHECK(s.bay.level(s.drum) == 4 * L);
    s.office.write(withdrawal(moved));
    CHECK(open_of(s.office, Conflict::What::movement).empty());
    CHECK(s.office.level(s.drum) == 9 * L);
  }

  TEST_CASE("a place that is to be gauged is named so that the command is taken, with this book's tag when two have the name") {
    TestBook bay("bay", 51), office("office", 52);
    const PlaceId keg = bay.place("keg", Role::waste, "10L", {"engine-oil"});
    office.place("keg", Role::waste, "10L", {"engine-oil"});
    (void)taken(office, file_of(bay.book()));
    office.now = bay.now;
    bay.write(TestBook::move(MoveVerb::discard, kSupplier, keg, "8L", {}, kOil));
    office.write(TestBook::move(MoveVerb::discard, kSupplier, keg, "7L", {}, kOil));
    (void)taken(bay, file_of(office.book()));
    const auto listed = open_of(bay, Conflict::What::level);
    REQUIRE(listed.size() == 1);
    CHECK(listed[0].instead[0].starts_with("baybook gauge keg@bay "));
    CHECK(bay.book().find_place("keg@bay").value() == keg);
  }

  TEST_CASE(
      "a split stands in one order in every book of the same entries, whatever each calls them") {
    Shared s;
    // Jobs of both installations: "1" here is "1@bay" there.
    for (TestBook* b : {&s.bay, &s.office, &s.bay, &s.office}) {
      b->now.ms += 600'000;
      const JobId job = b->job(s.car);
      b->write(TestBook::move(MoveVerb::drain, b->oil(s.car), s.drum, "1L", job));
      s.bay.now = s.office.now = std::max(s.bay.now, s.office.now);
      s.both();
    }
    // Two people of one name are two, and one whose name is gone is called otherwise in each book.
    for (TestBook* b : {&s.bay, &s.office}) {
      for (const char* name : {"Tam", "Oona"}) {
        NewPerson p;
        p.name = name;
        const PersonId who{b->write(p).entry.id.n};
        Stamp stamp = b->stamp();
        stamp.by = who;
        REQUIRE((*b)->append(TestBook::move(MoveVerb::discard, kSupplier, s.drum, "1L", {}, kOil),
                             stamp)
                    .ok());
        if (std::string_view(name) == "Oona") {
          Erasure e;
          e.person = who;
          REQUIRE(b->try_write(e).ok());
        }
      }
    }
    s.both();
    for (const SplitBy by : {SplitBy::job, SplitBy::person, SplitBy::car}) {
      CAPTURE(static_cast<int>(by));
      std::vector<std::vector<std::int64_t>> figures;
      for (TestBook* b : {&s.bay, &s.office}) {
        const auto rows = split_totals(b->book(), day("2026-03-01"), day("2026-03-31"), by);
        REQUIRE_MESSAGE(rows.ok(), why(rows));
        figures.emplace_back();
        for (const SplitRow& r : *rows) {
          // The number of a job without the tag of whoever opened it.
          if (by == SplitBy::job && r.key != "(none)") figures.back().push_back(std::stoll(r.key));
          figures.back().push_back(r.drained.best);
          figures.back().push_back(r.to_waste.best);
        }
        if (by == SplitBy::job) CHECK(rows->size() == 5);
        if (by == SplitBy::person) CHECK(rows->size() == 5);
      }
      CHECK(figures[0] == figures[1]);
    }
    // In the order in which they were opened, in both.
    for (TestBook* b : {&s.bay, &s.office}) {
      const auto rows = split_totals(b->book(), day("2026-03-01"), day("2026-03-31"), SplitBy::job);
      std::vector<std::string> keys;
      for (const SplitRow& r : *rows) keys.push_back(r.key);
      const bool bay = b == &s.bay;
      REQUIRE(keys.size() == 5);
      CHECK(keys[1].starts_with(bay ? "1 " : "1@bay "));
      CHECK(keys[2].find(bay ? "@office " : " MARSH") != std::string::npos);
      CHECK(keys[3].find(bay ? " MARSH" : "@bay ") != std::string::npos);
    }
  }
}
