#include "support/test_book.hpp"

#include "log/chain.hpp"

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/append") {
  struct AppendShop : TestBook {
    PlaceId pan = place("pan-1", Role::hold_catch, "20L");
    PlaceId keep = place("keep-1", Role::reuse, "20L");
    PlaceId can = place("can-1", Role::stock, "20L");
    PlaceId drum = place("drum-1", Role::waste, "30L", {"coolant"});
    FluidId oat = fluid("oat-violet", "coolant");
    FluidId oil_5w30 = fluid("oil-5w30", "engine-oil");
    CarId tern = car("MARSH-07");
    CarId other = car("MARSH-08");
    JobId open = job(tern);
    AppendShop() {
      write(move(MoveVerb::receive, kSupplier, can, "15L", {}, oat));
      write(move(MoveVerb::drain, coolant(tern), pan, "5L", open));
    }
  };

  struct RefusedRow {
    const char* name;
    Code want;
    std::function<Result<Receipt>(AppendShop&)> act;
    const char* says;
  };

  TEST_CASE("a refused entry names the rule it breaks, with the figures, and leaves every table as it was") {
    const RefusedRow rows[] = {
        {"overdraw", Code::would_overdraw, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "6L")); }, "pan-1 holds 5 L by the book; 6 L is 1 L more"},
        {"overfill", Code::would_overfill, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), s.pan, "16L", s.open)); }, "pan-1 would hold 21 L, 1 L over its size of 20 L"},
        {"wrong fluid into a drum", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.oil(s.tern), s.drum, "2L", s.open)); }, "drum-1 takes coolant, not engine-oil"},
        {"oil into a pan of coolant", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.oil(s.tern), s.pan, "2L", s.open)); }, "pan-1 holds coolant, not engine-oil"},
        {"coolant into the oil circuit", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::fill, s.can, s.oil(s.tern), "2L", s.open)); }, "takes engine-oil, not coolant"},
        {"drain without a job", Code::wrong_usage, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), s.pan, "2L")); }, "belongs to a job"},
        {"another car's circuit", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.other), s.pan, "2L", s.open)); }, "belongs to another car"},
        {"waste back into a car", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::fill, s.drum, s.coolant(s.tern), "2L", s.open)); }, "fill does not go from drum-1 (waste)"},
        {"a delivery into a pan", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::receive, kSupplier, s.pan, "2L", {}, FluidId{find_class(std::string_view("coolant"))->number})); }, "receive does not go from supplier (supplier) to pan-1 (catch)"},
        {"waste becomes stock", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::decant, s.drum, s.can, "2L")); }, "decant does not go"},
        {"from a place to itself", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::decant, s.pan, s.pan, "2L")); }, "both where it comes from and where it goes"},
        {"all of an empty place", Code::would_overdraw, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::decant, s.keep, s.drum, "all")); }, "keep-1 is empty by the book"},
        {"mass out of litres", Code::would_overdraw, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::decant, s.pan, s.drum, "2kg")); }, "pan-1 holds 5 L by the book; 2 kg is another kind of quantity"},
        {"tomorrow", Code::in_future, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L"), "2026-03-06"); }, "2026-03-06 is after today"},
        {"before the job was opened", Code::not_allowed, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), s.pan, "1L", s.open), "2026-03-01"); }, "is before job 1 was opened"},
        {"a late entry that a later one cannot bear", Code::would_overfill, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::receive, kSupplier, s.can, "6L", {}, s.oat), "2026-03-01"); }, "a later one no longer holds"},
        {"a gauge difference without its reason", Code::wrong_usage, [](AppendShop& s) { Gauge g; g.place = s.pan; g.level = litres("4L"); return s.try_write(g); }, "a difference of 1 L"},
        {"a name twice", Code::already_there, [](AppendShop& s) { NewPlace p; p.code = "pan-1"; return s.try_write(p); }, "pan-1 is the name of a place"},
        {"a plate twice", Code::already_there, [](AppendShop& s) { NewCar c; c.plate = "marsh 07"; return s.try_write(c); }, "is on a car in the book already"},
        {"control characters", Code::not_text, [](AppendShop& s) { Work w; w.job = s.open; w.text = "bled\x1b[31m twice"; return s.try_write(w); }, ""},
        {"invalid UTF-8", Code::not_text, [](AppendShop& s) { Work w; w.job = s.open; w.text = "bled \xc3\x28"; return s.try_write(w); }, ""},
        {"a bad fault code", Code::unclear, [](AppendShop& s) { CodeNote c; c.job = s.open; c.code = "P02I7"; return s.try_write(c); }, ""},
        {"a pick-up without a paper", Code::wrong_usage, [](AppendShop& s) { Movement m = TestBook::move(MoveVerb::pickup, s.drum, kReceiver, "1L"); m.document.clear(); return s.try_write(m); }, "names its paper"},
        {"a whole out of a circuit", Code::unclear, [](AppendShop& s) { return s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), s.pan, "all", s.open)); }, "\"all\" needs a place of the shop"},
    };
    for (const RefusedRow& row : rows) {
      CAPTURE(row.name);
      AppendShop s;
      if (std::string_view(row.name) == "a late entry that a later one cannot bear") {
        // can-1 was gauged full today; six litres more, earlier, would have run over before that.
        Gauge g;
        g.place = s.can;
        g.level = litres("19L");
        g.reason = "counted";
        s.write(g);
        s.write(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat));
      }
      const std::string before = s.dump();
      const auto r = row.act(s);
      REQUIRE_FALSE(r.ok());
      CHECK(name_of(r.refusal().code) == name_of(row.want));
      CAPTURE(r.refusal().what);
      CHECK(r.refusal().what.find(row.says) != std::string::npos);
      CHECK_FALSE(r.refusal().what.empty());
      CHECK(difference(before, s.dump()) == "");
    }
  }

  TEST_CASE("an odometer running backwards is refused, and taken when it is said why") {
    AppendShop s;
    Odometer o;
    o.car = s.tern;
    o.reading = parse_distance("88210km", Units{}).value();
    s.write(o);
    o.reading = parse_distance("88120km", Units{}).value();
    const std::string before = s.dump();
    const auto r = s.try_write(o);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::runs_backwards);
    CHECK(r.refusal().what.find("88120km is less than the reading before it, 88210 km") != std::string::npos);
    CHECK(difference(before, s.dump()) == "");
    o.reason = "cluster replaced";
    CHECK_FALSE(s.try_write(o).ok());  // a reason alone does not say which of the three it was
    o.dial = Dial::replaced;
    CHECK(s.try_write(o).ok());
    o.dial = Dial::goes_on;
    o.reading = parse_distance("200km", Units{}).value();
    CHECK_FALSE(s.try_write(o).ok());
  }

  TEST_CASE("a dry run makes every check, shows the body it would append, and changes no table") {
    AppendShop s;
    const std::string before = s.dump();
    Stamp stamp = s.stamp();
    stamp.dry_run = true;
    const auto r = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "4L"), stamp);
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(r->dry_run);
    CHECK(r->body.find("\"verb\":\"filter\"") != std::string::npos);
    REQUIRE(r->levels.size() == 2);
    CHECK(r->levels[0].best == 1 * L);
    CHECK(difference(before, s.dump()) == "");
    CHECK_FALSE(s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "40L"), stamp).ok());
  }

  TEST_CASE("the same once-key again changes nothing and reports the first entry, with other details it is refused") {
    AppendShop s;
    Stamp stamp = s.stamp();
    stamp.once = "tablet-3:77";
    const auto first = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "4L"), stamp);
    REQUIRE_MESSAGE(first.ok(), why(first));
    const std::string before = s.dump();
    stamp.now = s.stamp().now;
    const auto again = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "4L"), stamp);
    REQUIRE_MESSAGE(again.ok(), why(again));
    CHECK(again->repeated);
    CHECK(again->entry.id == first->entry.id);
    CHECK(again->digest == first->digest);
    CHECK(difference(before, s.dump()) == "");
    const auto other = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L"), stamp);
    REQUIRE_FALSE(other.ok());
    CHECK(other.refusal().code == Code::already_there);
    CHECK(difference(before, s.dump()) == "");
  }

  TEST_CASE("a clock that leaps back never makes the log run backwards, and leaves a note") {
    AppendShop s;
    Stamp stamp = s.stamp();
    stamp.now.ms -= 3'600'000;
    const auto r = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L"), stamp);
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(r->body.find("\"clock-behind\":true") != std::string::npos);
    CHECK_FALSE(r->warnings.empty());
    const auto proof = prove(s.book());
    REQUIRE(proof.ok());
    CHECK(proof->findings.empty());
  }

  TEST_CASE("no plate, VIN, name or free text stands in any body") {
    AppendShop s;
    NewPerson p;
    p.name = "Ines Caldeira";
    p.contact = "bay phone 12";
    s.write(p);
    NewCar c;
    c.plate = "DUNE-42";
    c.vin = "1M8GDM9AXKP042788";  // 49 CFR 565 style sample, tests/data/vin_examples.csv
    c.keeper = "Teodor Vasak";
    c.keeper_contact = "Dune Row 4";
    const CarId dune{s.write(c).entry.id.n};
    OpenJob j;
    j.car = dune;
    j.complaint = "overheats uphill";
    const JobId open{s.write(j).entry.id.n};
    Work w;
    w.job = open;
    w.text = "thermostat housing resealed";
    s.write(w);
    Movement m = TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L");
    m.note = "10 um paper sleeve";
    s.write(m);
    CloseJob close;
    close.job = open;
    close.result = "dry after a warm run";
    close.rechecks.push_back({"level when cold", 3, {}});
    s.write(close);
    std::string bodies;
    auto q = s->inside().db.query("SELECT body FROM entry");
    while (q.step()) bodies += q.text(0);
    for (const char* secret : {"DUNE-42", "1M8GDM9AXKP042788", "Ines", "Caldeira", "bay phone", "Teodor", "Dune Row", "overheats", "thermostat", "paper sleeve", "warm run", "level when cold", "MARSH-07"}) {
      CAPTURE(secret);
      CHECK(bodies.find(secret) == std::string::npos);
    }
    CHECK(bodies.find("\"private\":{") != std::string::npos);
  }

  TEST_CASE("mixing that has happened already is taken with its reason, which stays") {
    AppendShop s;
    Movement m = TestBook::move(MoveVerb::drain, s.oil(s.tern), s.pan, "2L", s.open);
    m.mixing_reason = "wrong pan grabbed";
    const Receipt r = s.write(m);
    CHECK(r.body.find("\"mixing\":true") != std::string::npos);
    const auto e = entry(s.book(), r.entry.id);
    REQUIRE(e.ok());
    REQUIRE(e->private_values.size() == 1);
    CHECK(e->private_values.front().second == "wrong pan grabbed");
  }

  TEST_CASE("a bound that does not fit is taken with a warning, and a gauge reading settles it") {
    AppendShop s;
    const Receipt r = s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "4..5.6L"));
    CHECK_FALSE(r.warnings.empty());
    Gauge g;
    g.place = s.keep;
    g.level = litres("4.7L");
    g.reason = "dipstick";
    s.write(g);
    const auto rows = levels(s.book());
    REQUIRE(rows.ok());
    for (const LevelRow& row : *rows) {
      if (row.level.name != "keep-1") continue;
      CHECK(row.level.best == 4'700'000'000);
      CHECK(row.level.low == row.level.high);
    }
    const auto all = entries(s.book(), {});
    REQUIRE(all.ok());
    CHECK(all->back().text == "dipstick");
  }

  TEST_CASE("a gauge holds at its own time: a fact entered late before it changes the difference it settled, not the level after it") {
    AppendShop s;
    Gauge g;
    g.place = s.can;
    g.level = litres("10L");
    g.reason = "counted";
    s.write(g);
    CHECK(s.level(s.can) == 10 * L);
    CHECK(s.level(kDifference) == 5 * L);
    s.write(TestBook::move(MoveVerb::spill, s.can, kGround, "2L"), "2026-03-05");
    CHECK(s.level(s.can) == 8 * L);  // today, after the gauge
    Stamp late = s.stamp("2026-03-05");
    late.at = Minute{9 * 60 + 40};  // the minute of the receipt, before the gauge was written at 09:40 too: later recorded, same minute
    late.at = Minute{9 * 60};
    const auto r = s.book().append(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat), late);
    REQUIRE_MESSAGE(r.ok(), why(r));
    CHECK(s.level(s.can) == 8 * L);
    CHECK(s.level(kDifference) == 6 * L);
  }

  TEST_CASE("what leaves a mixed place leaves in proportion, to the nanolitre") {
    AppendShop s;
    const FluidId amber = s.fluid("hoat-amber", "coolant");
    const PlaceId can2 = s.place("can-2", Role::stock, "20L");
    s.write(PlaceMark{PlaceMark::What::bulk, can2, ""});
    s.write(TestBook::move(MoveVerb::receive, kSupplier, can2, "1L", {}, s.oat));
    s.write(TestBook::move(MoveVerb::receive, kSupplier, can2, "2L", {}, amber));
    s.write(TestBook::move(MoveVerb::fill, can2, s.coolant(s.tern), "1L", s.open));
    auto q = s->inside().db.query("SELECT fluid, best FROM balance WHERE place = ? ORDER BY best");
    q.bind(can2.n);
    REQUIRE(q.step());
    CHECK(q.num(0) == s.oat.n);
    CHECK(q.num(1) == 666'666'667);
    REQUIRE(q.step());
    CHECK(q.num(0) == amber.n);
    CHECK(q.num(1) == 1'333'333'333);
  }

  TEST_CASE("local days are those of the site's zone, across summer time: an entry late in the evening of the last of March is March's") {
    // Lisbon, 2026-03-29: summer time begins (IANA tz database). 23:30 UTC on 31 March is 00:30 on 1 April in Lisbon.
    TestBook b;
    b.now = instant("2026-03-31T22:30:00.000Z");
    CHECK(to_string(b->today(b.now).value()) == "2026-03-31");
    CHECK(to_string(b->today(instant("2026-03-31T23:30:00.000Z")).value()) == "2026-04-01");
    CHECK(to_string(b->today(instant("2026-03-28T23:30:00.000Z")).value()) == "2026-03-28");
    const PlaceId can = b.place("can-1", Role::stock, "20L");
    const FluidId oat = b.fluid("oat-violet", "coolant");
    b.write(TestBook::move(MoveVerb::receive, kSupplier, can, "5L", {}, oat));
    b.now = instant("2026-03-31T23:30:00.000Z");
    b.write(TestBook::move(MoveVerb::receive, kSupplier, can, "7L", {}, oat));
    const auto march = totals(b.book(), day("2026-03-01"), day("2026-03-31"));
    const auto april = totals(b.book(), day("2026-04-01"), day("2026-04-30"));
    REQUIRE(march.ok());
    REQUIRE(april.ok());
    REQUIRE(march->rows.size() == 1);
    CHECK(march->rows.front().received.best == 5 * L);
    CHECK(april->rows.front().opening.best == 5 * L);
    CHECK(april->rows.front().received.best == 7 * L);
    // A span that cuts months says the same as the months it is made of.
    const auto cut = totals(b.book(), day("2026-03-31"), day("2026-04-01"));
    REQUIRE(cut.ok());
    CHECK(cut->rows.front().received.best == 12 * L);
    CHECK(cut->rows.front().closing.best == 12 * L);
  }

  TEST_CASE("two coolants that their makers may not want together are warned of, two refrigerants in one cylinder are refused") {
    AppendShop s;
    const auto warned = [](const Receipt& r, const std::string& text) {
      return std::any_of(r.warnings.begin(), r.warnings.end(), [&](const std::string& w) { return w.find(text) != std::string::npos; });
    };
    // Drained into one pan nothing is lost yet; kept to go back it would be.
    s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "2L"));
    const JobId second = s.job(s.other);
    const PlaceId pan2 = s.place("pan-2", Role::hold_catch, "20L");
    CHECK(s.write(TestBook::move(MoveVerb::drain, s.coolant(s.other), pan2, "4L", second)).warnings.empty());
    const Receipt mixed = s.write(TestBook::move(MoveVerb::filter, pan2, s.keep, "1L"));
    CHECK(warned(mixed, "keep-1 holds coolant of MARSH-07; coolant of MARSH-08 goes in with it"));
    // Two cars whose makers ask for the same: no word; for another: told with both. The makers are invented.
    const auto asks_for = [&](const char* plate, const char* specification) {
      NewCar c;
      c.plate = plate;
      c.circuits = {{"coolant", litres("6L"), specification}};
      const CarId car{s.write(c).entry.id.n};
      const JobId job = s.job(car);
      const PlaceId pan = s.place("pan-" + std::string(plate), Role::hold_catch, "20L");
      s.write(TestBook::move(MoveVerb::drain, s.coolant(car), pan, "3L", job));
      return pan;
    };
    const PlaceId keep4 = s.place("keep-4", Role::reuse, "20L");
    CHECK_FALSE(warned(s.write(TestBook::move(MoveVerb::filter, asks_for("reed-01", "LL 9"), keep4, "2L")), "goes in with it"));
    CHECK_FALSE(warned(s.write(TestBook::move(MoveVerb::filter, asks_for("reed-02", "LL 9"), keep4, "2L")), "goes in with it"));
    CHECK(warned(s.write(TestBook::move(MoveVerb::filter, asks_for("reed-03", "LL 4"), keep4, "2L")), "coolant of reed-03 (LL 4) goes in with it"));
    // The car's own coolant goes back without a word.
    const PlaceId keep2 = s.place("keep-2", Role::reuse, "20L");
    s.write(TestBook::move(MoveVerb::filter, pan2, keep2, "2L"));
    CHECK_FALSE(warned(s.write(TestBook::move(MoveVerb::fill, keep2, s.coolant(s.other), "1L", second)), "goes in with it"));
    // Of what was found by a gauge nobody knows whose it was: it is not called another's.
    const PlaceId keep3 = s.place("keep-3", Role::reuse, "20L");
    Gauge found;
    found.place = keep3;
    found.level = litres("1L");
    found.fluid = FluidId{find_class(std::string_view("coolant"))->number};
    found.reason = "stood in the corner";
    s.write(found);
    CHECK_FALSE(warned(s.write(TestBook::move(MoveVerb::filter, pan2, keep3, "0.5L")), "goes in with it"));
    // Product against product: in one tank, not on one shelf.
    const FluidId amber = s.fluid("hoat-amber", "coolant");
    CHECK_FALSE(warned(s.write(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, amber)), "goes in with it"));
    s.write(TestBook::move(MoveVerb::spill, s.can, kGround, "1L", {}, amber));
    s.write(PlaceMark{PlaceMark::What::bulk, s.can, ""});
    CHECK(warned(s.write(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, amber)), "can-1 holds oat-violet; hoat-amber goes in with it"));
    const PlaceId cylinder = s.place("cyl-1", Role::stock, "12kg", {"refrigerant"});
    NewFluid gas;
    gas.of_class = "refrigerant";
    gas.dimension = Dimension::mass;
    gas.code = "chill-1";
    const FluidId one{s.write(gas).entry.id.n};
    gas.code = "chill-2";
    const FluidId two{s.write(gas).entry.id.n};
    s.write(TestBook::move(MoveVerb::receive, kSupplier, cylinder, "2kg", {}, one));
    const std::string before = s.dump();
    const auto refused = s.try_write(TestBook::move(MoveVerb::receive, kSupplier, cylinder, "1kg", {}, two));
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().what == "cyl-1 holds chill-1; chill-2 would be mixed into it");
    CHECK(difference(before, s.dump()) == "");
    Movement anyway = TestBook::move(MoveVerb::receive, kSupplier, cylinder, "1kg", {}, two);
    anyway.mixing_reason = "the hose was not purged";
    CHECK(s.try_write(anyway).ok());
    // One that is empty by the book, and of which only the bounds are left, takes another.
    const PlaceId flask = s.place("cyl-2", Role::stock, "12kg", {"refrigerant"}), away = s.place("cyl-3", Role::stock, "12kg", {"refrigerant"});
    s.write(TestBook::move(MoveVerb::receive, kSupplier, flask, "1..1.2kg", {}, one));
    s.write(TestBook::move(MoveVerb::decant, flask, away, "1.1kg"));
    const auto next = s.try_write(TestBook::move(MoveVerb::receive, kSupplier, flask, "1kg", {}, two));
    CHECK_MESSAGE(next.ok(), why(next));
  }

  TEST_CASE("two products in one stock place are told, the same one again, a class without a product and what is gone are not") {
    TestBook b;
    const PlaceId can = b.place("can-1", Role::stock, "60L", {"engine-oil"});
    const PlaceId tin = b.place("tin-1", Role::stock, "60L", {"engine-oil"});
    const FluidId oil = b.fluid("oil-5w30", "engine-oil"), other = b.fluid("oil-0w20", "engine-oil");
    const FluidId any{find_class(std::string_view("engine-oil"))->number};
    std::string words = "now holds two products; whether they may be mixed";
    const auto told = [&](PlaceId into, FluidId f) {
      const Receipt r = b.write(TestBook::move(MoveVerb::receive, kSupplier, into, "5L", {}, f));
      return std::any_of(r.warnings.begin(), r.warnings.end(), [&](const std::string& w) { return w.find(words) != std::string::npos; });
    };
    // On a shelf they are told apart, in a tank they are one mix.
    const PlaceId tank = b.place("tank-1", Role::stock, "60L", {"engine-oil"});
    b.write(PlaceMark{PlaceMark::What::bulk, tank, ""});
    CHECK_FALSE(told(tank, oil));
    CHECK(told(tank, other));
    words = "now holds two products of one class, kept apart";
    CHECK_FALSE(told(tank, oil));
    CHECK_FALSE(told(can, oil));
    CHECK_FALSE(told(can, oil));
    CHECK_FALSE(told(can, any));
    CHECK(told(can, other));
    // What the class is known of alone may well be the product that comes.
    CHECK_FALSE(told(tin, any));
    CHECK_FALSE(told(tin, oil));
    b.write(TestBook::move(MoveVerb::decant, tin, can, "all"));
    CHECK_FALSE(told(tin, other));
  }

  TEST_CASE("a refusal names the place that has room, or that holds enough") {
    AppendShop s;
    const PlaceId small = s.place("pan-2", Role::hold_catch, "2L");
    const auto full = s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), small, "4L", s.open));
    REQUIRE_FALSE(full.ok());
    CHECK(full.refusal().instead.starts_with("pan-1, which has room for 15 L; or another place: baybook place add"));
    const auto empty = s.try_write(TestBook::move(MoveVerb::filter, small, s.keep, "3L"));
    REQUIRE_FALSE(empty.ok());
    CHECK(empty.refusal().instead.starts_with("pan-1, which holds 5 L, if it came from there; or "));
  }

  TEST_CASE("the other place that a refusal names is neither end of what was refused, and takes or gives all of it") {
    AppendShop s;
    const PlaceId pan2 = s.place("pan-2", Role::hold_catch, "20L");
    // pan-1 holds 5 L. By what is refused here pan-2 would hold 8 L; that is no place to take them from.
    const auto over = s.try_write(TestBook::move(MoveVerb::decant, s.pan, pan2, "8L"));
    REQUIRE_FALSE(over.ok());
    CHECK(over.refusal().instead.find("pan-2") == std::string::npos);
    const PlaceId small = s.place("pan-3", Role::hold_catch, "2L");
    const auto full = s.try_write(TestBook::move(MoveVerb::decant, s.pan, small, "4L"));
    REQUIRE_FALSE(full.ok());
    CHECK(full.refusal().instead.starts_with("pan-2, which has room for 20 L"));
    s.write(TestBook::move(MoveVerb::drain, s.oil(s.tern), pan2, "17L", s.open));
    const auto none = s.try_write(TestBook::move(MoveVerb::decant, s.pan, small, "4L"));
    REQUIRE_FALSE(none.ok());
    CHECK(none.refusal().instead.starts_with("another place: baybook place add"));  // pan-2 has room for 3 L, not for 4
  }

  TEST_CASE("the care line of a class is said once a day at a place, the one for a spill every time") {
    AppendShop s;  // has drained coolant into pan-1 already
    const auto texts = [](const Receipt& r, bool again) {
      int n = 0;
      for (const Caution& c : r.cautions) n += c.again == again ? 1 : 0;
      return n;
    };
    const Receipt kept = s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L"));
    CHECK(texts(kept, true) == 1);
    CHECK(texts(kept, false) == 0);
    const Receipt spilled = s.write(TestBook::move(MoveVerb::spill, s.pan, kGround, "0.1L"));
    CHECK(texts(spilled, true) == 1);
    CHECK(texts(spilled, false) == 1);
    const Receipt oil = s.write(TestBook::move(MoveVerb::drain, s.oil(s.tern), s.place("pan-2", Role::hold_catch, "20L"), "4L", s.open));
    CHECK(texts(oil, false) == 1);
    s.now.ms += 86'400'000;
    const Receipt next_day = s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L"));
    CHECK(texts(next_day, false) == 1);
    CHECK(texts(next_day, true) == 0);
  }

  TEST_CASE("in the hour that comes twice when summer time ends, an entry follows the one that was written before it") {
    // IANA tz database: Lisbon puts its clocks back from 02:00 to 01:00 on 2026-10-25, at 01:00 UTC.
    AppendShop s;
    s.now = instant("2026-10-25T00:50:00.000Z");
    const auto drained = s.try_write(TestBook::move(MoveVerb::drain, s.coolant(s.tern), s.pan, "5L", s.open));
    REQUIRE_MESSAGE(drained.ok(), why(drained));
    CHECK(drained->body.find("\"time\":\"01:50+01:00\"") != std::string::npos);
    s.now = instant("2026-10-25T01:10:00.000Z");
    const auto kept = s.try_write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "9L"));
    REQUIRE_MESSAGE(kept.ok(), why(kept));
    CHECK(kept->body.find("\"time\":\"01:10+00:00\"") != std::string::npos);
    CHECK(s.level(s.pan) == 1 * L);
    const auto view = entry(s.book(), kept->entry.id);
    REQUIRE(view.ok());
    REQUIRE(view->at.has_value());
    CHECK(to_string(*view->at) == "01:10+00:00");
  }

  TEST_CASE("a time that came twice is asked for with its offset, unless only the first can have been meant") {
    AppendShop s;
    Draft receive = TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat);
    const auto at = [&](std::string_view now, std::string_view time, std::string_view on = "2026-10-25") {
      s.now = instant(now);
      Stamp stamp = s.stamp(on);
      const auto typed = parse_time(time);
      REQUIRE(typed.ok());
      stamp.at = typed->minute;
      stamp.at_offset = typed->offset_minutes;
      return s.book().append(receive, stamp);
    };
    // 01:10 for the second time: 01:40 can only be that of the first.
    const auto first = at("2026-10-25T01:10:00.000Z", "01:40");
    REQUIRE_MESSAGE(first.ok(), why(first));
    CHECK(first->body.find("\"time\":\"01:40+01:00\"") != std::string::npos);
    const std::string before = s.dump();
    const auto twice = at("2026-10-25T09:00:00.000Z", "01:40");
    REQUIRE_FALSE(twice.ok());
    CHECK(twice.refusal().code == Code::unclear);
    CHECK(twice.refusal().what == "01:40 on 2026-10-25 came twice: 01:40+01:00 and 01:40+00:00");
    const auto later = at("2026-10-26T09:00:00.000Z", "01:40");
    REQUIRE_FALSE(later.ok());
    CHECK(later.refusal().code == Code::unclear);
    const auto elsewhere = at("2026-10-26T09:00:00.000Z", "01:40+02:00");
    REQUIRE_FALSE(elsewhere.ok());
    CHECK(elsewhere.refusal().instead == "--at 01:40+01:00");
    CHECK(difference(before, s.dump()) == "");
    const auto second = at("2026-10-26T09:00:00.000Z", "01:40Z");
    REQUIRE_MESSAGE(second.ok(), why(second));
    CHECK(second->body.find("\"time\":\"01:40+00:00\"") != std::string::npos);
  }

  TEST_CASE("a time that was left out when summer time began is refused with the time that the clock showed") {
    // IANA tz database: Lisbon goes on from 01:00 to 02:00 on 2026-03-29.
    AppendShop s;
    s.now = instant("2026-04-02T09:00:00.000Z");
    const std::string before = s.dump();
    Stamp stamp = s.stamp("2026-03-29");
    stamp.at = Minute{90};
    const auto r = s.book().append(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat), stamp);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::not_allowed);
    CHECK(r.refusal().instead == "--at 02:30");
    CHECK(difference(before, s.dump()) == "");
    stamp.at = Minute{150};
    const auto taken = s.book().append(TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat), stamp);
    REQUIRE_MESSAGE(taken.ok(), why(taken));
    CHECK(taken->body.find("\"time\":\"02:30+01:00\"") != std::string::npos);
    // In the very night, ten minutes later: nothing is suggested that has not come yet.
    AppendShop night;
    night.now = instant("2026-03-29T01:10:00.000Z");
    Stamp early = night.stamp();
    early.at = Minute{90};
    const auto gap = night.book().append(TestBook::move(MoveVerb::receive, kSupplier, night.can, "1L", {}, night.oat), early);
    REQUIRE_FALSE(gap.ok());
    CHECK(gap.refusal().instead == "--at 02:10");
  }

  TEST_CASE("what was soaked up goes where absorbent goes, and nowhere else without a reason") {
    AppendShop s;
    const PlaceId oil_drum = s.place("drum-oil", Role::waste, "60L", {"engine-oil"});
    const PlaceId absorb = s.place("drum-absorb", Role::waste, "60kg", {"absorbent"});
    const std::string before = s.dump();
    const auto r = s.try_write(TestBook::move(MoveVerb::spill, s.coolant(s.tern), oil_drum, "0.3L", s.open));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().what.find("drum-oil takes engine-oil, not coolant") != std::string::npos);
    CHECK(difference(before, s.dump()) == "");
    CHECK(s.try_write(TestBook::move(MoveVerb::spill, s.coolant(s.tern), absorb, "0.3L", s.open)).ok());
    Movement m = TestBook::move(MoveVerb::spill, s.coolant(s.tern), oil_drum, "0.3L", s.open);
    m.mixing_reason = "grabbed the wrong lid";
    CHECK(s.try_write(m).ok());
  }

  TEST_CASE("nothing goes into a sealed or a retired place, an old part and a correction included") {
    AppendShop s;
    const PlaceId bin = s.place("bin-parts", Role::waste, "", {"old-parts"});
    const PlaceId keep2 = s.place("keep-2", Role::reuse, "20L");
    s.write(PlaceMark{PlaceMark::What::retire, bin, ""});
    s.write(PlaceMark{PlaceMark::What::retire, keep2, ""});
    Fit fit;
    fit.job = s.open;
    fit.part = "WP-7731";
    fit.quantity = parse_amount("1pcs", Units{}).value();
    fit.old = Fit::Old::waste;
    fit.old_into = bin;
    const auto old_part = s.try_write(fit);
    REQUIRE_FALSE(old_part.ok());
    CHECK(old_part.refusal().what == "bin-parts is retired");
    const auto moved = s.try_write(TestBook::move(MoveVerb::filter, s.pan, keep2, "1L"));
    REQUIRE_FALSE(moved.ok());
    CHECK(moved.refusal().what == "keep-2 is retired");
    const EntryId filtered = s.write(TestBook::move(MoveVerb::filter, s.pan, s.keep, "1L")).entry.id;
    Correction c;
    c.target = filtered;
    c.why = "the other one";
    c.patch.into = keep2;
    const auto corrected = s.try_write(c);
    REQUIRE_FALSE(corrected.ok());
    CHECK(corrected.refusal().what.find("keep-2 was retired when this happened") != std::string::npos);
    s.write(TestBook::move(MoveVerb::decant, s.pan, s.drum, "1L"));
    s.write(PlaceMark{PlaceMark::What::seal, s.drum, ""});
    const auto sealed = s.try_write(TestBook::move(MoveVerb::decant, s.pan, s.drum, "1L"));
    REQUIRE_FALSE(sealed.ok());
    CHECK(sealed.refusal().what == "drum-1 is sealed: nothing more goes in");
  }

  TEST_CASE("a place emptied whole after an estimate leaves nothing uncertain, in its level and in the month alike") {
    TestBook b;
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
    const PlaceId drum = b.place("drum-1", Role::waste, "60L", {"coolant"});
    const CarId tern = b.car("MARSH-07");
    const JobId open = b.job(tern);
    b.write(TestBook::move(MoveVerb::drain, b.coolant(tern), pan, "~5L", open));
    b.write(TestBook::move(MoveVerb::decant, pan, drum, "all"));
    b.write(TestBook::move(MoveVerb::pickup, drum, kReceiver, "all"));
    const auto t = totals(b.book(), day("2026-03-01"), day("2026-03-31"));
    REQUIRE(t.ok());
    REQUIRE(t->rows.size() == 1);
    const TotalsRow& r = t->rows.front();
    CHECK(r.drained.low == 4'500'000'000);
    CHECK(r.drained.high == 5'500'000'000);
    CHECK(r.closing.best == 0);
    CHECK(r.closing.low == 0);
    CHECK(r.closing.high == 0);
    const auto cut = totals(b.book(), day("2026-03-02"), day("2026-03-30"));  // summed from the flows instead
    REQUIRE(cut.ok());
    CHECK(cut->rows.front().closing.low == 0);
    CHECK(cut->rows.front().closing.high == 0);
  }

  TEST_CASE("a once-key stands for who, when and what, whatever a first entry has used up since") {
    AppendShop s;
    PersonId ines{s.write(NewPerson{"Ines Caldeira", ""}).entry.id.n};
    Stamp stamp = s.stamp();
    stamp.once = "k1";
    OpenJob j;
    j.car = s.other;
    const auto first = s.book().append(j, stamp);
    REQUIRE_MESSAGE(first.ok(), why(first));
    const auto again = s.book().append(j, stamp);
    REQUIRE_MESSAGE(again.ok(), why(again));
    CHECK(again->repeated);
    j.car = s.tern;
    CHECK(s.book().append(j, stamp).refusal().code == Code::already_there);
    j.car = s.other;
    stamp.by = ines;
    CHECK(s.book().append(j, stamp).refusal().code == Code::already_there);
    stamp.once = "k2";
    REQUIRE(s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "5L"), stamp).ok());
    const std::string before = s.dump();
    const auto empty_now = s.book().append(TestBook::move(MoveVerb::filter, s.pan, s.keep, "5L"), stamp);
    REQUIRE_MESSAGE(empty_now.ok(), why(empty_now));
    CHECK(empty_now->repeated);
    CHECK(s.book().append(j, stamp).refusal().code == Code::already_there);
    CHECK(difference(before, s.dump()) == "");
  }
}
