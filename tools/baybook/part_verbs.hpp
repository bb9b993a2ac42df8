// What --takes-out names: parts that come off.
#pragma once

#include "context.hpp"

#include <vector>

namespace baybook::tool {

/// Each --takes-out of this run: an entry that fitted a part, or the number of a part that is in
/// that car once by the book, with =AMOUNT where not all of it came off.
[[nodiscard]] std::vector<TakenOut> taken_out(Context& c, CarId car);

}  // namespace baybook::tool
