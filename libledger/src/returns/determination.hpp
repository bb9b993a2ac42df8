// Determinations: what may be said of a stream, and what it then is (40 CFR 262.11; List of Waste).
//
// Hazardous and counted are two facts. A determination changes the first, the code, the label and the
// register; whether the weight is counted follows how the waste is managed.
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"
#include "returns/findings.hpp"

#include <baybook/drafts.hpp>
#include <baybook/rules.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace baybook::returns {

/// What the body of a determination says, read once.
struct Said {
  bool hazardous = true;
  bool rebuts = false;
  std::string ground;  ///< "mixed", "halogens", "disposal", "conditions"; empty: not said
  std::vector<std::string> codes;
  std::vector<Finding> found;
};
[[nodiscard]] Said read_determination(const log::Value& details);

/// Whether a stream may be said not to be hazardous. Where the rules call it hazardous without a mirror
/// entry no evidence changes that; where its code has an asterisk and no mirror, another code is needed.
[[nodiscard]] bool may_be_not_hazardous(const Stream& stream, const RuleSet& rules,
                                        const std::vector<std::string>& codes);
/// Whether what the rules leave out of the count while it is managed in a certain way is counted, once
/// it was determined to be hazardous.
[[nodiscard]] bool leaves_exclusion(const Stream& stream, const RuleSet& rules, const Said& said);
/// "D008, D018".
[[nodiscard]] std::string listed(const std::vector<std::string>& codes);

/// What holds on the day on which a determination is written.
struct Standing {
  std::vector<std::string> streams;   ///< names that the rules have
  const RuleSet* rules = nullptr;     ///< null: the book goes by none
  const Stream* stream = nullptr;     ///< null: the rules do not know it
  bool determined = false;            ///< an earlier determination decides it
  bool hazardous_by_that = false;
  bool mixed = false;                 ///< waste of another stream was poured into the container
  bool mixed_with_listed = false;
};
/// Refuses what would have no effect, what contradicts its own figures, and what the rules do not let
/// anybody determine; each with the reason and what to type.
[[nodiscard]] Result<log::Built> build(log::Desk& desk, fluids::Ledger& ledger,
                                       const Determination& draft, const Standing& now);

}  // namespace baybook::returns
