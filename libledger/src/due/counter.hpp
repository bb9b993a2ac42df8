// An odometer or an hour counter of a car: what it showed when, and how it is used.
#pragma once

#include "due/projection.hpp"
#include "log/entry.hpp"

#include <optional>
#include <vector>

namespace baybook::due {

/// A minute of the engine stands for a kilometre of the road, so that one projection serves both counters.
inline constexpr std::int64_t kMetresForAMinute = 1000;

/// What a counter says: its readings, how it is used, and how far it came since a moment.
struct Counter {
  std::vector<OdometerReading> readings;  ///< metres, or minutes that stand for kilometres
  std::vector<std::int64_t> moments;
  Use use;
  std::vector<Slip> slips;  ///< what was taken out when it was weighed

  /// Works out the use, and takes out the readings that do not fit: a slip neither makes a task due nor puts it off.
  /// What a reading that is taken out said of the instrument, the next one says in its place.
  void weigh(std::int64_t width_millionths = kUsualWidth);
  [[nodiscard]] bool any() const { return use.readings > 0; }
  /// As shown at a moment by the last reading up to it; -1: none.
  [[nodiscard]] std::int64_t at(std::int64_t moment) const {
    std::int64_t out = -1;
    for (std::size_t i = 0; i < readings.size() && moments[i] <= moment; ++i) out = readings[i].metres;
    return out;
  }
  /// What was driven after one moment and up to another: through one that began again at nothing,
  /// and on each of several instruments. None: no reading lies between that goes on from another.
  [[nodiscard]] std::optional<std::int64_t> driven(std::int64_t from, std::int64_t until) const {
    std::optional<std::int64_t> sum;
    for (std::size_t i = 1; i < readings.size() && moments[i] <= until; ++i) {
      if (moments[i] <= from || readings[i].replaced) continue;
      sum = sum.value_or(0) + readings[i].metres + readings[i].turned - readings[i - 1].metres;
    }
    return sum;
  }
  /// What the instrument of now shows when `interval` has been driven since it showed `from` at that moment: a replaced one counts on,
  /// and one that began again at nothing as well.
  [[nodiscard]] std::int64_t due_after(std::int64_t moment, std::int64_t from, std::int64_t interval) const {
    std::int64_t shown = from;
    std::int64_t driven = 0;
    for (std::size_t i = 0; i < readings.size(); ++i) {
      if (moments[i] <= moment) continue;
      if (!readings[i].replaced) driven += readings[i].metres + readings[i].turned - shown;
      shown = readings[i].metres;
    }
    return shown - driven + interval;
  }
  /// The first day on which a reading showed that much, on the instrument of now, before it began again, or on one before it; none: no reading did. Readings in miles
  /// are kept in whole metres, so what is a metre short has been reached.
  [[nodiscard]] std::optional<Day> reached(std::int64_t since, std::int64_t shown_now) const {
    if (!any() || use.last_metres + 1 < shown_now) return std::nullopt;
    std::size_t first = readings.size() - 1;
    for (; first > 0 && moments[first - 1] > since; --first) {
      if (readings[first].replaced) shown_now += readings[first - 1].metres - readings[first].metres;
      else shown_now += readings[first].turned;
      if (readings[first - 1].metres + 1 < shown_now) break;
    }
    return readings[first].day;
  }
};

/// By the readings up to a moment, in effect order; not yet weighed.
[[nodiscard]] Counter odometer(store::Db& db, CarId car, std::int64_t until);
[[nodiscard]] Counter engine_hours(store::Db& db, CarId car, std::int64_t until);
/// The newest `most` odometer readings up to a moment, in effect order.
[[nodiscard]] std::vector<OdometerReading> newest_of(store::Db& db, CarId car, std::int64_t until,
                                                     std::size_t most);

}  // namespace baybook::due
