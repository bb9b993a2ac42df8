// Days on the wall of the workshop, and instants.
//
// Calendar arithmetic and time zones come from Howard Hinnant's date library; the types here keep it out of callers' way.
#pragma once

#include <baybook/export.hpp>
#include <baybook/result.hpp>

#include <compare>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

BAYBOOK_API_BEGIN
namespace baybook {

/// An instant: milliseconds since 1970-01-01T00:00:00Z.
struct Instant {
  std::int64_t ms = 0;
  friend constexpr auto operator<=>(Instant, Instant) = default;
};

/// A local calendar day: days since 1970-01-01 in the proleptic Gregorian calendar. No zone is in it.
struct Day {
  std::int32_t n = 0;
  friend constexpr auto operator<=>(Day, Day) = default;
};

/// A local calendar month: months since 1970-01 (January 1970 is 0).
struct Month {
  std::int32_t n = 0;
  friend constexpr auto operator<=>(Month, Month) = default;
};

/// Local time of day in whole minutes after midnight, 0 to 1439.
struct Minute {
  std::int16_t n = 0;
  friend constexpr auto operator<=>(Minute, Minute) = default;
};

/// A time of day with how far the clock on the wall stood from UTC (RFC 3339, time-offset): the hour that comes twice when summer
/// time ends is two different hours.
struct TimeOfDay {
  Minute minute;
  std::int16_t offset_minutes = 0;  ///< local = UTC + offset, -959 to 959
  friend constexpr bool operator==(TimeOfDay, TimeOfDay) = default;
};

enum class DateOrder : std::uint8_t { none, day_first, month_first };

[[nodiscard]] std::string to_string(Day day);          ///< "2026-03-05"
[[nodiscard]] std::string to_string(Month month);      ///< "2026-03"
[[nodiscard]] std::string to_string(Minute minute);    ///< "09:40"
[[nodiscard]] std::string to_string(TimeOfDay time);   ///< "09:40+01:00"
[[nodiscard]] std::string to_string(Instant instant);  ///< "2026-03-05T09:40:11.123Z"
[[nodiscard]] std::optional<Day> read_day(std::string_view iso);          ///< strict "2026-03-05" with years 1900 to 2999, or none
[[nodiscard]] std::optional<TimeOfDay> read_time(std::string_view text);  ///< strict form of to_string, or none
[[nodiscard]] std::optional<Instant> read_instant(std::string_view iso);  ///< strict form of to_string, or none

[[nodiscard]] Month month_of(Day day);
[[nodiscard]] Day first_of(Month month);
[[nodiscard]] Day last_of(Month month);
/// The same day of the month, `months` later; a day that the month does not have becomes its last day (31 Jan + 1 = 28 or 29 Feb).
[[nodiscard]] Day add_months(Day day, int months);

/// Reads `2026-03-05`, `today`, `yesterday`, `-3d`, `mon` (the last one before or on today).
/// Refuses with `unclear`: 03/04/2026 unless `order` names the order (showing both readings), a day that does not exist
/// (31 April), anything else.
[[nodiscard]] Result<Day> parse_day(std::string_view text, Day today, DateOrder order = DateOrder::none);
[[nodiscard]] Result<Month> parse_month(std::string_view text, Day today);  ///< `2026-03`, `this-month`, `last-month`
[[nodiscard]] Result<Minute> parse_minute(std::string_view text);           ///< `09:40`, `9:40`
/// A time as typed: the offset is there only when it was typed.
struct TypedTime {
  Minute minute;
  std::optional<std::int16_t> offset_minutes{};
};
[[nodiscard]] Result<TypedTime> parse_time(std::string_view text);          ///< `09:40`, `09:40+01:00`, `09:40Z`

/// Whether the system's time-zone database knows this IANA name.
[[nodiscard]] bool zone_exists(std::string_view zone);
/// The local day of an instant in an IANA zone, and the span of instants in which the zone's offset is the same.
struct LocalDay {
  Day day;
  Minute minute;
  std::int32_t offset_seconds = 0;
  Instant same_offset_from, same_offset_until;
};
/// Refuses with `not_found` when the zone is not in the system's database.
[[nodiscard]] Result<LocalDay> local_day(Instant instant, std::string_view zone);

/// What a clock on the wall of the zone can have meant by a day and a minute.
struct WallTime {
  int readings = 1;                    ///< 1; 2 in the hour that comes twice; 0 in the hour that is left out
  std::int32_t offset_seconds = 0;     ///< of the (first) reading; of the clock before the change when there is none
  std::int32_t second_offset_seconds = 0;  ///< of the second reading; of the clock after the change when there is none
};
/// Refuses with `not_found` when the zone is not in the system's database.
[[nodiscard]] Result<WallTime> wall_time(Day day, Minute minute, std::string_view zone);

}  // namespace baybook
BAYBOOK_API_END
