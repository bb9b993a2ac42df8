// Invented cars whose use changes with the lives of those who drive them: read once a year, and now
// and then again after a few days.
//
// The model. A car's rate is 8 to 68 km a day, most at the low end. On each day, once in 1,100 on
// the whole (three years), its use changes 1.3 to 3.5 times, up or down, between 1.5 and 120 km a day.
// A slow wander as in synthetic_use.hpp, and the noise of the day. It is read 4 to 18 times, 330 to 385
// days apart; one reading in twelve comes 2 to 20 days after the one before, the car having stood in
// the workshop but for some kilometres. Whole miles. None of its figures was fitted to anything.
#pragma once

#include "synthetic_use.hpp"

namespace baybook_test {

inline std::vector<baybook::due::OdometerReading> life_of_a_car(std::uint64_t seed) {
  Dice dice(seed * 977 + 5);
  const double u = dice.share();
  double rate = 8000.0 + 60000.0 * u * u;  // m/day
  const int visits = dice.whole(4, 18);
  double distance = dice.between(1.0e6, 1.0e8);
  double wander = 1.0;
  int day = 0;
  std::vector<baybook::due::OdometerReading> out;
  const auto read = [&] {
    out.push_back({baybook::Day{15000 + day}, as_shown(static_cast<std::int64_t>(distance), true),
                   false, static_cast<std::int64_t>(out.size()) + 1});
  };
  read();
  while (static_cast<int>(out.size()) < visits) {
    const bool again = dice.one_in(12);
    const int until = day + (again ? dice.whole(2, 20) : dice.whole(330, 385));
    for (; day < until; ++day) {
      if (dice.one_in(1100)) {
        const double change = dice.between(1.3, 3.5);
        rate = std::min(120000.0, std::max(1500.0, dice.one_in(2) ? rate * change : rate / change));
      }
      if (day % 30 == 0) wander = 1.0 + 0.85 * (wander - 1.0) + dice.between(-0.2, 0.2);
      if (!again) distance += rate * std::max(0.1, wander) * 4.0 * dice.share() * dice.share();
    }
    if (again) distance += dice.between(0.0, 60000.0);
    read();
  }
  return out;
}

}  // namespace baybook_test
