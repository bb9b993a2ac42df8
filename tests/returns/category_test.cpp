// Edges of the categories and of date arithmetic, against the rule texts that each check names (regulations as cited there).
#include "returns/category.hpp"

#include <doctest/doctest.h>

using namespace baybook;

namespace {

constexpr std::int64_t kg = 1'000'000'000;  // micrograms

RuleSet federal() {
  auto r = read_rules("us-federal");
  REQUIRE(r.ok());
  return *r;
}
Day at(const char* iso) { return *read_day(iso); }

}  // namespace

TEST_SUITE("returns/category") {
  TEST_CASE("a month's category turns where 40 CFR 260.10 and 262.13 Table 1 turn it, to the microgram") {
    const RuleSet r = federal();
    const Day day = at("2026-03-31");
    struct Edge {
      std::int64_t non_acute, acute, residue;
      int category;
    };
    const Edge edges[] = {
        {0, 0, 0, 1},           {100 * kg, 0, 0, 1},         {100 * kg + 1, 0, 0, 2},   {1000 * kg - 1, 0, 0, 2}, {1000 * kg, 0, 0, 3},
        {0, kg, 0, 1},          {0, kg + 1, 0, 3},           {0, 0, 100 * kg, 1},       {0, 0, 100 * kg + 1, 3},  {500 * kg, kg, 100 * kg, 2},
        // The most stringent of the three totals holds (262.13(b)).
        {50 * kg, kg + 1, 0, 3},
    };
    for (const Edge& e : edges) {
      CAPTURE(e.non_acute);
      CAPTURE(e.acute);
      CAPTURE(e.residue);
      CHECK(returns::category(r, day, e.non_acute, e.acute, e.residue) == e.category);
    }
    CHECK(returns::category_title(r, day, 1) == "very small quantity generator (VSQG)");
    CHECK(returns::category_title(r, day, 2) == "small quantity generator (SQG)");
    CHECK(returns::category_title(r, day, 3) == "large quantity generator (LQG)");
  }

  TEST_CASE("the list of waste has no category by weight") {
    auto eu = read_rules("eu");
    REQUIRE(eu.ok());
    CHECK(returns::category(*eu, at("2026-03-31"), 5000 * kg, 0, 0) == 0);
    CHECK(returns::category_title(*eu, at("2026-03-31"), 0).empty());
  }

  TEST_CASE("a total between the rule's rounded pounds and its kilograms is told: 220 lb is 99.79 kg, 2,200 lb is 997.9 kg") {
    const RuleSet r = federal();
    const Day day = at("2026-03-31");
    CHECK(returns::rounding_notice(r, day, 99 * kg).empty());
    CHECK(!returns::rounding_notice(r, day, 99 * kg + 900'000'000).empty());
    CHECK(returns::rounding_notice(r, day, 100 * kg + 1).empty());
    CHECK(returns::rounding_notice(r, day, 997 * kg).empty());
    CHECK(!returns::rounding_notice(r, day, 998 * kg).empty());
    CHECK(returns::rounding_notice(r, day, 1001 * kg).empty());
  }

  TEST_CASE("the published picture holds: half a 55-gallon drum is near 100 kg, over it with coolant and under it with solvent") {
    const RuleSet r = federal();
    const Day day = at("2026-03-31");
    const std::int64_t half_drum = 208'197'648'120 / 2;  // nanolitres, 55 US gal (NIST HB 44)
    const Stream* coolant = r.stream_of("coolant", day);
    const Stream* solvent = r.stream_of("solvent", day);
    const Stream* oil = r.stream_of("engine-oil", day);
    REQUIRE((coolant != nullptr && solvent != nullptr && oil != nullptr));
    REQUIRE((coolant->density && solvent->density && oil->density));
    CHECK(mass_of(Volume{half_drum}, *coolant->density).n > 100 * kg);
    CHECK(mass_of(Volume{half_drum}, *solvent->density).n < 100 * kg);
    // County hazardous-materials guidance sheet: 55 gal x 7.5 lb/gal = 412.5 lb (187.1 kg).
    const std::int64_t drum_of_oil = mass_of(Volume{208'197'648'120}, *oil->density).n;
    CHECK(drum_of_oil / kg == 187);
  }

  TEST_CASE("the last permitted day is start and N days, or one fewer where the named setting says so") {
    const RuleSet r = federal();
    CHECK(to_string(returns::last_permitted(r, at("2026-01-01"), 180)) == "2026-06-30");
    CHECK(to_string(returns::last_permitted(r, at("2026-01-01"), 90)) == "2026-04-01");
    CHECK(to_string(returns::last_permitted(r, at("2026-12-30"), 3)) == "2027-01-02");
    auto first = read_rules("us-federal", "[[value]]\nkey = \"clock.day-zero\"\nis = \"first\"\nsection = \"our own setting\"\n", "shop.toml");
    REQUIRE_MESSAGE(first.ok(), first.refusal().what);
    CHECK(to_string(returns::last_permitted(*first, at("2026-01-01"), 180)) == "2026-06-29");
  }

  TEST_CASE("a storage limit of months never gets longer by a short month: of 29 February it ends on 28 February") {
    const RuleSet r = federal();
    CHECK(to_string(returns::last_permitted_month(r, at("2024-02-29"), 12)) == "2025-02-28");
    CHECK(to_string(returns::last_permitted_month(r, at("2024-02-28"), 12)) == "2025-02-28");
    CHECK(to_string(returns::last_permitted_month(r, at("2024-03-31"), 6)) == "2024-09-30");
    CHECK(to_string(returns::last_permitted_month(r, at("2023-02-28"), 12)) == "2024-02-28");
    auto first = read_rules("us-federal", "[[value]]\nkey = \"clock.day-zero\"\nis = \"first\"\nsection = \"our own setting\"\n", "shop.toml");
    REQUIRE_MESSAGE(first.ok(), first.refusal().what);
    CHECK(to_string(returns::last_permitted_month(*first, at("2026-03-02"), 12)) == "2027-03-01");
  }

  TEST_CASE("a record of 29 February may go on 1 March, so that the whole period is kept") {
    CHECK(to_string(returns::purge_day(at("2024-02-29"), 36)) == "2027-03-01");
    CHECK(to_string(returns::purge_day(at("2024-02-29"), 48)) == "2028-02-29");
    CHECK(to_string(returns::purge_day(at("2026-03-02"), 36)) == "2029-03-02");
    // A month that is shorter than the day takes nothing from the period either.
    CHECK(to_string(returns::purge_day(at("2026-01-31"), 1)) == "2026-03-01");
    CHECK(to_string(returns::purge_day(at("2026-08-31"), 6)) == "2027-03-01");
    CHECK(to_string(returns::purge_day(at("2026-02-28"), 12)) == "2027-02-28");
  }

  TEST_CASE("re-notification comes on 1 September of 2021 and every four years (262.18(d)(1)), in California of 2024 (22 CCR 66262.18)") {
    CHECK(to_string(returns::next_in_cycle(at("2026-01-01"), 901, 2021, 4)) == "2029-09-01");
    CHECK(to_string(returns::next_in_cycle(at("2025-09-01"), 901, 2021, 4)) == "2025-09-01");
    CHECK(to_string(returns::next_in_cycle(at("2025-09-02"), 901, 2021, 4)) == "2029-09-01");
    auto california = read_rules("us-california");
    REQUIRE(california.ok());
    const RuleValue* year = california->value("renewal.small.first-year", at("2026-01-01"));
    REQUIRE(year != nullptr);
    CHECK(to_string(returns::next_in_cycle(at("2026-01-01"), 901, year->n, 4)) == "2028-09-01");
    // The biennial report: 1 March of each even year (262.41).
    CHECK(to_string(returns::next_in_cycle(at("2026-03-02"), 301, 2022, 2)) == "2028-03-01");
  }
}
