// A body with one field changed, for every field that it has.
#pragma once

#include "attack/lab.hpp"

#include "log/json.hpp"

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace baybook::test {

using Changed = std::vector<std::pair<std::string, log::Value>>;

/// Each field once: a text longer, a number one more, a yes a no, a list or an object without its last, the field taken out.
[[nodiscard]] Changed slight_changes(const log::Value& body);
/// Each field of the details in turn something that no field of its kind may be. `others` are numbers of entries of other kinds.
[[nodiscard]] Changed absurd_changes(const log::Value& body);
/// The digest of one entry from the digest before it and its body; the columns stay.
void rechain_one(Shell& shell, std::int64_t id);

}  // namespace baybook::test
