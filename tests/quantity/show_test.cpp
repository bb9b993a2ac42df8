#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <array>
#include <limits>
#include <optional>
#include <random>
#include <span>
#include <string>

namespace {

using namespace baybook;

Units book(VolumeUnit volume, std::optional<VolumeUnit> gallon = std::nullopt) {
  Units units;
  units.volume = volume;
  units.gallon = gallon;
  return units;
}

const Units metric{};

}  // namespace

TEST_SUITE("quantity/show") {
  TEST_CASE("a reading has at most three decimals and no trailing zeros") {
    CHECK(show(5'200'000'000, Dimension::volume, metric) == "5.2 L");
    CHECK(show(5'000'000'000, Dimension::volume, metric) == "5 L");
    CHECK(show(5'123'456'789, Dimension::volume, metric) == "5.123 L");
    CHECK(show(5'123'456'789, Dimension::volume, metric, true) == "5.123456789 L");
    CHECK(show(-300'000'000, Dimension::volume, metric) == "-0.3 L");
    CHECK(show(0, Dimension::volume, metric) == "0 L");
    CHECK(show(-1, Dimension::volume, metric) == "0 L");  // never "-0 L"
    CHECK(show(1'500'000, Dimension::volume, metric) == "0.002 L");
    CHECK(show(2'500'000, Dimension::volume, metric) == "0.002 L");  // half to even
    CHECK(show(3, Dimension::count, metric) == "3 pcs");
  }

  TEST_CASE("masses below a kilogram are read in grams") {
    CHECK(show(850'000'000, Dimension::mass, metric) == "850 g");
    CHECK(show(2'000'000'000, Dimension::mass, metric) == "2 kg");
    CHECK(show(1'000'000'000, Dimension::mass, metric) == "1 kg");
    CHECK(show(999'999'999, Dimension::mass, metric) == "1 kg");  // not "1000 g"
    CHECK(show(999'999'999, Dimension::mass, metric, true) == "999.999999 g");
    CHECK(show(999'999'500, Dimension::mass, metric) == "1 kg");
    CHECK(show(-999'999'500, Dimension::mass, metric) == "-1 kg");
    CHECK(show(999'999'499, Dimension::mass, metric) == "999.999 g");
    CHECK(show(0, Dimension::mass, metric) == "0 kg");
    CHECK(show(-850'000'000, Dimension::mass, metric) == "-850 g");
  }

  TEST_CASE("a gallon is called plain only where it is read so") {
    const std::int64_t n = 5'186'014'144;  // 1.37 US gallons of 3.785411784 L, NIST HB 44 App. C
    CHECK(show(n, Dimension::volume, book(VolumeUnit::us_gallon, VolumeUnit::us_gallon)) == "1.37 gal");
    CHECK(show(n, Dimension::volume, book(VolumeUnit::us_gallon)) == "1.37 usgal");
    CHECK(show(n, Dimension::volume, book(VolumeUnit::us_gallon, VolumeUnit::imperial_gallon)) == "1.37 usgal");
    CHECK(show(4'546'090'000, Dimension::volume, book(VolumeUnit::imperial_gallon)) == "1 impgal");
    CHECK(show(n, Dimension::volume, book(VolumeUnit::litre, VolumeUnit::us_gallon)) == "5.186 L");
  }

  TEST_CASE("an estimate shows its bounds and its best value in one unit") {
    const auto text = [](std::string_view typed) { return show(parse_amount(typed, metric).value(), metric); };
    CHECK(text("5.2L") == "5.2 L");
    CHECK(text("0.5..1.2L") == "0.5 to 1.2 L, best 0.85 L");
    CHECK(text("900g..1.2kg") == "0.9 to 1.2 kg, best 1.05 kg");
    CHECK(text("~500 g") == "450 to 550 g, best 500 g");
    CHECK(text("2..4 pcs") == "2 to 4 pcs, best 3 pcs");
  }

  TEST_CASE("a number for a column has exactly the decimals asked for") {
    CHECK(show_number(5'200'000'000, Dimension::volume, metric, 2) == "5.20");
    CHECK(show_number(5'205'000'000, Dimension::volume, metric, 2) == "5.20");  // half to even
    CHECK(show_number(5'215'000'000, Dimension::volume, metric, 2) == "5.22");
    CHECK(show_number(-5'200'000'000, Dimension::volume, metric, 0) == "-5");
    CHECK(show_number(-1, Dimension::volume, metric, 2) == "0.00");
    CHECK(show_number(850'000'000, Dimension::mass, metric, 1) == "0.8");
    CHECK(show_number(3, Dimension::count, metric, 0) == "3");
    CHECK(show_number(3'785'411'784, Dimension::volume, book(VolumeUnit::us_gallon), 3) == "1.000");
  }

  TEST_CASE("the ends of 64 bits print without overflow") {
    CHECK(show(std::numeric_limits<std::int64_t>::max(), Dimension::volume, metric, true) == "9223372036.854775807 L");
    CHECK(show(std::numeric_limits<std::int64_t>::min(), Dimension::volume, metric, true) == "-9223372036.854775808 L");
    CHECK(show_number(std::numeric_limits<std::int64_t>::min(), Dimension::volume, metric, 18) == "-9223372036.854775808000000000");
  }

  TEST_CASE("whatever is shown exactly reads back to the same amount") {
    std::random_device device;
    const unsigned seed = device();
    CAPTURE(seed);
    std::mt19937_64 random{seed};
    const std::array books{
        metric, book(VolumeUnit::us_gallon), book(VolumeUnit::us_gallon, VolumeUnit::us_gallon), book(VolumeUnit::imperial_gallon),
        book(VolumeUnit::imperial_gallon, VolumeUnit::imperial_gallon), book(VolumeUnit::us_gallon, VolumeUnit::imperial_gallon)};
    for (int i = 0; i < 5'000; ++i) {
      for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
        const std::int64_t limit = d == Dimension::count ? 1'000'000 : 1'000'000'000'000'000;
        std::int64_t below = limit;
        for (auto cuts = random() % 15; cuts > 0 && below > 10; --cuts) below /= 10;  // small amounts as often as large ones
        const std::int64_t n = 1 + static_cast<std::int64_t>(random() % static_cast<std::uint64_t>(below));
        const Units& units = books[random() % books.size()];
        const std::string text = show(n, d, units, true);
        CAPTURE(text);
        const auto back = parse_amount(text, units);
        REQUIRE_MESSAGE(back.ok(), back.refusal().what);
        CHECK(back->best == n);
        CHECK(back->dimension == d);
      }
    }
  }

  TEST_CASE("what is typed in the book's unit with three decimals shows as typed") {
    for (const std::string_view text : {"5.2 L", "0.001 L", "1.234 L", "999999.999 L", "1.001 kg", "850.5 g", "3 pcs"}) {
      CHECK(show(parse_amount(text, metric).value(), metric) == text);
    }
    const Units gallons = book(VolumeUnit::us_gallon, VolumeUnit::us_gallon);
    for (const std::string_view text : {"1.37 gal", "0.001 gal", "55 gal", "1234.567 gal"}) {
      CHECK(show(parse_amount(text, gallons).value(), gallons) == text);
    }
  }

  TEST_CASE("a figure beside a limit is printed on the side of it on which it is, in every unit") {
    const std::int64_t kg100 = 100'000'000'000;
    const auto beside = [&](std::int64_t n) { return show_beside(n, Dimension::mass, metric, std::span(&kg100, 1)); };
    CHECK(beside(kg100) == "100 kg");
    CHECK(beside(kg100 + 400'000) == "100.0004 kg");
    CHECK(beside(kg100 + 1) == "100.000000001 kg");
    CHECK(beside(kg100 - 1) == "99.999999999 kg");
    CHECK(beside(kg100 + 1'000'000'000) == "101 kg");
    CHECK(beside(850'000'000) == "850 g");
    CHECK(decimals_beside(kg100 + 400'000, Dimension::mass, metric, 1, std::span(&kg100, 1)) == 4);
    CHECK(decimals_beside(kg100, Dimension::mass, metric, 1, std::span(&kg100, 1)) == 1);
    // 55 US gal are 208.197648120 L (NIST HB 44).
    const std::int64_t drum = 208'197'648'120;
    const Units gallons = book(VolumeUnit::us_gallon, VolumeUnit::us_gallon);
    CHECK(show_beside(drum, Dimension::volume, gallons, std::span(&drum, 1)) == "55 gal");
    CHECK(show_beside(drum + 1, Dimension::volume, gallons, std::span(&drum, 1)) != "55 gal");
    std::mt19937_64 random(18);
    for (int i = 0; i < 5'000; ++i) {
      const std::int64_t limit = 1 + static_cast<std::int64_t>(random() % 1'000'000'000'000'000);
      const std::int64_t n = std::max<std::int64_t>(1, limit + static_cast<std::int64_t>(random() % 2001) - 1000);
      const std::string text = show_beside(n, Dimension::volume, metric, std::span(&limit, 1));
      CAPTURE(text);
      const auto back = parse_amount(text, metric);
      REQUIRE(back.ok());
      CHECK((back->best < limit) == (n < limit));
      CHECK((back->best > limit) == (n > limit));
    }
  }
}
