// From a car's odometer readings to the day on which it will reach a distance, with the range that is meant to hold it four times in five.
//
// Pure: no database, no clock. What is kept of a car (`Use`) is small and of integers, so that a derived row made anew has the same
// bytes on every machine. The method in plain words, its constants and how it did: docs/projection.md.
// Source: linear rate, no standard found; how recent use is weighted and the range are this project's own.
#pragma once

#include <baybook/calendar.hpp>

#include <cstdint>
#include <vector>

namespace baybook::due {

/// One reading, in effect order with its neighbours. Metres as `parse_distance` gives them: 0 to 10,000,000 km.
struct OdometerReading {
  Day day;
  std::int64_t metres = 0;
  bool replaced = false;  ///< first reading of a new instrument: distance counts on from here
  std::int64_t entry = 0;
  /// Metres that the instrument counts to before it begins again at nothing, when it did so before
  /// this reading; 0: it did not.
  std::int64_t turned = 0;
};

/// Millionths of the range at width 1: what is held to be usual before any car was walked forward
/// (docs/projection.md).
inline constexpr std::int64_t kUsualWidth = 1'600'000;

/// What the readings say of a car's use. All zero, and `readings` 0: nothing is known.
struct Use {
  int readings = 0;  ///< used, slips left out
  Day first_day;     ///< the first one used
  Day last_day;      ///< the last one used ...
  std::int64_t last_metres = 0;              ///< ... as shown by the instrument
  std::int64_t metres_per_day_millionths = 0;  ///< rate, recent use weighted more
  std::int64_t known_days_millionths = 0;    ///< days the rate stands on, old ones counted less; 0: no rate
  std::int64_t spread_millionths = 0;        ///< how this car's use varies, 1,000,000 = as the synthetic cars did on average
  std::int32_t standing_days = 0;            ///< up to the last reading the instrument has not moved for so long
  /// How many times as wide the range is as the spread alone would have it: wider by each reading
  /// that it did not hold, narrower by each that it did. Not kept in a row.
  std::int64_t width_millionths = kUsualWidth;
  friend bool operator==(const Use&, const Use&) = default;
};

/// A reading that does not fit the others: named, not used.
struct Slip {
  std::int64_t entry = 0;
  Day day;
  std::int64_t metres = 0;
  std::int64_t before = 0;  ///< the used reading before it, in metres; the next used one when there is none before
  bool above = false;       ///< it fits the one before it but later ones are lower, or no car drives so far in the time
  friend bool operator==(const Slip&, const Slip&) = default;
};

/// An instrument of the car: distance driven = shown + `added_metres`. The first one adds nothing. A lower bound after a replacement:
/// what was driven between the last reading of the old and the first of the new one is not known.
struct Instrument {
  std::int64_t entry = 0;  ///< its first reading
  Day from;
  std::int64_t added_metres = 0;
  friend bool operator==(const Instrument&, const Instrument&) = default;
};

/// A reading that was foretold from those before it.
struct Miss {
  std::int64_t width_millionths = 0;  ///< the least width at which the range would have held it
  std::int32_t days = 0;              ///< ahead of the reading before it
  friend bool operator==(const Miss&, const Miss&) = default;
};

struct History {
  Use use;
  std::vector<Slip> slips;              ///< in the order of the readings
  std::vector<Instrument> instruments;  ///< in the order of the readings; empty when there is no reading
  std::vector<Miss> misses;             ///< of each reading from the third day on, in their order
};

/// Weighs the readings. Of readings that contradict each other the largest set that does not is used; of two as large, the one that has
/// come less far (50,000, 95,600, 56,900: the middle one is the slip); then the one with the earlier readings. Below by no more than a mile
/// is not a slip: whole miles and whole kilometres do that. More than 1,500 km a day is one.
/// `width_millionths`: of the range before the first reading was foretold; what other cars showed.
[[nodiscard]] History read_use(std::vector<OdometerReading> readings,
                               std::int64_t width_millionths = kUsualWidth);

enum class Known : std::uint8_t {
  nothing,         ///< no reading
  one_reading,     ///< one reading, or several of one day: there is no rate
  standing_still,  ///< no distance at all, or none for the last 90 days of the readings
  projected,
};

struct Reach {
  Known known = Known::nothing;
  bool reached = false;            ///< the last reading is there already; all three days are its day
  Day early, likely, late;         ///< set when `projected`, or `reached`
  bool early_open = false;         ///< not even the fast end gets there in `kHorizonDays`: the day set is the horizon's last
  bool likely_open = false;        ///< the same of the likely day
  bool late_open = false;          ///< the same of the slow end
  friend bool operator==(const Reach&, const Reach&) = default;
};

/// How far ahead of the last reading a day is named: ten years. A tuning value; beyond it a projection says nothing.
inline constexpr std::int32_t kHorizonDays = 3653;

/// The day on which today's instrument shows `metres`, with the range. The likely day is the last reading's plus
/// ceil(distance to go / rate).
[[nodiscard]] Reach when_reaches(const Use& use, std::int64_t metres);
/// The same with the range at width 1, as it is kept in a row: neither other cars nor how this one
/// was foretold move it.
[[nodiscard]] Reach when_reaches_as_kept(const Use& use, std::int64_t metres);

struct At {
  Known known = Known::nothing;
  std::int64_t low = 0, likely = 0, high = 0;  ///< metres; all the last reading unless `projected`
  friend bool operator==(const At&, const At&) = default;
};

/// The reading to expect on `day`, with the range; on or before the day of the last reading: that reading. Beyond the horizon: as
/// on its last day.
[[nodiscard]] At where_on(const Use& use, Day day);

}  // namespace baybook::due
