// Which entries say what a car is, and which of them holds over which.
#pragma once

#include "log/entry.hpp"

#include <limits>
#include <vector>

namespace baybook::log {

/// The entries that registered or changed a car, up to a moment; what a later one of them says holds.
/// Of cars that were settled to be one, what the one that stays was registered with holds over what
/// the others were, whenever that was; what somebody changed holds over both.
[[nodiscard]] std::vector<EntryId> describing(
    store::Db& db, CarId car, std::int64_t until = std::numeric_limits<std::int64_t>::max());

}  // namespace baybook::log
