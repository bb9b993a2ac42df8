// Edges of quantities that no other test comes to: what is far too large, what is nothing at best, and what is shown below zero.
#include "quantity/decimal.hpp"
#include "quantity/units.hpp"
#include "support/has.hpp"

#include <baybook/calendar.hpp>
#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <limits>
#include <string>

using namespace baybook;
using test::has;

namespace {

template <class T>
Refusal refusal_of(const Result<T>& r) {
  REQUIRE_FALSE(r.ok());
  return r.refusal();
}

}  // namespace

TEST_SUITE("quantity/edges") {
  TEST_CASE("gallons that are too many in both measures are told to be so in both") {
    const Refusal r = refusal_of(parse_amount("9999999 gal", Units{}));
    CHECK(r.code == Code::unclear);
    CHECK(has(r.what, "more than 1000000 L in US measure or more than 1000000 L in imperial measure"));
    CHECK(has(refusal_of(parse_amount("-9999999 gal", Units{})).what, "more than 1000000 L"));
    CHECK(has(refusal_of(parse_amount("99999999999999999999 gal", Units{})).what, "more than 1000000 L in US measure"));
    CHECK(has(refusal_of(parse_density("1e9 lb/gal", Units{})).what, ""));
    CHECK(has(refusal_of(parse_density("99999999999999999999 lb/gal", Units{})).what, "more than 20 kg/L in US measure or more than 20 kg/L in imperial measure"));
  }

  TEST_CASE("a best value lies within its bounds and is not nothing") {
    const Refusal below = refusal_of(parse_amount("1..2~0.5L", Units{}));
    CHECK(below.code == Code::not_allowed);
    CHECK(has(below.what, "best value outside its bounds"));
    CHECK(has(refusal_of(parse_amount("1..2~3L", Units{})).what, "best value outside its bounds"));
    CHECK(has(refusal_of(parse_amount("0..0.000000001L", Units{})).what, "nothing"));
  }

  TEST_CASE("half a piece is none, with its unit and without") {
    CHECK(refusal_of(parse_amount("2.5pcs", Units{})).instead == "2pcs or 3pcs");
    CHECK(refusal_of(parse_amount("2.5 pc", Units{})).instead == "2 pc or 3 pc");
  }

  TEST_CASE("a density without a number, or of a number with too many decimals, is refused with the reason") {
    CHECK(has(refusal_of(parse_density("kg/L", Units{})).what, "has no number where one is expected"));
    CHECK(has(refusal_of(parse_density("1.0000000000001kg/L", Units{})).what, "more than 12 decimals"));
    CHECK(has(refusal_of(parse_density("1,000kg/L", Units{})).what, "thousands"));
    CHECK(has(refusal_of(parse_density("99999999999999999999kg/L", Units{})).what, "far more"));
  }

  TEST_CASE("a difference below zero is shown with its sign") {
    const Units metric{};
    CHECK(show(-1, Dimension::count, metric) == "-1 pc");
    CHECK(show(-2, Dimension::count, metric) == "-2 pcs");
    CHECK(show(-500'000'000, Dimension::mass, metric) == "-500 g");
    CHECK(show(-1'500'000'000, Dimension::mass, metric) == "-1.5 kg");
    CHECK(show(-999'999'600, Dimension::mass, metric) == "-1 kg");
    CHECK(show(-1'250'000'000, Dimension::volume, metric) == "-1.25 L");
    CHECK(show_torque(-25'000, metric) == "-25 Nm");
    CHECK(show_torque(-5'125, metric) == "-5.125 Nm");
  }

  TEST_CASE("an amount that no decimal number of its unit hits is shown with as many decimals as there are") {
    Units us;
    us.volume = VolumeUnit::us_gallon;
    // 1 nL in US gallons needs more decimals than are shown at all: the nearest is shown.
    CHECK_FALSE(show(1, Dimension::volume, us, true).empty());
    const auto again = parse_amount(show(123'456'789, Dimension::volume, us, true), us);
    REQUIRE(again.ok());
    CHECK(again->best == 123'456'789);
  }

  TEST_CASE("whole numbers are written digit by digit, the lowest included") {
    using quantity::i128;
    CHECK(quantity::whole_text(0) == "0");
    CHECK(quantity::whole_text(-17) == "-17");
    const i128 lowest = static_cast<i128>(1) << 127;
    CHECK(quantity::whole_text(lowest) == "-170141183460469231731687303715884105728");
    CHECK(quantity::without_trailing_zeros("1200") == "1200");
    CHECK(quantity::without_trailing_zeros("1.200") == "1.2");
    CHECK(quantity::without_trailing_zeros("1.000") == "1");
  }

  TEST_CASE("an instant is written in the one way that this program writes it") {
    CHECK(read_instant("2026-03-05T09:40:00.000Z").has_value());
    for (const char* wrong : {"2026-03-05T09:40:00.000", "2026-03-05 09:40:00.000Z", "2026-03-05T09.40:00.000Z", "2026-03-05T09:40.00.000Z", "2026-03-05T09:40:00:000Z", "2026-03-05T09:40:00.000z", "2026-02-30T09:40:00.000Z",
                              "2026-03-05T-1:40:00.000Z", "2026-03-05T24:40:00.000Z", "2026-03-05T09:x0:00.000Z", "2026-03-05T09:60:00.000Z", "2026-03-05T09:40:-1.000Z", "2026-03-05T09:40:60.000Z", "2026-03-05T09:40:00.x00Z"}) {
      CAPTURE(wrong);
      CHECK_FALSE(read_instant(wrong).has_value());
    }
  }

  TEST_CASE("a time may be typed with Z in either case, and a day that begins with its year has to exist") {
    for (const char* text : {"09:11Z", "09:11z"}) {
      const auto t = parse_time(text);
      REQUIRE(t.ok());
      CHECK(t->offset_minutes == 0);
    }
    const Day today = *read_day("2026-03-05");
    CHECK(has(refusal_of(parse_day("2026/02/30", today)).what, "does not exist"));
    CHECK(refusal_of(parse_day("2026/2/3", today)).instead == "2026-02-03");
  }

  TEST_CASE("units that mean several things, or the imperial one by its full name, are read or told so") {
    CHECK(has(refusal_of(parse_amount("2 ton", Units{})).what, "ton"));
    CHECK(has(refusal_of(parse_amount("2 tons", Units{})).what, "tons"));
    const auto full = parse_amount("1 imperialgallon", Units{}), brief = parse_amount("1 impgallon", Units{});
    if (full.ok() && brief.ok()) CHECK(full->best == brief->best);
    // NIST SP 811 (2008), Appendix B.8: 1 imperial gallon = 4.546 09 L.
    const auto gallon = parse_amount("1 imp gal", Units{});
    REQUIRE(gallon.ok());
    CHECK(gallon->best == 4'546'090'000);
  }

  TEST_CASE("a negative number that can be read as thousands keeps its sign in what to type instead") {
    const Refusal r = refusal_of(parse_amount("-1'000L", Units{}));
    CHECK(has(r.instead, "-1000"));
    CHECK(has(refusal_of(parse_amount("1'000", Units{})).instead, "1000L"));
  }
}
