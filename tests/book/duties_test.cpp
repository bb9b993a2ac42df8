// What the shop owes and is granted: duties that stay with the waste of their month, reports until they
// are filed, events, holds, extensions; acute and universal waste; oil by its containers.
#include "support/test_book.hpp"

#include <baybook/erase.hpp>
#include <baybook/returns.hpp>

#include <functional>

using namespace baybook;
using namespace baybook::test;

namespace {

FluidId class_of(std::string_view name) { return FluidId{find_class(name)->number}; }

/// A shop by a rule set, with a clock that is told for each act.
struct Duties {
  TestBook b;
  FirmId firm;
  explicit Duties(std::string_view begins = "2026-01-02T09:00:00.000Z",
                  const std::string& set = "us-federal", const std::string& file = {})
      : b("bay", 7, begins) {
    b.clock_is_right = true;
    ChooseRules rules;
    rules.set = set;
    rules.from = day("2020-01-01");
    rules.file = file;
    if (!file.empty()) rules.file_name = "shop.toml";
    b.write(rules);
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.carries = f.receives = true;
    firm = FirmId{b.write(f).entry.id.n};
  }
  void at(const std::string& on) { b.now = instant(on + "T10:00:00.000Z"); }
  PlaceId waste(const std::string& code, const std::string& takes, const std::string& size,
                const std::string& area = "yard", bool satellite = false) {
    NewPlace p;
    p.code = code;
    p.role = Role::waste;
    p.takes = {takes};
    p.size = litres(size);
    p.area = area;
    p.satellite = satellite;
    return PlaceId{b.write(p).entry.id.n};
  }
  // From a customer's can, say: it is generated on that day.
  EntryId put(PlaceId into, const std::string& what, const std::string& amount,
              const std::string& on) {
    at(on);
    return b.write(TestBook::move(MoveVerb::discard, kSupplier, into, amount, {}, class_of(what)))
        .entry.id;
  }
  EntryId pickup(PlaceId from, const std::string& amount, const std::string& document,
                 const std::string& on) {
    at(on);
    Movement m = TestBook::move(MoveVerb::pickup, from, kReceiver, amount);
    m.carrier_firm = m.receiver_firm = firm;
    m.document = document;
    m.lines.front().fate = Fate::recycled;
    return b.write(m).entry.id;
  }
  EntryId file(const std::string& what, const std::string& period, const std::string& on,
               EntryId about = {}, Filing::Way way = Filing::Way::unsaid) {
    at(on);
    return b.write(filing(what, period, on, about, way)).entry.id;
  }
  static Filing filing(const std::string& what, const std::string& period, const std::string& on,
                       EntryId about = {}, Filing::Way way = Filing::Way::unsaid) {
    Filing f;
    f.what = what;
    f.period = period;
    f.on = day(on);
    f.about = about;
    f.way = way;
    return f;
  }
  static Circumstance event(const std::string& from, std::vector<PlaceId> containers,
                            bool planned = false) {
    Circumstance c;
    c.what = Circumstance::What::event;
    c.day = day(from);
    c.planned = planned;
    c.containers = std::move(containers);
    return c;
  }
  static Circumstance hold(const std::string& from) {
    Circumstance c;
    c.what = Circumstance::What::hold;
    c.day = day(from);
    return c;
  }
  static Circumstance end(EntryId of, const std::string& on) {
    Circumstance c;
    c.what = Circumstance::What::end;
    c.about = of;
    c.day = day(on);
    return c;
  }
  Limits limits_on(const std::string& on) {
    auto l = limits(b.book(), day(on));
    REQUIRE_MESSAGE(l.ok(), why(l));
    return *l;
  }
  std::optional<LimitLine> line(const std::string& on, std::string_view group,
                                std::string_view part = {}) {
    return find(limits_on(on).lines, group, part);
  }
  std::optional<LimitLine> kept(const std::string& on, std::string_view part) {
    return find(limits_on(on).keep, "keep", part);
  }
  int category(const std::string& month) {
    const auto j = judge(b.book(), month_of(day(month + "-01")));
    REQUIRE_MESSAGE(j.ok(), why(j));
    return j->reading.category;
  }
  bool sound() {
    const auto proof = prove(b.book());
    REQUIRE(proof.ok());
    for (const Finding& f : proof->findings) MESSAGE(f.what);
    return proof->findings.empty() && proof->tables_compared;
  }

 private:
  static std::optional<LimitLine> find(const std::vector<LimitLine>& lines, std::string_view group,
                                       std::string_view part) {
    for (const LimitLine& x : lines) {
      if (x.group == group && x.what.find(part) != std::string::npos) return x;
    }
    return std::nullopt;
  }
};

using State = LimitLine::State;
bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}
std::string due(const std::optional<LimitLine>& l) {
  REQUIRE(l.has_value());
  return l->due ? to_string(*l->due) : "no date";
}

// Petrol is hazardous and counts by the rules themselves: 0.743 kg/L.
constexpr const char* kPetrol = "petrol";

}  // namespace

TEST_SUITE("book/duties") {
  TEST_CASE("waste of a small month keeps its clock, its looks and its manifest days while the shop is very small") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    REQUIRE(d.category("2026-01") == 2);
    CHECK(d.limits_on("2026-02-20").category == 1);
    const auto clock = d.line("2026-02-20", "clock", "drum-1");
    CHECK(due(clock) == "2026-07-09");  // 180 days, 40 CFR 262.16(b)
    CHECK(has(clock->figures, "of 2026-01, in which the shop was a small quantity generator (SQG)"));
    const auto look = d.line("2026-02-20", "inspection", "area yard");
    CHECK(due(look) == "2026-01-17");  // 262.16(b)(2)(iv)
    CHECK(look->state == State::over);
    // The same waste has no second clock.
    CHECK_FALSE(d.line("2026-02-20", "on hand", "trigger").has_value());
    d.pickup(drum, "50kg", "S-1", "2026-02-20");
    const auto paper = d.line("2026-02-21", "paper", "S-1");
    CHECK(due(paper) == "2026-04-21");  // 60 days, 262.42(b)
    CHECK(has(paper->figures, "of a month in which the shop was a small quantity generator"));
    // Waste of this month has the trigger, and is told from the rest.
    const PlaceId other = d.waste("drum-2", kPetrol, "1000L", "shed");
    d.put(other, kPetrol, "40kg", "2026-02-21");
    const auto trigger = d.line("2026-02-22", "on hand", "trigger");
    REQUIRE(trigger.has_value());
    CHECK(trigger->figures.starts_with("190 kg of 1000 kg; 150 kg of it have the clock of their months"));
    CHECK_FALSE(d.line("2026-02-22", "inspection", "area shed").has_value());
    // When it is gone, so are they.
    d.pickup(drum, "150kg", "S-2", "2026-02-22");
    CHECK_FALSE(d.line("2026-02-23", "inspection", "area yard").has_value());
    CHECK_FALSE(d.line("2026-02-23", "clock").has_value());
    CHECK(due(d.line("2026-02-23", "paper", "S-2")) == "2026-04-23");
  }

  TEST_CASE("waste of a large month has 90 days, and its paper is asked about, when the next month is very small") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
    d.put(drum, kPetrol, "1000kg", "2026-01-10");
    CHECK(due(d.line("2026-02-10", "clock")) == "2026-04-10");  // 262.17(a)
    const auto look = d.line("2026-02-10", "inspection", "area yard");
    CHECK(has(look->section, "262.17"));
    CHECK(has(look->figures, "keeps the looks of a large quantity generator"));
    d.pickup(drum, "1000kg", "L-1", "2026-02-10");
    const auto ask = d.line("2026-02-11", "paper", "ask where");
    CHECK(due(ask) == "2026-03-27");  // 45 days
    CHECK(due(d.line("2026-02-11", "paper", "report that")) == "2026-04-11");
  }

  TEST_CASE("a drum of a small month that one later month brings to 90 days says that no section has it so") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    const PlaceId big = d.waste("drum-2", kPetrol, "9000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    CHECK_FALSE(has(d.line("2026-01-20", "clock")->figures, "careful"));
    d.put(big, kPetrol, "1000kg", "2026-02-10");
    d.pickup(big, "1000kg", "L-1", "2026-02-11");
    const auto clock = d.line("2026-03-02", "clock", "drum-1");
    CHECK(due(clock) == "2026-04-10");
    CHECK(has(clock->figures, "by 2026-02, in which the shop was a large quantity generator (LQG): a careful reading, no section"));
  }

  TEST_CASE("past its trigger a very small generator looks at its containers weekly (262.14(a)(4))") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
    for (int m = 1; m <= 9; ++m) d.put(drum, kPetrol, "100kg", "2026-0" + std::to_string(m) + "-05");
    CHECK_FALSE(d.line("2026-09-06", "inspection").has_value());
    d.put(drum, kPetrol, "100kg", "2026-10-05");
    const auto trigger = d.line("2026-10-06", "on hand", "trigger");
    CHECK(due(trigger) == "2027-04-03");
    CHECK(d.line("2026-10-06", "inspection", "yard").has_value());
  }

  TEST_CASE("the biennial report is owed for each odd year with a large month, and stands over until it is filed") {
    Duties d("2025-03-02T09:00:00.000Z");
    const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
    d.put(drum, kPetrol, "1000kg", "2025-03-10");
    d.pickup(drum, "1000kg", "L-1", "2025-03-11");
    const auto ahead = d.line("2025-04-01", "renewal", "biennial");
    CHECK(ahead->what == "biennial report of a large quantity generator, for 2025");
    CHECK(due(ahead) == "2026-03-01");
    CHECK(has(ahead->section, "262.41"));
    CHECK(d.line("2026-02-20", "renewal", "biennial")->state == State::near);
    const auto late = d.line("2027-06-01", "renewal", "biennial");
    CHECK(late->state == State::over);
    CHECK(has(late->figures, "large in 2025-03"));
    CHECK(late->settle == "baybook filing add biennial-report --period 2025 --filed DATE");
    // What falls into an even year is no part of it; the re-notification is its own.
    d.put(drum, kPetrol, "1000kg", "2026-05-10");
    d.pickup(drum, "1000kg", "L-2", "2026-05-11");
    CHECK_FALSE(d.line("2027-06-01", "renewal", "biennial report of a large quantity generator, for 2026").has_value());
    CHECK(due(d.line("2027-06-01", "renewal", "re-notification of a large quantity generator, for 2028")) == "2028-03-01");
    const auto rides = d.line("2026-02-20", "renewal", "re-notification of a large quantity generator, for 2026");
    CHECK(has(rides->figures, "may ride on the biennial report"));
    d.at("2026-06-02");
    Filing sent = Duties::filing("biennial-report", "2025", "2026-06-02");
    sent.note = "sent by Tam";
    const EntryId filed = d.b.write(sent).entry.id;
    CHECK_FALSE(d.line("2027-06-01", "renewal", "for 2025").has_value());
    CHECK(d.line("2026-06-01", "renewal", "for 2025").has_value());
    CHECK(d.line("2027-06-01", "renewal", "a large quantity generator, for 2026").has_value());
    // Kept from its due date, 262.40(b), and not from the day on which it was filed.
    CHECK(due(d.kept("2027-06-01", "biennial-report 2025")) == "2029-03-01");
    CHECK_FALSE(d.kept("2029-03-01", "biennial-report").has_value());
    Erasure note;
    note.entry = filed;
    CHECK(plan_erasure(d.b.book(), note, day("2029-02-28"))->longest->until == "until 2029-03-01");
    CHECK(plan_erasure(d.b.book(), note, day("2029-03-01"))->held == 0);
    Correction c;
    c.target = filed;
    c.withdraw = true;
    c.why = "it was a draft";
    d.b.write(c);
    CHECK(d.line("2027-06-01", "renewal", "biennial")->state == State::over);
    CHECK(d.sound());
  }

  TEST_CASE("one large month does not hide a small generator's re-notification, which stands until it is filed") {
    Duties d("2025-01-20T09:00:00.000Z");
    const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
    d.b.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "200kg", {}, class_of(kPetrol)), "2024-10-10");
    d.put(drum, kPetrol, "1000kg", "2025-03-10");
    d.pickup(drum, "1200kg", "L-1", "2025-03-11");
    const auto small = d.line("2025-06-01", "renewal", "small quantity");
    CHECK(small->what == "re-notification of a small quantity generator, for 2025");
    CHECK(due(small) == "2025-09-01");
    CHECK(has(small->figures, "small in 2024-10"));
    CHECK(d.line("2025-06-01", "renewal", "biennial").has_value());
    CHECK(d.line("2026-01-01", "renewal", "small quantity")->state == State::over);
    d.file("re-notification", "2025", "2026-01-02");
    CHECK_FALSE(d.line("2026-01-02", "renewal", "small quantity").has_value());
    // By the months since that day: the next one is not owed by what came before it.
    d.put(drum, kPetrol, "200kg", "2026-02-10");
    CHECK(due(d.line("2026-02-11", "renewal", "small quantity")) == "2029-09-01");
  }

  TEST_CASE("a filing that no line looks for is refused, with the years that the rules ask for") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    const EntryId taken = d.pickup(drum, "50kg", "S-1", "2026-01-11");
    const auto refused = [&](const Filing& f) {
      const auto r = d.b.try_write(f);
      REQUIRE_FALSE(r.ok());
      return r.refusal();
    };
    CHECK(has(refused(Duties::filing("biennial-report", "2026", "2026-01-11")).why, "2022 and every 2 years"));
    CHECK(has(refused(Duties::filing("re-notification", "2027", "2026-01-11")).why, "2021 and every 4 years"));
    CHECK(refused(Duties::filing("biennial-report", "2025-q1", "2026-01-11")).code == Code::unclear);
    CHECK(refused(Duties::filing("biennial-report", "", "2026-01-11")).code == Code::wrong_usage);
    CHECK(has(refused(Duties::filing("bienial-report", "2025", "2026-01-11")).why, "biennial-report"));
    CHECK(refused(Duties::filing("biennial-report", "2025", "2026-01-12")).code == Code::not_allowed);
    CHECK(refused(Duties::filing("exception-report", "", "2026-01-11")).code == Code::wrong_usage);
    CHECK(has(refused(Duties::filing("exception-report", "", "2026-01-11", EntryId{d.firm.n})).what, "no pick-up"));
    CHECK(has(refused(Duties::filing("exception-report", "", "2026-01-11", taken)).why, "only in the national electronic manifest system"));
    CHECK(has(refused(Duties::filing("event-notice", "", "2026-01-11", taken)).what, "no episodic event"));
    CHECK(has(refused(Duties::filing("biennial-report", "2025", "2025-12-31")).why, "was not over then"));
    CHECK(has(refused(Duties::filing("re-notification", "2029", "2025-09-01")).what, "is before 2025-09-02"));
    d.b.write(Duties::filing("biennial-report", "2025", "2026-01-11"));
    CHECK(refused(Duties::filing("biennial-report", "2025", "2026-01-10")).code == Code::already_there);
    d.b.write(Duties::filing("tank-book", "2026-q1", "2026-01-11"));
    CHECK(filings(d.b.book())->size() == 2);
    CHECK(d.sound());
  }

  TEST_CASE("an exception report settles its line, on paper only before the day from which none is taken") {
    Duties d("2025-10-02T09:00:00.000Z");
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "400kg", "2025-10-03");
    const EntryId first = d.pickup(drum, "100kg", "S-1", "2025-10-04");
    const EntryId second = d.pickup(drum, "100kg", "S-2", "2025-10-05");
    CHECK(has(d.line("2025-11-20", "paper", "S-1")->figures, "filed only in the national electronic manifest system"));
    CHECK(has(d.line("2025-11-20", "paper", "S-1")->settle, "--electronic"));
    // 60 days from 2025-09-20 end before that day.
    d.file("exception-report", "", "2025-11-30", first, Filing::Way::paper);
    CHECK(due(d.line("2025-12-01", "paper", "S-1")) == "no date");
    CHECK(has(d.line("2025-12-01", "paper", "S-1")->figures, "reported on 2025-11-30"));
    d.file("exception-report", "", "2025-12-02", second, Filing::Way::paper);
    const auto still = d.line("2025-12-03", "paper", "S-2");
    CHECK(due(still) == "2025-12-04");
    CHECK(has(still->figures, "the report of 2025-12-02 was on paper, which is none"));
    d.file("exception-report", "", "2025-12-04", second, Filing::Way::electronic);
    CHECK(due(d.line("2025-12-05", "paper", "S-2")) == "2025-12-04");
    // 262.40(b): from the due date of the report.
    CHECK(due(d.kept("2026-01-01", "exception-report, filed on 2025-11-30")) == "2028-12-03");
    Correction c;
    c.target = first;
    c.withdraw = true;
    c.why = "another drum";
    const auto stands = d.b.try_write(c);
    REQUIRE_FALSE(stands.ok());
    CHECK(stands.refusal().code == Code::has_dependants);
  }

  TEST_CASE("waste of an episodic event does not count while it keeps its terms, and has its own 60 days") {
    Duties d;
    const PlaceId own = d.waste("drum-event", kPetrol, "9000L");
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "50kg", "2026-03-05");
    d.at("2026-03-10");
    const EntryId event = d.b.write(Duties::event("2026-03-10", {own})).entry.id;
    d.put(own, kPetrol, "2000kg", "2026-03-11");
    const auto notice = d.line("2026-03-11", "paper", "notice of the unplanned event");
    CHECK(due(notice) == "2026-03-13");  // 72 hours, 262.232(a)
    CHECK(d.category("2026-03") == 1);
    d.file("event-notice", "", "2026-03-12", event);
    CHECK_FALSE(d.line("2026-03-20", "paper", "notice").has_value());
    CHECK(due(d.line("2026-03-20", "event")) == "2026-05-09");
    CHECK(due(d.line("2026-03-20", "clock", "drum-event")) == "2026-05-09");
    const auto site = d.line("2026-03-20", "on hand", "hazardous waste on site");
    CHECK(site->figures.starts_with("50 kg of 6000 kg; beside it 2000 kg of an episodic event"));
    const auto j = judge(d.b.book(), month_of(day("2026-03-01")));
    REQUIRE(j.ok());
    CHECK(std::any_of(j->lines.begin(), j->lines.end(), [](const JudgedLine& l) { return !l.counts && has(l.why, "262.13(c)(8)"); }));
    // Not over while something stands there, then it is; afterwards the drum is one like any other.
    CHECK_FALSE(d.b.try_write(Duties::end(event, "2026-03-12")).ok());
    d.pickup(own, "2000kg", "E-1", "2026-04-20");
    d.b.write(Duties::end(event, "2026-04-20"));
    CHECK_FALSE(d.line("2026-04-21", "event").has_value());
    d.put(own, kPetrol, "300kg", "2026-04-22");
    CHECK(d.category("2026-03") == 1);
    CHECK(d.category("2026-04") == 2);
    CHECK(d.sound());
  }

  TEST_CASE("waste of an event counts in its month when it is not sent off in its days, poured elsewhere, told too late, or of one event too many") {
    const auto with = [](const std::function<void(Duties&, PlaceId, PlaceId)>& act) {
      Duties d;
      const PlaceId own = d.waste("drum-event", kPetrol, "9000L");
      const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
      act(d, own, drum);
      d.at("2026-07-01");
      d.b.write(NewPerson{"Tam", "", ""});
      CHECK(d.sound());
      return d.category("2026-03");
    };
    const auto begin = [](Duties& d, PlaceId own, const char* told) {
      d.at("2026-03-10");
      const EntryId e = d.b.write(Duties::event("2026-03-10", {own})).entry.id;
      d.put(own, kPetrol, "2000kg", "2026-03-11");
      d.file("event-notice", "", told, e);
      return e;
    };
    CHECK(with([&](Duties& d, PlaceId own, PlaceId) {
            begin(d, own, "2026-03-12");
            d.pickup(own, "2000kg", "E-1", "2026-05-09");
          }) == 1);
    CHECK(with([&](Duties& d, PlaceId own, PlaceId) {
            begin(d, own, "2026-03-12");
            d.pickup(own, "2000kg", "E-1", "2026-05-10");
            const auto l = d.line("2026-05-11", "event");
            CHECK(l->state == State::over);
            CHECK(has(l->figures, "its waste counts: drum-event was not sent off by 2026-05-09"));
          }) == 3);
    CHECK(with([&](Duties& d, PlaceId own, PlaceId drum) {
            begin(d, own, "2026-03-12");
            d.at("2026-04-01");
            d.b.write(TestBook::move(MoveVerb::decant, own, drum, "all"));
          }) == 3);
    CHECK(with([&](Duties& d, PlaceId own, PlaceId) {
            begin(d, own, "2026-03-14");
            d.pickup(own, "2000kg", "E-1", "2026-04-20");
          }) == 3);
    const auto second = [&](bool petitioned, bool planned) {
      return with([&](Duties& d, PlaceId own, PlaceId drum) {
        d.at("2026-01-10");
        const EntryId first = d.b.write(Duties::event("2026-01-10", {drum})).entry.id;
        d.file("event-notice", "", "2026-01-10", first);
        d.at("2026-01-20");
        d.b.write(Duties::end(first, "2026-01-20"));
        Circumstance c = Duties::event("2026-03-10", {own}, planned);
        c.petitioned = petitioned;
        d.at("2026-02-01");
        if (!planned) d.at("2026-03-10");
        const EntryId e = d.b.write(c).entry.id;
        d.file("event-notice", "", planned ? "2026-02-08" : "2026-03-10", e);
        d.put(own, kPetrol, "2000kg", "2026-03-11");
        d.pickup(own, "2000kg", "E-1", "2026-04-20");
      });
    };
    CHECK(second(false, true) == 3);
    CHECK(second(true, false) == 3);  // of the same kind as the first, 262.233
    CHECK(second(true, true) == 1);
  }

  TEST_CASE("an event needs containers that hold nothing else, and rules that know events") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    const PlaceId stock = d.b.place("can-1", Role::stock, "20L");
    d.put(drum, kPetrol, "50kg", "2026-03-05");
    d.at("2026-03-10");
    const auto refused = [&](const Circumstance& c) {
      const auto r = d.b.try_write(c);
      REQUIRE_FALSE(r.ok());
      return r.refusal();
    };
    CHECK(has(refused(Duties::event("2026-03-10", {drum})).what, "was not empty on 2026-03-10"));
    CHECK(has(refused(Duties::event("2026-03-10", {stock})).what, "not a waste place"));
    CHECK(refused(Duties::event("2026-03-10", {})).code == Code::wrong_usage);
    CHECK(refused(Duties::event("2026-03-11", {drum})).code == Code::not_allowed);
    const PlaceId own = d.waste("drum-2", kPetrol, "1000L");
    CHECK(refused(Duties::event("2026-03-10", {own, own})).code == Code::wrong_usage);
    const EntryId e = d.b.write(Duties::event("2026-05-01", {own}, true)).entry.id;
    CHECK(refused(Duties::event("2026-05-30", {own}, true)).code == Code::already_there);
    // 30 days before a planned one.
    CHECK(due(d.line("2026-03-11", "paper", "notice of the planned event of 2026-05-01")) == "2026-04-01");
    CHECK(refused(Duties::end(d.b.write(NewPerson{"Tam", "", ""}).entry.id, "2026-03-10")).code == Code::not_allowed);
    CHECK(refused(Duties::end(e, "2026-03-10")).code == Code::not_allowed);
    Duties eu("2026-01-02T09:00:00.000Z", "eu");
    const auto r = eu.b.try_write(Duties::event("2026-01-02", {eu.waste("drum-1", kPetrol, "1000L")}));
    REQUIRE_FALSE(r.ok());
    CHECK(has(r.refusal().what, "know no episodic event"));
  }

  TEST_CASE("an enforcement hold keeps what must still be kept until it ends, and erasure waits for it (262.40(d))") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    d.at("2026-01-11");
    Movement m = TestBook::move(MoveVerb::pickup, drum, kReceiver, "200kg");
    m.carrier_firm = m.receiver_firm = d.firm;
    m.document = "S-1";
    m.lines.front().fate = Fate::recycled;
    m.note = "two men";
    const EntryId taken = d.b.write(m).entry.id;
    CHECK(due(d.kept("2028-12-01", "S-1")) == "2029-01-11");
    d.at("2028-12-20");
    const EntryId hold = d.b.write(Duties::hold("2028-12-20")).entry.id;
    CHECK(d.line("2028-12-21", "hold").has_value());
    CHECK(due(d.kept("2030-06-01", "S-1")) == "no date");
    Erasure e;
    e.entry = taken;
    e.field = "note";
    const auto held = plan_erasure(d.b.book(), e, day("2030-06-01"));
    REQUIRE_MESSAGE(held.ok(), why(held));
    REQUIRE(held->longest.has_value());
    CHECK(has(held->longest->until, "while the enforcement action of entry"));
    d.at("2030-06-10");
    d.b.write(Duties::end(hold, "2030-06-10"));
    CHECK_FALSE(d.kept("2030-06-11", "S-1").has_value());
    CHECK(due(d.kept("2030-06-10", "S-1")) == "2030-06-11");
    CHECK(plan_erasure(d.b.book(), e, day("2030-06-11"))->held == 0);
    CHECK(plan_erasure(d.b.book(), e, day("2030-06-10"))->held == 1);
    // One that began when the period was over begins none anew.
    d.at("2030-06-12");
    d.b.write(Duties::hold("2030-06-12"));
    CHECK_FALSE(d.kept("2030-06-13", "S-1").has_value());
    CHECK(d.sound());
  }

  TEST_CASE("what is kept leaves the list on the day on which erasure lets it go") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    d.pickup(drum, "200kg", "S-1", "2026-01-11");
    CHECK(due(d.kept("2029-01-10", "S-1")) == "2029-01-11");
    CHECK_FALSE(d.kept("2029-01-11", "S-1").has_value());
  }

  TEST_CASE("days that the authority granted are added to a generator's clock, and more than the rules let it are refused with the figures") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    const PlaceId small = d.waste("drum-2", "aerosol-cans", "100kg");
    d.put(small, "aerosol-cans", "5kg", "2026-01-09");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    d.at("2026-06-20");
    const auto granted = [&](PlaceId p, int days, const char* on = "2026-06-20") {
      Circumstance c;
      c.what = Circumstance::What::extension;
      c.containers = {p};
      c.days = days;
      c.day = day(on);
      return d.b.try_write(c);
    };
    CHECK(has(granted(drum, 31).refusal().what, "31 days for drum-1, are not between 1 and 30 d"));
    CHECK_FALSE(granted(drum, 0).ok());
    CHECK(has(granted(small, 10).refusal().what, "no generator's clock runs on drum-2"));
    CHECK(has(granted(drum, 10, "2026-01-09").refusal().what, "began on 2026-01-10"));
    REQUIRE(granted(drum, 20).ok());
    const auto clock = d.line("2026-06-21", "clock", "drum-1");
    CHECK(due(clock) == "2026-07-29");
    CHECK(has(clock->figures, "180 days and 20 more granted on 2026-06-20 (40 CFR 262.16(d), 262.17(b), at most 30 d)"));
    CHECK(has(granted(drum, 11).refusal().what, "with 20 granted before"));
    // It is of what stood there: the next filling has none of it.
    d.pickup(drum, "200kg", "S-1", "2026-06-22");
    d.put(drum, kPetrol, "200kg", "2026-06-23");
    CHECK(due(d.line("2026-06-24", "clock", "drum-1")) == "2026-12-20");
    CHECK(d.sound());
  }

  TEST_CASE("acute waste has its own limit on the site and its own clock, and its months their own total (262.14(a)(3))") {
    const std::string file =
        "[[stream]]\nname = \"acute\"\ntitle = \"Acute waste\"\nclasses = [\"washer-fluid\"]\n"
        "hazardous = \"yes\"\ncounted = \"yes\"\ngroup = \"acute\"\nsection = \"40 CFR 261.33(e)\"\n"
        "density = \"1 kg/L\"\ndensity-source = \"invented\"\n"
        "[[stream]]\nname = \"acute-residue\"\ntitle = \"Residue\"\nclasses = [\"grease\"]\n"
        "hazardous = \"yes\"\ncounted = \"yes\"\ngroup = \"acute-residue\"\nsection = \"40 CFR 260.10\"\n";
    Duties d("2026-01-02T09:00:00.000Z", "us-federal", file);
    const PlaceId jar = d.waste("jar-1", "washer-fluid", "20L");
    const PlaceId soaked = d.waste("bin-1", "grease", "900kg", "bay-2", true);
    const PlaceId bench = d.waste("jar-2", "washer-fluid", "20L", "bay-2", true);
    d.put(jar, "washer-fluid", "0.6kg", "2026-01-10");
    d.put(jar, "washer-fluid", "0.4kg", "2026-02-10");
    CHECK(d.category("2026-01") == 1);
    const auto at = d.line("2026-02-11", "on hand", "acute hazardous waste");
    CHECK(at->figures == "1 kg of 1 kg");
    CHECK(at->state == State::near);
    CHECK_FALSE(d.line("2026-02-11", "inspection", "yard").has_value());
    d.put(jar, "washer-fluid", "0.0000004kg", "2026-02-12");
    const auto over = d.line("2026-02-13", "on hand", "acute hazardous waste");
    CHECK(over->figures.starts_with("1.0000004 kg of 1 kg"));
    CHECK(due(over) == "2026-05-13");  // 90 days from the day on which it was passed
    CHECK(has(d.line("2026-02-13", "inspection", "yard")->section, "262.17"));
    // It is none of what the trigger of other waste asks.
    CHECK(d.line("2026-02-13", "on hand", "trigger")->figures.starts_with("0 kg of 1000 kg"));
    d.put(bench, "washer-fluid", "0.95L", "2026-02-14");  // 1 qt is 0.946 L (NIST SP 811)
    const auto quart = d.line("2026-02-14", "satellite", "acute waste at the point of generation, liquid");
    CHECK(due(quart) == "2026-02-17");
    CHECK_FALSE(d.line("2026-02-14", "satellite", "bay-2, at the point").has_value());
    d.put(soaked, "grease", "5kg", "2026-02-14");
    CHECK(d.line("2026-02-14", "satellite", "residues")->state == State::fine);
    CHECK(d.category("2026-02") == 3);
  }

  TEST_CASE("universal waste is under 5000 kg at a small handler (273.9), and its year is never longer by a leap day (273.15)") {
    Duties d("2028-02-01T09:00:00.000Z");
    const PlaceId bin = d.waste("bin-1", "aerosol-cans", "9000kg");
    d.put(bin, "aerosol-cans", "4999.9999kg", "2028-02-29");
    CHECK(due(d.line("2028-03-01", "clock")) == "2029-02-28");
    const auto near = d.line("2028-03-01", "on hand", "universal waste");
    CHECK(near->figures == "4999.9999 kg, less than 5000 kg");
    CHECK(near->state == State::near);
    d.put(bin, "aerosol-cans", "0.0001kg", "2028-03-01");
    CHECK(d.line("2028-03-02", "on hand", "universal waste")->state == State::over);
  }

  TEST_CASE("a retired oil container counts while something is in it, and 208 L is a drum of 55 gallons") {
    Duties d;
    std::vector<PlaceId> drums;
    for (int n = 1; n <= 24; ++n) drums.push_back(d.b.place("drum-" + std::to_string(n), Role::stock, "208L", {"engine-oil"}));
    d.b.place("small", Role::stock, "206L", {"engine-oil"});
    const auto all = d.line("2026-01-03", "oil plan");
    REQUIRE(all.has_value());
    // 24 x 55 gal are 1,320 gal: exempt at that or less.
    CHECK(all->state == State::near);
    CHECK(has(all->figures, "24 containers less than 1 percent short of 55 usgal taken as that size (common practice, no source)"));
    CHECK(all->settle == "a storage plan, if oil could reach navigable water");
    d.b.place("drum-25", Role::stock, "208L", {"engine-oil"});
    CHECK(d.line("2026-01-05", "oil plan")->state == State::over);
    d.at("2026-01-04");
    PlaceMark retire;
    retire.what = PlaceMark::What::retire;
    retire.place = drums.front();
    d.b.write(retire);
    CHECK(d.line("2026-01-05", "oil plan")->state == State::near);
    CHECK(d.line("2026-01-03", "oil plan")->state == State::over);
    // What had come into it before is found in it afterwards.
    d.b.write(TestBook::move(MoveVerb::receive, kSupplier, drums.front(), "10L", {}, class_of("engine-oil")), "2026-01-03");
    CHECK(d.line("2026-01-05", "oil plan")->state == State::over);
    Duties california("2026-01-02T09:00:00.000Z", "us-california");
    for (int n = 1; n <= 24; ++n) california.b.place("drum-" + std::to_string(n), Role::stock, "208L", {"engine-oil"});
    const auto there = california.line("2026-01-03", "oil plan");
    CHECK(there->state == State::over);
    CHECK(there->settle == "a storage plan");
  }

  TEST_CASE("a receiver's return of a quarter is asked for until it came, and is kept, bunds are reckoned for oil in containers over 200 L") {
    Duties d("2026-01-02T09:00:00.000Z", "uk");
    const PlaceId drum = d.waste("drum-1", kPetrol, "1000L");
    d.put(drum, kPetrol, "200kg", "2026-01-10");
    d.pickup(drum, "200kg", "N-1", "2026-02-11");
    const auto missing = d.line("2026-05-02", "paper", "return of the receiver for 2026-q1");
    CHECK(due(missing) == "2026-04-30");
    CHECK(missing->state == State::near);  // the receiver's duty, so never over
    CHECK(d.b.try_write(Duties::filing("return-received", "2026", "2026-02-11")).refusal().code == Code::unclear);
    d.file("return-received", "2026-q1", "2026-05-03", EntryId{d.firm.n});
    CHECK_FALSE(d.line("2026-05-04", "paper", "return of").has_value());
    CHECK(due(d.kept("2026-05-04", "return-received 2026-q1")) == "2029-05-03");
    d.file("carrier-record", "", "2026-05-03");
    CHECK(due(d.kept("2026-05-04", "carrier-record")) == "2027-05-03");
    d.file("receiver-record", "", "2026-05-03");
    CHECK(due(d.kept("2026-05-04", "receiver-record")) == "2031-05-03");
    CHECK(has(d.line("2026-05-04", "oil storage")->figures, "none but waste oil, which is not meant in England"));
    d.b.place("tank-1", Role::stock, "1000L", {"engine-oil"});
    d.b.place("drum-200", Role::stock, "200L", {"engine-oil"});
    const auto bund = d.line("2026-05-04", "oil storage");
    REQUIRE(bund.has_value());
    CHECK(bund->figures.starts_with("1 container, a bund of 1100 L"));  // 110 % of the only one
    for (int n = 2; n <= 6; ++n) d.b.place("tank-" + std::to_string(n), Role::stock, "1000L", {"engine-oil"});
    CHECK(d.line("2026-05-04", "oil storage")->figures.starts_with("6 containers, a bund of 1500 L"));  // 25 % of 6000 L
  }

  TEST_CASE("a figure at the edge of a limit has the digits that decide, and what is over without a day stands first") {
    Duties d;
    const PlaceId drum = d.waste("drum-1", kPetrol, "9000L");
    d.put(drum, kPetrol, "100.0004kg", "2026-01-10");
    CHECK(d.category("2026-01") == 2);
    for (int m = 2; m <= 9; ++m) d.put(drum, kPetrol, "100kg", "2026-0" + std::to_string(m) + "-10");
    const PlaceId yard = d.waste("drum-2", kPetrol, "9000L", "shed");
    d.put(yard, kPetrol, "99.9995kg", "2026-10-10");
    CHECK(d.line("2026-10-10", "on hand", "trigger")->figures.starts_with("999.9999 kg of 1000 kg"));
    CHECK_FALSE(d.line("2026-10-10", "on hand", "trigger")->due.has_value());
    d.put(yard, kPetrol, "0.0001kg", "2026-10-10");
    const auto trigger = d.line("2026-10-10", "on hand", "trigger");
    CHECK(trigger->figures.starts_with("1000 kg of 1000 kg"));
    CHECK(due(trigger) == "2027-04-08");
    for (int n = 0; n < 26; ++n) d.b.place("oil-" + std::to_string(n), Role::stock, "210L", {"engine-oil"});
    const Limits l = d.limits_on("2026-10-10");
    CHECK(l.lines.front().group == "oil plan");
    CHECK_FALSE(l.lines.front().due.has_value());
    CHECK(l.lines[1].due.has_value());
  }
}
