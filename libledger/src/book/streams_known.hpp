// Whether a stream that is said for a place or a firm is one of the rules.
#pragma once

#include "book/office.hpp"

#include <optional>
#include <string>

namespace baybook::book {

/// Refuses a stream that neither the rules of that day nor the shop's file know, with those that
/// are near it; in a book without rules all but the classes' own: "waste-coolant". Nothing said is
/// never wrong.
[[nodiscard]] std::optional<Refusal> refuse_stream(Book::Inside& in, Day day,
                                                   const std::string& stream);

}  // namespace baybook::book
