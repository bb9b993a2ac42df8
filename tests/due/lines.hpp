// What a projection is compared with: the two straight lines a person would draw, and how far off each is.
#pragma once

#include "due/projection.hpp"

#include <algorithm>
#include <cstdint>
#include <string>
#include <vector>

namespace baybook_test {

using Readings = std::vector<baybook::due::OdometerReading>;

/// The readings without the slips: the lines get the same readings as the projection.
inline Readings without_slips(const Readings& all, const std::vector<baybook::due::Slip>& slips) {
  Readings out;
  for (const auto& reading : all) {
    if (std::none_of(slips.begin(), slips.end(), [&reading](const auto& slip) { return slip.entry == reading.entry; })) out.push_back(reading);
  }
  return out;
}

/// Metres on `day` by the line from `from` through the last reading.
inline double on_line(const baybook::due::OdometerReading& from, const baybook::due::OdometerReading& last, baybook::Day day) {
  const double rate = static_cast<double>(last.metres - from.metres) / static_cast<double>(last.day.n - from.day.n);
  return static_cast<double>(last.metres) + rate * static_cast<double>(day.n - last.day.n);
}

/// The rate of the whole history, from the last reading. The readings are of two days at least.
inline double whole_history_line(const Readings& readings, baybook::Day day) { return on_line(readings.front(), readings.back(), day); }

/// The rate between the last two days with a reading, from the last reading.
inline double last_two_line(const Readings& readings, baybook::Day day) {
  const auto before = std::find_if(readings.rbegin(), readings.rend(), [&readings](const auto& r) { return r.day < readings.back().day; });
  return on_line(*before, readings.back(), day);
}

inline double off(double foretold, std::int64_t truth) {
  const double by = foretold - static_cast<double>(truth);
  return by < 0.0 ? -by : by;
}

/// The median; the mean of the middle two when there are as many above as below.
inline double median(std::vector<double> of) {
  std::sort(of.begin(), of.end());
  const std::size_t n = of.size();
  return n % 2 != 0 ? of[n / 2] : (of[n / 2 - 1] + of[n / 2]) / 2.0;
}

inline double mean(const std::vector<double>& of) {
  double sum = 0.0;
  for (const double x : of) sum += x;
  return sum / static_cast<double>(of.size());
}

/// Of `all` times, how often it was so.
struct Share {
  int hits = 0, all = 0;
  void count(bool hit) {
    hits += hit ? 1 : 0;
    ++all;
  }
  void add(const Share& other) {
    hits += other.hits;
    all += other.all;
  }
  [[nodiscard]] double percent() const { return 100.0 * static_cast<double>(hits) / static_cast<double>(all); }
};

/// One decimal, half up.
inline std::string one_decimal(double value) {
  const auto tenths = static_cast<std::int64_t>(value * 10.0 + 0.5);
  return std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
}

inline std::string km(double metres) { return one_decimal(metres / 1000.0); }

}  // namespace baybook_test
