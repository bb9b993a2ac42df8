// Arithmetic of the rules: categories, last permitted days, days of the year. Pure, so that the edges can be tested against the texts.
#pragma once

#include <baybook/rules.hpp>

#include <vector>

namespace baybook::returns {

/// 1 very small, 2 small, 3 large (40 CFR 262.13 Table 1); 0 when the rules have no categories on that day. Each total by itself, the
/// most stringent result holds.
[[nodiscard]] int category(const RuleSet& rules, Day day, std::int64_t non_acute_ug, std::int64_t acute_ug, std::int64_t residue_ug);
[[nodiscard]] std::string category_title(const RuleSet& rules, Day day, int category);
/// A notice when the kilograms are on one side of a limit and the rule's rounded pounds on the other; "" when there is none.
[[nodiscard]] std::string rounding_notice(const RuleSet& rules, Day day, std::int64_t non_acute_ug);

// Which way a period of months clamps where the month is short. A storage limit goes back to the
// last day that the month has: it never gets longer. A record goes on to the first day after it: its
// full period is kept. Days are counted, and clamp nowhere.

/// The last permitted day of a clock of `n` days: start + n, or start + n - 1 where the rules' named setting says so.
[[nodiscard]] Day last_permitted(const RuleSet& rules, Day start, std::int64_t n);
/// The same of a clock of months: 29 February and a year end on 28 February.
[[nodiscard]] Day last_permitted_month(const RuleSet& rules, Day start, std::int64_t months);
/// The first day on which a record may go: `months` later; a day that the month does not have becomes the first of the next one (29 February:
/// 1 March), so that the full period is kept.
[[nodiscard]] Day purge_day(Day start, std::int64_t months);
/// The weights at which the category turns: a figure beside them is printed with the digits that decide.
[[nodiscard]] std::vector<std::int64_t> category_edges(const RuleSet& rules, Day day);
/// The first day of a cycle (a day of the year, every so many years since a first one) on or after `day`.
[[nodiscard]] Day next_in_cycle(Day day, std::int64_t day_of_year, std::int64_t first_year, std::int64_t every_years);

}  // namespace baybook::returns
