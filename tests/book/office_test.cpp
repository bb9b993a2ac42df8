#include "support/brought_in.hpp"
#include "support/past_the_funnel.hpp"

#include <baybook/returns.hpp>

#include <fstream>

using namespace baybook;
using namespace baybook::test;

namespace {

constexpr std::int64_t kKilogram = 1'000'000'000;

/// A shop by the US federal rules: one car, a pan, drums for coolant and solvent, a firm.
struct Office {
  TestBook b{"bay", 7, "2026-01-02T09:00:00.000Z"};
  CarId car;
  PlaceId pan, keep, drum, solvent;
  FirmId firm;
  Office() {
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    b.write(rules);
    car = b.car("MARSH-07", "200L");
    pan = b.place("pan-1", Role::hold_catch, "100L");
    keep = b.place("keep-1", Role::reuse, "100L", {"coolant"});
    NewPlace d;
    d.code = "drum-coolant";
    d.role = Role::waste;
    d.size = litres("200L");
    d.takes = {"coolant"};
    d.area = "yard";
    drum = PlaceId{b.write(d).entry.id.n};
    d.code = "drum-solvent";
    d.takes = {"solvent"};
    d.area = "bay-2";
    d.satellite = true;
    d.size = litres("1000L");
    solvent = PlaceId{b.write(d).entry.id.n};
    NewFirm f;
    f.code = "quill-tarn";
    f.name = "Quill & Tarn Recovery";
    f.carries = f.receives = true;
    firm = FirmId{b.write(f).entry.id.n};
  }
  void at(const char* when) { b.now = instant(when); }
  JobId job(const char* on) {
    at((std::string(on) + "T09:30:00.000Z").c_str());
    return b.job(car, on);
  }
  Movement pickup(PlaceId from, const char* amount, const char* document) {
    Movement m = TestBook::move(MoveVerb::pickup, from, kReceiver, amount);
    m.carrier_firm = m.receiver_firm = firm;
    m.document = document;
    m.lines.front().fate = Fate::recycled;
    return m;
  }
  Judgement judged(const char* month) {
    auto j = judge(b.book(), month_of(day(std::string(month) + "-01")));
    REQUIRE_MESSAGE(j.ok(), why(j));
    return *j;
  }
  const LimitLine* limit(const Limits& l, std::string_view group, std::string_view part = {}) {
    for (const LimitLine& x : l.lines) {
      if (x.group == group && x.what.find(part) != std::string::npos) return &x;
    }
    return nullptr;
  }
};

FluidId class_of(std::string_view name) { return FluidId{find_class(name)->number}; }

bool sound(Book& book) {
  const auto proof = prove(book);
  REQUIRE(proof.ok());
  for (const Finding& f : proof->findings) MESSAGE(f.what);
  return proof->findings.empty() && proof->tables_compared;
}

}  // namespace

TEST_SUITE("book/office") {
  TEST_CASE("coolant counts until it is determined, and no more when it is not hazardous, a determination of one drum is of that drum alone") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "100L", job));
    Judgement j = o.judged("2026-01");
    CHECK(j.reading.best_ug == 107 * kKilogram);  // 1.07 kg/L
    CHECK(j.reading.category == 2);
    CHECK(j.lines.front().counts);
    Determination d;
    d.stream = "coolant";
    d.hazardous = false;
    d.reason = "lead 1.2 mg/L, below 5.0";
    o.at("2026-01-20T10:00:00.000Z");
    o.b.write(d);
    j = o.judged("2026-01");
    CHECK(j.reading.best_ug == 0);
    CHECK(j.reading.category == 1);
    CHECK(!j.lines.front().counts);
    d.place = o.drum;
    d.hazardous = true;
    d.reason = "smells of solvent";
    o.b.write(d);
    CHECK(o.judged("2026-01").reading.category == 2);
    // A determination of February does not reach back: January is judged by what was on record at its end, February by all of it.
    CHECK(sound(o.b.book()));
  }

  TEST_CASE("where drained and decided fall into different months and the category differs, both readings are told") {
    Office o;
    const JobId job = o.job("2026-01-30");
    o.at("2026-01-30T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.pan, "100L", job));
    o.at("2026-02-02T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::decant, o.pan, o.drum, "all"));
    const Judgement january = o.judged("2026-01");
    CHECK(january.reading.which == "decided");
    CHECK(january.reading.best_ug == 0);
    REQUIRE(january.other.has_value());
    CHECK(january.other->which == "drained");
    CHECK(january.other->best_ug == 107 * kKilogram);
    CHECK(january.other->category == 2);
    const Judgement february = o.judged("2026-02");
    CHECK(february.reading.best_ug == 107 * kKilogram);
    REQUIRE(february.other.has_value());
    CHECK(february.other->best_ug == 0);
  }

  TEST_CASE("streams over a span close to the nanolitre, and say the weight with the density used") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "60.000000001L", job));
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.pan, "~10L", job));
    o.b.write(TestBook::move(MoveVerb::decant, o.pan, o.drum, "all"));
    o.at("2026-02-10T10:00:00.000Z");
    o.b.write(o.pickup(o.drum, "20L", "A-1"));
    for (const auto& [from, until] : {std::pair{"2026-01-01", "2026-01-31"}, {"2026-01-01", "2026-03-31"}, {"2026-01-06", "2026-02-10"}, {"2026-02-01", "2026-02-28"}}) {
      const std::string span = from;
      CAPTURE(span);
      const auto rows = streams(o.b.book(), day(from), day(until));
      REQUIRE_MESSAGE(rows.ok(), why(rows));
      REQUIRE(rows->size() == 1);
      const StreamRow& r = rows->front();
      CHECK(r.stream.name == "coolant");
      CHECK(r.opening.best + r.from_cars.best + r.from_shop.best + r.brought_in.best + r.moved_in.best + r.gauge.best ==
            r.recycled.best + r.disposed.best + r.shipped_other.best + r.lost.best + r.moved_out.best + r.taken_back.best + r.closing.best);
      CHECK(r.density.find("1.07 kg/L") != std::string::npos);
    }
    const auto all = streams(o.b.book(), day("2026-01-01"), day("2026-03-31"));
    CHECK(all->front().closing.best == 50'000'000'001);
    CHECK(all->front().closing_ug == 53'500'000'001);
  }

  TEST_CASE("a drum that is empty again weighs nothing, however the weights of what came and went were rounded") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "0.333333333L", {}, class_of("coolant")));
    o.at("2026-02-02T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "0.333333333L", {}, class_of("coolant")));
    o.b.write(o.pickup(o.drum, "0.666666666L", "E-1"));
    const auto rows = streams(o.b.book(), day("2026-02-01"), day("2026-02-28"));
    REQUIRE_MESSAGE(rows.ok(), why(rows));
    CHECK(rows->front().closing.best == 0);
    CHECK(rows->front().closing_ug == 0);
  }

  TEST_CASE("a month is closed once, when it is over and no pan is undecided, each refusal leaves nothing") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.pan, "5L", job));
    const CloseMonth close{month_of(day("2026-01-01")), ""};
    const std::string before = o.b.dump();
    auto early = o.b.try_write(close);
    REQUIRE(!early.ok());
    CHECK(early.refusal().code == Code::in_future);
    o.at("2026-02-03T10:00:00.000Z");
    auto undecided = o.b.try_write(close);
    REQUIRE(!undecided.ok());
    CHECK(undecided.refusal().what.find("pan-1 5 L") != std::string::npos);
    CHECK(o.b.dump() == before);
    o.b.write(TestBook::move(MoveVerb::decant, o.pan, o.drum, "all"), "2026-01-31");
    o.b.write(close);
    auto twice = o.b.try_write(close);
    REQUIRE(!twice.ok());
    CHECK(twice.refusal().code == Code::already_there);
    const auto closed = closed_month(o.b.book(), close.month);
    REQUIRE_MESSAGE(closed.ok(), why(closed));
    REQUIRE(closed->has_value());
    CHECK((*closed)->differences.empty());
    CHECK((*closed)->category == "very small quantity generator (VSQG)");
    CHECK(sound(o.b.book()));
  }

  TEST_CASE("what changes a closed month later makes it an amended one: each difference, with who and why") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    const Receipt drained = o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "5L", job));
    o.at("2026-02-03T10:00:00.000Z");
    o.b.write(CloseMonth{month_of(day("2026-01-01")), ""});
    // An entry of February changes nothing in January.
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "1L", job));
    CHECK(closed_month(o.b.book(), month_of(day("2026-01-01"))).value()->differences.empty());
    Correction c;
    c.target = drained.entry.id;
    c.patch.amount = litres("5.5L");
    c.why = "read the jug wrong";
    o.b.write(c);
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "2L", {}, class_of("solvent")), "2026-01-31");
    const auto closed = closed_month(o.b.book(), month_of(day("2026-01-01"))).value();
    REQUIRE(closed.has_value());
    std::map<std::string, std::int64_t> by;
    for (const Difference& d : closed->differences) by[d.fluid + " " + d.column] = d.now - d.closed_at;
    CHECK(by["coolant drained"] == L / 2);
    CHECK(by["coolant closing"] == L / 2);
    CHECK(by["solvent brought-in"] == 2 * L);
    REQUIRE(closed->causes.size() == 2);
    CHECK(closed->causes[0].text == "read the jug wrong");
    CHECK(closed->causes[1].verb == "discard");
    CHECK(sound(o.b.book()));
  }

  TEST_CASE("a closed month that another installation's entries change, once they are brought in, is an amended one with each difference, who and why") {
    BroughtIn b;
    const Month january = month_of(day("2026-01-01"));
    const auto before = closed_month(b.bay.book(), january).value();
    REQUIRE(before.has_value());
    CHECK(before->differences.empty());
    CHECK(before->causes.empty());
    b.bring();
    const auto closed = closed_month(b.bay.book(), january).value();
    REQUIRE(closed.has_value());
    std::map<std::string, std::int64_t> by;
    for (const Difference& d : closed->differences) by[d.fluid + " " + d.column] = d.now - d.closed_at;
    CHECK(by == std::map<std::string, std::int64_t>{{"coolant brought-in", 2 * L}, {"coolant closing", 5 * L / 2}, {"coolant drained", L / 2}, {"coolant to-waste", by["coolant to-waste"]}});
    REQUIRE(closed->causes.size() == 2);
    for (const EntryView& e : closed->causes) {
      CHECK(e.ref.tag == "office");
      CHECK(e.by == "Maren Ødegård");
    }
    CHECK(closed->causes[0].text == "stood at the gate, slip of January");
    CHECK(closed->causes[1].text == "the jug was read wrong");
    // What was closed stays what it was, and the installation that closed it says so with its own seal alone.
    CHECK(closed->seal == before->seal);
    CHECK(sound(b.bay.book()));
  }

  TEST_CASE("one paper, one pick-up, its firms must be known and do what is asked, a confirmed paper comes back once") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "100L", {}, class_of("coolant")));
    const Receipt first = o.b.write(o.pickup(o.drum, "40L", "0041233"));
    auto again = o.b.try_write(o.pickup(o.drum, "10L", "0041233"));
    REQUIRE(!again.ok());
    CHECK(again.refusal().code == Code::already_there);
    auto over = o.b.try_write(o.pickup(o.drum, "90L", "0041234"));
    REQUIRE(!over.ok());
    CHECK(over.refusal().code == Code::would_overdraw);
    Movement unknown = o.pickup(o.drum, "10L", "0041235");
    unknown.receiver_firm = FirmId{o.firm.n + 1};
    CHECK(!o.b.try_write(unknown).ok());
    CHECK(!o.b.book().find_firm("nobody").ok());
    // A firm that a pick-up names is not withdrawn under it.
    Correction c;
    c.target = EntryId{o.firm.n};
    c.withdraw = true;
    c.why = "wrong firm";
    CHECK(o.b.try_write(c).refusal().code == Code::has_dependants);

    o.at("2026-01-20T10:00:00.000Z");
    ConfirmPickup back;
    back.pickup = first.entry.id;
    back.signed_on = day("2026-01-01");
    CHECK(!o.b.try_write(back).ok());  // signed before the load had left
    back.signed_on = day("2026-01-18");
    back.measured = {{1, litres("39.5L")}};
    o.b.write(back);
    CHECK(o.b.try_write(back).refusal().code == Code::already_there);
    const auto view = pickup(o.b.book(), first.entry.id);
    REQUIRE(view.ok());
    CHECK(view->confirmed == day("2026-01-18"));
    CHECK(view->lines.front().difference == -L / 2);
    CHECK(view->carrier == "Quill & Tarn Recovery");
    const auto rows = waste_register(o.b.book(), day("2026-01-01"), day("2026-01-31"));
    REQUIRE(rows.ok());
    REQUIRE(rows->size() == 2);
    CHECK(!(*rows)[0].out);
    CHECK((*rows)[1].out);
    CHECK((*rows)[1].document == "0041233");
    CHECK((*rows)[1].destination == "Quill & Tarn Recovery");
    CHECK((*rows)[1].measured->best == 39'500'000'000);
    CHECK((*rows)[1].entry.id == first.entry.id);
    CHECK(sound(o.b.book()));
  }

  TEST_CASE("in the register two loads of one drum keep their own figures, and what a gauge found missing went out") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "300L", {}, class_of("solvent")));
    Movement m = o.pickup(o.solvent, "100L", "0041240");
    m.lines.push_back(m.lines.front());
    m.lines.back().amount = litres("50L");
    m.lines.front().measured = litres("99L");
    m.lines.back().measured = litres("51L");
    o.b.write(m);
    Gauge g;
    g.place = o.solvent;
    g.level = litres("140L");
    g.reason = "dipped";
    o.b.write(g);
    g.level = litres("145L");
    o.b.write(g);
    const auto rows = waste_register(o.b.book(), day("2026-01-01"), day("2026-01-31"));
    REQUIRE(rows.ok());
    REQUIRE(rows->size() == 5);
    CHECK((*rows)[1].measured->best == 99 * L);
    CHECK((*rows)[2].measured->best == 51 * L);
    CHECK((*rows)[3].out);
    CHECK((*rows)[3].best == 10 * L);
    CHECK((*rows)[3].destination == "difference found by a gauge");
    CHECK(*(*rows)[3].best_ug > 0);
    CHECK(!(*rows)[4].out);
    CHECK((*rows)[4].best == 5 * L);
    CHECK((*rows)[4].origin == "difference found by a gauge");
    // In less out is what stands there.
    std::int64_t sum = 0;
    for (const RegisterRow& r : *rows) sum += r.out ? -r.best : r.best;
    CHECK(sum == o.b.level(o.solvent));
  }

  TEST_CASE("an unreturned paper of a small quantity generator is reported after 60 days (262.42(b)), of a large one asked about at 45 and reported at 60 (262.42(a))") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "200L", {}, class_of("solvent")));  // 156 kg: small
    o.b.write(o.pickup(o.solvent, "50L", "S-1"));
    auto l = limits(o.b.book(), day("2026-02-20"));
    REQUIRE_MESSAGE(l.ok(), why(l));
    const LimitLine* paper = o.limit(*l, "paper", "S-1");
    REQUIRE(paper != nullptr);
    CHECK(to_string(*paper->due) == "2026-03-03");
    CHECK(paper->section.find("262.42(b)") != std::string::npos);
    CHECK(paper->state == LimitLine::State::near);
    CHECK(o.limit(*limits(o.b.book(), day("2026-03-04")), "paper", "S-1")->state == LimitLine::State::over);
    // The month becomes that of a large quantity generator: 156 + 780 + 78 kg.
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "800L", {}, class_of("solvent")));
    o.b.write(o.pickup(o.solvent, "100L", "L-1"));
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "100L", {}, class_of("solvent")), "2026-01-02");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "50L", {}, class_of("solvent")), "2026-01-02");
    CHECK(o.judged("2026-01").reading.best_ug == 897 * kKilogram);
    o.b.write(o.pickup(o.solvent, "900L", "L-2"));
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "400L", {}, class_of("solvent")), "2026-01-02");
    CHECK(o.judged("2026-01").reading.category == 3);
    std::vector<std::string> dates;
    const auto all = limits(o.b.book(), day("2026-02-01"));
    for (const LimitLine& x : all->lines) {
      if (x.group == "paper" && x.what.starts_with("L-1")) dates.push_back(to_string(*x.due));
    }
    CHECK(dates == std::vector<std::string>{"2026-02-16", "2026-03-03"});
  }

  TEST_CASE("a satellite area over 55 gallons has three calendar days (262.15(a)(6)), a pan undecided is asked about, an area's look is due") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "200L", {}, class_of("solvent")));
    CHECK(o.limit(*limits(o.b.book(), day("2026-01-02")), "satellite")->state == LimitLine::State::near);
    o.at("2026-01-09T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "9L", {}, class_of("solvent")));  // 209 L; 55 gal are 208.198
    const auto over = limits(o.b.book(), day("2026-01-10"));
    const LimitLine* l = o.limit(*over, "satellite");
    REQUIRE(l != nullptr);
    REQUIRE(l->due.has_value());
    CHECK(to_string(*l->due) == "2026-01-12");
    // Below the limit again, the clock is off.
    o.b.write(o.pickup(o.solvent, "9L", "S-2"));
    CHECK(!o.limit(*limits(o.b.book(), day("2026-01-10")), "satellite")->due.has_value());

    const JobId job = o.job("2026-01-09");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.pan, "5L", job));
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-01-10")), "pan", "pan-1")->due) == "2026-01-16");
    // 163 kg of solvent in January: small, so the areas are looked at every 7 days (262.16(b)(2)(iv)).
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-01-10")), "inspection", "bay-2")->due) == "2026-01-09");
    Inspection look;
    look.area = "bay-2";
    o.b.write(look);
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-01-10")), "inspection", "bay-2")->due) == "2026-01-16");
    look.area = "bay-9";
    CHECK(o.b.try_write(look).refusal().code == Code::not_found);
  }

  TEST_CASE("what was weighed into a satellite area counts by its density, bounds may be over, and what has no density is told") {
    Office o;
    o.at("2026-01-02T10:00:00.000Z");
    NewPlace d;
    d.code = "drum-brake";
    d.role = Role::waste;
    d.size = *parse_amount("300kg", Units{});
    d.takes = {"brake-fluid"};
    d.area = "bay-3";
    d.satellite = true;
    const PlaceId weighed{o.b.write(d).entry.id.n};
    const auto line = [&](const char* on) {
      const auto all = limits(o.b.book(), day(on));
      const LimitLine* l = o.limit(*all, "satellite", "bay-3");
      REQUIRE(l != nullptr);
      return *l;
    };
    // 212 kg at the rule file's 1.06 kg/L (two sources, in us-federal.toml) are 200 L of 208.198.
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, weighed, "212kg", {}, class_of("brake-fluid")));
    CHECK(line("2026-01-03").state == LimitLine::State::near);
    CHECK(line("2026-01-03").figures.starts_with("200 L of "));
    CHECK(line("2026-01-03").figures.find("by its density") != std::string::npos);
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, weighed, "5..10.6kg", {}, class_of("brake-fluid")));  // 204.7 to 210 L
    CHECK(line("2026-01-03").state == LimitLine::State::near);
    CHECK(line("2026-01-03").figures.find("may be over: 210 L") != std::string::npos);
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, weighed, "6kg", {}, class_of("brake-fluid")));
    CHECK(line("2026-01-03").state == LimitLine::State::near);
    REQUIRE(line("2026-01-03").due.has_value());
    CHECK(to_string(*line("2026-01-03").due) == "2026-01-05");

    d.code = "bin-wipes";
    d.takes = {"wipes"};
    d.area = "bay-4";
    const PlaceId wipes{o.b.write(d).entry.id.n};
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, wipes, "10kg", {}, class_of("wipes")));
    const auto all = limits(o.b.book(), day("2026-01-03"));
    const LimitLine* l = o.limit(*all, "satellite", "bay-4");
    REQUIRE(l != nullptr);
    CHECK(l->state == LimitLine::State::near);
    CHECK(l->figures.find("no volume in the book") != std::string::npos);
  }

  TEST_CASE(
      "a container of a stream that the rules do not know is listed among the clocks with that reason and no day") {
    Office o;
    // As a version wrote it that took any stream.
    log::Value d;
    d["code"] = "bin-odd";
    d["role"] = "waste";
    d["stream"] = "odd-ends";
    d["takes"] = log::Value(log::Value::Array{log::Value("absorbent")});
    const PlaceId bin{past_the_funnel(o.b, {log::Kind::place, d}).n};
    o.at("2026-01-05T10:00:00.000Z");
    CHECK(o.limit(*limits(o.b.book(), day("2026-01-10")), "clock") == nullptr);
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, bin, "2kg", {}, class_of("absorbent")));
    const auto all = limits(o.b.book(), day("2026-01-10"));
    const LimitLine* l = o.limit(*all, "clock", "bin-odd/1, odd-ends");
    REQUIRE(l != nullptr);
    CHECK_FALSE(l->due.has_value());
    CHECK(l->figures == "no days are known: the rules have no stream of this name");
    CHECK_FALSE(l->entries.empty());
  }

  TEST_CASE("a drum's clock is 180 days in a small month and 90 once a month was large (262.16(b), 262.17(a))") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "100L", job));
    const auto first = limits(o.b.book(), day("2026-01-10"));
    REQUIRE(o.limit(*first, "clock") != nullptr);
    CHECK(to_string(*o.limit(*first, "clock")->due) == "2026-07-04");
    o.at("2026-03-01T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "1000L", {}, class_of("solvent")));
    o.b.write(o.pickup(o.solvent, "800L", "P-1"));
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "500L", {}, class_of("solvent")));
    const auto then = limits(o.b.book(), day("2026-03-05"));
    CHECK(to_string(*o.limit(*then, "clock", "drum-coolant")->due) == "2026-04-05");
  }

  TEST_CASE("waste that is poured over into another drum keeps its day, on the clock and on the label, and what a satellite held begins anew") {
    Office o;
    NewPlace d;
    d.code = "drum-2";
    d.role = Role::waste;
    d.size = litres("200L");
    d.takes = {"coolant"};
    d.area = "yard";
    const PlaceId other{o.b.write(d).entry.id.n};
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "120L", job));
    o.at("2026-03-04T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::decant, o.drum, other, "all"));
    const auto after = limits(o.b.book(), day("2026-03-10"));
    REQUIRE(o.limit(*after, "clock", "drum-2/1") != nullptr);
    // 40 CFR 262.16(b): 180 days; day 0 is the first day, as in the case before.
    CHECK(to_string(*o.limit(*after, "clock", "drum-2/1")->due) == "2026-07-04");
    CHECK(to_string(*label(o.b.book(), other, day("2026-03-10"))->since) == "2026-01-05");
    // Back again, in a circle.
    o.at("2026-03-11T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::decant, other, o.drum, "all"));
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-03-12")), "clock", "drum-coolant")->due) == "2026-07-04");
    NewPlace c;
    c.code = "drum-3";
    c.role = Role::waste;
    c.size = litres("200L");
    c.takes = {"solvent"};
    const PlaceId central{o.b.write(c).entry.id.n};
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "50L", {}, class_of("solvent")), "2026-02-01");
    o.b.write(TestBook::move(MoveVerb::decant, o.solvent, central, "all"));
    CHECK(to_string(*label(o.b.book(), central, day("2026-03-12"))->since) == "2026-03-11");
  }

  TEST_CASE("a closed month that the rules judge otherwise since is amended, with both weights and the entry that did it") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "120L", job));
    CloseJob left;
    left.job = job;
    left.as_is = "stands open";
    o.b.write(left);
    o.at("2026-02-10T10:00:00.000Z");
    o.b.write(CloseMonth{month_of(day("2026-01-01")), ""});
    const auto closed = [&] {
      auto m = closed_month(o.b.book(), month_of(day("2026-01-01")));
      REQUIRE_MESSAGE(m.ok(), why(m));
      REQUIRE(m->has_value());
      return **m;
    };
    CHECK_FALSE(closed().judged_now.has_value());
    // 120 L at 1.07 kg/L (50/50 ethylene glycol: the source stands in the rule file).
    CHECK(closed().counted_ug == 128'400'000'000);
    Determination d;
    d.stream = "coolant";
    d.hazardous = false;
    d.reason = "lead below 5.0 mg/L";
    const EntryId found = o.b.write(d, "2026-01-20").entry.id;
    const ClosedMonth now = closed();
    CHECK(now.differences.empty());
    REQUIRE(now.judged_now.has_value());
    CHECK(now.judged_now->counted_ug == 0);
    CHECK(now.judged_now->category != now.category);
    REQUIRE(now.causes.size() == 1);
    CHECK(now.causes.front().ref.id == found);
    const auto proof = prove(o.b.book());
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    REQUIRE(proof->months.size() == 1);
    CHECK(proof->months.front().judged_otherwise);
    Correction c;
    c.target = found;
    c.withdraw = true;
    c.why = "of another batch";
    o.b.write(c);
    CHECK_FALSE(closed().judged_now.has_value());
  }

  TEST_CASE("a deadline at the end of a month comes at the end of each, and after a day set by hand on that one") {
    Office o;
    Deadline d;
    d.code = "return";
    d.due = day("2026-01-31");
    d.every_months = 3;
    const DeadlineId of{o.b.write(d).entry.id.n};
    const auto next = [&](std::optional<Day> set = {}) {
      o.b.write(DeadlineDone{of, set, ""});
      return to_string(*o.limit(*limits(o.b.book(), day("2026-02-20")), "deadline")->due);
    };
    // The returning quarters end as those of ISO months do: 30 April, 31 July, 31 October, 31 January.
    CHECK(next() == "2026-04-30");
    CHECK(next() == "2026-07-31");
    CHECK(next() == "2026-10-31");
    CHECK(next() == "2027-01-31");
    CHECK(next(day("2027-05-15")) == "2027-05-15");
    CHECK(next() == "2027-08-15");
  }

  TEST_CASE("a deadline comes again by its months until it is settled, a settlement that is withdrawn brings it back") {
    Office o;
    Deadline d;
    d.code = "carrier-licence";
    d.due = day("2026-02-28");
    d.every_months = 12;
    const Receipt made = o.b.write(d);
    CHECK(o.limit(*limits(o.b.book(), day("2026-02-20")), "deadline")->state == LimitLine::State::near);
    const DeadlineDone done{DeadlineId{made.entry.id.n}, {}, ""};
    const Receipt settled = o.b.write(done);
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-02-20")), "deadline")->due) == "2027-02-28");
    Correction c;
    c.target = settled.entry.id;
    c.withdraw = true;
    c.why = "not yet";
    o.b.write(c);
    CHECK(to_string(*o.limit(*limits(o.b.book(), day("2026-02-20")), "deadline")->due) == "2026-02-28");
    CHECK(sound(o.b.book()));
  }

  TEST_CASE("a paper on file that is missing or changed is found by prove") {
    Office o;
    const std::string folder = papers_folder(o.b.file());
    std::filesystem::create_directory(folder);
    const auto put = [&](const std::string& text) { std::ofstream(folder + "/scan.pdf", std::ios::binary) << text; };
    put("signed copy");
    Paper p;
    p.about = EntryId{o.firm.n};
    p.file = "scan.pdf";
    p.sha256 = sha256_hex("signed copy");
    p.bytes = 11;
    o.b.write(p);
    CHECK(prove(o.b.book())->findings.empty());
    CHECK(prove(o.b.book())->papers == 1);
    put("signed c0py");
    REQUIRE(prove(o.b.book())->findings.size() == 1);
    CHECK(prove(o.b.book())->findings.front().what.find("was changed") != std::string::npos);
    std::filesystem::remove(folder + "/scan.pdf");
    CHECK(prove(o.b.book())->findings.front().what.find("is not in the folder") != std::string::npos);
    std::filesystem::remove_all(folder);
  }

  TEST_CASE("a book begins with a rule set that exists, and a month is judged by the rules of that month") {
    Folder folder;
    Settings s;
    s.site = "Saltmarsh Motor Works";
    s.tag = "bay";
    s.rules = "us-federl";
    auto b = Book::start(folder.file("a.baybook"), s, instant("2026-01-02T09:00:00.000Z"), repeatable(1));
    REQUIRE(!b.ok());
    CHECK(b.refusal().instead.find("us-federal") != std::string::npos);
    CHECK(!std::filesystem::exists(folder.file("a.baybook")));

    Office o;
    ChooseRules eu;
    eu.set = "eu";
    eu.from = day("2026-02-01");
    o.b.write(eu);
    CHECK(o.judged("2026-01").rules == "us-federal");
    CHECK(o.judged("2026-02").rules == "eu");
    CHECK(!judge(o.b.book(), month_of(day("2025-12-01"))).ok());
    // A shop's own file with a slip is refused with its place, and nothing is written.
    ChooseRules own = eu;
    own.file = "[[value]]\nkey = \"clock.smal.days\"\nis = \"90 d\"\nsection = \"x\"\n";
    own.file_name = "shop.toml";
    const std::string before = o.b.dump();
    auto r = o.b.try_write(own);
    REQUIRE(!r.ok());
    CHECK(r.refusal().what.starts_with("shop.toml:2:"));
    CHECK(o.b.dump() == before);
  }

  TEST_CASE("a spill is compared with the reportable quantity of the rules, and nothing says that no report is due") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    Movement m = TestBook::move(MoveVerb::spill, o.b.coolant(o.car), kGround, "1.5L", job);
    m.reached = Reached::drain;
    const Receipt r = o.b.write(m);
    const auto advice = spill_advice(o.b.book(), r.entry.id);
    REQUIRE_MESSAGE(advice.ok(), why(advice));
    std::string all;
    CHECK(advice->lines.empty());
    REQUIRE(advice->substances.size() == 1);
    all = advice->substances.front().told;
    CHECK(all.find("below 5000 lb within any 24-hour period") != std::string::npos);
    CHECK(all.find(", from memory)") != std::string::npos);
    CHECK(entry(o.b.book(), r.entry.id)->summary ==
          "spilled 1.5 L coolant from the coolant circuit, reached a drain");
    CHECK(all.find("no report") == std::string::npos);
    CHECK(all.find("AT OR OVER") == std::string::npos);
  }

  TEST_CASE("an entry's line names the machine and what a spill reached, how it was cleaned is told with the notes and goes when it is erased") {
    Office o;
    const JobId job = o.job("2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    Movement m = TestBook::move(MoveVerb::spill, o.b.coolant(o.car), kGround, "1.5L", job);
    m.reached = Reached::floor;
    m.note = "under the lift";
    m.cleaned = "granules, then soap";
    const Receipt spilled = o.b.write(m);
    CHECK(spilled.summary.ends_with(", reached the floor"));
    CHECK(spilled.summary.find("granules") == std::string::npos);
    CHECK(entry(o.b.book(), spilled.entry.id)->text == "under the lift; cleaned up: granules, then soap");
    {
      auto q = o.b->inside().db.query("UPDATE private SET value = '' WHERE entry = ? AND field = 'cleaned'");
      q.bind(spilled.entry.id.n).run();
    }
    CHECK(entry(o.b.book(), spilled.entry.id)->text == "under the lift");
    Movement drain = TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.pan, "1L", job);
    drain.machine = "RA-2";
    CHECK(o.b.write(drain).summary == "drained 1 L coolant into pan-1, with the machine RA-2");
  }

  TEST_CASE("a label says the words of the rules, the start of the filling, and a payload of capitals, digits and hyphens") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "10L", {}, class_of("solvent")));
    const auto l = label(o.b.book(), o.solvent, day("2026-01-02"));
    REQUIRE_MESSAGE(l.ok(), why(l));
    CHECK(std::find(l->words.begin(), l->words.end(), "Hazardous Waste") != l->words.end());
    CHECK(l->filling == "drum-solvent/1");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "10L", {}, class_of("coolant")));
    CHECK(label(o.b.book(), o.drum, day("2026-01-02"))->since == day("2026-01-02"));
    CHECK(l->payload == "BAYBOOK:BAY-DRUM-SOLVENT-1");
    CHECK(l->payload.size() <= 40);
    CHECK(label(o.b.book(), o.pan, day("2026-01-02")).refusal().code == Code::not_allowed);
  }

  TEST_CASE("the label of a satellite container has no start date until its area is over the limit, then the day on which it was (262.15(a)(6))") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "200L", {}, class_of("solvent")));
    const auto below = label(o.b.book(), o.solvent, day("2026-01-08"));
    REQUIRE_MESSAGE(below.ok(), why(below));
    CHECK_FALSE(below->since.has_value());
    CHECK(std::any_of(below->cautions.begin(), below->cautions.end(), [](const std::string& c) { return c.starts_with("Satellite accumulation area") && c.find("55 usgal (40 CFR 262.15") != std::string::npos; }));
    o.at("2026-01-09T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.solvent, "9L", {}, class_of("solvent")));  // 209 L; 55 gal are 208.198
    CHECK(label(o.b.book(), o.solvent, day("2026-01-10"))->since == day("2026-01-09"));
    CHECK_FALSE(label(o.b.book(), o.solvent, day("2026-01-08"))->since.has_value());
    // What was determined not to be hazardous is in no satellite area of the rule: it is dated as any other.
    Determination d;
    d.stream = "solvent";
    d.hazardous = false;
    d.reason = "flash point 74 °C, not listed";
    o.b.write(d);
    const auto plain = label(o.b.book(), o.solvent, day("2026-01-10"));
    CHECK(plain->since == day("2026-01-02"));
    CHECK(std::none_of(plain->cautions.begin(), plain->cautions.end(), [](const std::string& c) { return c.starts_with("Satellite"); }));
  }

  TEST_CASE("a determination is kept for its months after it was made, whatever left before it, and one of a single drum names the drum (262.11(f), 262.40(c))") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "100L", {}, class_of("coolant")));
    o.at("2026-01-06T10:00:00.000Z");
    o.b.write(o.pickup(o.drum, "10L", "K-1"));
    o.at("2026-01-10T10:00:00.000Z");
    Determination d;
    d.stream = "coolant";
    d.hazardous = true;
    d.reason = "lead above 5.0 mg/L";
    o.b.write(d);
    d.place = o.drum;
    o.b.write(d);
    const auto kept = [&](const char* on) {
      std::vector<std::string> out;
      const auto all = limits(o.b.book(), day(on));
      for (const LimitLine& l : all->keep) {
        if (l.what.starts_with("determination")) out.push_back(l.what + " " + to_string(*l.due));
      }
      return out;
    };
    // 36 months: retention.determination.months of the rule file.
    CHECK(kept("2026-01-20") == std::vector<std::string>{"determination of coolant 2029-01-10", "determination of coolant, drum-coolant 2029-01-10"});
    o.at("2026-03-04T10:00:00.000Z");
    o.b.write(o.pickup(o.drum, "10L", "K-2"));
    CHECK(kept("2026-03-20") == std::vector<std::string>{"determination of coolant 2029-03-04", "determination of coolant, drum-coolant 2029-03-04"});
  }

  TEST_CASE("a carrier's pieces are not held against litres, nor litres against pieces, kilograms are held against litres") {
    Office o;
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, o.drum, "100L", {}, class_of("coolant")));
    const PlaceId box = o.b.place("box-filters", Role::waste, "120pcs", {"oil-filters"});
    o.b.write(TestBook::move(MoveVerb::discard, kSupplier, box, "10pcs", {}, class_of("oil-filters")));
    const EntryId fluid = o.b.write(o.pickup(o.drum, "40L", "P-1")).entry.id;
    const EntryId pieces = o.b.write(o.pickup(box, "8pcs", "P-2")).entry.id;
    const std::string before = o.b.dump();
    struct Row {
      const char* name;
      EntryId pickup;
      const char* measured;
      const char* what;
      const char* instead;
    };
    const Row rows[] = {
        {"pieces of litres", fluid, "8pcs", " is 40 L; 8 pcs cannot be held against it", "--measured 1=178L"},
        {"litres of pieces", pieces, "8L", " is 8 pcs; 8 L cannot be held against it", "--measured 1=8pcs"},
        {"kilograms of pieces", pieces, "8kg", " is 8 pcs; 8 kg cannot be held against it", "--measured 1=8pcs"},
    };
    for (const Row& row : rows) {
      CAPTURE(row.name);
      ConfirmPickup back;
      back.pickup = row.pickup;
      back.signed_on = day("2026-01-02");
      back.measured = {{1, litres(row.measured)}};
      const auto no = o.b.try_write(back);
      REQUIRE_FALSE(no.ok());
      CHECK(no.refusal().code == Code::not_allowed);
      CHECK(no.refusal().what.find(row.what) != std::string::npos);
      CHECK(no.refusal().instead.find(row.instead) != std::string::npos);
      CHECK_FALSE(no.refusal().instead.starts_with("--"));
      CHECK(o.b.dump() == before);
    }
    Movement measured_at_once = o.pickup(o.drum, "10L", "P-3");
    measured_at_once.lines.front().measured = litres("8pcs");
    CHECK(o.b.try_write(measured_at_once).refusal().code == Code::not_allowed);
    ConfirmPickup weighed;
    weighed.pickup = fluid;
    weighed.signed_on = day("2026-01-02");
    weighed.measured = {{1, litres("43kg")}};
    o.b.write(weighed);
  }

  TEST_CASE("totals by car, job and person add up to the month's own") {
    Office o;
    const CarId other = o.b.car("REED-03");
    const JobId one = o.job("2026-01-05");
    const JobId two = o.b.job(other, "2026-01-05");
    o.at("2026-01-05T10:00:00.000Z");
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(o.car), o.drum, "5L", one));
    o.b.write(TestBook::move(MoveVerb::drain, o.b.coolant(other), o.drum, "3L", two));
    const auto month = totals(o.b.book(), day("2026-01-01"), day("2026-01-31"));
    for (const SplitBy by : {SplitBy::car, SplitBy::job, SplitBy::person}) {
      const auto rows = split_totals(o.b.book(), day("2026-01-01"), day("2026-01-31"), by);
      REQUIRE_MESSAGE(rows.ok(), why(rows));
      std::int64_t drained = 0;
      for (const SplitRow& r : *rows) drained += r.drained.best;
      CHECK(drained == month->rows.front().drained.best);
      CHECK(rows->size() == (by == SplitBy::person ? 1U : 2U));
    }
  }
}
