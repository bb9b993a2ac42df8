// Days as they are written: three numbers, names of months and of weekdays. Whether such a day exists.
#pragma once

#include <baybook/calendar.hpp>

#include <date/date.h>

#include <array>
#include <cstdint>
#include <string>
#include <string_view>

namespace baybook::quantity {

// Outside these a year is a slip of the finger: no motor vehicle is older, no book will live longer.
inline constexpr int first_year = 1900;
inline constexpr int last_year = 2999;

inline constexpr std::array<std::string_view, 12> month_names{"january", "february", "march",     "april",   "may",      "june",
                                                              "july",    "august",   "september", "october", "november", "december"};
/// In the order of the C encoding of date::weekday: Sunday is 0.
inline constexpr std::array<std::string_view, 7> weekday_names{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"};

[[nodiscard]] date::year_month_day civil(Day day);
[[nodiscard]] Day day_of(const date::year_month_day& ymd);
[[nodiscard]] std::string padded(std::int64_t value, std::size_t width);
/// All of `text` as digits, or -1.
[[nodiscard]] int digits_only(std::string_view text);

/// Three numbers that name a day, whether or not the day exists.
struct Written {
  int year;
  int month;
  int day;
};
[[nodiscard]] bool month_exists(const Written& w);
[[nodiscard]] bool year_fits(const Written& w);
[[nodiscard]] bool exists(const Written& w);
[[nodiscard]] date::year_month_day as_civil(const Written& w);
/// "2026-03-05", whether or not there is such a day.
[[nodiscard]] std::string iso(const Written& w);

/// Index into `weekday_names` of "mon" or "monday"; 7 when there is none.
[[nodiscard]] unsigned weekday_named(std::string_view key);
[[nodiscard]] unsigned weekday_of(Day day);

/// What to type when nothing can be made of `typed`: words with the example marked as one. A day that stands alone there is typed
/// as it stands, and dates the entry wrongly.
[[nodiscard]] std::string words_like(std::string_view typed, std::string_view noun, std::string_view example);
[[nodiscard]] std::string day_like(std::string_view typed, Day today);

}  // namespace baybook::quantity
