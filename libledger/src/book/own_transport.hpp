// Used oil that a shop carries in its own vehicle (40 CFR 279.24).
#pragma once

#include "book/limits.hpp"

namespace baybook::book {

/// What does not agree with the rules in a load that the shop carried itself.
struct OwnLoad {
  std::vector<std::string> told{};
  std::string section;
  Sure sure = Sure::memory;
  bool over = false;  ///< else it may be
};
/// Empty for a load of another carrier, and where nothing is wrong.
[[nodiscard]] OwnLoad own_load(Office& office, const log::Fact& pickup);
/// A line for each such load whose signed copy has not come.
void own_transport(LimitSheet& sheet);
void own_transport_notices(Office& office, Month month, std::vector<std::string>& notices);

}  // namespace baybook::book
