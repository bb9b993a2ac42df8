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
  // One of the two, from rule_readers.cpp:
  std::string_view read_by = {};    ///< the file of src that judges by it: "book/limits_clocks.cpp"
  std::string_view only_told = {};  ///< why nothing is judged by it
};

/// What reads a key.
struct RuleReader {
  std::string_view key, read_by, only_told;
};
[[nodiscard]] std::span<const RuleReader> rule_readers() noexcept;

/// The words that a rule file may have, each told in docs/rules.md.
struct RuleForm {
  std::span<const std::string_view> top, shop, value, stream, reportable,
      constituent;  ///< keys of the tables
  std::span<const std::string_view> schemes, groups, status, yes_no,
      fails;  ///< what some of them may hold
};
[[nodiscard]] RuleForm rule_form() noexcept;

/// In the order in which docs/rules.md tells them.
[[nodiscard]] std::span<const RuleKey> rule_keys() noexcept;
[[nodiscard]] const RuleKey* find_rule_key(std::string_view key) noexcept;
/// "mass", "volume", "distance", "days", "hours", "months", "number", "yes or no", "words", "day of the year"
[[nodiscard]] std::string_view type_name(RuleValue::Type type) noexcept;
/// How a value of this type is written in a file: "100 kg" in quotes, true, 250.
[[nodiscard]] std::string_view example_of(RuleValue::Type type) noexcept;

}  // namespace baybook::returns
