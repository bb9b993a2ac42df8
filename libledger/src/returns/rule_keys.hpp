// Every key that a [[value]] of a rule file may have: its type, what it means, and the words it may hold when they are fixed.
#pragma once

#include <baybook/rules.hpp>

#include <span>
#include <string_view>

namespace baybook::returns {

struct RuleKey {
  std::string_view key;
  RuleValue::Type type;
  std::string_view meaning;
  std::string_view words = {};  ///< "start|first"; empty: any text
};

/// In the order in which docs/rules.md tells them.
[[nodiscard]] std::span<const RuleKey> rule_keys() noexcept;
[[nodiscard]] const RuleKey* find_rule_key(std::string_view key) noexcept;
/// "mass", "volume", "distance", "days", "hours", "months", "number", "yes or no", "words", "day of the year"
[[nodiscard]] std::string_view type_name(RuleValue::Type type) noexcept;
/// How a value of this type is written in a file: "100 kg" in quotes, true, 250.
[[nodiscard]] std::string_view example_of(RuleValue::Type type) noexcept;

}  // namespace baybook::returns
