// A reading that says that the one before it was misread: that one is taken out, and this one
// written, both or none.
#pragma once

#include "book/inside.hpp"

#include <baybook/drafts.hpp>

namespace baybook::book {

/// Whether a draft says so, and what it says has not been done yet.
[[nodiscard]] bool says_misread(const Book::Inside& in, const Draft& draft);
/// Withdraws the reading that was misread (of one in a job's opening: leaves it out of what the
/// opening says), then appends the draft. Refuses with not_allowed when no reading before shows
/// more, or when several do.
[[nodiscard]] Result<Receipt> append_after_misread(Book& book, const Draft& draft,
                                                   const Stamp& stamp);

}  // namespace baybook::book
