#include "support/test_book.hpp"

#include <map>

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/correct") {
  struct CorrectShop : TestBook {
    PlaceId pan = place("pan-1", Role::hold_catch, "20L");
    PlaceId keep = place("keep-1", Role::reuse, "20L");
    CarId tern = car("MARSH-07");
    JobId open = job(tern);
    EntryId drained = write(move(MoveVerb::drain, coolant(tern), pan, "5.4L", open)).entry.id;

    Result<Receipt> correct(EntryId target, const std::function<void(Correction&)>& with) {
      Correction c;
      c.target = target;
      c.why = "misread the bucket";
      with(c);
      return try_write(c);
    }
    std::int64_t march_drained() {
      const auto t = totals(book(), day("2026-03-01"), day("2026-03-31"));
      REQUIRE(t.ok());
      return t->rows.empty() ? 0 : t->rows.front().drained.best;
    }
  };

  TEST_CASE("a replaced amount is the amount everywhere, at the entry's own place in time") {
    CorrectShop s;
    const auto r = s.correct(s.drained, [](Correction& c) { c.patch.amount = litres("5.2L"); });
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(s.level(s.pan) == 5'200'000'000);
    CHECK(s.march_drained() == 5'200'000'000);
    const auto v = entry(s.book(), s.drained);
    REQUIRE(v.ok());
    CHECK(v->summary == "drained 5.2 L coolant into pan-1");
    CHECK(v->body.find("5400000000") != std::string::npos);  // the log itself is never edited
    REQUIRE(v->corrected_by.size() == 1);
    CHECK(v->corrected_by.front().id == r->entry.id);
  }

  TEST_CASE("corrected words stand in every list, and a withdrawn correction gives back what stood before it") {
    CorrectShop s;
    const auto r = s.correct(EntryId{s.open.n}, [](Correction& c) { c.patch.text = "loses coolant"; });
    REQUIRE_MESSAGE(r.ok(), why(r));
    const auto complaint = [&] {
      const auto all = jobs(s.book(), true);
      REQUIRE(all.ok());
      REQUIRE(all->size() == 1);
      return all->front().complaint;
    };
    CHECK(complaint() == "loses coolant");
    CHECK(job(s.book(), s.open)->complaint == "loses coolant");
    REQUIRE(s.correct(r->entry.id, [](Correction& c) { c.withdraw = true; }).ok());
    CHECK(complaint() != "loses coolant");
    CHECK(complaint() == job(s.book(), s.open)->complaint);
  }

  TEST_CASE("a correction tells what was said before, what holds now, and every level that changed with it") {
    CorrectShop s;
    const auto r = s.correct(s.drained, [&](Correction& c) {
      c.patch.amount = litres("5.2L");
      c.patch.into = s.keep;
    });
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(r->was == "drained 5.4 L coolant into pan-1");
    CHECK(r->now == "drained 5.2 L coolant into keep-1");
    std::map<std::string, std::int64_t> levels;
    for (const LevelAfter& l : r->levels) levels[l.name] = l.best;
    CHECK(levels.size() == 3);
    CHECK(levels["pan-1"] == 0);
    CHECK(levels["keep-1"] == 5'200'000'000);
    CHECK(levels.contains("MARSH-07 coolant"));
    const auto gone = s.correct(r->entry.id, [](Correction& c) { c.withdraw = true; });
    REQUIRE_MESSAGE(gone.ok(), why(gone));
    const auto withdrawn = s.correct(s.drained, [](Correction& c) { c.withdraw = true; });
    REQUIRE_MESSAGE(withdrawn.ok(), why(withdrawn));
    CHECK(withdrawn->was == "drained 5.4 L coolant into pan-1");
    CHECK(withdrawn->now == "withdrawn");
    CHECK(withdrawn->levels.size() == 2);
  }

  TEST_CASE("a withdrawn entry moves nothing, and comes back when its correction is withdrawn") {
    CorrectShop s;
    const auto r = s.correct(s.drained, [](Correction& c) { c.withdraw = true; });
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(s.level(s.pan) == 0);
    CHECK(s.march_drained() == 0);
    CHECK(entry(s.book(), s.drained)->withdrawn);
    const auto back = s.correct(r->entry.id, [](Correction& c) { c.withdraw = true; });
    REQUIRE_MESSAGE(back.ok(), why(back));
    CHECK(s.level(s.pan) == 5'400'000'000);
    CHECK(s.march_drained() == 5'400'000'000);
    CHECK_FALSE(entry(s.book(), s.drained)->withdrawn);
  }

  TEST_CASE("of two corrections the later in effect order holds, and both are listed") {
    CorrectShop s;
    REQUIRE(s.correct(s.drained, [](Correction& c) { c.patch.amount = litres("5.2L"); }).ok());
    REQUIRE(s.correct(s.drained, [](Correction& c) { c.patch.amount = litres("5.1L"); }).ok());
    CHECK(s.level(s.pan) == 5'100'000'000);
    CHECK(entry(s.book(), s.drained)->corrected_by.size() == 2);
    // One that was withdrawn put nothing right.
    REQUIRE(s.correct(entry(s.book(), s.drained)->corrected_by.back().id, [](Correction& c) { c.withdraw = true; }).ok());
    CHECK(entry(s.book(), s.drained)->corrected_by.size() == 1);
    REQUIRE(s.correct(entry(s.book(), s.drained)->corrected_by.back().id, [](Correction& c) { c.withdraw = true; }).ok());
    CHECK(entry(s.book(), s.drained)->corrected_by.empty());
    CHECK(s.level(s.pan) == 5'400'000'000);
  }

  TEST_CASE("a correction that breaks what stands on it is refused with the list, and withdraws it together when asked") {
    CorrectShop s;
    const EntryId filtered = s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "5L")).entry.id;
    const std::string before = s.dump();
    const auto r = s.correct(s.drained, [](Correction& c) { c.patch.amount = litres("4L"); });
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::has_dependants);
    CHECK(r.refusal().what.find("entry " + std::to_string(filtered.number())) != std::string::npos);
    CHECK(difference(before, s.dump()) == "");
    for (const bool withdraw : {false, true}) {
      CAPTURE(withdraw);
      CorrectShop t;
      const EntryId f = t.write(TestBook::move(MoveVerb::filter, t.pan, t.keep, "5L")).entry.id;
      const auto both = t.correct(t.drained, [&](Correction& c) {
        c.withdraw = withdraw;
        if (!withdraw) c.patch.amount = litres("4L");
        c.with_dependants = true;
      });
      REQUIRE_MESSAGE(both.ok(), why(both));
      // Named with what it said, so that it can be written again.
      REQUIRE(both->warnings.size() == 1);
      CHECK(both->warnings[0].starts_with("withdrawn with it: entry " + std::to_string(f.number()) + " (filtered 5 L"));
      CHECK(t.level(t.keep) == 0);
      CHECK(t.level(t.pan) == (withdraw ? 0 : 4 * L));
      CHECK(entry(t.book(), f)->withdrawn);
      const std::string live = t.dump(true);
      REQUIRE(t.book().rebuild().ok());
      CHECK(difference(live, t.dump(true)) == "");
    }
  }

  TEST_CASE("a definition that others name is not withdrawn without them") {
    CorrectShop s;
    for (const std::int64_t target : {s.pan.n, s.tern.n, s.open.n}) {
      CAPTURE(EntryId{target}.number());
      const std::string before = s.dump();
      const auto r = s.correct(EntryId{target}, [](Correction& c) { c.withdraw = true; });
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::has_dependants);
      CHECK(difference(before, s.dump()) == "");
    }
    const auto r = s.correct(EntryId{s.tern.n}, [](Correction& c) {
      c.withdraw = true;
      c.with_dependants = true;
    });
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(s.level(s.pan) == 0);
    CHECK(s->find_car("MARSH-07").refusal().code == Code::not_found);
  }

  TEST_CASE("a withdrawal is not taken back into a job that was closed again, a recheck that was settled, or a name that was given away") {
    CorrectShop s;
    const auto withdraw = [&](EntryId e) {
      return s.correct(e, [](Correction& c) { c.withdraw = c.with_dependants = true; });
    };
    const auto refused = [&](EntryId e, const std::string& what) {
      const std::string before = s.dump();
      const auto r = withdraw(e);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::already_there);
      CHECK_MESSAGE(r.refusal().what.find(what) != std::string::npos, r.refusal().what);
      CHECK(difference(before, s.dump()) == "");
      // What it says to type lets it hold again.
      const std::string& hint = r.refusal().instead;
      REQUIRE(hint.starts_with("baybook correct "));
      const EntryId other = s.book().find_entry(hint.substr(16, hint.find(' ', 16) - 16)).value();
      REQUIRE(withdraw(other).ok());
      const auto again = withdraw(e);
      CHECK_MESSAGE(again.ok(), why(again));
    };
    CloseJob close;
    close.job = s.open;
    close.as_is = "as it is";
    close.rechecks = {Recheck{"level cold", 3, {}}};
    const EntryId first = s.write(close).entry.id;
    const EntryId reopened = withdraw(first)->entry.id;
    s.write(close);
    refused(reopened, "entry " + std::to_string(first.number()) + " would hold again, and job 1 was closed again by entry ");

    RecheckDone looked;
    looked.closing = first;
    looked.good = false;
    looked.note = "down by a finger";
    const EntryId bad = s.write(looked).entry.id;
    const EntryId unseen = withdraw(bad)->entry.id;
    looked.good = true;
    s.write(looked);
    refused(unseen, "its recheck was settled by entry ");

    for (const char* what : {"place", "person", "car", "fluid"}) {
      CAPTURE(what);
      const auto make = [&] {
        if (what == std::string_view("place")) return EntryId{s.place("pan-9", Role::hold_catch, "20L").n};
        if (what == std::string_view("fluid")) return EntryId{s.fluid("violet-9", "coolant").n};
        if (what == std::string_view("car")) return EntryId{s.car("REED-09").n};
        NewPerson p;
        p.name = "Oona Reed";
        return s.write(p).entry.id;
      };
      const EntryId slip = withdraw(make())->entry.id;
      make();
      refused(slip, "was given by entry ");
    }
  }

  TEST_CASE("what puts a recheck off stands on the closing that set it") {
    CorrectShop s;
    CloseJob close;
    close.job = s.open;
    close.as_is = "as it is";
    close.rechecks = {Recheck{"level cold", 3, {}}, Recheck{"noise", 5, {}}};
    const EntryId closing = s.write(close).entry.id;
    PutOff off;
    off.closing = closing;
    off.recheck = 2;
    off.until = day("2026-05-20");
    off.why = "keeper abroad";
    const EntryId waits = s.write(off).entry.id;
    const auto alone = s.correct(closing, [](Correction& c) { c.withdraw = true; });
    REQUIRE_FALSE(alone.ok());
    CHECK(alone.refusal().code == Code::has_dependants);
    CHECK(alone.refusal().what.find("on entry " + std::to_string(closing.number()) + ": " + std::to_string(waits.number())) != std::string::npos);
    REQUIRE(s.correct(closing, [](Correction& c) { c.withdraw = c.with_dependants = true; }).ok());
    CHECK(entry(s.book(), waits)->withdrawn);
  }

  TEST_CASE("a plate or a name that is put right is one that could have been given") {
    CorrectShop s;
    const auto rename = [&](EntryId e, const char* text) { return s.correct(e, [&](Correction& c) { c.patch.text = text; }); };
    const CarId other = s.car("REED-09");
    NewPerson p;
    p.name = "Oona Reed";
    s.write(p);
    p.name = "Pell Marsh";
    const EntryId pell = s.write(p).entry.id;
    for (const char* text : {"MARSH-07", "marsh 07", "car:3", "-REED", "--"}) {
      CAPTURE(text);
      const std::string before = s.dump();
      CHECK_FALSE(rename(EntryId{other.n}, text).ok());
      CHECK(difference(before, s.dump()) == "");
      NewCar made;
      made.plate = text;
      CHECK_FALSE(s.try_write(made).ok());
      CarChange change;
      change.car = other;
      change.plate = text;
      CHECK_FALSE(s.try_write(change).ok());
    }
    CHECK(rename(pell, "Oona Reed").refusal().code == Code::already_there);
    CHECK(rename(pell, "person:5").refusal().code == Code::unclear);
    CHECK(rename(pell, "Pell Marsh").ok());
    CHECK(rename(EntryId{other.n}, "REED-10").ok());
    CHECK(s->find_car("REED-10").value() == other);
    // What it wore once may be another's by now.
    CarChange change;
    change.car = other;
    change.plate = "REED-11";
    s.write(change);
    const CarId heir = s.car("HEIR-01");
    CHECK(rename(EntryId{other.n}, "HEIR-01").ok());
    CHECK(s->find_car("HEIR-01").ok());
    CHECK(heir.n != other.n);
  }

  TEST_CASE("a reading that would run backwards now does not hold again") {
    CorrectShop s;
    const auto read = [&](const char* on, std::int64_t km) {
      Odometer o;
      o.car = s.tern;
      o.reading = Distance{km * 1000, std::to_string(km) + "km"};
      return s.write(o, on).entry.id;
    };
    const EntryId high = read("2026-03-01", 5000);
    const auto gone = s.correct(high, [](Correction& c) { c.withdraw = true; });
    REQUIRE(gone.ok());
    read("2026-03-02", 4000);
    const auto back = s.correct(gone->entry.id, [](Correction& c) { c.withdraw = true; });
    REQUIRE_FALSE(back.ok());
    CHECK(back.refusal().code == Code::runs_backwards);
    CHECK(back.refusal().what.find("would hold again: 5000 km is more than the reading after it, 4000 km") != std::string::npos);
  }

  TEST_CASE("a private text is corrected beside the log, and a corrected correction keeps it") {
    CorrectShop s;
    Work w;
    w.job = s.open;
    w.text = "bled onec";
    const EntryId id = s.write(w).entry.id;
    REQUIRE(s.correct(id, [](Correction& c) { c.patch.text = "bled once"; }).ok());
    CHECK(entry(s.book(), id)->text == "bled once");
    CHECK(entry(s.book(), id)->body.find("onec") == std::string::npos);
  }

  TEST_CASE("a correction says why, names something to change, and never touches the opening") {
    CorrectShop s;
    Correction c;
    c.target = s.drained;
    c.withdraw = true;
    CHECK(s.try_write(c).refusal().code == Code::wrong_usage);
    c.why = "slip";
    c.withdraw = false;
    CHECK(s.try_write(c).refusal().code == Code::wrong_usage);
    c.patch.code = "P0217";
    CHECK(s.try_write(c).refusal().code == Code::not_allowed);
    c.target = s->find_entry("1").value();
    c.withdraw = true;
    c.patch = {};
    CHECK(s.try_write(c).refusal().code == Code::not_allowed);
  }

  TEST_CASE("a correction never turns litres into kilograms") {
    CorrectShop s;
    const std::string before = s.dump();
    const auto r = s.correct(s.drained, [](Correction& c) { c.patch.amount = litres("5kg"); });
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::unclear);
    CHECK(r.refusal().what.find("another kind of quantity") != std::string::npos);
    CHECK(difference(before, s.dump()) == "");
  }

  TEST_CASE("the reason of what was put off, or settled, is not replaced: such an entry is withdrawn and written again") {
    CorrectShop s;
    Schedule plan;
    Interval i;
    i.task = "coolant";
    i.months = 24;
    i.source = "invented";
    i.car = s.tern;
    plan.intervals.push_back(i);
    s.write(plan);
    TaskDone done;
    done.car = s.tern;
    done.task = "coolant";
    s.write(done);
    PutOff p;
    p.car = s.tern;
    p.task = "coolant";
    p.until = day("2028-06-01");
    p.why = "the keeper is abroad";
    const EntryId off = s.write(p).entry.id;
    const PlaceId second = s.place("pan-2", Role::hold_catch, "20L");
    const EntryId apart = s.write(Settle{EntryId{s.pan.n}, EntryId{second.n}, false, "two pans"}).entry.id;
    for (const EntryId target : {off, apart}) {
      const std::string before = s.dump();
      const auto r = s.correct(target, [](Correction& c) { c.patch.text = "another reason"; });
      REQUIRE(!r.ok());
      CHECK(r.refusal().code == Code::not_allowed);
      CHECK(r.refusal().instead.find("--withdraw") != std::string::npos);
      CHECK(difference(before, s.dump()) == "");
    }
  }
}
