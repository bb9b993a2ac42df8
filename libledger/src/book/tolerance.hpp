// How far a job's accounts may be off, by the rules that the book goes by on a day.
#pragma once

#include "book/inside.hpp"
#include "service/account.hpp"

namespace baybook::book {

/// The shop's own figures (job.tolerance.* of its rule file), else what is common practice. The
/// file is an entry, so every book that has it says the same of a closing.
[[nodiscard]] service::Tolerance tolerance_on(Book::Inside& in, Day day);

}  // namespace baybook::book
