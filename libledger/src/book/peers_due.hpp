// What is due of other installations.
#pragma once

#include "book/inside.hpp"

#include <baybook/due.hpp>

namespace baybook::book {

/// One line for each installation that was met and not accepted, and one for each entry that has no
/// effect until somebody says so.
[[nodiscard]] std::vector<DueLine> due_of_peers(Book::Inside& in, Day today, int within);

}  // namespace baybook::book
