// Entries by the words that were written in them.
#pragma once

#include "book/inside.hpp"

#include <baybook/reports.hpp>

#include <vector>

namespace baybook::book {

/// The newest `filter.newest` of the entries that fit the filter and say all of its words, newest first. Looked for is what their
/// lines show (line_of) and all that was written in them: there is no index that an erasure would
/// have to follow.
[[nodiscard]] std::vector<std::int64_t> saying(Book::Inside& in, const EntryFilter& filter);

}  // namespace baybook::book
