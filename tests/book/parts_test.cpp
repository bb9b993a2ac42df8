// Parts that come off again: what the book knows of them, and what it does not.
#include "support/forged_file.hpp"
#include "support/refused.hpp"

#include "log/header.hpp"

#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;
using log::Value;
using State = FittedRow::State;

namespace {

Amount pieces(const std::string& n) { return parse_amount(n + "pcs", Units{}).value(); }

struct Parts : TestBook {
  CarId car = TestBook::car("MARSH-07");
  CarId other = TestBook::car("BRISK-9");
  JobId first = job(car);

  Fit fit(JobId on, const std::string& part = "WP-4471", const std::string& n = "1") {
    Fit f;
    f.job = on;
    f.part = part;
    f.quantity = pieces(n);
    return f;
  }
  Work work(JobId on, std::vector<TakenOut> out) {
    Work w;
    w.job = on;
    w.text = "taken off";
    w.takes_out = std::move(out);
    return w;
  }
  void next_day() { now.ms += 86'400'000; }
  JobId a_later_job() {
    next_day();
    return job(car);
  }
  std::vector<FittedRow> rows(const std::string& part = "WP-4471", AsOf as_of = {}) {
    const auto r = fitted(book(), part, "", as_of);
    REQUIRE_MESSAGE(r.ok(), why(r));
    return *r;
  }
  FittedRow only(AsOf as_of = {}) {
    const auto all = rows("WP-4471", as_of);
    REQUIRE(all.size() == 1);
    return all.front();
  }
  bool rebuilds() {
    const std::string before = dump(true);
    REQUIRE(book().rebuild().ok());
    return difference(before, dump(true)) == "";
  }
};

}  // namespace

TEST_SUITE("book/parts") {
  TEST_CASE(
      "a part that work takes out is carried no more, and every report says by what entry and "
      "since when") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    CHECK(b.only().state == State::in);
    const JobId later = b.a_later_job();
    const Receipt out = b.write(b.work(later, {{pump, {}}}));
    CHECK(out.summary == "work done, took out WP-4471 (entry 5)");
    const FittedRow row = b.only();
    CHECK(row.state == State::out);
    CHECK(row.left.best == 0);
    REQUIRE(row.came_off.size() == 1);
    CHECK(row.came_off[0].entry.id == out.entry.id);
    CHECK(row.came_off[0].job == "2");
    CHECK(row.came_off[0].quantity == "1 pc");
    CHECK(to_string(row.came_off[0].day) == "2026-03-06");
    // On the day before it was in.
    CHECK(b.only(day("2026-03-05")).state == State::in);
    const std::string told = "taken out by entry 7 on 2026-03-06";
    CHECK(entry(b.book(), pump)->came_off == told);
    CHECK(history(b.book(), b.car)->at(2).came_off == told);
    CHECK(history(b.book(), b.car, day("2026-03-05"))->at(2).came_off.empty());
    CHECK(job(b.book(), b.first)->lines.at(1).came_off == told);
    CHECK(line_of(*entry(b.book(), pump), "bay").what == "fitted 1 pc WP-4471 [" + told + "]");
    CHECK(b.rebuilds());
  }

  TEST_CASE("what the last job fitted and took out again is not told as fitted alone") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    b.write(b.work(b.first, {{pump, {}}}));
    const auto l = last(b.book(), b.car);
    REQUIRE(l.ok());
    REQUIRE(l->parts.size() == 1);
    CHECK(l->parts[0].came_off == "taken out by entry 6 on 2026-03-05");
  }

  TEST_CASE(
      "of several pieces some come off and the rest stays in, and no more than that comes off") {
    Parts b;
    const EntryId plugs = b.write(b.fit(b.first, "SP-8", "4")).entry.id;
    const JobId later = b.a_later_job();
    b.write(b.work(later, {{plugs, pieces("1")}}));
    FittedRow row = b.rows("SP-8").front();
    CHECK(row.state == State::in);
    CHECK(row.quantity == "4 pcs");
    CHECK(row.left.best == 3);
    CHECK(entry(b.book(), plugs)->came_off == "1 pc of it taken out by entry 7 on 2026-03-06");
    refused(b, b.work(later, {{plugs, pieces("4")}}), Code::not_allowed, "3 pcs of it are in");
    // The rest, whatever that is.
    Fit f = b.fit(later, "SP-9", "4");
    f.takes_out = {{plugs, {}}};
    CHECK(b.write(f).summary == "fitted 4 pcs SP-9, took out SP-8 (entry 5)");
    row = b.rows("SP-8").front();
    CHECK(row.state == State::out);
    REQUIRE(row.came_off.size() == 2);
    CHECK(row.came_off[1].quantity == "3 pcs");
    // Fewer than came off cannot have been fitted.
    Correction fewer;
    fewer.target = plugs;
    fewer.why = "counted again";
    fewer.patch.amount = pieces("2");
    CHECK(b.try_write(fewer).ok());
    b.write(Correction{b->find_entry("last").value(), true, {}, "no", false});
    const EntryId second = b.write(b.fit(later, "SP-8", "3")).entry.id;
    b.write(b.work(later, {{second, pieces("2")}}));
    fewer.target = second;
    fewer.patch.amount = pieces("1");
    refused(b, fewer, Code::has_dependants, "2 pcs of it came out");
    CHECK(b.rebuilds());
  }

  TEST_CASE(
      "a number that a later job fits to the car again leaves open whether the one before came "
      "off, and the same job does not") {
    Parts b;
    const EntryId left = b.write(b.fit(b.first, "BP-3")).entry.id;
    b.write(b.fit(b.first, "BP-3"));
    for (const FittedRow& r : b.rows("BP-3")) CHECK(r.state == State::in);
    const JobId later = b.a_later_job();
    // Somebody is asked, unless it is said that an old part came off.
    Fit again = b.fit(later, "BP-3");
    const Receipt r = b.write(again);
    REQUIRE(r.warnings.size() == 1);
    CHECK(r.warnings[0] ==
          "BP-3 was fitted to this car by entry 6 on 2026-03-05 too, and nothing says that it came "
          "off; if it did: baybook correct 8 --takes-out 6 --why \"...\"");
    again.old = Fit::Old::core;
    CHECK(b.write(again).warnings.empty());
    const auto rows = b.rows("BP-3");
    REQUIRE(rows.size() == 4);
    CHECK(rows[0].state == State::unsure);
    REQUIRE(rows[0].again);
    CHECK(rows[0].again->number() == 8);
    CHECK(rows[1].state == State::unsure);
    CHECK(rows[2].state == State::in);
    CHECK(rows[3].state == State::in);
    CHECK(entry(b.book(), left)->came_off == "may be out: fitted again by entry 8 on 2026-03-06");
    // Before that day nothing was open.
    CHECK(b.rows("BP-3", day("2026-03-05"))[0].state == State::in);
    // On another car it says nothing about this one.
    b.write(b.fit(b.job(b.other), "BP-3"));
    CHECK(b.rows("BP-3").back().state == State::in);
  }

  TEST_CASE("what cannot come off is refused, says why, and leaves every table as it was") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const EntryId text = b.write(b.work(b.first, {})).entry.id;
    const EntryId gone = b.write(b.fit(b.first, "GA-1")).entry.id;
    b.write(Correction{gone, true, {}, "another job", false});
    const JobId elsewhere = b.job(b.other);
    refused(b, b.work(elsewhere, {{pump, {}}}), Code::not_allowed,
            "was fitted to MARSH-07, not to BRISK-9");
    refused(b, b.work(b.first, {{text, {}}}), Code::not_found, "there is no such fitted part");
    refused(b, b.work(b.first, {{gone, {}}}), Code::not_found, "was withdrawn");
    refused(b, b.work(b.first, {{EntryId{pump.n + 500}, {}}}), Code::not_found, "there is no entry");
    refused(b, b.work(b.first, {{pump, {}}, {pump, {}}}), Code::already_there, "named twice");
    refused(b, b.work(b.first, {{pump, litres("1L")}}), Code::unclear, "fitted as 1 pc");
    refused(b, b.work(b.first, {{pump, pieces("2")}}), Code::not_allowed, "cannot come out");
    b.write(b.work(b.first, {{pump, {}}}));
    const Refusal again = refused(b, b.work(b.first, {{pump, {}}}), Code::already_there,
                                  "came out already, by entry");
    CHECK(again.instead.starts_with("baybook entry "));
  }

  TEST_CASE("a part does not come off before it was fitted") {
    Parts b;
    b.next_day();
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const std::string before = b.dump();
    const auto early = b.try_write(b.work(b.first, {{pump, {}}}), "2026-03-05");
    REQUIRE_FALSE(early.ok());
    CHECK(early.refusal().what == "WP-4471 of entry 5 was fitted on 2026-03-06, after this");
    CHECK(early.refusal().instead == "--on 2026-03-06");
    CHECK(b.dump() == before);
  }

  TEST_CASE(
      "a correction says afterwards what came off in a closed job, and taking it back brings the "
      "part back") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const JobId later = b.a_later_job();
    const EntryId text = b.write(b.work(later, {})).entry.id;
    CloseJob close;
    close.job = later;
    b.write(close);
    Correction c;
    c.target = text;
    c.why = "it was not said";
    c.patch.takes_out = {{TakenOut{pump, {}}}};
    const EntryId said = b.write(c).entry.id;
    CHECK(b.only().state == State::out);
    CHECK(to_string(b.only().came_off.front().day) == "2026-03-06");
    // Another word of the same entry keeps what it takes out.
    Correction words;
    words.target = text;
    words.why = "clearer";
    words.patch.text = "pump off, claim";
    b.write(words);
    CHECK(b.only().state == State::out);
    CHECK(b.rebuilds());
    b.write(Correction{b->find_entry("last").value(), true, {}, "no", false});
    b.write(Correction{said, true, {}, "it is in", false});
    CHECK(b.only().state == State::in);
    // Of what takes out no part nothing can be said.
    c.target = EntryId{later.n};
    refused(b, c, Code::not_allowed, "has no part that comes out");
    CHECK(b.rebuilds());
  }

  TEST_CASE(
      "the fitting is not withdrawn from under what takes the part out, and goes with it when that "
      "is asked") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const EntryId out = b.write(b.work(b.first, {{pump, {}}})).entry.id;
    Correction c{pump, true, {}, "wrong car", false};
    const Refusal r = refused(b, c, Code::has_dependants, "1 later entry stands on entry 5: 6");
    CHECK(r.instead == "correct those first, or add --with-dependants");
    c.with_dependants = true;
    b.write(c);
    CHECK(b.rows().empty());
    CHECK(entry(b.book(), out)->withdrawn);
    CHECK(b.rebuilds());
  }

  TEST_CASE(
      "what was withdrawn does not hold again where the part came off by another entry meanwhile") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const EntryId out = b.write(b.work(b.first, {{pump, {}}})).entry.id;
    const EntryId undone = b.write(Correction{out, true, {}, "not yet", false}).entry.id;
    CHECK(b.only().state == State::in);
    b.write(b.work(b.first, {{pump, {}}}));
    refused(b, Correction{undone, true, {}, "after all", false}, Code::already_there,
            "WP-4471 was taken out by entry 8 meanwhile");
  }

  TEST_CASE(
      "a part is out once where two books each took it out, and whichever way the books were "
      "brought together") {
    Parts bay;
    const EntryId pump = bay.write(bay.fit(bay.first)).entry.id;
    TestBook office("office", 9);
    office.now = bay.now;
    taken(office, file_of(bay.book()));
    Work w = bay.work(bay.first, {{pump, {}}});
    const EntryId there = office.write(w).entry.id;
    CHECK(log::read_header(log::parse_body(log::row_of(office->inside().db, there).body)).version ==
          2);
    bay.write(w);
    taken(bay, file_of(office.book()));
    taken(office, file_of(bay.book()));
    for (TestBook* b : {static_cast<TestBook*>(&bay), &office}) {
      const auto rows = fitted(b->book(), "WP-4471");
      REQUIRE(rows.ok());
      REQUIRE(rows->size() == 1);
      CHECK(rows->front().state == State::out);
      CHECK(rows->front().came_off.size() == 1);
      const auto proof = prove(b->book());
      REQUIRE(proof.ok());
      CHECK(proof->findings.empty());
      CHECK(proof->unfit_found == 0);
    }
  }

  TEST_CASE("a correction of another book's entry keeps what it takes out under its own name") {
    Parts bay;
    const EntryId pump = bay.write(bay.fit(bay.first)).entry.id;
    const EntryId out = bay.write(bay.work(bay.first, {{pump, {}}})).entry.id;
    TestBook office("office", 9);
    office.now = bay.now;
    taken(office, file_of(bay.book()));
    Correction c;
    c.target = out;
    c.why = "clearer";
    c.patch.text = "pump off, claim";
    office.write(c);
    taken(bay, file_of(office.book()));
    CHECK(bay.only().state == State::out);
    CHECK(entry(bay.book(), out)->summary == "work done, took out WP-4471 (entry 5)");
    CHECK(bay.rebuilds());
  }

  TEST_CASE(
      "an entry that takes out a part says version 2, one that does not says 1, and a later one is "
      "told to be a newer baybook's") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    b.write(b.work(b.first, {{pump, {}}}));
    Forged f(file_of(b.book()));
    CHECK(f.body(f.line_of("fit")).num("version") == 1);
    CHECK(f.body(f.line_of("work")).num("version") == 2);
    TestBook third("third", 23);
    const auto said = [&](const char* kind, std::int64_t version) {
      Forged g(file_of(b.book()));
      g.change(g.line_of(kind), [&](Value& body) { body["version"] = version; });
      const std::string before = third.dump();
      const auto r = take_in(third, g.file());
      REQUIRE_FALSE(r.ok());
      CHECK(third.dump() == before);
      return r.refusal();
    };
    CHECK(said("work", log::kLastVersion + 1).instead == "a newer baybook");
    CHECK(said("fit", 2).lines.front().find("version is 2, and what it says is of version 1") !=
          std::string::npos);
    CHECK(said("work", 1).lines.front().find("version is 1, and what it says is of version 2") !=
          std::string::npos);
    CHECK(taken(third, file_of(b.book())).taken > 0);
  }

  TEST_CASE("a text that is erased takes nothing of what came off with it") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const EntryId out = b.write(b.work(b.first, {{pump, {}}})).entry.id;
    Erasure e;
    e.entry = out;
    b.write(e);
    CHECK(entry(b.book(), out)->text == "(erased)");
    CHECK(b.only().state == State::out);
    CHECK(b.rebuilds());
  }

  TEST_CASE(
      "the same request under its once-key takes a part out once, and another part is another "
      "request") {
    Parts b;
    const EntryId pump = b.write(b.fit(b.first)).entry.id;
    const EntryId hose = b.write(b.fit(b.first, "HO-2")).entry.id;
    Stamp s = b.stamp();
    s.once = "claim-1";
    const Work w = b.work(b.first, {{pump, {}}});
    REQUIRE(b->append(w, s).ok());
    s.now.ms += 1000;
    const auto again = b->append(w, s);
    REQUIRE(again.ok());
    CHECK(again->repeated);
    CHECK_FALSE(b->append(b.work(b.first, {{hose, {}}}), s).ok());
  }
}
