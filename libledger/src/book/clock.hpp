// The clock against the book: which day it is, what an entry of today stands after, and whether the
// clock can be right.
#pragma once

#include "book/inside.hpp"
#include "book/knowing.hpp"
#include "log/chain.hpp"

#include <baybook/clock.hpp>

#include <algorithm>
#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

/// The end of the own chain, and of what came from elsewhere.
struct Tail {
  std::int64_t number = 0;
  std::int64_t recorded = 0;
  log::Digest digest{};
  bool behind = false;  ///< its clock stood before the entry that it came after
  Elsewhere others{};
  /// Whether the newest entry of the book is another installation's.
  [[nodiscard]] bool newer_elsewhere() const { return others.recorded.ms >= recorded; }
  /// The recorded time of an entry by that clock: not before any that this book holds, and after
  /// those of others, so that what was written knowing of them comes after them.
  [[nodiscard]] std::int64_t recorded_at(Instant now) const {
    return std::max({now.ms, recorded, others.recorded.ms + 1});
  }
  [[nodiscard]] bool is_behind(Instant now) const {
    return now.ms < recorded || now.ms <= others.recorded.ms;
  }
};
[[nodiscard]] Tail own_tail(Book::Inside& in);

/// "4684 days", "3 hours", "40 seconds": the largest unit of which there are two, rounded down.
[[nodiscard]] std::string time_apart(std::int64_t ms);

/// Refuses a clock that stands in a year in which none can.
[[nodiscard]] Result<Done> clock_can_be(Instant now);
/// The local day of a clock that can be right.
[[nodiscard]] Result<LocalDay> read_clock(Book::Inside& in, Instant now);

[[nodiscard]] ClockCheck look_at_clock(Book::Inside& in, const Tail& tail, Instant now,
                                       const LocalDay& local);

/// The latest of the last entries of each installation that happened on that day; none when there
/// is none of that day. Only a clock that is behind lets one of them stand after now. Reads at most
/// kLookBack rows of each.
inline constexpr int kLookBack = 64;
struct Standing {
  std::int64_t moment = 0;
  std::optional<TimeOfDay> at{};
};
[[nodiscard]] std::optional<Standing> latest_of_day(Book::Inside& in, const Tail& tail,
                                                    Day day);

/// The day by which is judged what no later entry puts right: the clock's, or that of the last
/// entry where the clock leapt ahead of it and nobody has answered for that.
[[nodiscard]] Day day_beyond_doubt(const Book::Inside& in, const ClockCheck& clock, Day today,
                                   bool answered);

/// When an entry happened, by what was typed and by the clock.
struct When {
  Day today, on;
  std::optional<TimeOfDay> at{};
  ClockCheck clock{};
};
/// Refuses: not_allowed (a year in which no clock can stand, a day that no entry can have),
/// in_future, and what time_of_entry refuses.
[[nodiscard]] Result<When> when_of_entry(Book::Inside& in, const Stamp& stamp, const Tail& tail);

/// What is to be said beside an entry that is written.
[[nodiscard]] std::vector<std::string> told_of_when(const Book::Inside& in, const When& when,
                                                    log::Kind kind, const Receipt& receipt);
/// The answer as it is, but a refusal that may come from entries dated after today says so.
[[nodiscard]] Result<Receipt> told_of_clock(Book::Inside& in, const std::optional<When>& when,
                                            Result<Receipt> answer);

}  // namespace baybook::book
