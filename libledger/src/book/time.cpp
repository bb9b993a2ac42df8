// When an entry happened: the clock on the wall of the site, told apart where it shows the same hour twice.
#include "book/inside.hpp"

namespace baybook::book {

namespace {

constexpr std::int64_t kDayMs = 86'400'000;

std::int64_t instant_ms(Day day, TimeOfDay time) { return std::int64_t{day.n} * kDayMs + (time.minute.n - time.offset_minutes) * std::int64_t{60'000}; }

TimeOfDay with_offset(Minute minute, std::int32_t seconds) { return {minute, static_cast<std::int16_t>(seconds / 60)}; }

// What the zone says of a day and a minute. Far from a change of the clock the kept window answers, without the zone database.
Result<WallTime> readings(Book::Inside& in, Day day, Minute minute) {
  if (in.zone_window) {
    const std::int64_t at = instant_ms(day, with_offset(minute, in.zone_window->offset_seconds));
    // A day inside the window on both sides: no change of the clock is that large, so no other reading can exist.
    if (in.zone_window->same_offset_from.ms + kDayMs <= at && at + kDayMs < in.zone_window->same_offset_until.ms) {
      return WallTime{1, in.zone_window->offset_seconds, in.zone_window->offset_seconds};
    }
  }
  return wall_time(day, minute, in.settings.zone);
}

}  // namespace

Result<std::optional<TimeOfDay>> time_of_entry(Book::Inside& in, const Stamp& stamp, Day on, const LocalDay& now) {
  const bool today = on == now.day;
  if (!stamp.at) return today ? std::optional(time_of(now)) : std::nullopt;
  const std::int64_t now_ms = instant_ms(now.day, time_of(now));
  auto wall = readings(in, on, *stamp.at);
  if (!wall.ok()) return std::move(wall).refusal();
  const TimeOfDay first = with_offset(*stamp.at, wall->offset_seconds);
  const TimeOfDay second = with_offset(*stamp.at, wall->second_offset_seconds);
  const std::string when = to_string(*stamp.at) + " on " + to_string(on);
  if (wall->readings == 0) {
    const int after = (stamp.at->n + second.offset_minutes - first.offset_minutes) % 1440;
    return Refusal{Code::not_allowed, when + " was on no clock at the site (" + in.settings.zone + ")", "summer time began: the clock went on by " + std::to_string(second.offset_minutes - first.offset_minutes) + " minutes",
                   "--at " + to_string(Minute{static_cast<std::int16_t>(today ? std::min<int>(after, time_of(now).minute.n) : after)}), {}};
  }
  TimeOfDay time = first;
  if (stamp.at_offset) {
    const bool fits_first = *stamp.at_offset == first.offset_minutes;
    const bool fits_second = *stamp.at_offset == second.offset_minutes;
    if (!fits_first && !fits_second) {
      return Refusal{Code::not_allowed, when + " was " + to_string(first) + " at the site (" + in.settings.zone + "), not " + to_string(TimeOfDay{*stamp.at, *stamp.at_offset}), "a book has the time of its site", "--at " + to_string(first), {}};
    }
    if (!fits_first) time = second;
  } else if (wall->readings == 2) {
    // Written between the two, only the first can have been meant.
    if (!today || instant_ms(on, second) <= now_ms) {
      return Refusal{Code::unclear, when + " came twice: " + to_string(first) + " and " + to_string(second), "summer time ended at the site (" + in.settings.zone + ")", "--at " + to_string(first) + ", or --at " + to_string(second), {}};
    }
  }
  if (instant_ms(on, time) > now_ms) {
    return Refusal{Code::in_future, to_string(*stamp.at) + " is later than now, " + to_string(now.minute) + " at the site", "the book holds what has happened", "--at " + to_string(now.minute), {}};
  }
  return std::optional(time);
}

}  // namespace baybook::book
