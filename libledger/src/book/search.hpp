// Entries by the words that were written in them.
#pragma once

#include "book/inside.hpp"

#include <baybook/reports.hpp>

#include <vector>

namespace baybook::book {

/// The newest `filter.newest` of the entries that fit the filter and say all of its words, newest first. Looked for is what was written: private
/// texts, and the texts in the details of bodies (parts, documents, lots, codes). Every text of the book is read: there is no index that an
/// erasure would have to follow.
[[nodiscard]] std::vector<std::int64_t> saying(Book::Inside& in, const EntryFilter& filter);

}  // namespace baybook::book
