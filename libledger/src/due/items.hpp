// What falls due on a car: its intervals counted from when each was last done, and the rechecks that nobody has looked at yet.
//
// Kept as derived rows (table due_item), so that a list of what is due reads rows by their day and never the whole log. The rows do
// not depend on today: only what is read and done moves them.
#pragma once

#include "due/counter.hpp"
#include "due/projection.hpp"
#include "log/entry.hpp"

#include <optional>
#include <set>

namespace baybook::due {

enum class Decided : std::uint8_t { nothing = 0, time = 1, distance = 2, hours = 3 };
/// The day of a row of which no day is known.
inline constexpr std::int32_t kNoDay = 9'999'999;

struct Item {
  enum class Kind : std::uint8_t { task = 1, recheck = 2 } kind = Kind::task;
  CarId car;
  std::string item;                 ///< task_item or recheck_item
  Day day{kNoDay};                  ///< the first limit's day, or until when it was put off
  Day early{kNoDay}, late{kNoDay};  ///< where the day is projected: its range, in a row at width 1
  Decided decided = Decided::nothing;
  Day time_day{kNoDay};
  std::int64_t due_metres = -1;     ///< on the instrument of now; -1: no limit by distance, or not known; less: it was due on the one before
  std::int64_t at_metres = -1;      ///< the last reading; -1: none
  Day at_day{kNoDay};
  std::int64_t due_minutes = -1, at_minutes = -1;  ///< alike
  Known known = Known::nothing;     ///< of the distance
  bool over = false;                ///< a reading says so
  std::int64_t anchor = 0;          ///< the entry it is counted from; 0: the book knows of none
  Day anchor_day{kNoDay};
  std::int64_t anchor_metres = -1, anchor_minutes = -1;
  bool filtered = false;            ///< filtered fluid was put back: the shorter interval
  std::int64_t source = 0;          ///< the entry that asks for it: a schedule, or the closing of a job
  std::int64_t n = 0;               ///< which of its intervals or rechecks
  std::int64_t put_off = 0;         ///< the entry that put it off, while that holds
  Day put_off_until{kNoDay};
};

/// The items of a car by what the log says up to a moment, in the order of their names. None for a scrapped car.
[[nodiscard]] std::vector<Item> items_of(store::Db& db, CarId car, std::int64_t until);
/// The tasks that schedules ask for on a car, without a look at when they fall due.
[[nodiscard]] std::vector<std::string> tasks_of(store::Db& db, CarId car);
/// How wide the range of one line is drawn, in millionths of the one that is kept; none: no day by a
/// counter.
using Width = std::optional<std::int64_t>;
/// Draws the range of an item that is not over by what its counters show now and by the width that
/// other cars ask for (due/walked.hpp).
Width widen(Item& item, const Counter& distance, const Counter& hours);
/// Makes the rows of these cars anew.
void refresh(store::Db& db, const std::set<CarId>& cars);
/// Rows by their day, the soonest first; `car` none: all.
[[nodiscard]] std::vector<Item> rows(store::Db& db, std::optional<CarId> car, Day until, std::size_t most);
/// Rechecks of which no day is known: to be looked at when the car is in again.
[[nodiscard]] std::vector<Item> rechecks_without_day(store::Db& db, std::size_t most);
/// Rechecks that fall due after that day, of cars of which a code was read since they were set.
[[nodiscard]] std::vector<Item> rechecks_with_codes(store::Db& db, Day after, std::size_t most);
[[nodiscard]] std::int64_t tasks_without_day(store::Db& db);

/// The readings of a car up to a moment, in effect order.
[[nodiscard]] std::vector<OdometerReading> readings_of(store::Db& db, CarId car, std::int64_t until);

}  // namespace baybook::due
