// Which version of its kind's details an entry is written in.
#pragma once

#include "log/json.hpp"

namespace baybook::log {

/// The highest that this program reads. What came with each: docs/format.md, "Versions".
inline constexpr std::int64_t kLastVersion = 3;

/// The lowest version whose readers know all that these details say; of a correction, what it
/// brings in. Written is this one and no other, so that an older program takes in whatever it can
/// read, and says "a newer baybook" of the rest.
[[nodiscard]] std::int64_t version_for(const Value& details);
/// The same for a whole body: its header may say what came with a version, too.
[[nodiscard]] std::int64_t version_of_body(const Value& body);

}  // namespace baybook::log
