// Hazardous waste poured into used oil, and into other waste (40 CFR 279.10(b); for what the reference
// names no section the careful reading, which says so).
#include "support/waste_shop.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

/// A small generator: 150 L of petrol (0.743 kg/L) in January, 111.45 kg.
struct Small : WasteShop {
  PlaceId oil, solvent, petrol;
  explicit Small(const char* listed = nullptr, const char* petrol_amount = "150L") : WasteShop("us-federal") {
    oil = drum("drum-oil", "engine-oil");
    solvent = drum("drum-solvent", "solvent");
    petrol = drum("drum-petrol", "petrol");
    on("2026-01-05");
    put(petrol, "petrol", petrol_amount);
    put(oil, "engine-oil", "100L");
    put(solvent, "solvent", "20L");
    if (listed != nullptr) {
      Determination d = says("solvent", true);
      d.codes = {listed};
      b.write(d);
    }
    on("2026-01-12");
  }
};

constexpr std::int64_t kPetrol = 111'450'000'000;    // 150 L at 0.743 kg/L
constexpr std::int64_t kSolvent = 15'600'000'000;    // 20 L at 0.78 kg/L
constexpr std::int64_t kOil = 89'900'000'000;        // 100 L at 0.899 kg/L

}  // namespace

TEST_SUITE("book/mixture") {
  TEST_CASE("solvent poured into used oil stays counted once, and the oil it makes hazardous counts with it") {
    for (const char* code : {"F005", static_cast<const char*>(nullptr)}) {
      CAPTURE(code != nullptr);
      Small s(code);
      CHECK(s.judged("2026-01").reading.best_ug == kPetrol + kSolvent);
      s.pour(s.solvent, s.oil, "5L", "only drum with room");
      const Judgement j = s.judged("2026-01");
      CHECK(j.reading.best_ug == kPetrol + kSolvent + kOil);
      const LabelFacts label = s.label_of(s.oil, "2026-01-20");
      CHECK(label.words == std::vector<std::string>{"Hazardous Waste"});
      CHECK(carries(label.hazard, "Mixed with Spent solvent"));
      REQUIRE(label.stream.mixture.has_value());
      CHECK(label.stream.mixture->reason == "only drum with room");
      CHECK(label.stream.mixture->told.find(code != nullptr ? "279.10(b)(1)" : "279.10(b)(2)") != std::string::npos);
      CHECK(label.code == (code != nullptr ? "F005" : "D001"));
      const Limits limits = s.limits_on("2026-01-20");
      const LimitLine* clock = clock_of(limits, "drum-oil/1, Used oil, mixed with Spent solvent");
      REQUIRE(clock != nullptr);
      // On hand weighs what the month counts, each at its own density.
      const auto on_site = std::find_if(limits.lines.begin(), limits.lines.end(), [](const LimitLine& l) { return l.what == "hazardous waste on site"; });
      REQUIRE(on_site != limits.lines.end());
      CHECK(on_site->figures.starts_with("216.95 kg"));
      // Since the solvent stood as waste (5 January), 180 days of a small generator.
      CHECK(to_string(*clock->due) == "2026-07-04");
      bool shown = false;
      for (const RegisterRow& r : s.register_rows("2026-01-12", "2026-01-12")) {
        if (r.place == "drum-oil/1") shown = r.stream.mixture && r.stream.mixture->reason == "only drum with room" && r.stream.hazardous == YesNo::yes;
      }
      CHECK(shown);
      const auto rows = levels(s.b.book());
      REQUIRE(rows.ok());
      for (const LevelRow& r : *rows) {
        CAPTURE(r.level.name);
        CHECK((r.mixed.find("\"only drum with room\"") != std::string::npos) == (r.level.name == "drum-oil"));
      }
      CHECK(s.sound());
    }
  }

  TEST_CASE("solvent that goes into the oil straight from a pan or a delivery counts as solvent too") {
    Small s;
    s.put(s.oil, "solvent", "10L", "wrong funnel");
    const Judgement j = s.judged("2026-01");
    CHECK(j.reading.best_ug == kPetrol + kSolvent + kSolvent / 2 + kOil);
    bool told = false;
    for (const JudgedLine& l : j.lines) told = told || (l.source == "poured into drum-oil" && l.counts && l.best_ug == kSolvent / 2);
    CHECK(told);
  }

  TEST_CASE("what goes into the mixture later counts when it goes in, until the drum is picked up") {
    Small s;
    s.pour(s.solvent, s.oil, "5L", "only drum with room");
    s.on("2026-02-03");
    s.put(s.oil, "engine-oil", "10L");
    CHECK(s.judged("2026-02").reading.best_ug == kOil / 10);
    s.on("2026-02-10");
    Movement m = TestBook::move(MoveVerb::pickup, s.oil, kReceiver, "all");
    m.carrier = m.receiver = "Quill & Tarn Recovery";
    m.document = "M-1";
    m.lines.front().fate = Fate::disposed;
    s.b.write(m);
    s.on("2026-02-12");
    s.put(s.oil, "engine-oil", "50L");
    CHECK(s.judged("2026-02").reading.best_ug == kOil / 10);
    CHECK(s.label_of(s.oil, "2026-02-20").words == std::vector<std::string>{"Used Oil"});
    CHECK_FALSE(s.label_of(s.oil, "2026-02-20").stream.mixture.has_value());
  }

  TEST_CASE("a mixture that is picked up in its own month is counted in it all the same") {
    Small s;
    s.pour(s.solvent, s.oil, "5L", "only drum with room");
    s.on("2026-01-14");
    Movement m = TestBook::move(MoveVerb::pickup, s.oil, kReceiver, "all");
    m.carrier = m.receiver = "Quill & Tarn Recovery";
    m.document = "M-1";
    m.lines.front().fate = Fate::disposed;
    s.b.write(m);
    CHECK(s.judged("2026-01").reading.best_ug == kPetrol + kSolvent + kOil);
  }

  TEST_CASE("a characteristic mixture that is tested afterwards is used oil again, one with listed waste never is") {
    Small s;
    s.pour(s.solvent, s.oil, "5L", "only drum with room");
    s.on("2026-01-20");
    Determination test = WasteShop::says("used-oil", false, s.oil);
    test.found = {{"flash-point", "190 F"}, {"halogens", "300 ppm"}};
    s.b.write(test);
    CHECK(s.judged("2026-01").reading.best_ug == kPetrol + kSolvent);
    CHECK(s.label_of(s.oil, "2026-01-21").words == std::vector<std::string>{"Used Oil"});
    Small listed("F002");
    listed.pour(listed.solvent, listed.oil, "5L", "only drum with room");
    listed.on("2026-01-20");
    const auto r = listed.b.try_write(WasteShop::says("used-oil", false, listed.oil));
    REQUIRE(!r.ok());
    CHECK(r.refusal().what.find("no test") != std::string::npos);
    CHECK(r.refusal().why.find("279.10(b)(1)") != std::string::npos);
  }

  TEST_CASE("what a very small generator pours into used oil is managed as used oil, and what was generated stays counted (279.10(b)(3))") {
    Small s(nullptr, "10L");
    s.pour(s.solvent, s.oil, "5L", "only drum with room");
    const Judgement j = s.judged("2026-01");
    CHECK(j.reading.category == 1);
    CHECK(j.reading.best_ug == 7'430'000'000 + kSolvent);
    const LabelFacts label = s.label_of(s.oil, "2026-01-20");
    CHECK(carries(label.words, "Used Oil"));
    REQUIRE(label.stream.mixture.has_value());
    CHECK(label.stream.mixture->told.find("279.10(b)(3)") != std::string::npos);
    CHECK(label.stream.hazardous == YesNo::no);
  }

  TEST_CASE("coolant that was determined not to be hazardous is hazardous again once solvent is in it, and says that this is a reading") {
    Small s;
    const PlaceId coolant = s.drum("drum-coolant", "coolant");
    s.b.write(WasteShop::says("coolant", false));
    s.put(coolant, "coolant", "100L");
    s.pour(s.solvent, coolant, "5L", "wrong drum");
    CHECK(s.judged("2026-01").reading.best_ug == kPetrol + kSolvent + 107 * kKg);
    CHECK(s.label_of(coolant, "2026-01-20").stream.mixture->told.find("careful reading") != std::string::npos);
  }

  TEST_CASE("oil of a drum whose halogens were not rebutted makes hazardous the drum it is poured into") {
    Small s;
    const PlaceId other = s.drum("drum-oil-2", "engine-oil");
    s.put(other, "engine-oil", "10L");
    Determination d = WasteShop::says("used-oil", true, other);
    d.ground = Determination::Ground::halogens;
    s.b.write(d);
    s.on("2026-01-13");
    s.pour(other, s.oil, "10L");
    CHECK(s.label_of(s.oil, "2026-01-20").stream.hazardous == YesNo::yes);
    CHECK(s.label_of(s.oil, "2026-01-20").words == std::vector<std::string>{"Hazardous Waste"});
  }

  TEST_CASE("in the EU hazardous waste in coolant that is not makes the whole 16 01 14*, and mixing names article 18") {
    WasteShop s("eu");
    const PlaceId coolant = s.drum("drum-coolant", "coolant", "brake-fluid");
    s.on("2026-01-05");
    s.put(coolant, "coolant", "100L");
    s.b.write(WasteShop::says("coolant", false));
    Movement m = TestBook::move(MoveVerb::discard, kSupplier, coolant, "1L", {}, WasteShop::class_of("brake-fluid"));
    const auto refused = s.b.try_write(m);
    REQUIRE(!refused.ok());
    CHECK(refused.refusal().why.find("2008/98/EC article 18") != std::string::npos);
    m.mixing_reason = "wrong funnel";
    s.on("2026-01-06");
    s.b.write(m);
    const LabelFacts label = s.label_of(coolant, "2026-01-20");
    CHECK(label.code == "16 01 14*");
    CHECK(label.stream.hazardous == YesNo::yes);
    const Judgement j = s.judged("2026-01");
    CHECK(j.not_hazardous_ug == 0);
    CHECK(j.hazardous_ug == 107 * kKg + 1'060'000'000);
  }

  TEST_CASE("in the UK mixing names SI 2005/894 regulations 18 to 20") {
    WasteShop s("uk");
    const PlaceId coolant = s.drum("drum-coolant", "coolant", "brake-fluid");
    s.on("2026-01-05");
    s.put(coolant, "coolant", "10L");
    const auto refused = s.b.try_write(TestBook::move(MoveVerb::discard, kSupplier, coolant, "1L", {}, WasteShop::class_of("brake-fluid")));
    REQUIRE(!refused.ok());
    CHECK(refused.refusal().why.find("SI 2005/894 regulations 18 to 20") != std::string::npos);
  }
}
