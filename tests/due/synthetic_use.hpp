// Invented cars whose distance is known on every day: what a projection is measured against.
//
// The truth is a process by day: a rate of the car's own, times a slow wander (a new step each month), times its kind's pattern, times the
// noise of the day. Readings are taken at irregular times like those of a workshop: most visits some months apart, one in five a few days, and half of those
// are the car brought and fetched, having stood in between.
// Every figure comes from an integer generator of our own and from + - * /, so that a seed gives the same car on every machine.
#pragma once

#include "due/projection.hpp"

#include <algorithm>
#include <array>
#include <cstdint>
#include <string_view>
#include <utility>
#include <vector>

namespace baybook_test {

/// splitmix64 (public domain, Steele, Lea and Flood 2014; from memory).
class Dice {
 public:
  explicit Dice(std::uint64_t seed) : state_(seed) {}
  std::uint64_t bits() {
    std::uint64_t z = (state_ += 0x9E3779B97F4A7C15U);
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9U;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBU;
    return z ^ (z >> 31U);
  }
  double share() { return static_cast<double>(bits() >> 11U) / 9007199254740992.0; }  ///< 0 to 1, 1 left out
  double between(double low, double high) { return low + (high - low) * share(); }
  int whole(int low, int high) { return low + static_cast<int>(bits() % static_cast<std::uint64_t>(high - low + 1)); }
  bool one_in(int n) { return whole(1, n) == 1; }

 private:
  std::uint64_t state_;
};

enum class Kind : std::uint8_t { steady, seasonal, changed, gaps, slips };
inline constexpr std::array<Kind, 5> kKinds = {Kind::steady, Kind::seasonal, Kind::changed, Kind::gaps, Kind::slips};
inline constexpr std::array<std::string_view, 5> kKindNames = {"steady", "seasonal", "changed use", "gaps", "slips"};

struct SyntheticCar {
  std::vector<std::int64_t> metres;                         ///< true distance at the end of day i, day 0 is the first reading's
  std::vector<baybook::due::OdometerReading> readings;      ///< as typed
  std::vector<std::int64_t> wrong;                          ///< entries of the readings typed wrong
  int last = 0;                                             ///< the day of the last reading
};

inline constexpr int kDaysAhead = 3000;  ///< the truth goes on for so long after the last reading

/// A wave of one year, -1 to 1: a sine to within 0.06, of parabolas.
inline double yearly(double days) {
  const double turns = days / 365.25;
  const double t = turns - static_cast<double>(static_cast<std::int64_t>(turns));
  return t < 0.5 ? 16.0 * t * (0.5 - t) : -16.0 * (t - 0.5) * (1.0 - t);
}

/// What a display in whole miles or kilometres shows, as the book has it in metres.
inline std::int64_t as_shown(std::int64_t metres, bool miles) {
  if (!miles) return metres / 1000 * 1000;
  const std::int64_t shown = metres * 1000 / 1609344;
  return (shown * 1609344 + 500) / 1000;
}

/// A slip of the fingers at a whole number: two figures swapped, one left out, one typed twice, or the first one wrong.
inline std::int64_t typed_wrong(std::int64_t number, Dice& dice) {
  std::vector<int> figures;
  for (std::int64_t n = number; n > 0; n /= 10) figures.insert(figures.begin(), static_cast<int>(n % 10));
  if (figures.size() < 2) return number * 10 + 1;
  const int at = dice.whole(0, static_cast<int>(figures.size()) - 2);
  switch (dice.whole(0, 3)) {
    case 0: std::swap(figures[static_cast<std::size_t>(at)], figures[static_cast<std::size_t>(at) + 1]); break;
    case 1: figures.erase(figures.begin() + at); break;
    case 2: figures.insert(figures.begin() + at, figures[static_cast<std::size_t>(at)]); break;
    default: figures[0] = figures[0] % 9 + 1; break;
  }
  std::int64_t out = 0;
  for (const int f : figures) out = out * 10 + f;
  return out;
}

inline SyntheticCar synthetic_car(Kind kind, std::uint64_t seed) {
  Dice dice(seed * 8 + static_cast<std::uint64_t>(kind));
  SyntheticCar car;

  std::vector<int> days = {0};
  std::vector<std::pair<int, int>> stays;  // in the workshop: brought on the first day, fetched on the second
  const int visits = dice.whole(2, 14);
  const int gap_at = kind == Kind::gaps ? dice.whole(1, visits - 1) : 0;
  for (int i = 1; i < visits; ++i) {
    const bool soon = dice.one_in(5);
    const int usual = soon ? dice.whole(1, 20) : dice.whole(40, 420);
    if (soon && i != gap_at && dice.one_in(2)) stays.push_back({days.back(), days.back() + usual});
    days.push_back(days.back() + (i == gap_at ? dice.whole(500, 1400) : usual));
  }
  car.last = days.back();

  const double u = dice.share();
  const double rate = 4000.0 + 80000.0 * u * u;  // m/day: median 24 km
  const double wave = kind == Kind::seasonal ? dice.between(0.2, 0.8) : 0.0;
  const double phase = dice.between(0.0, 365.25);
  const int change_day = kind == Kind::changed ? dice.whole(0, car.last + 400) : 0;
  double change = 1.0;
  if (kind == Kind::changed) {
    change = dice.between(1.3, 2.5);
    if (dice.one_in(2)) change = 1.0 / change;
  }
  double wander = 1.0;
  double distance = dice.between(1.0e6, 2.0e8);
  for (int day = 0; day <= car.last + kDaysAhead; ++day) {
    if (day % 30 == 0) wander = 1.0 + 0.85 * (wander - 1.0) + dice.between(-0.2, 0.2);
    const double pattern = (1.0 + wave * yearly(static_cast<double>(day) + phase)) * (day >= change_day ? change : 1.0);
    const bool stands = std::any_of(stays.begin(), stays.end(), [day](const auto& stay) { return day > stay.first && day <= stay.second; });
    if (!stands) distance += rate * (wander > 0.1 ? wander : 0.1) * pattern * 4.0 * dice.share() * dice.share();
    car.metres.push_back(static_cast<std::int64_t>(distance));
  }

  const bool miles = dice.one_in(2);
  for (std::size_t i = 0; i < days.size(); ++i) {
    const std::int64_t true_metres = car.metres[static_cast<std::size_t>(days[i])];
    std::int64_t shown = as_shown(true_metres, miles);
    // The last reading is the one projected from: its day's checker sees a slip by hand, and the truth begins there.
    if (kind == Kind::slips && i + 1 < days.size() && visits >= 4 && dice.one_in(6)) {
      const std::int64_t unit = miles ? 1609344 : 1000000;
      const std::int64_t wrong = typed_wrong(true_metres * 1000 / unit, dice);
      const std::int64_t wrong_metres = (wrong * unit + 500) / 1000;
      if (wrong_metres != shown) car.wrong.push_back(static_cast<std::int64_t>(i) + 1);
      shown = wrong_metres;
    }
    car.readings.push_back({baybook::Day{15000 + days[i]}, shown, false, static_cast<std::int64_t>(i) + 1});
  }
  return car;
}

}  // namespace baybook_test
