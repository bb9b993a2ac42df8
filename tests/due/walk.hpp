// Series of readings walked forward: each reading foretold from those before it.
#pragma once

#include "due/walked.hpp"
#include "lines.hpp"
#include "text/csv_rows.hpp"

#include <map>
#include <string>

namespace baybook_test {

/// What is foretold of one reading.
struct Foretold {
  baybook::due::At at;
  Readings known;
  baybook::due::OdometerReading next;
};

/// Calls `tell` for each reading from the third on that is of a later day than the one before.
template <class Tell>
void walk(const Readings& readings, std::int64_t width_millionths, const Tell& tell) {
  for (std::size_t i = 2; i < readings.size(); ++i) {
    const Readings known(readings.begin(), readings.begin() + static_cast<std::ptrdiff_t>(i));
    if (readings[i].day == known.back().day) continue;
    const auto history = baybook::due::read_use(known, width_millionths);
    const auto at = baybook::due::where_on(history.use, readings[i].day);
    if (at.known == baybook::due::Known::projected) tell(Foretold{at, known, readings[i]});
  }
}

inline Share held(const Readings& readings, std::int64_t width_millionths) {
  Share out;
  walk(readings, width_millionths, [&](const Foretold& f) {
    out.count(f.at.low <= f.next.metres && f.next.metres <= f.at.high);
  });
  return out;
}

/// The width that a shop with these cars finds (due/walked.hpp).
inline std::int64_t width_of_shop(const std::vector<Readings>& cars) {
  std::vector<baybook::due::Miss> misses;
  for (const Readings& car : cars) {
    if (car.size() < baybook::due::kEnoughReadings) continue;
    const auto history = baybook::due::read_use(car);
    misses.insert(misses.end(), history.misses.begin(), history.misses.end());
  }
  return baybook::due::width_to_hold(misses);
}

/// The three real series (tests/data/odometer.csv).
inline std::map<std::string, Readings> real_series() {
  std::map<std::string, Readings> out;
  std::int64_t entry = 0;
  for (const CsvRow& r : csv_rows("odometer.csv")) {
    const auto day = baybook::read_day(r.at("date"));
    out[r.at("series")].push_back(
        {day.value(), (std::stoll(r.at("reading")) * 1'609'344 + 500) / 1000, false, ++entry});
  }
  return out;
}

}  // namespace baybook_test
