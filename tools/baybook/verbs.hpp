// The one table of verbs: help, suggestions, parsing and completion data are made from it.
#pragma once

#include <array>
#include <functional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool {

class Context;

struct Option {
  std::string_view name;   ///< without dashes
  std::string_view value;  ///< what stands for its value in help; empty: a flag
  std::string_view help;
  bool many = false;            ///< may be given more than once
  char letter = 0;              ///< short form, for -h -q -n alone
  bool optional_value = false;  ///< the value is joined with = or left out (--json)
};

struct Operand {
  std::string_view name;
  std::string_view help;
  bool optional = false;
  bool rest = false;  ///< takes every word that is left
};

enum class Does : unsigned char { write, read, neither };

struct Verb {
  std::string_view name;   ///< "drain", "job open"
  std::string_view group;  ///< the heading it stands under in help
  std::string_view summary;
  std::array<std::string_view, 2> examples;
  std::span<const Operand> operands;
  std::span<const Option> options;  ///< its own; the common ones come with what it does
  Does does;
  /// Does it and answers the exit status (0, or 1 when problems were found); throws Refused.
  int (*run)(Context&);
  std::string_view more = {};  ///< further lines of help
  /// For programs: not in help, not suggested. A verb without a group.
  [[nodiscard]] constexpr bool hidden() const { return group.empty(); }
};

[[nodiscard]] std::span<const Verb> verbs() noexcept;
[[nodiscard]] const Verb* find(std::string_view name) noexcept;
/// Whether `word` leads a family of two-word verbs (job, car, place, fluid, person).
[[nodiscard]] bool is_family(std::string_view word) noexcept;
/// The options that come with what a verb does.
[[nodiscard]] std::span<const Option> common_options(Does does) noexcept;
[[nodiscard]] std::string usage_line(const Verb& verb);
/// What a refusal says to type instead of an incomplete command: an example of a verb that reads,
/// the help of one that writes. Typed as it stands, an example of those would write something that
/// did not happen.
[[nodiscard]] std::string to_type(const Verb& verb);

template <class F>
void for_each_option(const Verb& verb, F&& f) {
  for (const Option& o : verb.options) f(o);
  for (const Option& o : common_options(verb.does)) f(o);
}

}  // namespace baybook::tool
