// A shelf of cans is no mixture: which product a line takes, and what a line from before shelves took.
#include "support/carry.hpp"
#include "support/refused.hpp"

#include "log/canonical.hpp"

#include <baybook/keep.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

/// One shelf with two engine oils, a transmission fluid and a coolant on it, and a car at work.
class Shelf : public TestBook {
 public:
  FluidId oil = fluid("oil-5w30", "engine-oil"), other_oil = fluid("oil-10w40", "engine-oil");
  FluidId atf = fluid("atf-red", "transmission-fluid"), oat = fluid("oat-violet", "coolant");
  PlaceId shelf = place("shelf-1", Role::stock);
  PlaceId drum = place("drum-oil", Role::waste, "200L", {"engine-oil", "transmission-fluid"});
  CarId tern = car("MARSH-07");
  JobId open = job(tern);

  void receive(FluidId what, const std::string& amount, PlaceId where = {}) {
    write(move(MoveVerb::receive, kSupplier, where ? where : shelf, amount, {}, what));
  }
  std::int64_t there(FluidId what, PlaceId where = {}) {
    std::int64_t out = 0;
    book().inside().ledger.forget();
    for (const auto& [c, sum] : book().inside().ledger.contents(where ? where : shelf)) {
      if (c.fluid == what.n) out += sum.best;
    }
    return out;
  }
  Movement fill(const std::string& amount, FluidId what = {}, PlaceId from = {}) {
    return move(MoveVerb::fill, from ? from : shelf, engine(), amount, open, what);
  }
  PlaceId engine() { return TestBook::oil(tern); }
  std::string flows(EntryId entry) {
    std::string out;
    auto q = book().inside().db.query(
        "SELECT fluid, best FROM flow WHERE entry = ? ORDER BY fluid");
    q.bind(entry.n);
    while (q.step())
      out += book::fluid_name(book().inside().db, FluidId{q.num(0)}) + " " +
             std::to_string(q.num(1) / 1'000'000) + "mL ";
    return out;
  }
  void same_when_made_anew() {
    const std::string before = dump();
    REQUIRE(book().rebuild().ok());
    CHECK(difference(before, dump()) == "");
  }
};

Gauge reading(PlaceId place, const std::string& level, FluidId of = {}) {
  Gauge g;
  g.place = place;
  g.level = parse_level(level, Units{}).value();
  g.fluid = of;
  g.reason = "counted";
  return g;
}

// The row of an entry as a program wrote it that knew no shelves.
log::Row from_before(log::Row row) {
  log::Value body = log::parse_body(row.body);
  log::Value details = body.at("details");
  log::Value::Array lines;
  for (const log::Value& line : details.list("lines")) {
    log::Value plain;
    for (const auto& [key, v] : line.as_object()) {
      const bool supplied = line.at("from") == log::Value("supplier");
      if (key != "alone" && key != "beside" && (key != "fluid" || supplied)) plain[key] = v;
    }
    lines.push_back(std::move(plain));
  }
  details["lines"] = log::Value(lines);
  body["details"] = details;
  row.body = log::canonical(body);
  return row;
}

}  // namespace

TEST_SUITE("book/shelf") {
  TEST_CASE("a fill takes the one product of the circuit's class and leaves the rest of the shelf as it stands") {
    Shelf s;
    s.receive(s.oil, "20L");
    s.receive(s.atf, "12L");
    s.receive(s.oat, "5L");
    const Receipt r = s.write(s.fill("4L"));
    CHECK(r.summary == "filled new 4 L oil-5w30 from shelf-1");
    CHECK(s.flows(r.entry.id) == "oil-5w30 4000mL ");
    CHECK(s.there(s.oil) == 16 * L);
    CHECK(s.there(s.atf) == 12 * L);
    CHECK(s.there(s.oat) == 5 * L);
    CHECK(has(r.body, "\"alone\":true"));
    // A class that is said stands for the one product of it.
    const Receipt by_class = s.write(s.fill("1L", FluidId{find_class("engine-oil")->number}));
    CHECK(s.flows(by_class.entry.id) == "oil-5w30 1000mL ");
    // The month knows no transmission fluid that went into a car.
    const auto t = totals(s.book(), day("2026-03-01"), day("2026-03-31"), true);
    REQUIRE(t.ok());
    for (const TotalsRow& row : t->rows)
      CHECK(row.new_used.best == (row.fluid == "oil-5w30" ? 5 * L : 0));
    s.same_when_made_anew();
  }

  TEST_CASE("two products of the class on a shelf are asked for, with what stands there and the line to type") {
    Shelf s;
    s.receive(s.oil, "20L");
    s.receive(s.other_oil, "10L");
    s.receive(s.atf, "12L");
    const Refusal r = refused(s, s.fill("4L"), Code::ambiguous,
                              "shelf-1 holds 2 products that it could be: oil-5w30 20 L, oil-10w40 10 L");
    CHECK(r.instead == "baybook fill 1 engine-oil 4L --from shelf-1 --fluid PRODUCT  # one of oil-5w30, oil-10w40");
    CHECK_FALSE(has(r.what + r.instead, "atf-red"));
    refused(s, s.fill("4L", FluidId{find_class("engine-oil")->number}), Code::ambiguous, "shelf-1 holds 2 products");
    CHECK(s.flows(s.write(s.fill("4L", s.other_oil)).entry.id) == "oil-10w40 4000mL ");
    // What leaves the shelf for a drum is asked for alike, all of it too.
    for (const char* amount : {"2L", "all"}) {
      CAPTURE(amount);
      const Refusal d = refused(s, TestBook::move(MoveVerb::decant, s.shelf, s.drum, amount), Code::ambiguous, "shelf-1 holds 3 products");
      CHECK(has(d.instead, std::string("baybook decant shelf-1 ") + amount + " --into drum-oil --fluid PRODUCT  # one of "));
    }
    refused(s, TestBook::move(MoveVerb::spill, s.shelf, kGround, "1L"), Code::ambiguous, "shelf-1 holds 3 products");
    s.write(TestBook::move(MoveVerb::decant, s.shelf, s.drum, "all", {}, s.other_oil));
    CHECK(s.there(s.other_oil) == 0);
    CHECK(s.there(s.oil) == 20 * L);
    s.write(TestBook::move(MoveVerb::spill, s.shelf, kGround, "1L", {}, s.atf));
    CHECK(s.there(s.atf) == 11 * L);
    // All of a shelf onto another one is every product as it stood.
    const PlaceId away = s.place("shelf-2", Role::stock);
    s.write(TestBook::move(MoveVerb::decant, s.shelf, away, "all"));
    CHECK(s.level(s.shelf) == 0);
    CHECK(s.there(s.oil, away) == 20 * L);
    CHECK(s.there(s.atf, away) == 11 * L);
    s.same_when_made_anew();
  }

  TEST_CASE("what does not belong into the circuit is never drawn unless it is named with a reason") {
    Shelf s;
    s.receive(s.atf, "12L");
    const PlaceId away = s.place("shelf-2", Role::stock);
    // What stands there alone is what was meant, and does not go in.
    refused(s, s.fill("4L"), Code::not_allowed, "the engine-oil circuit takes engine-oil, and atf-red is transmission-fluid");
    s.receive(s.fluid("gear-75w90", "gear-oil"), "3L");
    const Refusal r = refused(s, s.fill("4L"), Code::not_allowed, "shelf-1 holds no engine-oil by the book: atf-red (transmission-fluid) 12 L, gear-75w90 (gear-oil) 3 L");
    CHECK(has(r.instead, "the place it came from; or what really stands there: baybook gauge shelf-1 LEVEL --fluid PRODUCT"));
    s.receive(s.oil, "5L", away);
    CHECK(has(refused(s, s.fill("4L"), Code::not_allowed, "shelf-1 holds no engine-oil").instead, "shelf-2, if it came from there"));
    CHECK(has(refused(s, s.fill("4L", s.atf), Code::not_allowed, "the engine-oil circuit takes engine-oil, and atf-red is transmission-fluid").instead, "--mixing-reason"));
    Movement m = s.fill("1L", s.atf);
    m.mixing_reason = "its maker asks for it";
    CHECK(s.flows(s.write(m).entry.id) == "atf-red 1000mL ");
    // Another group does not go in, named or not.
    s.receive(s.oat, "5L");
    refused(s, s.fill("1L", s.oat), Code::not_allowed, "takes engine-oil, not coolant");
    // Straight from the supplier it is named by whoever types it, and told of.
    Movement bought = TestBook::move(MoveVerb::fill, kSupplier, s.engine(), "0.2L", s.open, s.atf);
    const Receipt told = s.write(bought);
    CHECK(std::any_of(told.warnings.begin(), told.warnings.end(), [](const std::string& w) { return has(w, "the engine-oil circuit takes engine-oil, and atf-red is transmission-fluid"); }));
  }

  TEST_CASE("no more of a product is taken than stands there, however much stands beside it") {
    Shelf s;
    s.receive(s.oil, "3L");
    s.receive(s.other_oil, "40L");
    const Refusal r = refused(s, s.fill("4L", s.oil), Code::would_overdraw, "shelf-1 holds 3 L of oil-5w30 by the book; 4 L is 1 L more than that");
    CHECK(has(r.instead, "baybook gauge shelf-1 ... --fluid oil-5w30 --reason"));
    const PlaceId away = s.place("shelf-2", Role::stock);
    s.receive(s.oil, "9L", away);
    CHECK(has(refused(s, s.fill("4L", s.oil), Code::would_overdraw, "shelf-1 holds 3 L").instead, "shelf-2, which holds 9 L of it, if it came from there"));
    refused(s, s.fill("1L", s.atf), Code::not_allowed, "atf-red is transmission-fluid");
    refused(s, TestBook::move(MoveVerb::decant, s.shelf, s.drum, "all", {}, s.atf), Code::would_overdraw, "shelf-1 holds no atf-red by the book");
    // A late entry that takes the rest of a product, which a later one had taken.
    s.write(s.fill("3L", s.oil));
    s.now.ms += 86'400'000;
    s.receive(s.oil, "2L");
    s.write(s.fill("2L", s.oil));
    const auto earlier = s.try_write(s.fill("2L", s.oil), "2026-03-05");
    REQUIRE_FALSE(earlier.ok());
    CHECK(earlier.refusal().code == Code::would_overdraw);
    // Nothing there at all: as at any place.
    const PlaceId bare = s.place("shelf-3", Role::stock);
    refused(s, s.fill("1L", {}, bare), Code::would_overdraw, "shelf-3 holds 0 L by the book; 1 L is 1 L more than that");
    s.same_when_made_anew();
  }

  TEST_CASE("a reading of a shelf is of one product, is asked for it where several stand, and leaves the others") {
    Shelf s;
    s.receive(s.oil, "20L");
    s.write(reading(s.shelf, "19L"));
    s.receive(s.atf, "12L");
    CHECK(has(refused(s, reading(s.shelf, "10L"), Code::ambiguous, "shelf-1 holds 2 products").instead, "baybook gauge shelf-1 LEVEL --fluid PRODUCT"));
    const Receipt r = s.write(reading(s.shelf, "10L", s.atf));
    CHECK(r.summary == "gauged shelf-1: 10 L atf-red, 2 L less than the book said");
    CHECK(s.there(s.oil) == 19 * L);
    CHECK(s.there(s.atf) == 10 * L);
    // One of which the book knew nothing there begins beside the others.
    s.write(reading(s.shelf, "3L", s.other_oil));
    CHECK(s.there(s.other_oil) == 3 * L);
    CHECK(s.there(s.oil) == 19 * L);
    // Without a reason the difference is that of the product.
    Gauge silent = reading(s.shelf, "9L", s.atf);
    silent.reason.clear();
    refused(s, silent, Code::wrong_usage, "shelf-1 reads 9 L of atf-red and the book says 10 L: a difference of 1 L");
    NewFluid grease;
    grease.code = "grease-1";
    grease.of_class = "grease";
    grease.dimension = Dimension::mass;
    const FluidId by_weight{s.write(grease).entry.id.n};
    refused(s, reading(s.shelf, "1L", by_weight), Code::unclear, "grease-1 is kept in mass, not in volume");
    // Nothing left of anything needs no name.
    s.write(reading(s.shelf, "0L"));
    CHECK(s.level(s.shelf) == 0);
    refused(s, reading(s.shelf, "5L"), Code::unclear, "shelf-1 is empty by the book, and it is not said what stands there");
    s.same_when_made_anew();
  }

  TEST_CASE("a bulk tank is one mix that leaves in proportion, and a shelf from the moment it is called one") {
    Shelf s;
    NewPlace tank;
    tank.code = "tank-1";
    tank.role = Role::stock;
    tank.size = litres("1000L");
    tank.bulk = true;
    const PlaceId bulk{s.write(tank).entry.id.n};
    s.receive(s.oil, "30L", bulk);
    s.receive(s.other_oil, "10L", bulk);
    const Receipt mixed = s.write(s.fill("4L", {}, bulk));
    CHECK(s.flows(mixed.entry.id) == "oil-5w30 3000mL oil-10w40 1000mL ");
    CHECK_FALSE(has(mixed.body, "alone"));
    refused(s, s.fill("1L", s.oil, bulk), Code::wrong_usage, "tank-1 is no shelf: oil-5w30 is not taken out of it by itself");
    refused(s, TestBook::move(MoveVerb::receive, kSupplier, bulk, "1L", {}, s.oat), Code::not_allowed, "tank-1 holds engine-oil, not coolant");
    refused(s, PlaceMark{PlaceMark::What::bulk, bulk, ""}, Code::already_there, "tank-1 is a bulk tank already");
    refused(s, PlaceMark{PlaceMark::What::bulk, s.drum, ""}, Code::not_allowed, "drum-oil is not a stock place");
    s.write(PlaceMark{PlaceMark::What::shelf, bulk, ""});
    refused(s, s.fill("1L", {}, bulk), Code::ambiguous, "tank-1 holds 2 products");
    CHECK(s.flows(s.write(s.fill("1L", s.oil, bulk)).entry.id) == "oil-5w30 1000mL ");
    CHECK(s.flows(mixed.entry.id) == "oil-5w30 3000mL oil-10w40 1000mL ");
    const Receipt back = s.write(PlaceMark{PlaceMark::What::bulk, bulk, ""});
    REQUIRE(back.warnings.size() == 1);
    CHECK(has(back.warnings[0], "tank-1 holds 2 products, which count as one mix from now on"));
    s.write(s.fill("1L", {}, bulk));
    s.receive(s.oil, "1L");
    s.receive(s.oat, "1L");
    refused(s, PlaceMark{PlaceMark::What::bulk, s.shelf, ""}, Code::not_allowed, "shelf-1 holds oil and coolant, which would be one mix");
    NewPlace pan;
    pan.code = "pan-9";
    pan.bulk = true;
    refused(s, pan, Code::wrong_usage, "pan-9 is not a stock place");
    s.same_when_made_anew();
  }

  TEST_CASE("a line from before there were shelves leaves in proportion, beside one that takes a product alone") {
    Shelf s;
    s.receive(s.oil, "30L");
    s.receive(s.other_oil, "10L");
    const EntryId first = s.write(s.fill("4L", s.oil)).entry.id;
    const EntryId second = s.write(s.fill("4L", s.oil)).entry.id;
    const std::vector<Carried> all = carry_out(s.book().inside());
    // In whatever order they come in, and made anew.
    for (const bool backwards : {false, true}) {
      TestBook other("fen", 7);
      std::vector<Carried> list = all;
      if (backwards) std::reverse(list.end() - 2, list.end());
      for (Carried& e : list) {
        if (e.row.id == first) e.row = from_before(e.row);
        bring_in(other.book().inside(), e);
      }
      other.book().inside().ledger.flush();
      std::map<std::pair<std::int64_t, std::string>, std::int64_t> moved;
      {
        auto& db = other.book().inside().db;
        auto q = db.query("SELECT entry, fluid, best FROM flow");
        while (q.step())
          moved[{q.num(0), book::fluid_name(db, FluidId{q.num(1)})}] = q.num(2);
      }
      CHECK(moved[{first.n, "oil-5w30"}] == 3 * L);
      CHECK(moved[{first.n, "oil-10w40"}] == 1 * L);
      CHECK(moved[{second.n, "oil-5w30"}] == 4 * L);
      CHECK(moved.count({second.n, "oil-10w40"}) == 0);
      const std::string before = other.dump(true);
      REQUIRE(other.book().rebuild().ok());
      CHECK(difference(before, other.dump(true)) == "");
    }
  }

  TEST_CASE("a correction puts the product right, and an amount alone leaves the rule of the line") {
    Shelf s;
    s.receive(s.oil, "20L");
    const EntryId bought = s.write(TestBook::move(MoveVerb::receive, kSupplier, s.shelf, "10L", {}, s.other_oil)).entry.id;
    const PlaceId away = s.place("shelf-2", Role::stock);
    s.receive(s.oil, "9L", away);
    s.receive(s.other_oil, "8L", away);
    const EntryId filled = s.write(s.fill("4L", s.oil)).entry.id;
    const PlaceId later = s.place("shelf-3", Role::stock);
    s.receive(s.oil, "9L", later);
    const auto correct = [&](EntryId target, const std::function<void(Patch&)>& how) {
      Correction c;
      c.target = target;
      c.why = "the other can";
      how(c.patch);
      return c;
    };
    s.write(correct(filled, [&](Patch& p) { p.amount = litres("5L"); }));
    CHECK(s.flows(filled) == "oil-5w30 5000mL ");
    s.write(correct(filled, [&](Patch& p) { p.fluid = s.other_oil; }));
    CHECK(s.flows(filled) == "oil-10w40 5000mL ");
    CHECK(s.there(s.oil) == 20 * L);
    refused(s, correct(filled, [&](Patch& p) { p.fluid = s.atf; }), Code::not_allowed, "the engine-oil circuit takes engine-oil");
    // What was delivered was something else: the fill that took it no longer holds.
    refused(s, correct(bought, [&](Patch& p) { p.fluid = s.atf; }), Code::has_dependants, "a later one no longer holds");
    s.write(correct(filled, [&](Patch& p) { p.fluid = s.oil; }));
    s.write(correct(bought, [&](Patch& p) { p.fluid = s.atf; }));
    CHECK(s.there(s.atf) == 10 * L);
    // From a pan to a shelf the product is asked for, from a shelf to a tank it is none.
    s.write(correct(filled, [&](Patch& p) { p.from = away; }));
    CHECK(s.there(s.oil, away) == 4 * L);
    CHECK(s.there(s.other_oil, away) == 8 * L);
    refused(s, correct(filled, [&](Patch& p) { p.from = later; }), Code::would_overdraw, "shelf-3 holds 0 L of oil-5w30 by the book");
    const EntryId decanted = s.write(TestBook::move(MoveVerb::decant, s.shelf, s.drum, "1L", {}, s.atf)).entry.id;
    CHECK(has(refused(s, correct(decanted, [&](Patch& p) { p.fluid = s.other_oil; }), Code::would_overdraw, "shelf-1 holds 0 L of oil-10w40").instead, "--fluid oil-10w40"));
    const EntryId gauged = s.write(reading(s.shelf, "8L", s.atf)).entry.id;
    s.write(correct(gauged, [&](Patch& p) { p.fluid = s.oil; }));
    CHECK(s.there(s.oil) == 8 * L);
    CHECK(s.there(s.atf) == 9 * L);
    const EntryId drained = s.write(TestBook::move(MoveVerb::drain, s.engine(), s.drum, "1L", s.open)).entry.id;
    refused(s, correct(drained, [&](Patch& p) { p.fluid = s.oil; }), Code::not_allowed, "is no shelf");
    s.same_when_made_anew();
  }

  TEST_CASE("a product that a reading of a shelf names is not withdrawn while that reading holds") {
    Shelf s;
    Gauge agreed = reading(s.shelf, "0L", s.atf);
    agreed.reason.clear();
    s.write(agreed);
    Correction c;
    c.target = EntryId{s.atf.n};
    c.withdraw = true;
    c.why = "never bought";
    refused(s, c, Code::has_dependants, "1 later entry stands on entry");
  }

  TEST_CASE("nothing is taken out of a mix by itself, whatever a program names") {
    Shelf s;
    const PlaceId pan = s.place("pan-1", Role::hold_catch, "20L");
    const PlaceId keep = s.place("keep-1", Role::reuse, "20L");
    s.write(TestBook::move(MoveVerb::drain, s.engine(), pan, "4L", s.open));
    refused(s, TestBook::move(MoveVerb::drain, s.engine(), pan, "1L", s.open, s.oil), Code::wrong_usage, "oil-5w30 is not taken out of it by itself");
    refused(s, TestBook::move(MoveVerb::filter, pan, keep, "1L", {}, s.oil), Code::wrong_usage, "pan-1 is no shelf");
    refused(s, TestBook::move(MoveVerb::decant, pan, s.drum, "1L", {}, s.atf), Code::wrong_usage, "pan-1 is no shelf");
    // Filtered fluid of two products is a mix, and what else is in it is told when it goes back.
    s.receive(s.atf, "5L");
    s.write(TestBook::move(MoveVerb::decant, s.shelf, pan, "4L", {}, s.atf));
    s.write(TestBook::move(MoveVerb::filter, pan, keep, "4L"));
    const Receipt r = s.write(TestBook::move(MoveVerb::fill, keep, s.engine(), "2L", s.open));
    CHECK(s.flows(r.entry.id) == "engine-oil 1000mL atf-red 1000mL ");
    CHECK(std::any_of(r.warnings.begin(), r.warnings.end(), [](const std::string& w) { return has(w, "keep-1 is a mix, and transmission-fluid is in it"); }));
  }

  TEST_CASE("levels show products apart, tell a tank from a shelf, and have one row for a size in another kind of quantity") {
    Shelf s;
    s.receive(s.oil, "20L");
    s.receive(s.atf, "12L");
    const PlaceId drum = s.place("drum-absorb", Role::waste, "200L", {"absorbent"});
    const auto rows_of = [&](PlaceId place) {
      std::vector<LevelRow> out;
      const auto all = levels(s.book());
      REQUIRE(all.ok());
      for (const LevelRow& r : *all) {
        if (r.level.place == place) out.push_back(r);
      }
      return out;
    };
    REQUIRE(rows_of(s.shelf).size() == 1);
    CHECK(rows_of(s.shelf)[0].parts == std::vector<std::pair<std::string, std::int64_t>>{{"oil-5w30", 20 * L}, {"atf-red", 12 * L}});
    CHECK_FALSE(rows_of(s.shelf)[0].bulk);
    s.write(PlaceMark{PlaceMark::What::bulk, s.shelf, ""});
    CHECK(rows_of(s.shelf)[0].bulk);
    REQUIRE(rows_of(drum).size() == 1);
    CHECK(rows_of(drum)[0].level.size == std::optional<std::int64_t>(200 * L));
    const Receipt r = s.write(TestBook::move(MoveVerb::discard, kSupplier, drum, "2kg", {}, FluidId{find_class("absorbent")->number}));
    REQUIRE(r.levels.size() == 1);
    CHECK(r.levels[0].dimension == Dimension::mass);
    const std::vector<LevelRow> one = rows_of(drum);
    REQUIRE(one.size() == 1);
    CHECK(one[0].level.dimension == Dimension::mass);
    CHECK_FALSE(one[0].level.size.has_value());
    CHECK(one[0].other_size == std::optional<std::int64_t>(200 * L));
    CHECK(one[0].other_dimension == Dimension::volume);
  }

  TEST_CASE("a retired place is neither gauged nor moved through nor marked, and is read once it is in use again") {
    Shelf s;
    const PlaceId pan = s.place("pan-1", Role::hold_catch, "20L");
    s.now.ms += 3 * 86'400'000LL;
    s.write(PlaceMark{PlaceMark::What::retire, pan, ""});
    s.write(PlaceMark{PlaceMark::What::retire, s.shelf, ""});
    CHECK(has(refused(s, reading(pan, "4L"), Code::not_allowed, "pan-1 is retired").instead, "baybook place open pan-1"));
    refused(s, TestBook::move(MoveVerb::drain, s.engine(), pan, "1L", s.open), Code::not_allowed, "pan-1 is retired");
    refused(s, TestBook::move(MoveVerb::decant, pan, s.drum, "1L"), Code::not_allowed, "pan-1 is retired");
    refused(s, TestBook::move(MoveVerb::spill, pan, kGround, "1L"), Code::not_allowed, "pan-1 is retired");
    refused(s, s.fill("1L"), Code::not_allowed, "shelf-1 is retired");
    refused(s, TestBook::move(MoveVerb::receive, kSupplier, s.shelf, "1L", {}, s.oil), Code::not_allowed, "shelf-1 is retired");
    for (const auto what : {PlaceMark::What::retire, PlaceMark::What::seal, PlaceMark::What::bulk, PlaceMark::What::shelf})
      refused(s, PlaceMark{what, s.shelf, ""}, Code::not_allowed, "shelf-1 is retired");
    // What is dated before its retirement was true then; that it is not empty now is told, and there
    // is a way out.
    const auto early = s.try_write(reading(pan, "4L"), "2026-03-06");
    REQUIRE_MESSAGE(early.ok(), why(early));
    CHECK(std::any_of(early->warnings.begin(), early->warnings.end(), [](const std::string& w) { return has(w, "pan-1 was retired after that day"); }));
    s.write(PlaceMark{PlaceMark::What::open, pan, ""});
    s.write(reading(pan, "0L"));
    const auto retired_early = s.try_write(PlaceMark{PlaceMark::What::retire, pan, ""}, "2026-03-07");
    REQUIRE_FALSE(retired_early.ok());
    CHECK(has(retired_early.refusal().what, "pan-1 was in use after that: something moved through it on 2026-03-08"));
    s.write(PlaceMark{PlaceMark::What::retire, pan, ""});
  }
}
