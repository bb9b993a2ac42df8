// What an installation that this book has not met before brings along, in words.
#pragma once

#include "book/inside.hpp"

#include <baybook/exchange.hpp>

namespace baybook::book {

/// Its entries are in the log; nothing of it is folded yet, so that what it would change still says
/// what it says.
[[nodiscard]] Meeting meeting(Book::Inside& in, const log::Installation& stranger);

}  // namespace baybook::book
