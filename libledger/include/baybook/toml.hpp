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
/// Refused are invalid UTF-8, controls, characters past ASCII outside quotes and comments, one first behind a backslash at a line's end,
/// keys of more than eight parts, and [ without a name. None: it may be read (and may be no TOML all the same).
[[nodiscard]] std::optional<TomlFault> unfit_toml(std::string_view text);

}  // namespace baybook
BAYBOOK_API_END
