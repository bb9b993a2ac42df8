// What has to be settled, asked for by whoever has the book open already.
#pragma once

#include "book/inside.hpp"

#include <baybook/exchange.hpp>

#include <vector>

namespace baybook::book {

/// What `conflicts` answers, in the caller's snapshot or transaction.
[[nodiscard]] std::vector<Conflict> all_conflicts(Book::Inside& in);

}  // namespace baybook::book
