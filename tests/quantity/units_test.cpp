#include "units_program.hpp"

#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <random>
#include <string>

namespace {

using namespace baybook;

std::int64_t best(const std::string& text) {
  CAPTURE(text);
  const auto amount = parse_amount(text, Units{});
  REQUIRE_MESSAGE(amount.ok(), amount.refusal().what);
  return amount->best;
}

struct Factor {
  std::string ours;
  std::string theirs;  // as the `units` program calls it
  std::string base;
  std::int64_t of_sixteen;  // base units in 16 of them: whole for every unit
};

// NIST Handbook 44, Appendix C: US gallon 231 in3 = 3.785411784 L, quart a quarter, pint an eighth, fluid ounce a 128th of
// it; pound 0.45359237 kg, ounce a sixteenth. UK Units of Measurement Regulations 1995: gallon 4.54609 L, fluid ounce a
// 160th. SI brochure: litre, gram, tonne.
const Factor factors[] = {
    {"L", "liter", "nanoliter", 16'000'000'000},
    {"dl", "deciliter", "nanoliter", 1'600'000'000},
    {"cl", "centiliter", "nanoliter", 160'000'000},
    {"ml", "milliliter", "nanoliter", 16'000'000},
    {"cc", "cm^3", "nanoliter", 16'000'000},  // SI brochure: 1 cm3 = 1 mL
    {"ukgal", "brgallon", "nanoliter", 72'737'440'000},
    {"usgal", "usgallon", "nanoliter", 60'566'588'544},
    {"usqt", "usquart", "nanoliter", 15'141'647'136},
    {"uspt", "uspint", "nanoliter", 7'570'823'568},
    {"usfloz", "usfluidounce", "nanoliter", 473'176'473},
    {"impgal", "brgallon", "nanoliter", 72'737'440'000},
    {"impqt", "brquart", "nanoliter", 18'184'360'000},
    {"imppt", "brpint", "nanoliter", 9'092'180'000},
    {"impfloz", "brfluidounce", "nanoliter", 454'609'000},
    {"kg", "kg", "microgram", 16'000'000'000},
    {"g", "g", "microgram", 16'000'000},
    {"mg", "mg", "microgram", 16'000},
    {"t", "tonne", "microgram", 16'000'000'000'000},
    {"lb", "pound", "microgram", 7'257'477'920},
    {"oz", "ounce", "microgram", 453'592'370},
};

}  // namespace

TEST_SUITE("quantity/units") {
  TEST_CASE("every factor is that of its source") {
    for (const Factor& factor : factors) CHECK(best("16 " + factor.ours) == factor.of_sixteen);
  }

  TEST_CASE("every factor is that of the units program") {
    for (const Factor& factor : factors) {
      CAPTURE(factor.ours);
      CHECK(std::to_string(best("16 " + factor.ours)) == test::units_program("16 " + factor.theirs, factor.base));
    }
  }

  TEST_CASE("random readings in every unit are the nearest whole number to what the units program says") {
    std::random_device device;
    const unsigned seed = device();
    CAPTURE(seed);
    std::mt19937 random{seed};
    for (const Factor& factor : factors) {
      for (int i = 0; i < 5; ++i) {
        const std::string number = std::to_string(1 + random() % 900) + '.' + std::to_string(1 + random() % 998);
        CAPTURE(number);
        CAPTURE(factor.ours);
        const double theirs = test::units_program_number(number + ' ' + factor.theirs, factor.base);
        // Half a unit of rounding, and half of the 15th digit that the program prints.
        const double slack = 0.5 + theirs * 1e-14;
        CHECK(std::abs(static_cast<double>(best(number + ' ' + factor.ours)) - theirs) <= slack);
      }
    }
  }

  TEST_CASE("the parts of a gallon add up to it") {
    for (const std::string system : {"us", "imp"}) {
      CHECK(best("4 " + system + "qt") == best("1 " + system + "gal"));
      CHECK(best("8 " + system + "pt") == best("1 " + system + "gal"));
    }
    CHECK(best("128 usfloz") == best("1 usgal"));    // NIST HB 44 App. C
    CHECK(best("160 impfloz") == best("1 impgal"));  // UK Units of Measurement Regulations 1995
    CHECK(best("16 oz") == best("1 lb"));            // NIST HB 44 App. C
  }

  TEST_CASE("units have the names that bodies and columns use") {
    CHECK(base_unit(Dimension::volume) == "nl");
    CHECK(base_unit(Dimension::mass) == "ug");
    CHECK(base_unit(Dimension::count) == "pcs");
    Units units;
    CHECK(unit_name(Dimension::volume, units) == "L");
    CHECK(unit_name(Dimension::mass, units) == "kg");
    CHECK(unit_name(Dimension::count, units) == "pcs");
    units.volume = VolumeUnit::us_gallon;
    CHECK(unit_name(Dimension::volume, units) == "usgal");
    units.volume = VolumeUnit::imperial_gallon;
    CHECK(unit_name(Dimension::volume, units) == "impgal");
  }
}
