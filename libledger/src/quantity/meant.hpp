// What a person meant who wrote a day, a month or a time in a way that is not read. It goes into what to type instead, and only as
// far as another person would read the same.
#pragma once

#include <baybook/calendar.hpp>

#include <string>
#include <string_view>

namespace baybook::quantity {

/// 4 March 2026, 20260304, 3 days ago, last monday: the day or days as they are to be typed; else words with an example.
[[nodiscard]] std::string day_meant(std::string_view typed, Day today, DateOrder order);
/// 2026-3, 03/2026, 202603, march 2026, 2026-03-05: one month for everybody; else words with an example.
[[nodiscard]] std::string month_meant(std::string_view typed, Month now);
/// The minute with the offset that is meant by +1, +0530 or Z; else words with an example.
[[nodiscard]] std::string offset_meant(std::string_view offset, Minute minute);
/// 9am, 9.30, 0930, 9h30, 9:30:15, 9:4, noon: a time of day as it is to be typed; else words with an example.
[[nodiscard]] std::string time_meant(std::string_view typed);

}  // namespace baybook::quantity
