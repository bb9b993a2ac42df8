// What is looked at in a TOML file before a reader of TOML gets it: rule files, schedules, the settings of a program.
#pragma once

#include <baybook/export.hpp>

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

BAYBOOK_API_BEGIN
namespace baybook {

/// Where a text may not be given to the reader of TOML, and why. Line and column count from 1, columns in characters.
struct TomlFault {
  std::size_t line = 1, column = 1;
  std::string what;
};
/// Accepted is the part of TOML 1.0 that these files are written in: comments, tables, texts in quotes of every sort, whole numbers and
/// decimal fractions of up to 18 digits, days, true and false, arrays and inline tables up to sixteen deep, keys of up to eight parts. All
/// else is refused at its first character. None: it may be read (and may name a key twice, or a day that does not exist, all the same).
[[nodiscard]] std::optional<TomlFault> unfit_toml(std::string_view text);

}  // namespace baybook
BAYBOOK_API_END
