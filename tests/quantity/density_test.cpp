#include "units_program.hpp"

#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <stdexcept>
#include <random>
#include <string>

namespace {

using namespace baybook;

Density read(std::string_view text, const Units& units = {}) {
  CAPTURE(text);
  const auto density = parse_density(text, units);
  REQUIRE_MESSAGE(density.ok(), density.refusal().what);
  CHECK(density->typed == text);
  return *density;
}

}  // namespace

TEST_SUITE("quantity/density") {
  TEST_CASE("a density is kept in millionths of a kilogram per litre") {
    CHECK(read("1.07kg/L").ppm_kg_per_l == 1'070'000);
    CHECK(read("1,07 kg / l").ppm_kg_per_l == 1'070'000);
    CHECK(read("0.88 g/mL").ppm_kg_per_l == 880'000);
    CHECK(read("880 g/L").ppm_kg_per_l == 880'000);
    CHECK(read("0.88 g/cm3").ppm_kg_per_l == 880'000);  // SI brochure: 1 cm3 = 1 mL
    // NIST HB 44 App. C: 453.59237 g to the pound, 3.785411784 L to the US gallon: 0.898698 kg/L.
    CHECK(read("7.5 lb/usgal").ppm_kg_per_l == 898'698);
    CHECK(read("10 lb/impgal").ppm_kg_per_l == 997'764);  // 4.54609 L, UK Units of Measurement Regulations 1995
    CHECK(read("0.4 kg/L").ppm_kg_per_l == 400'000);
    CHECK(read("20 kg/L").ppm_kg_per_l == 20'000'000);
    Units units;
    units.gallon = VolumeUnit::us_gallon;
    CHECK(read("7.5 lb/gal", units).ppm_kg_per_l == 898'698);
  }

  TEST_CASE("pounds per gallon are those of the units program") {
    for (const std::string number : {"7.3", "8.8", "9.1"}) {
      const double theirs = test::units_program_number(number + " pound/usgallon", "kg/liter");
      CHECK(std::abs(static_cast<double>(read(number + " lb/usgal").ppm_kg_per_l) - theirs * 1e6) <= 0.5 + 1e-6);
    }
  }

  TEST_CASE("a density that cannot be used is refused with what to type") {
    constexpr std::string_view words = "a number with its unit, like 1.07kg/L";
    constexpr std::string_view meant = "the density that is meant, like 1.07kg/L";
    struct Row {
      std::string_view text;
      Code code;
      std::string_view instead;
    };
    for (const Row& row : {
             Row{"", Code::unclear, words}, Row{"1.07", Code::unclear, "1.07kg/L"}, Row{"1.07 kg", Code::unclear, words}, Row{"1070 kg/m3", Code::unclear, words}, Row{"1 1/2 kg/L", Code::unclear, meant},
             Row{"1.07 L/kg", Code::unclear, ""}, Row{"1.07 kg/kg", Code::unclear, ""}, Row{"1.07 kg/", Code::unclear, ""},
             Row{"1.07 /L", Code::unclear, ""}, Row{"heavy", Code::unclear, words},
             Row{"7.5 lb/gal", Code::unclear, "7.5 lb/usgal or 7.5 lb/impgal"}, Row{"0.399 kg/L", Code::not_allowed, meant},
             Row{"20.1 kg/L", Code::not_allowed, meant}, Row{"0 kg/L", Code::not_allowed, meant},
             Row{"-1 kg/L", Code::not_allowed, meant}, Row{"9999999999999.999999999999 t/usfloz", Code::not_allowed, meant},
             Row{"999999.999999999999 t/usfloz", Code::not_allowed, meant}, Row{"1\x01kg/L", Code::not_text, ""},
         }) {
      CAPTURE(row.text);
      const auto density = parse_density(row.text, Units{});
      REQUIRE_FALSE(density.ok());
      CHECK(density.refusal().code == row.code);
      if (!row.instead.empty()) CHECK(density.refusal().instead == row.instead);
    }
    const std::string what = parse_density("7.5 lb/gal", Units{}).refusal().what;
    CHECK(what.find("0.899 kg/L") != std::string::npos);
    CHECK(what.find("0.748 kg/L") != std::string::npos);
  }

  TEST_CASE("mass and volume turn into each other, rounded once") {
    const Density coolant = read("1.07kg/L");
    CHECK(mass_of(Volume{5'000'000'000}, coolant) == Mass{5'350'000'000});
    CHECK(volume_of(Mass{5'350'000'000}, coolant) == Volume{5'000'000'000});
    const Density half = read("0.5kg/L");
    CHECK(mass_of(Volume{1}, half) == Mass{0});  // 0.5 to the even neighbour
    CHECK(mass_of(Volume{3}, half) == Mass{2});  // 1.5 as well
    CHECK(volume_of(Mass{1}, read("0.4kg/L")) == Volume{2});  // 2.5
    // 64 bits would not hold the product.
    CHECK(volume_of(Mass{1'000'000'000'000'000}, read("0.4kg/L")) == Volume{2'500'000'000'000'000});
    // The worked example of a guidance sheet: 55 US gallons at 7.5 lb/gal are 412.5 lb, here to the rounding of the density.
    const auto pounds = parse_amount("412.5 lb", Units{});
    const Mass drum = mass_of(Volume{55 * std::int64_t{3'785'411'784}}, read("7.5 lb/usgal"));
    CHECK(std::abs(drum.n - pounds->best) <= 55 * std::int64_t{3'785'411'784} / 2'000'000 + 1);
  }

  TEST_CASE("a weight beyond every figure is an error and no figure") {
    const Density heavy = read("20kg/L");
    constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max();
    CHECK(mass_of(Volume{most / 20}, heavy).n == most / 20 * 20);
    CHECK(mass_of(Volume{-(most / 20)}, heavy).n == -(most / 20 * 20));
    CHECK_THROWS_AS((void)mass_of(Volume{most / 20 + 1}, heavy), std::overflow_error);
    CHECK_THROWS_AS((void)mass_of(Volume{std::numeric_limits<std::int64_t>::min()}, heavy), std::overflow_error);
    CHECK_THROWS_AS((void)volume_of(Mass{most}, read("0.4kg/L")), std::overflow_error);
    CHECK_THROWS_AS((void)volume_of(Mass{1}, Density{0, ""}), std::overflow_error);
  }

  TEST_CASE("a volume turned into a mass and back is off by no more than the mass was rounded") {
    std::random_device device;
    const unsigned seed = device();
    CAPTURE(seed);
    std::mt19937_64 random{seed};
    for (int i = 0; i < 2'000; ++i) {
      const Density density{400'000 + static_cast<std::int64_t>(random() % 19'600'001), ""};
      const Volume volume{static_cast<std::int64_t>(random() % 1'000'000'000'000'000)};
      const Volume back = volume_of(mass_of(volume, density), density);
      CAPTURE(volume.n);
      CAPTURE(density.ppm_kg_per_l);
      CHECK(std::abs(back.n - volume.n) <= 2);  // half a microgram at 0.4 kg/L is 1.25 nL, and half a nL of rounding back
    }
  }
}
