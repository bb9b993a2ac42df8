// Figures of an analysis, read and compared: 40 CFR 261.21, 261.22, 261.24, 279.10, 279.11.
#include "returns/findings.hpp"

#include <doctest/doctest.h>

using namespace baybook;
using namespace baybook::returns;

namespace {

const Day kDay = *read_day("2026-03-01");

Finding read(std::string_view what, std::string_view typed) {
  const auto f = read_finding(what, typed);
  REQUIRE_MESSAGE(f.ok(), typed);
  return *f;
}

}  // namespace

TEST_SUITE("returns/findings") {
  TEST_CASE("a figure is read in the unit it was typed in, whatever the spelling") {
    struct Row {
      const char* what;
      const char* typed;
      std::int64_t value;
      const char* unit;
      bool less;
    };
    for (const Row& r : {Row{"lead", "5.0 mg/L", 5'000'000, "mg/L", false}, Row{"lead", "5mg/l", 5'000'000, "mg/L", false}, Row{"lead", "<0.05 mg/L", 50'000, "mg/L", true},
                         Row{"lead", "5000 ug/L", 5'000'000, "mg/L", false}, Row{"lead", "5000 \xC2\xB5g/L", 5'000'000, "mg/L", false}, Row{"lead", "0.005 g/L", 5'000'000, "mg/L", false},
                         Row{"halogens", "1200 ppm", 1'200'000'000, "ppm", false}, Row{"halogens", "0.12 %", 1'200'000'000, "ppm", false}, Row{"halogens", "1200 mg/kg", 1'200'000'000, "ppm", false},
                         Row{"flash-point", "140 F", 60'000'000, "C", false}, Row{"flash-point", "60 \xC2\xB0" "C", 60'000'000, "C", false}, Row{"ph", "12.5", 12'500'000, "pH", false},
                         Row{"pH", "12.5 pH", 12'500'000, "pH", false}}) {
      CAPTURE(r.typed);
      const Finding f = read(r.what, r.typed);
      CHECK(f.value == r.value);
      CHECK(f.unit == r.unit);
      CHECK(f.less == r.less);
      // What was read is written so that it reads the same again.
      const Finding again = read(f.what, f.typed);
      CHECK(again.value == f.value);
      CHECK(again.typed == f.typed);
    }
  }

  TEST_CASE("what is no figure is refused, with a form to type") {
    for (const char* typed : {"", "lead", "5", "5,0 mg/L", "-1 mg/L", "5.0 mg", "5.", "1e3 ppm", "5 mg/L more", "99999999999 mg/L", "<"}) {
      CAPTURE(typed);
      const auto f = read_finding("lead", typed);
      REQUIRE_FALSE(f.ok());
      CHECK(f.refusal().code == Code::unclear);
      CHECK(f.refusal().instead.find("mg/L") != std::string::npos);
    }
  }

  TEST_CASE("the sentence about a figure names figure, limit, code, section and how sure it is") {
    const RuleSet rules = *read_rules("us-federal");
    const auto j = judge_findings(rules, kDay, {read("lead", "5.0 mg/L"), read("silver", "5.1 mg/L"), read("lead", "80 ppm")});
    CHECK(j[0].told == "lead 5.0 mg/L is at the limit of 5.0 mg/L: hazardous, D008 (40 CFR 261.24)");
    CHECK(j[1].told == "silver 5.1 mg/L is over the limit of 5.0 mg/L: hazardous, D011 (40 CFR 261.24 (from memory))");
    CHECK(j[2].is == Judged::Is::not_rated);
  }

  TEST_CASE("every level of the leaching test is hazardous at the level and not one millionth below it") {
    const RuleSet rules = *read_rules("us-federal");
    for (const Constituent& c : rules.constituents) {
      CAPTURE(c.name);
      Finding f{c.name, c.typed, false, c.level, c.unit};
      const bool at = judge_findings(rules, kDay, {f}).front().is == Judged::Is::at_limit;
      CHECK(at == (c.fails != Constituent::Fails::below));
      f.value += c.fails == Constituent::Fails::at_least ? -1 : c.fails == Constituent::Fails::below ? -1 : 1;
      CHECK((judge_findings(rules, kDay, {f}).front().is == Judged::Is::at_limit) == (c.fails == Constituent::Fails::below));
    }
  }

  TEST_CASE("waste codes come out in one spelling, of their scheme alone") {
    CHECK(clean_waste_code("d008", "us") == "D008");
    CHECK(clean_waste_code("160114*", "list-of-waste") == "16 01 14*");
    CHECK(clean_waste_code("16 01 15", "") == "16 01 15");
    CHECK_FALSE(clean_waste_code("16 01 15", "us").has_value());
    CHECK_FALSE(clean_waste_code("D008", "list-of-waste").has_value());
    CHECK_FALSE(clean_waste_code("X008", "us").has_value());
    CHECK_FALSE(clean_waste_code("D08", "").has_value());
  }
}
