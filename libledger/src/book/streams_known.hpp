// Whether a stream that is said for a place or a firm is one of the rules.
#pragma once

#include "book/office.hpp"

#include <optional>
#include <span>
#include <string>

namespace baybook::book {

/// Of what streams are said, which decides by which option they are typed.
enum class StreamOf : std::uint8_t { place, firm };
/// Refuses one that neither the rules of that day nor the shop's file know, with those that are
/// near it; in a book without rules all but the classes' own: "waste-coolant". A place of which
/// none is said is never wrong.
[[nodiscard]] std::optional<Refusal> refuse_streams(Book::Inside& in, Day day,
                                                    std::span<const std::string> streams,
                                                    StreamOf of);

}  // namespace baybook::book
