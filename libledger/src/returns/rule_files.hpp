// The rule files that come with the program, as they stand in libledger/rules, put into the library by the build.
#pragma once

#include <span>
#include <string_view>

namespace baybook::returns {

struct RuleFile {
  std::string_view name;  ///< "us-federal"
  std::string_view text;
};

/// Sorted by name.
[[nodiscard]] std::span<const RuleFile> rule_files() noexcept;

}  // namespace baybook::returns
