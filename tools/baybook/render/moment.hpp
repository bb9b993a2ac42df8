// Instants as people in the workshop say them.
#pragma once

#include <baybook/calendar.hpp>

#include <string>
#include <string_view>

namespace baybook::tool::render {

/// "17:42 today", "17:42 yesterday", "Monday 17:40" within the week before `today`, else
/// "2026-03-05 17:40": on the clock of the wall in `zone`.
[[nodiscard]] std::string moment(Instant at, std::string_view zone, Day today);
/// The time alone, "17:42".
[[nodiscard]] std::string time_of_day(Instant at, std::string_view zone);
/// Days between the day of `at` and `today`; below 0 when it is after today.
[[nodiscard]] int days_since(Instant at, std::string_view zone, Day today);

}  // namespace baybook::tool::render
