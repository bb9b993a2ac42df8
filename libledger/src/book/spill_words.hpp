// The words of a spill's comparison.
#pragma once

#include "book/spills.hpp"

namespace baybook::book {

/// What stands in the place of a share that nobody said.
[[nodiscard]] std::string unsaid_share(const std::string& fluid,
                                       const std::vector<const Reportable*>& rules);
/// Fills `mass` and `told`.
void put_into_words(SpillComparison& c, const std::string& typed, Book::Inside& in);
/// Fills `lines`, `oil` and `call`.
void say_aloud(SpillAdvice& advice, const Spill& spill, const RuleSet& rules, Book::Inside& in);

}  // namespace baybook::book
