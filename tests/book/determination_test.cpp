// Hazardous and counted are two facts: what a determination changes, and what is refused because it
// would change nothing or contradicts itself. Sections stand beside each check; the figures are those
// of the rule files (40 CFR 261.21 to 261.24, 262.13, 279.10, 279.11; Decision 2000/532/EC).
#include "support/waste_shop.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

Determination with(Determination d, Determination::Ground ground, std::vector<std::string> codes = {}) {
  d.ground = ground;
  d.codes = std::move(codes);
  return d;
}
Determination found(Determination d, std::vector<Determination::Found> figures) {
  d.found = std::move(figures);
  return d;
}
using Ground = Determination::Ground;

Refusal refusal_of(WasteShop& s, const Determination& d) {
  const std::string before = s.b.dump();
  const auto r = s.b.try_write(d);
  REQUIRE(!r.ok());
  CHECK(s.b.dump() == before);
  CHECK(!r.refusal().what.empty());
  CHECK(!r.refusal().instead.empty());
  return r.refusal();
}

}  // namespace

TEST_SUITE("book/determination") {
  TEST_CASE("used oil that was determined to be hazardous is counted, on the clock and labelled as hazardous waste, and needs its ground (262.13(c)(4), 279.10)") {
    WasteShop s("us-federal");
    const PlaceId oil = s.drum("drum-oil", "engine-oil");
    s.on("2026-01-05");
    s.put(oil, "engine-oil", "300L");
    CHECK(s.judged("2026-01").reading.best_ug == 0);
    s.on("2026-01-10");
    const Refusal bare = refusal_of(s, WasteShop::says("used-oil", true));
    CHECK(bare.what.find("why it no longer is, is not said") != std::string::npos);
    for (const Ground ground : {Ground::mixed, Ground::halogens, Ground::disposal, Ground::conditions}) {
      WasteShop one("us-federal");
      const PlaceId drum = one.drum("drum-oil", "engine-oil");
      one.on("2026-01-05");
      one.put(drum, "engine-oil", "300L");
      one.on("2026-01-10");
      one.b.write(with(WasteShop::says("used-oil", true), ground, {"f001"}));
      // 300 L at 0.899 kg/L, the density of the rule file.
      CHECK(one.judged("2026-01").reading.best_ug == 269'700'000'000);
      CHECK(one.judged("2026-01").reading.category == 2);
      const LabelFacts label = one.label_of(drum, "2026-01-20");
      CHECK(label.words == std::vector<std::string>{"Hazardous Waste"});
      CHECK(label.code == "F001");
      const Limits limits = one.limits_on("2026-01-20");
      const LimitLine* clock = clock_of(limits, "drum-oil/1");
      REQUIRE(clock != nullptr);
      CHECK(to_string(*clock->due) == "2026-07-04");  // 180 days, 262.16(b)
      const auto rows = one.register_rows("2026-01-01", "2026-01-31");
      CHECK(rows.front().stream.hazardous == YesNo::no);  // by what was known on the day of the row
      CHECK(one.sound());
    }
  }

  TEST_CASE("batteries, universal waste and airbags are hazardous by their nature: a determination changes their code, and their count only with a ground (262.13(c)(5), (6), 261.4(j))") {
    for (const auto& [stream, of] : {std::pair{"batteries", "batteries"}, {"universal-waste", "aerosol-cans"}, {"airbags", "airbags"}}) {
      CAPTURE(stream);
      WasteShop s("us-federal");
      NewPlace p;
      p.code = "box-1";
      p.role = Role::waste;
      p.takes = {of};
      const PlaceId box{s.b.write(p).entry.id.n};
      s.on("2026-01-05");
      s.put(box, of, "1500kg");
      s.on("2026-01-10");
      CHECK(refusal_of(s, WasteShop::says(stream, true)).what.find("hazardous by the rules already") != std::string::npos);
      CHECK(refusal_of(s, WasteShop::says(stream, false)).what.find("hazardous by the rules") != std::string::npos);
      s.b.write(with(WasteShop::says(stream, true), Ground::not_said, {"D002"}));
      CHECK(s.judged("2026-01").reading.best_ug == 0);
      CHECK(s.label_of(box, "2026-01-20").code == "D002");
      CHECK_FALSE(carries(s.label_of(box, "2026-01-20").words, "Hazardous Waste"));
      s.on("2026-01-12");
      s.b.write(with(WasteShop::says(stream, true), Ground::disposal));
      CHECK(s.judged("2026-01").reading.best_ug == 1500 * kKg);
      CHECK(s.judged("2026-01").reading.category == 3);
      CHECK(s.label_of(box, "2026-01-20").words == std::vector<std::string>{"Hazardous Waste"});
      const Limits limits = s.limits_on("2026-01-20");
      REQUIRE(clock_of(limits, "box-1/1") != nullptr);
      CHECK(to_string(*clock_of(limits, "box-1/1")->due) == "2026-04-05");  // 90 days, 262.17(a)
    }
  }

  TEST_CASE("hazardous old parts that are recycled as scrap metal are hazardous and not counted, tyres are under no exclusion and count (261.6(a)(3))") {
    WasteShop s("us-federal");
    NewPlace p;
    p.code = "bin-1";
    p.role = Role::waste;
    p.takes = {"old-parts"};
    const PlaceId parts{s.b.write(p).entry.id.n};
    p.code = "bin-2";
    p.takes = {"tyres"};
    const PlaceId tyres{s.b.write(p).entry.id.n};
    s.on("2026-01-05");
    s.put(parts, "old-parts", "200kg");
    s.put(tyres, "tyres", "300kg");
    s.b.write(with(WasteShop::says("old-parts", true), Ground::not_said, {"D008"}));
    CHECK(s.judged("2026-01").reading.best_ug == 0);
    CHECK(s.label_of(parts, "2026-01-20").code == "D008");
    s.b.write(WasteShop::says("tyres", true));
    CHECK(s.judged("2026-01").reading.best_ug == 300 * kKg);
  }

  TEST_CASE("a figure at its limit is hazardous and gives its code, one below it is not, and words that contradict the figures are refused (261.21, 261.22, 261.24)") {
    struct Row {
      const char* what;
      const char* at;
      const char* code;
      const char* under;
    };
    // Levels of 40 CFR 261.24 Table 1 (D008: 5.0, D018: 0.5, D006: 1.0), 261.21 (below 140 F), 261.22.
    for (const Row& row : {Row{"lead", "5.0 mg/L", "D008", "4.99 mg/L"}, Row{"lead", "5000 ug/L", "D008", "<5.0 mg/L"}, Row{"benzene", "0.5mg/L", "D018", "0.4999 mg/L"},
                           Row{"cadmium", "1 mg/L", "D006", "0.9 mg/L"}, Row{"flash-point", "139.9 F", "D001", "140 F"}, Row{"flash-point", "59.9 C", "D001", "60 C"},
                           Row{"ph", "2", "D002", "2.1"}, Row{"pH", "12.5", "D002", "12.4"}}) {
      CAPTURE(row.what);
      CAPTURE(row.at);
      WasteShop s("us-federal");
      const PlaceId drum = s.drum("drum-coolant", "coolant");
      s.on("2026-01-05");
      s.put(drum, "coolant", "100L");
      const Refusal r = refusal_of(s, found(WasteShop::says("coolant", false), {{row.what, row.at}}));
      CHECK(r.what.find("hazardous, " + std::string(row.code)) != std::string::npos);
      s.b.write(found(WasteShop::says("coolant", true), {{row.what, row.at}}));
      CHECK(s.label_of(drum, "2026-01-20").code == row.code);
      s.b.write(found(WasteShop::says("coolant", false), {{row.what, row.under}}));
      CHECK(s.judged("2026-01").reading.best_ug == 0);
    }
  }

  TEST_CASE("\"less than\" a figure past the limit shows nothing, and is no evidence") {
    WasteShop s("us-federal");
    s.drum("drum-coolant", "coolant");
    const Refusal r = refusal_of(s, found(WasteShop::says("coolant", false), {{"lead", "<10 mg/L"}}));
    CHECK(r.what.find("does not show") != std::string::npos);
  }

  TEST_CASE("that the words say more than the figures is told, since it is the careful side") {
    WasteShop s("us-federal");
    s.drum("drum-coolant", "coolant");
    const Receipt r = s.b.write(found(WasteShop::says("coolant", true), {{"lead", "1.2 mg/L"}}));
    CHECK(std::any_of(r.warnings.begin(), r.warnings.end(), [](const std::string& w) { return w.find("stands on the words alone") != std::string::npos; }));
  }

  TEST_CASE("halogens of more than 1,000 ppm presume a mixture until rebutted, exactly 1,000 do not for a generator (279.10(b)(1)(ii))") {
    WasteShop s("us-federal");
    s.drum("drum-oil", "engine-oil");
    CHECK(refusal_of(s, found(WasteShop::says("used-oil", false), {{"halogens", "1001 ppm"}})).what.find("presumed") != std::string::npos);
    const Receipt edge = s.b.write(found(WasteShop::says("used-oil", false), {{"halogens", "1000 ppm"}}));
    CHECK(std::any_of(edge.warnings.begin(), edge.warnings.end(), [](const std::string& w) { return w.find("processes or burns") != std::string::npos; }));
    Determination rebutted = found(WasteShop::says("used-oil", false), {{"halogens", "0.12 %"}});
    rebutted.rebuts = true;
    s.b.write(rebutted);
    Determination low = found(with(WasteShop::says("used-oil", true), Ground::halogens), {{"halogens", "900 ppm"}});
    CHECK(refusal_of(s, low).why.find("contradicts") != std::string::npos);
  }

  TEST_CASE("used oil off the fuel specification is told with its figure and limit (279.11 Table 1)") {
    WasteShop s("us-federal");
    s.drum("drum-oil", "engine-oil");
    const Receipt r = s.b.write(found(WasteShop::says("used-oil", false), {{"lead", "101 ppm"}, {"arsenic", "5 ppm"}, {"flash-point", "99 F"}}));
    std::string all;
    for (const std::string& w : r.warnings) all += w + "\n";
    CHECK(all.find("lead 101 ppm, at most 100 ppm") != std::string::npos);
    CHECK(all.find("flash-point 99 F, at least 100 F") != std::string::npos);
    CHECK(all.find("arsenic") == std::string::npos);
  }

  TEST_CASE("in California used oil is hazardous until it meets the recycled-oil specification, and lead of 51 mg/kg does not (HSC 25250.1)") {
    WasteShop s("us-california");
    const PlaceId oil = s.drum("drum-oil", "engine-oil");
    s.on("2026-01-05");
    s.put(oil, "engine-oil", "100L");
    CHECK(s.judged("2026-01").reading.best_ug == 89'900'000'000);
    CHECK(refusal_of(s, found(WasteShop::says("used-oil", false), {{"lead", "51 mg/kg"}})).what.find("specification") != std::string::npos);
    s.b.write(found(WasteShop::says("used-oil", false), {{"lead", "50 mg/kg"}}));
    CHECK(s.judged("2026-01").reading.best_ug == 0);
  }

  TEST_CASE("a code without a mirror entry cannot be said not to be hazardous, and a code contradicts by its asterisk (Decision 2000/532/EC)") {
    WasteShop s("eu");
    s.drum("drum-oil", "engine-oil");
    s.drum("drum-coolant", "coolant");
    CHECK(refusal_of(s, WasteShop::says("used-oil", false)).what.find("no mirror entry") != std::string::npos);
    CHECK(refusal_of(s, WasteShop::says("used-oil", true)).what.find("hazardous by the rules already") != std::string::npos);
    CHECK(refusal_of(s, WasteShop::says("packaging", false)).what.find("no mirror entry") != std::string::npos);
    CHECK(refusal_of(s, with(WasteShop::says("coolant", false), Ground::not_said, {"16 01 14*"})).what.find("asterisk") != std::string::npos);
    CHECK(refusal_of(s, with(WasteShop::says("coolant", true), Ground::not_said, {"160115"})).what.find("asterisk") != std::string::npos);
    CHECK(refusal_of(s, with(WasteShop::says("used-oil", true), Ground::disposal)).what.find("under none") != std::string::npos);
    CHECK(refusal_of(s, with(WasteShop::says("used-oil", true), Ground::not_said, {"D008"})).what.find("no waste code") != std::string::npos);
    s.b.write(with(WasteShop::says("used-oil", true), Ground::not_said, {"130205*"}));
    s.b.write(with(WasteShop::says("packaging", false), Ground::not_said, {"15 01 02"}));
    CHECK(s.sound());
  }

  TEST_CASE("antifreeze that nobody has determined is hazardous in the EU and the UK, with its code, until there is evidence") {
    for (const char* set : {"eu", "uk"}) {
      CAPTURE(set);
      WasteShop s(set);
      const PlaceId drum = s.drum("drum-coolant", "coolant");
      s.on("2026-01-05");
      s.put(drum, "coolant", "100L");
      CHECK(s.judged("2026-01").hazardous_ug == 107 * kKg);
      CHECK(s.judged("2026-01").undetermined_ug == 0);
      CHECK(s.label_of(drum, "2026-01-10").code == "16 01 14*");
      s.b.write(WasteShop::says("coolant", false));
      CHECK(s.judged("2026-01").not_hazardous_ug == 107 * kKg);
      CHECK(s.label_of(drum, "2026-01-10").code == "16 01 15");
    }
  }

  TEST_CASE("two containers of one stream with different codes stay apart, each in its column") {
    WasteShop s("eu");
    const PlaceId one = s.drum("drum-1", "coolant");
    const PlaceId two = s.drum("drum-2", "coolant");
    s.on("2026-01-05");
    s.put(one, "coolant", "100L");
    s.put(two, "coolant", "10L");
    s.b.write(WasteShop::says("coolant", false, two));
    const Judgement j = s.judged("2026-01");
    CHECK(j.hazardous_ug == 107 * kKg);
    CHECK(j.not_hazardous_ug == 10'700'000'000);
    const auto rows = streams(s.b.book(), day("2026-01-01"), day("2026-01-31"));
    REQUIRE(rows.ok());
    REQUIRE(rows->size() == 2);
    CHECK((*rows)[0].stream.code == "16 01 14*");
    CHECK((*rows)[0].closing_ug == 107 * kKg);
    CHECK((*rows)[1].stream.code == "16 01 15");
  }

  TEST_CASE("an acute code makes the waste acute: more than 1 kg of it is a large month (262.13 Table 1, 261.33(e))") {
    WasteShop s("us-federal");
    NewPlace p;
    p.code = "tin-1";
    p.role = Role::waste;
    p.takes = {"unknown"};
    const PlaceId tin{s.b.write(p).entry.id.n};
    s.on("2026-01-05");
    s.put(tin, "unknown", "1kg");
    s.b.write(with(WasteShop::says("other-waste", true), Ground::not_said, {"P012"}));
    CHECK(s.judged("2026-01").reading.acute_ug == kKg);
    CHECK(s.judged("2026-01").reading.category == 1);
    s.put(tin, "unknown", "1mg");
    CHECK(s.judged("2026-01").reading.category == 3);
  }

  TEST_CASE("a determined code goes with the word, and waste that is not hazardous keeps no code of what it is not") {
    WasteShop s("us-federal");
    const PlaceId drum = s.drum("drum-diesel", "diesel");
    s.on("2026-01-05");
    s.put(drum, "diesel", "10L");
    CHECK(refusal_of(s, with(WasteShop::says("diesel", false), Ground::not_said, {"D001"})).why.find("contradict") != std::string::npos);
    s.b.write(WasteShop::says("diesel", false));
    CHECK(s.label_of(drum, "2026-01-10").code.empty());
  }

  TEST_CASE("no hint brings a ground, a figure or a rebuttal that nobody has said") {
    WasteShop s("us-federal");
    s.drum("drum-oil", "engine-oil");
    Determination rebuts = WasteShop::says("used-oil", false);
    rebuts.rebuts = true;
    for (const Determination& d :
         {WasteShop::says("used-oil", true), WasteShop::says("used-oil", false), rebuts,
          found(WasteShop::says("used-oil", false), {{"halogens", "1001 ppm"}}),
          found(with(WasteShop::says("used-oil", true), Ground::halogens), {{"halogens", "900 ppm"}})}) {
      const std::string hint = refusal_of(s, d).instead;
      CAPTURE(hint);
      // The first command of it is what is typed as it stands.
      const std::string first = hint.substr(0, hint.find(';'));
      CHECK(first.find("--rebuts") == std::string::npos);
      CHECK(first.find("--ground mixed") == std::string::npos);
      CHECK(first.find_first_of("0123456789") == std::string::npos);
    }
  }

  TEST_CASE("a second determination of the same without anything new is not refused where it says another container") {
    WasteShop s("us-federal");
    const PlaceId one = s.drum("drum-1", "tyres");
    s.b.write(WasteShop::says("tyres", true));
    CHECK(s.b.try_write(WasteShop::says("tyres", false, one)).ok());
    CHECK(refusal_of(s, found(WasteShop::says("coolant", false), {{"leed", "1 mg/L"}})).instead.find("lead=") != std::string::npos);
    CHECK(refusal_of(s, found(WasteShop::says("coolant", false), {{"lead", "5 furlongs"}})).code == Code::unclear);
    CHECK(refusal_of(s, found(WasteShop::says("coolant", false), {{"lead", "5"}})).why.find("unit") != std::string::npos);
  }
}
