// What a draft names, looked at before anything is built from it: whoever fills one by hand can put
// any number into an id.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// The refusal of the first id that names nothing; none when all of them name what they should:
///   wrong_usage  nothing is named where something must be
///   not_found    there is nothing of that number, something of another kind, or what was withdrawn
///   not_allowed  a job of another car than the one that is named beside it (F6)
/// Which kind an id must have, the table of log/references.hpp says, as for entries from elsewhere.
[[nodiscard]] std::optional<Refusal> refuse_named(Book::Inside& in, const Draft& draft,
                                                  const Stamp& stamp);

}  // namespace baybook::book
