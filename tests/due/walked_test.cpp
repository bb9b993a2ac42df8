// How wide a range is drawn, by cars that were walked forward: invented ones, and three real series.
#include "synthetic_lives.hpp"
#include "walk.hpp"

#include <doctest/doctest.h>

using namespace baybook_test;
using namespace baybook::due;

namespace {

std::vector<Readings> lives(std::uint64_t first, std::uint64_t cars) {
  std::vector<Readings> out;
  for (std::uint64_t i = 0; i < cars; ++i) out.push_back(life_of_a_car(first + i));
  return out;
}

std::vector<Readings> of_all_kinds(std::uint64_t first, std::uint64_t cars_of_a_kind) {
  std::vector<Readings> out;
  for (const Kind kind : kKinds) {
    for (std::uint64_t i = 0; i < cars_of_a_kind; ++i)
      out.push_back(synthetic_car(kind, first + i).readings);
  }
  return out;
}

Share held_by(const std::vector<Readings>& cars, std::int64_t width) {
  Share out;
  for (const Readings& car : cars) out.add(held(car, width));
  return out;
}

void holds_four_in_five(const Share& share) {
  CHECK(share.percent() >= 70.0);
  CHECK(share.percent() <= 90.0);
}

std::vector<Miss> forecasts(std::size_t n, std::int64_t width, std::int32_t days) {
  return std::vector<Miss>(n, Miss{width, days});
}

}  // namespace

TEST_SUITE("due/walked") {
  TEST_CASE(
      "200 invented lives are held 70 to 90 times in 100, by what is usual and by a shop of such "
      "cars") {
    const std::vector<Readings> cars = lives(1'000, 200);
    const Share usual = held_by(cars, kUsualWidth);
    CHECK(usual.all > 1'500);
    holds_four_in_five(usual);
    holds_four_in_five(held_by(cars, width_of_shop(lives(5'000, 200))));
  }

  TEST_CASE(
      "the three real series are held 70 to 90 times in 100, by what is usual and by a shop of "
      "just these cars") {
    std::vector<Readings> cars;
    for (const auto& series : real_series()) cars.push_back(series.second);
    const Share usual = held_by(cars, kUsualWidth);
    CHECK(usual.all == 26);
    holds_four_in_five(usual);
    holds_four_in_five(held_by(cars, width_of_shop(cars)));
  }

  TEST_CASE(
      "200 invented cars of five kinds are held 70 to 90 times in 100 by a shop of such cars") {
    holds_four_in_five(
        held_by(of_all_kinds(3'000'000, 40), width_of_shop(of_all_kinds(3'100'000, 40))));
  }

  TEST_CASE(
      "a shop whose cars keep to their rate draws narrower ranges, one whose cars change wider "
      "ones") {
    CHECK(width_to_hold({}) == kUsualWidth);
    CHECK(width_to_hold(forecasts(400, 200'000, 100)) < kUsualWidth / 2);
    CHECK(width_to_hold(forecasts(400, 3'000'000, 100)) >= 3'000'000);
    // What is usual counts as forty: a few forecasts move it a little.
    const std::int64_t few = width_to_hold(forecasts(5, 3'000'000, 100));
    CHECK(few > kUsualWidth);
    CHECK(few < 2'300'000);
  }

  TEST_CASE(
      "four in five of the forecasts of a large shop lie within the width, and a forecast of some "
      "days hardly counts") {
    std::vector<Miss> some = forecasts(780, 1'000'000, 360);
    const std::vector<Miss> wide = forecasts(220, 2'500'000, 360);
    some.insert(some.end(), wide.begin(), wide.end());
    CHECK(width_to_hold(some) >= 2'500'000);
    std::vector<Miss> most = forecasts(830, 1'000'000, 360);
    most.insert(most.end(), wide.begin(), wide.begin() + 170);
    CHECK(width_to_hold(most) < 1'500'000);
    std::vector<Miss> stays = forecasts(830, 1'000'000, 360);
    const std::vector<Miss> days = forecasts(400, 5'000'000, 3);
    stays.insert(stays.end(), days.begin(), days.end());
    CHECK(width_to_hold(stays) < 1'500'000);
  }

  TEST_CASE(
      "the reading foretold does not move with the width, so the median error stays what it was") {
    for (const auto& series : real_series()) {
      std::vector<std::int64_t> narrow, wide;
      walk(series.second, 500'000, [&](const Foretold& f) { narrow.push_back(f.at.likely); });
      walk(series.second, 6'000'000, [&](const Foretold& f) { wide.push_back(f.at.likely); });
      CHECK(narrow == wide);
    }
  }
}
