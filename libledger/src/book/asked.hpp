// Days that a program asks about may be any 32 bits; sums over days must stay within theirs.
#pragma once

#include <baybook/calendar.hpp>

#include <algorithm>

namespace baybook::book {

/// The day asked about, or the nearest one that sums over days and months can begin at. No entry
/// stands beyond (days are of the years 1900 to 2999), so no answer is another one.
[[nodiscard]] constexpr Day asked(Day day) {
  constexpr Day most{1'000'000};
  return std::clamp(day, Day{-most.n}, most);
}
[[nodiscard]] inline Month asked(Month month) {
  return std::clamp(month, month_of(asked(first_of(Month{-30'000}))),
                    month_of(asked(first_of(Month{30'000}))));
}

}  // namespace baybook::book
