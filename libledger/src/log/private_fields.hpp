// Which private texts an entry of a kind may have, and how long each may be: one table for what is
// typed and for what comes from elsewhere.
#pragma once

#include "log/kinds.hpp"

#include <cstddef>
#include <optional>
#include <span>
#include <string_view>

namespace baybook::log {

struct PrivateField {
  std::string_view name;    ///< "recheck-" stands for "recheck-1", "recheck-2", ...
  std::size_t most = 4000;  ///< bytes of UTF-8
  bool always = false;      ///< an entry of the kind has it, erased or not
};

[[nodiscard]] std::span<const PrivateField> private_fields(Kind kind);
/// The row for a field as an entry names it; none when no entry of the kind has such a text.
[[nodiscard]] const PrivateField* private_field(Kind kind, std::string_view field);
/// The longest text of that field; that of any text when the kind does not have it.
[[nodiscard]] std::size_t most_private(Kind kind, std::string_view field);
/// The n of "recheck-n", from 1; none when `field` is no such name.
[[nodiscard]] std::optional<std::size_t> recheck_of(std::string_view field);

}  // namespace baybook::log
