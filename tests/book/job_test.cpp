#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/job") {
  // The worked example of docs/a-job-by-hand.md: drain 5.4, filtered and put back 4.2, spilled 0.5..1.2, new 1.9.
  struct Example : TestBook {
    PlaceId pan = place("pan-1", Role::hold_catch, "20L");
    PlaceId keep = place("keep-1", Role::reuse, "20L");
    PlaceId can = place("can-1", Role::stock, "20L");
    PlaceId drum = place("drum-coolant", Role::waste, "180L", {"coolant"});
    FluidId oat = fluid("oat-violet", "coolant");
    CarId tern = car("MARSH-07");
    JobId job17{};
    Example() {
      write(move(MoveVerb::receive, kSupplier, can, "20L", {}, oat));
      job17 = job(tern);
      write(move(MoveVerb::drain, coolant(tern), pan, "5.4L", job17));
      write(move(MoveVerb::filter, pan, keep, "4.2L"));
      write(move(MoveVerb::spill, coolant(tern), kGround, "0.5..1.2L", job17));
      write(move(MoveVerb::fill, keep, coolant(tern), "4.2L", job17));
      write(move(MoveVerb::fill, can, coolant(tern), "1.9L", job17));
    }
  };

  TEST_CASE("what left the circuit is accounted for to the last nanolitre") {
    Example e;
    const auto view = job(e.book(), e.job17);
    REQUIRE_MESSAGE(view.ok(), why(view));
    REQUIRE(view->accounts.size() == 1);
    const JobAccount& a = view->accounts.front();
    CHECK(a.left.best == 6'250'000'000);
    CHECK(a.left.low == 5'900'000'000);
    CHECK(a.left.high == 6'600'000'000);
    CHECK(a.put_back.best == 4'200'000'000);
    CHECK(a.undecided.best == 1'200'000'000);
    CHECK(a.gone.best == 850'000'000);
    CHECK(a.put_back.best + a.kept.best + a.undecided.best + a.to_waste.best + a.shipped.best + a.gone.best + a.missing.best + a.difference.best == a.left.best);
    CHECK(a.entered_back.best == 4'200'000'000);
    CHECK(a.entered_new.best == 1'900'000'000);
    CHECK(a.change.best == -150'000'000);
    CHECK(a.change.low == -500'000'000);
    CHECK(a.change.high == 200'000'000);
    CHECK(a.undecided_in == std::vector<std::string>{"pan-1"});
    // The circuit holds what went in, and what came out of it unseen before is neither more nor less than what left.
    CHECK(e.level(e.coolant(e.tern)) == 6'100'000'000);
    CHECK(e.level(kBefore) == -6'250'000'000);
  }

  TEST_CASE("a job whose accounts agree within their bounds closes, and what remains in the pan is followed to the drum") {
    Example e;
    CloseJob c;
    c.job = e.job17;
    c.result = "no leak after warm-up";
    e.write(c);
    e.write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "all"));
    const auto view = job(e.book(), e.job17);
    REQUIRE(view.ok());
    CHECK(view->accounts.front().undecided.best == 0);
    CHECK(view->accounts.front().to_waste.best == 1'200'000'000);
    CHECK(view->closed.has_value());
  }

  std::string told(const JobAccount& a) {
    std::string out = a.circuit;
    for (const JobAccount::Figure& f : {a.left, a.put_back, a.kept, a.undecided, a.to_waste, a.shipped, a.gone, a.missing, a.difference, a.change}) {
      out += " " + std::to_string(f.low) + "/" + std::to_string(f.best) + "/" + std::to_string(f.high);
    }
    for (const std::string& pan : a.undecided_in) out += " " + pan;
    return out;
  }

  TEST_CASE("a job as of an earlier day says where its fluid was on that day, and as of a late one where it is") {
    Example e;
    CloseJob c;
    c.job = e.job17;
    e.write(c);
    const JobAccount closed = job(e.book(), e.job17)->accounts.front();
    const auto on = [&](const char* d) { return told(job(e.book(), e.job17, day(d))->accounts.front()); };
    const std::string open = on("2026-03-31");
    CHECK(open == told(closed));
    e.now.ms += std::int64_t{60} * 86'400'000;
    e.write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "0.7L"), "2026-04-02");
    Gauge g;
    g.place = e.pan;
    g.level = parse_level("0.2L", Units{}).value();
    g.reason = "some of it was gone";
    e.write(g, "2026-04-03");
    e.write(TestBook::move(MoveVerb::decant, e.pan, e.drum, "all"), "2026-04-04");
    Movement away = TestBook::move(MoveVerb::pickup, e.drum, kReceiver, "all");
    away.lines.front().fate = Fate::recycled;
    e.write(away, "2026-04-05");
    CHECK(on("2026-04-01") == open);
    const JobAccount between = job(e.book(), e.job17, day("2026-04-02"))->accounts.front();
    CHECK(between.undecided.best == 500'000'000);
    CHECK(between.to_waste.best == 700'000'000);
    CHECK(between.undecided_in == std::vector<std::string>{"pan-1"});
    const JobAccount found = job(e.book(), e.job17, day("2026-04-03"))->accounts.front();
    CHECK(found.undecided.low == 200'000'000);
    CHECK(found.undecided.high == 200'000'000);
    CHECK(found.difference.best == 300'000'000);
    CHECK(job(e.book(), e.job17, day("2026-04-04"))->accounts.front().to_waste.best == 900'000'000);
    CHECK(on("2027-01-01") == told(job(e.book(), e.job17)->accounts.front()));
    CHECK(job(e.book(), e.job17)->accounts.front().shipped.best == 900'000'000);
  }

  TEST_CASE("what is spilled out of a pan with one open job's fluid in it is in that job's story") {
    Example e;
    const EntryId spilled = e.write(TestBook::move(MoveVerb::spill, e.pan, kGround, "0.2L")).entry.id;
    const auto view = job(e.book(), e.job17);
    REQUIRE(view.ok());
    CHECK(view->lines.back().ref.id == spilled);
    CHECK(view->accounts.front().gone.best == 1'050'000'000);
    // Nobody's and a closed job's stay with the place alone.
    CHECK(e.write(TestBook::move(MoveVerb::spill, e.can, kGround, "0.1L")).job_number == 0);
    CloseJob c;
    c.job = e.job17;
    e.write(c);
    CHECK(e.write(TestBook::move(MoveVerb::spill, e.pan, kGround, "0.1L")).job_number == 0);
  }

  // An open job on a car, a pan and a can of new coolant.
  struct OneJob : TestBook {
    PlaceId pan = place("pan-1", Role::hold_catch, "20L");
    PlaceId can = place("can-1", Role::stock, "20L");
    FluidId oat = fluid("oat-violet", "coolant");
    CarId tern = car("MARSH-07");
    JobId j{};
    OneJob() {
      write(move(MoveVerb::receive, kSupplier, can, "20L", {}, oat));
      j = job(tern);
    }
  };

  TEST_CASE("a job that took in more than it let out does not close until the rest is booked as missing or explained") {
    OneJob b;
    b.write(TestBook::move(MoveVerb::drain, b.coolant(b.tern), b.pan, "5L", b.j));
    b.write(TestBook::move(MoveVerb::fill, b.can, b.coolant(b.tern), "5.7L", b.j));
    CloseJob c;
    c.job = b.j;
    const std::string before = b.dump();
    const auto refused = b.try_write(c);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().code == Code::does_not_close);
    CHECK(refused.refusal().what.find("0.7 L more in than out") != std::string::npos);
    CHECK(b.dump() == before);
    c.book_missing = true;
    b.write(c);
    const auto view = job(b.book(), b.j);
    REQUIRE(view.ok());
    CHECK(view->accounts.front().change.best == 0);
    CHECK(view->accounts.front().gone.best == 0);
    CHECK(view->accounts.front().missing.best == 700'000'000);
  }

  TEST_CASE("a correction that leaves the account of a closed job open says so, unless the job was closed as it is") {
    for (const bool as_is : {false, true}) {
      CAPTURE(as_is);
      OneJob b;
      const EntryId drained = b.write(TestBook::move(MoveVerb::drain, b.coolant(b.tern), b.pan, "4L", b.j)).entry.id;
      b.write(TestBook::move(MoveVerb::fill, b.can, b.coolant(b.tern), "5L", b.j));
      CloseJob close;
      close.job = b.j;
      close.book_missing = !as_is;
      if (as_is) close.as_is = "was low before";
      const Receipt closed = b.write(close);
      Correction c;
      c.target = drained;
      c.why = "read the jug wrong";
      c.patch.amount = litres("5L");
      const Receipt r = b.write(c);
      if (as_is) {
        CHECK(r.warnings.empty());
        continue;
      }
      REQUIRE(r.warnings.size() == 1);
      CHECK(r.warnings[0] == "job 1 is closed and its account no longer agrees: coolant: 6 L left, 5 L entered, 1 L short; baybook job show 1, and baybook correct " + std::to_string(closed.entry.number()) + " --withdraw --why \"...\" to close it anew");
      // Put right again it is told no more, and opened again by taking that back it is told.
      c.patch.amount = litres("4L");
      const Receipt right = b.write(c);
      CHECK(right.warnings.empty());
      Correction undo;
      undo.target = right.entry.id;
      undo.why = "it was five after all";
      undo.withdraw = true;
      const Receipt open_again = b.write(undo);
      CHECK(open_again.warnings.size() == 2);
      CHECK(open_again.warnings.front().starts_with("what holds again: entry "));
      CHECK(open_again.warnings.back().find("its account no longer agrees") != std::string::npos);
    }
  }

  TEST_CASE("a closed job is not written on") {
    Example e;
    CloseJob c;
    c.job = e.job17;
    e.write(c);
    const std::string before = e.dump();
    const auto r = e.try_write(TestBook::move(MoveVerb::fill, e.can, e.coolant(e.tern), "1L", e.job17));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::not_allowed);
    CHECK(r.refusal().what.find("job 1 is closed") != std::string::npos);
    CHECK(e.dump() == before);
  }

  TEST_CASE("the month of the example adds up by hand") {
    Example e;
    const auto t = totals(e.book(), day("2026-03-01"), day("2026-03-31"));
    REQUIRE_MESSAGE(t.ok(), why(t));
    REQUIRE(t->rows.size() == 1);
    const TotalsRow& r = t->rows.front();
    CHECK(r.fluid == "coolant");
    CHECK(r.opening.best == 0);
    CHECK(r.drained.best == 5'400'000'000);
    CHECK(r.received.best == 20 * L);
    CHECK(r.put_back.best == 4'200'000'000);
    CHECK(r.new_used.best == 1'900'000'000);
    CHECK(r.lost_from_cars.best == 850'000'000);
    CHECK(r.lost_from_cars.estimated == 850'000'000);
    CHECK(r.lost_from_cars.low == 500'000'000);
    CHECK(r.closing.best == 5'400'000'000 + 20 * L - 4'200'000'000 - 1'900'000'000);
    CHECK(r.closing_undecided == 1'200'000'000);
    CHECK(r.closing_stock == 18'100'000'000);
  }

  TEST_CASE("last tells what was done, with which fluid, and what is left to watch") {
    Example e;
    CodeNote code;
    code.job = e.job17;
    code.code = "P0217";
    code.what = CodeNote::What::cleared;
    e.write(code);
    Fit fit;
    fit.job = e.job17;
    fit.part = "WP-7731";
    fit.description = "water pump";
    fit.lot = "L-19";
    auto one = parse_amount("1pcs", Units{});
    REQUIRE(one.ok());
    fit.quantity = *one;
    e.write(fit);
    CloseJob c;
    c.job = e.job17;
    c.rechecks.push_back({"coolant level cold", 3, {}});
    e.write(c);
    const auto l = last(e.book(), e.tern, "coolant");
    REQUIRE_MESSAGE(l.ok(), why(l));
    REQUIRE(l->circuits.size() == 1);
    CHECK(l->circuits.front().drained == 5'400'000'000);
    CHECK(l->circuits.front().put_back == 4'200'000'000);
    CHECK(l->circuits.front().new_in == 1'900'000'000);
    CHECK(l->circuits.front().lost == 850'000'000);
    REQUIRE(l->parts.size() == 1);
    CHECK(l->parts.front().text == "water pump");
    REQUIRE(l->codes.size() == 1);
    REQUIRE(l->watch.size() == 1);
    CHECK(l->watch.front().recheck.what == "coolant level cold");
    const auto who = fitted(e.book(), "wp7731", "l19");
    REQUIRE(who.ok());
    REQUIRE(who->size() == 1);
    CHECK(who->front().plate == "MARSH-07");
  }

  TEST_CASE("what earlier jobs left to watch is still there, newest first, with the day and the reading it counts from") {
    TestBook b;
    const CarId tern = b.car("MARSH-07");
    const auto visit = [&](const char* km, const char* what, int days) {
      OpenJob j;
      j.car = tern;
      j.odometer = parse_distance(km, Units{}).value();
      CloseJob c;
      c.job = JobId{b.write(j).entry.id.n};
      if (what != nullptr) c.rechecks.push_back({what, days == 0 ? std::nullopt : std::optional(days), days == 0 ? std::optional(parse_distance("50km", Units{}).value()) : std::nullopt});
      b.write(c);
      b.now.ms += 86'400'000;
      return c.job;
    };
    visit("88210km", "coolant level cold", 3);
    visit("88300km", "wheel nuts", 0);
    visit("88400km", nullptr, 0);
    const auto l = last(b.book(), tern);
    REQUIRE_MESSAGE(l.ok(), why(l));
    REQUIRE(l->watch.size() == 2);
    CHECK(l->watch[0].recheck.what == "wheel nuts");
    CHECK(l->watch[0].job == "2");
    CHECK(l->watch[0].odometer_metres == 88'300'000);
    CHECK(l->watch[1].recheck.what == "coolant level cold");
    CHECK(to_string(l->watch[1].closed) == "2026-03-05");
    // Withdrawing the closing takes its recheck along.
    Correction undo;
    undo.target = b->find_entry("4").value();
    undo.withdraw = true;
    undo.why = "wrong car";
    b.write(undo);
    const auto after = last(b.book(), tern);
    REQUIRE(after.ok());
    CHECK(after->watch.size() == 1);
  }

  TEST_CASE("a fault code that is read again after an earlier job cleared it came back, and last and history say so") {
    TestBook b;
    const CarId tern = b.car("MARSH-07");
    const auto note = [&](JobId job, const char* code, CodeNote::What what) {
      CodeNote n;
      n.job = job;
      n.code = code;
      n.what = what;
      b.write(n);
    };
    const JobId first = b.job(tern);
    note(first, "P0217", CodeNote::What::read);
    note(first, "P0217", CodeNote::What::cleared);
    note(first, "P0217", CodeNote::What::read);  // within the same job: the same story
    note(first, "P0217", CodeNote::What::cleared);
    CloseJob close;
    close.job = first;
    b.write(close);
    b.now.ms += 30 * std::int64_t{86'400'000};
    const JobId second = b.job(tern);
    note(second, "P0217", CodeNote::What::read);
    note(second, "P0300", CodeNote::What::read);
    const auto l = last(b.book(), tern);
    REQUIRE_MESSAGE(l.ok(), why(l));
    REQUIRE(l->codes.size() == 2);
    CHECK(l->codes[0].came_back == "cleared on job 1, 2026-03-05");
    CHECK(l->codes[1].came_back.empty());
    const auto told = history(b.book(), tern);
    REQUIRE(told.ok());
    int back = 0;
    for (const EntryView& v : *told) back += v.came_back.empty() ? 0 : 1;
    CHECK(back == 1);
  }

  TEST_CASE("a reading typed in the other unit is told in the book's unit with what was typed beside it") {
    TestBook b;
    OpenJob j;
    j.car = b.car("MARSH-07");
    j.odometer = parse_distance("54811mi", Units{}).value();
    CHECK(b.write(j).summary == "job 1 opened at 88210 km (typed 54811mi)");
    Odometer o;
    o.car = j.car;
    o.reading = parse_distance("88240km", Units{}).value();
    CHECK(b.write(o).summary == "odometer 88240 km");
  }
}
