// Spills beside the quantities of the rules: what got out, within a day, by the shares that were
// said.
#include "support/test_book.hpp"

#include <baybook/due.hpp>
#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

using State = SpillComparison::State;

/// A shop by the US federal rules with drums that hold enough to spill.
struct Yard {
  TestBook b{"bay", 7, "2026-02-01T09:00:00.000Z"};
  PlaceId coolant, solvent, absorb, oil;
  Yard() {
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    b.write(rules);
    coolant = drum("drum-coolant", "coolant");
    solvent = drum("drum-solvent", "solvent");
    absorb = drum("drum-absorb", "absorbent");
    oil = drum("drum-oil", "engine-oil");
  }
  PlaceId drum(const std::string& code, const std::string& takes) {
    return b.place(code, Role::waste, {}, {takes});
  }
  void fill(PlaceId place, const std::string& amount, FluidId what) {
    b.write(TestBook::move(MoveVerb::discard, kSupplier, place, amount, {}, what), "2026-02-01");
  }
  FluidId product(const std::string& code, const std::string& of, const std::string& share) {
    NewFluid f;
    f.code = code;
    f.of_class = of;
    f.dimension = Dimension::mass;
    if (!share.empty()) f.shares = {*parse_share(share)};
    return FluidId{b.write(f).entry.id.n};
  }
  Movement spill(PlaceId from, const std::string& amount) {
    return TestBook::move(MoveVerb::spill, from, kGround, amount);
  }
  EntryId at(const Movement& m, std::string_view on, std::optional<int> hour, int minute = 0) {
    b.now = std::max(b.now, instant("2026-03-02T20:00:00.000Z"));
    Stamp s = b.stamp(on);
    if (hour) s.at = Minute{static_cast<std::int16_t>(*hour * 60 + minute)};
    auto r = b.book().append(m, s);
    REQUIRE_MESSAGE(r.ok(), why(r));
    return r->entry.id;
  }
  SpillAdvice of(EntryId e) {
    auto a = spill_advice(b.book(), e);
    REQUIRE_MESSAGE(a.ok(), why(a));
    return *a;
  }
  const SpillComparison* about(const SpillAdvice& a, std::string_view substance) {
    for (const SpillComparison& c : a.substances) {
      if (c.substance == substance) return &c;
    }
    return nullptr;
  }
};

FluidId kind(std::string_view name) { return FluidId{find_class(name)->number}; }

constexpr std::int64_t kPound = 453'592'370;

}  // namespace

TEST_SUITE("book/spills") {
  TEST_CASE("what was picked up again had got out, and does not lower the sum") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    Movement m = y.spill(y.solvent, "2lb");
    MoveLine back = m.lines.front();
    back.to = y.drum("drum-back", "solvent");
    back.amount = litres("8lb");
    m.lines.push_back(back);
    MoveLine granules;
    granules.from = kSupplier;
    granules.to = y.absorb;
    granules.amount = litres("20kg");
    granules.fluid = kind("absorbent");
    m.lines.push_back(granules);
    const SpillAdvice a = y.of(y.at(m, "2026-03-02", 8));
    const SpillComparison* c = y.about(a, "benzene");
    REQUIRE(c != nullptr);
    CHECK(c->best_ug == 10 * kPound);
    CHECK(c->state == State::at_or_over);
    // All of it back in a drum is a spill all the same.
    Movement all = y.spill(y.solvent, "10lb");
    all.lines.front().to = back.to;
    const SpillAdvice whole = y.of(y.at(all, "2026-02-20", 8));
    REQUIRE(y.about(whole, "benzene") != nullptr);
    CHECK(y.about(whole, "benzene")->best_ug == 10 * kPound);
  }

  TEST_CASE("a range stays a range, and its upper bound alone may be over") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    const SpillAdvice a = y.of(y.at(y.spill(y.solvent, "4..11lb"), "2026-03-02", 8));
    const SpillComparison* c = y.about(a, "benzene");
    REQUIRE(c != nullptr);
    CHECK(c->low_ug == 4 * kPound);
    CHECK(c->high_ug == 11 * kPound);
    CHECK(c->state == State::may_be);
    CHECK(c->told.find("MAY BE AT OR OVER 10 lb") != std::string::npos);
    CHECK(c->told.find("4..11lb of solvent got out") != std::string::npos);
  }

  TEST_CASE(
      "spills within 24 hours are summed whatever order they were written in, and one minute more "
      "is none of them") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    // Written last first.
    const EntryId late = y.at(y.spill(y.solvent, "6lb"), "2026-03-02", 8, 0);
    const EntryId first = y.at(y.spill(y.solvent, "5lb"), "2026-03-01", 8, 0);
    CHECK(y.about(y.of(late), "benzene")->best_ug == 11 * kPound);
    CHECK(y.about(y.of(first), "benzene")->best_ug == 11 * kPound);
    CHECK(y.about(y.of(first), "benzene")->entries.size() == 2);
    Yard z;
    z.fill(z.solvent, "100lb", kind("solvent"));
    const EntryId after = z.at(z.spill(z.solvent, "6lb"), "2026-03-02", 8, 1);
    const EntryId before = z.at(z.spill(z.solvent, "5lb"), "2026-03-01", 8, 0);
    CHECK(z.about(z.of(after), "benzene")->best_ug == 6 * kPound);
    CHECK(z.about(z.of(before), "benzene")->may_high_ug == 5 * kPound);
  }

  TEST_CASE("of all windows around a spill the one with the largest sum decides") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    y.at(y.spill(y.solvent, "3lb"), "2026-03-01", 1);
    const EntryId middle = y.at(y.spill(y.solvent, "1lb"), "2026-03-01", 20);
    y.at(y.spill(y.solvent, "4lb"), "2026-03-02", 7);
    // 3 + 1 lie within a day, 1 + 4 do, all three do not.
    CHECK(y.about(y.of(middle), "benzene")->best_ug == 5 * kPound);
  }

  TEST_CASE("without a time of day neighbouring days may be within it, and the same day is") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    const EntryId monday = y.at(y.spill(y.solvent, "6lb"), "2026-03-01", {});
    y.at(y.spill(y.solvent, "1lb"), "2026-03-01", 23);
    y.at(y.spill(y.solvent, "5lb"), "2026-02-28", {});
    const SpillAdvice a = y.of(monday);
    const SpillComparison* c = y.about(a, "benzene");
    REQUIRE(c != nullptr);
    CHECK(c->best_ug == 7 * kPound);
    CHECK(c->may_high_ug == 12 * kPound);
    CHECK(c->state == State::may_be);
    CHECK(c->may.size() == 1);
    CHECK(c->told.find("may be within it") != std::string::npos);
  }

  TEST_CASE(
      "a share that is said of a product lists its substances alone, whatever their class, and one "
      "of the spill comes before it") {
    Yard y;
    const FluidId cleaner = y.product("brake-clean", "solvent", "toluene=20..30%");
    y.fill(y.solvent, "5000lb", cleaner);
    const EntryId e = y.at(y.spill(y.solvent, "4000lb"), "2026-03-02", 8);
    const SpillAdvice a = y.of(e);
    REQUIRE(a.substances.size() == 1);
    CHECK(a.substances[0].substance == "toluene");
    CHECK(a.substances[0].low_ug == 800 * kPound);
    CHECK(a.substances[0].best_ug == 1000 * kPound);
    CHECK(a.substances[0].high_ug == 1200 * kPound);
    CHECK(a.substances[0].state == State::at_or_over);
    CHECK(a.substances[0].share.find("20..30% of the mass, said of brake-clean") !=
          std::string::npos);
    Movement m = y.spill(y.solvent, "100lb");
    m.shares = {*parse_share("Methanol=50%")};
    const SpillAdvice b = y.of(y.at(m, "2026-02-20", 8));
    REQUIRE(b.substances.size() == 1);
    CHECK(b.substances[0].substance == "methanol");
    CHECK(b.substances[0].best_ug == 50 * kPound);
  }

  TEST_CASE(
      "a mixture of which nobody said the shares is compared as a whole, the lowest quantity "
      "first") {
    Yard y;
    y.fill(y.solvent, "5000lb", kind("solvent"));
    const SpillAdvice a = y.of(y.at(y.spill(y.solvent, "99lb"), "2026-03-02", 8));
    REQUIRE(a.substances.size() == 7);
    CHECK(a.substances[0].substance == "benzene");
    CHECK(a.substances[0].state == State::at_or_over);
    CHECK(a.substances[0].share.find("unknown mixture") != std::string::npos);
    CHECK(a.substances[1].quantity.n == 100 * kPound);
    CHECK(a.substances[1].state == State::near);
    CHECK(a.substances.back().state == State::below);
    // What is below is not said aloud.
    for (const std::string& l : a.lines) CHECK(l.find("1000 lb") == std::string::npos);
  }

  TEST_CASE(
      "a figure at the limit is over and one microgram less is not, with the digits that decide") {
    Yard y;
    const FluidId premix = y.product("oat-violet", "coolant", "ethylene glycol=50%");
    y.fill(y.coolant, "20000lb", premix);
    const SpillAdvice at = y.of(y.at(y.spill(y.coolant, "10000lb"), "2026-03-02", 8));
    CHECK(at.substances.front().best_ug == 5000 * kPound);
    CHECK(at.substances.front().state == State::at_or_over);
    CHECK(at.substances.front().mass.find("(5000 lb)") != std::string::npos);
    const SpillAdvice below = y.of(y.at(y.spill(y.coolant, "9999.9999lb"), "2026-02-20", 8));
    CHECK(below.substances.front().state == State::near);
    CHECK(below.substances.front().mass.find("(4999.9999") != std::string::npos);
  }

  TEST_CASE("a small spill has no reporting line, and oil that reached water has its own") {
    Yard y;
    y.fill(y.coolant, "20L", kind("coolant"));
    Movement m = y.spill(y.coolant, "1.5L");
    m.reached = Reached::drain;
    const EntryId e = y.at(m, "2026-03-02", 8);
    CHECK(y.of(e).lines.empty());
    // It can be read again all the same.
    REQUIRE(y.of(e).substances.size() == 1);
    CHECK(y.of(e).substances[0].told.find(
              "1.5L of coolant got out, 1.605 kg (3.538 lb): below 5000 lb") != std::string::npos);
    y.fill(y.oil, "20L", kind("engine-oil"));
    Movement o = y.spill(y.oil, "0.1L");
    o.reached = Reached::water;
    const SpillAdvice a = y.of(y.at(o, "2026-03-02", 8));
    REQUIRE(a.lines.size() == 3);
    CHECK(a.lines[0].find("it reached water: any discharge to water") == 0);
    CHECK(a.lines[1].find("to report: ") == 0);
  }

  TEST_CASE("a correction and a withdrawal move the comparison") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    const EntryId e = y.at(y.spill(y.solvent, "9lb"), "2026-03-02", 8);
    CHECK(y.about(y.of(e), "benzene")->state == State::near);
    Correction c;
    c.target = e;
    c.patch.amount = litres("10lb");
    c.why = "read the scale wrong";
    y.b.write(c);
    CHECK(y.about(y.of(e), "benzene")->state == State::at_or_over);
    Correction share;
    share.target = e;
    share.patch.shares = std::vector<MassShare>{*parse_share("benzene=1%")};
    share.why = "data sheet";
    y.b.write(share);
    CHECK(y.about(y.of(e), "benzene")->state == State::below);
    Correction gone;
    gone.target = e;
    gone.withdraw = true;
    gone.why = "it was water";
    y.b.write(gone);
    CHECK_FALSE(y.of(e).is_spill);
  }

  TEST_CASE(
      "a substance that looks like one of the rules is refused with its name, another is told to "
      "be compared with nothing") {
    Yard y;
    NewFluid f;
    f.code = "clean-2";
    f.of_class = "solvent";
    f.shares = {*parse_share("tolune=10%")};
    auto no = y.b.try_write(f);
    REQUIRE(!no.ok());
    CHECK(no.refusal().instead == "--share \"toluene=10%\"");
    f.shares = {*parse_share("isobutane=10%")};
    const auto yes = y.b.try_write(f);
    REQUIRE(yes.ok());
    REQUIRE(yes->warnings.size() == 1);
    CHECK(yes->warnings[0].find("isobutane") != std::string::npos);
  }

  TEST_CASE(
      "what is at a quantity stands among the limits until its paper is there, what is near for a "
      "day, and both in the month") {
    Yard y;
    y.fill(y.solvent, "100lb", kind("solvent"));
    const EntryId near = y.at(y.spill(y.solvent, "8lb"), "2026-02-20", 8);
    const EntryId over = y.at(y.spill(y.solvent, "12lb"), "2026-03-02", 8);
    const auto lines = [&](const char* on) {
      std::vector<EntryId> out;
      const auto all = limits(y.b.book(), day(on));
      REQUIRE(all.ok());
      for (const LimitLine& l : all->lines) {
        if (l.group == "spill") out.push_back(l.entries.front().id);
      }
      return out;
    };
    CHECK(lines("2026-02-21") == std::vector<EntryId>{near});
    CHECK(lines("2026-02-22").empty());
    CHECK(lines("2026-12-31") == std::vector<EntryId>{over});
    const auto due = due_list(y.b.book(), day("2026-03-03"), DueFilter{});
    REQUIRE(due.ok());
    bool told = false;
    for (const DueLine& d : due->lines)
      told = told || d.what.starts_with("spill: of 2026-03-02, benzene");
    CHECK(told);
    const auto february = judge(y.b.book(), month_of(day("2026-02-01")));
    REQUIRE(february.ok());
    bool noted = false;
    for (const std::string& n : february->notices)
      noted = noted || n.starts_with("spill of 2026-02-20");
    CHECK(noted);
    EntryFilter f;
    f.from = day("2026-03-02");
    const auto list = entries(y.b.book(), f);
    REQUIRE(list.ok());
    CHECK(list->back().compared.find("AT OR OVER 10 lb") != std::string::npos);
    y.b.write(Paper{over, "report.pdf", std::string(64, 'a'), 10, "the report"});
    CHECK(lines("2026-12-31").empty());
  }
}
