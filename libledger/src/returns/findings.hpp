// Figures of an analysis, and what the rules make of them. Values are whole millionths of a unit, so
// that a figure at a limit is at it.
#pragma once

#include <baybook/rules.hpp>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::returns {

/// What a laboratory found of one thing.
struct Finding {
  std::string what;        ///< "lead", "flash-point"
  std::string typed;       ///< "5.0 mg/L", "<0.05 mg/L"
  bool less = false;       ///< it found less than that, and not how much
  std::int64_t value = 0;  ///< millionths of `unit`
  std::string unit;        ///< "mg/L" (of the leachate), "ppm" (of the whole, by mass), "C", "pH"
};
/// Reads "5.0 mg/L", "<0.05mg/L", "140 F", "12.6", "1200 ppm", "0.1 %". Other spellings of a unit come
/// out as the four above: ug/L and g/L as mg/L, F as C, mg/kg and % as ppm. `what` decides only where
/// no unit is typed: pH has none. Refuses: unclear (no number, no unit, below nothing).
[[nodiscard]] Result<Finding> read_finding(std::string_view what, std::string_view typed);

/// What the rules say of one figure.
struct Judged {
  enum class Is : std::uint8_t {
    at_limit,   ///< at its limit or past it: hazardous
    under,      ///< on the other side of it
    not_shown,  ///< "less than" a figure that is past the limit itself: nothing is shown
    not_rated,  ///< the rules have no limit for it
  } is = Is::not_rated;
  std::string code;  ///< where it is at its limit: "D008"
  std::string told;  ///< "lead 5.0 mg/L is at the limit of 5.0 mg/L: hazardous, D008 (40 CFR ...)"
};
/// By the rows [[constituent]] of the rules, each figure with the row of its name and unit.
[[nodiscard]] std::vector<Judged> judge_findings(const RuleSet& rules, Day day,
                                                 const std::vector<Finding>& found);
/// Names that a figure may have: of the rows, and those that the keys used-oil.* rate.
[[nodiscard]] std::vector<std::string> names_of_findings(const RuleSet& rules, Day day);

/// Total halogens of used oil against the presumption of mixing.
struct Halogens {
  bool presumed = false;  ///< more than the rules' figure
  bool at_edge = false;   ///< exactly that: presumed by whoever processes or burns it
  std::string told;       ///< "1,200 ppm total halogens is more than 1000 ppm: ..."
};
/// None where no halogens were found, or the rules have no figure.
[[nodiscard]] std::optional<Halogens> halogens_in(const RuleSet& rules, Day day,
                                                  const std::vector<Finding>& found);
/// The figures by which used oil does not meet the fuel specification, each with its limit; empty
/// when it does as far as figures were given.
[[nodiscard]] std::vector<std::string> off_specification(const RuleSet& rules, Day day,
                                                         const std::vector<Finding>& found);

/// A waste code in its one spelling for a scheme ("us", "list-of-waste", "" for either): "D008",
/// "16 01 14*"; none when it is no code of that scheme.
[[nodiscard]] std::optional<std::string> clean_waste_code(std::string_view typed,
                                                          std::string_view scheme);
/// Whether a code is one of those that a word value of the rules begins with: `key` is
/// "codes.acute" or "codes.listed".
[[nodiscard]] bool code_is(const RuleSet& rules, Day day, std::string_view key,
                           std::string_view code);

}  // namespace baybook::returns
