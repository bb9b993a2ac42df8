// What is due of containers: a drum that fills up, a filtered batch that is kept too long.
#pragma once

#include "book/inside.hpp"

#include <baybook/due.hpp>

namespace baybook::book {

/// How far back a drum's present rate looks, in days, and from how full on it is told: common practice, no source.
inline constexpr int kRateDays = 90;
inline constexpr int kNearFullPercent = 80;

[[nodiscard]] std::vector<DueLine> due_of_places(Book::Inside& in, const std::vector<LevelRow>& levels, Day today, int within);

}  // namespace baybook::book
