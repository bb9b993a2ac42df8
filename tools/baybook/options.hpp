// What was typed, sorted into operands and options. The only door to the argument parser, which takes long to compile.
#pragma once

#include <baybook/result.hpp>

#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace baybook::tool {

struct Verb;

/// What was typed after the verb, nothing of it understood yet.
struct Typed {
  std::vector<std::string> operands;
  std::vector<std::pair<std::string, std::string>> options;  ///< name without dashes and value ("" for a flag), in the order typed

  [[nodiscard]] bool has(std::string_view name) const;
  /// The value of an option that may be given once; none: nullptr.
  [[nodiscard]] const std::string* get(std::string_view name) const;
  [[nodiscard]] std::vector<std::string> all(std::string_view name) const;
  /// The value, or "".
  [[nodiscard]] std::string text(std::string_view name) const;
};

/// Which verb is meant, and what is left once its words are taken out. `verb` is nullptr when there is none of that name.
struct Found {
  const Verb* verb = nullptr;
  std::string word;               ///< what was typed as the verb: "drian", "job opne"
  std::vector<std::string> rest;  ///< everything else, in order
};
[[nodiscard]] Found find_verb(const std::vector<std::string>& args);

/// Refuses with wrong_usage: an option that the verb does not have (with near ones), a missing value, an option given twice,
/// operands missing or too many. Values such as -3d are operands or values, never options.
[[nodiscard]] Result<Typed> parse(const Verb& verb, const std::vector<std::string>& args);

/// Whether `--NAME` or its letter is among the arguments, before a `--`.
[[nodiscard]] bool asks_for(const std::vector<std::string>& args, std::string_view name, char letter);

}  // namespace baybook::tool
