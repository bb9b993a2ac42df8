// How the projection does on synthetic cars, by kind and by days ahead.
#pragma once

#include "lines.hpp"
#include "synthetic_use.hpp"
#include "walk.hpp"

#include <array>
#include <map>

namespace baybook_test {

inline constexpr std::array<int, 6> kAhead = {14, 45, 90, 180, 365, 730};                         // days
inline constexpr std::array<std::int64_t, 4> kToGo = {2'000'000, 5'000'000, 10'000'000, 20'000'000};  // metres

/// The constants were found, and the choices made, on seeds below 1,000,000. These were not looked at before all of that stood.
inline constexpr std::uint64_t kHeldOutSeed = 2'000'001;
inline constexpr std::uint64_t kCarsOfAKind = 600;
/// Other cars: those of the shop whose list it is, 40 of each kind.
inline constexpr std::uint64_t kShopSeed = 4'000'001;

inline std::int64_t width_of_synthetic_shop() {
  static const std::int64_t width = [] {
    std::vector<Readings> cars;
    for (const Kind kind : kKinds) {
      for (std::uint64_t i = 0; i < 40; ++i)
        cars.push_back(synthetic_car(kind, kShopSeed + i).readings);
    }
    return width_of_shop(cars);
  }();
  return width;
}

struct Results {
  Share in_range;                        ///< the true reading on a day
  Share day_in_range;                    ///< the true day of a reading
  std::array<Share, kAhead.size()> by_days;
  std::vector<double> baybook, whole_history, last_two;  ///< metres off
  int cars = 0, not_projected = 0;
  int wrong = 0, wrong_named = 0, right_named = 0;  ///< readings typed wrong; those named; right ones named

  void add(const Results& r) {
    in_range.add(r.in_range);
    day_in_range.add(r.day_in_range);
    for (std::size_t i = 0; i < by_days.size(); ++i) by_days[i].add(r.by_days[i]);
    baybook.insert(baybook.end(), r.baybook.begin(), r.baybook.end());
    whole_history.insert(whole_history.end(), r.whole_history.begin(), r.whole_history.end());
    last_two.insert(last_two.end(), r.last_two.begin(), r.last_two.end());
    cars += r.cars;
    not_projected += r.not_projected;
    wrong += r.wrong;
    wrong_named += r.wrong_named;
    right_named += r.right_named;
  }
};

inline void judge(const SyntheticCar& car, Results& out) {
  using namespace baybook::due;
  const History history = read_use(car.readings, width_of_synthetic_shop());
  ++out.cars;
  out.wrong += static_cast<int>(car.wrong.size());
  for (const Slip& slip : history.slips) {
    const bool truly = std::find(car.wrong.begin(), car.wrong.end(), slip.entry) != car.wrong.end();
    ++(truly ? out.wrong_named : out.right_named);
  }
  if (when_reaches(history.use, history.use.last_metres + 1).known != Known::projected) {
    ++out.not_projected;
    return;
  }
  const Readings used = without_slips(car.readings, history.slips);
  const baybook::Day today = car.readings.back().day;
  const auto last = static_cast<std::size_t>(car.last);
  for (std::size_t i = 0; i < kAhead.size(); ++i) {
    const baybook::Day day{today.n + kAhead[i]};
    const std::int64_t truth = car.metres[last + static_cast<std::size_t>(kAhead[i])];
    const At at = where_on(history.use, day);
    const bool in = at.low <= truth && truth <= at.high;
    out.in_range.count(in);
    out.by_days[i].count(in);
    out.baybook.push_back(off(static_cast<double>(at.likely), truth));
    out.whole_history.push_back(off(whole_history_line(used, day), truth));
    out.last_two.push_back(off(last_two_line(used, day), truth));
  }
  for (const std::int64_t to_go : kToGo) {
    const std::int64_t target = used.back().metres + to_go;
    const auto there = std::lower_bound(car.metres.begin() + car.last, car.metres.end(), target);
    // A car too slow to get there in the years that are made up: only an open end holds it.
    const bool ever = there != car.metres.end();
    const baybook::Day truth{today.n - car.last + static_cast<std::int32_t>(there - car.metres.begin())};
    const Reach reach = when_reaches(history.use, target);
    const bool not_before = ever ? !reach.early_open && reach.early <= truth : true;
    const bool not_after = reach.late_open || (ever && truth <= reach.late);
    out.day_in_range.count(not_before && not_after);
  }
}

inline Results results_of(Kind kind, std::uint64_t first_seed, std::uint64_t cars) {
  Results out;
  for (std::uint64_t i = 0; i < cars; ++i) judge(synthetic_car(kind, first_seed + i), out);
  return out;
}

/// The held-out cars, made and judged once for all tests.
inline const std::map<Kind, Results>& held_out() {
  static const std::map<Kind, Results> results = [] {
    std::map<Kind, Results> out;
    for (const Kind kind : kKinds) out[kind] = results_of(kind, kHeldOutSeed, kCarsOfAKind);
    return out;
  }();
  return results;
}

inline Results mix_of(const std::map<Kind, Results>& results) {
  Results mix;
  for (const auto& result : results) mix.add(result.second);
  return mix;
}

}  // namespace baybook_test
