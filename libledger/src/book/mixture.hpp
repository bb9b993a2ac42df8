// Waste of one stream that was poured into a container of another: since when, and what the rules make
// of the whole (40 CFR 279.10(b) for used oil; docs/rules.md).
#pragma once

#include "log/entry.hpp"

#include <baybook/returns.hpp>

#include <limits>
#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

/// What one entry poured in.
struct Pour {
  log::Effect effect;
  std::string title;             ///< of the stream it was: "Spent solvent"
  std::string code;              ///< of that stream as it was determined: "F005"
  bool listed = false;           ///< listed waste, and not hazardous by a characteristic alone
  std::optional<Day> since{};    ///< since when it has stood as waste, where it came out of a waste place
};

/// One filling of a container in which streams met.
struct Mixture {
  std::int64_t filling = 0;
  std::int64_t began = 0;        ///< moment at which the filling began
  std::int64_t until = std::numeric_limits<std::int64_t>::max();  ///< moment at which it was emptied
  std::vector<Pour> pours;       ///< in effect order, one at least

  [[nodiscard]] bool there_on(Day day) const {
    const std::int64_t last = log::last_moment(day);
    return pours.front().effect.moment <= last && until > last;
  }
  [[nodiscard]] bool listed_by(Day day) const;
  [[nodiscard]] const Pour& last_by(Day day) const;
};

/// What the rules make of a mixture on a day.
struct MixtureRule {
  const RuleValue* rule = nullptr;  ///< null: the rules say nothing of it
  bool hazardous = false;           ///< it makes the whole hazardous, and so counted
};

}  // namespace baybook::book
