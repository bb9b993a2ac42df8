// The version of an entry's details: what a program has to know to read them.
//
// A field that came after a kind was settled would be unknown to a program of before, which would
// call the entry wrong. So an entry with such a field says version 2, and is told to be a newer
// program's; one without it says 1 as ever, so that a value still has one body (L3).
#pragma once

#include "log/json.hpp"
#include "log/kinds.hpp"

namespace baybook::log {

/// The version that these details are of. Of a correction, that of the details it brings.
[[nodiscard]] std::int64_t version_of(Kind kind, const Value& details);
/// The highest version of a kind that this program reads.
[[nodiscard]] std::int64_t last_version_of(Kind kind) noexcept;

}  // namespace baybook::log
