// What signed papers say of pick-ups, and what the book says of them: a pick-up that took all there was comes to another figure when something
// before it changes, and its paper does not.
#pragma once

#include "book/inside.hpp"

#include <map>
#include <string>
#include <vector>

namespace baybook::book {

/// What an entry moves by the book, in base units of each dimension.
[[nodiscard]] fluids::Ledger::Moved moves_now(Book::Inside& in, EntryId entry);
/// Of every pick-up whose signed copy came back.
using SignedFigures = std::map<std::int64_t, fluids::Ledger::Moved>;
[[nodiscard]] SignedFigures signed_figures(Book::Inside& in);
/// Those that come to another figure now, in words. The ledger has been flushed.
[[nodiscard]] std::vector<std::string> moved_since(Book::Inside& in, const SignedFigures& before);
/// "pick-up A-1 (entry 14) comes to another figure by this: 9 L was, 8 L is; look at its paper, which is signed"
[[nodiscard]] std::string told_moved(Book::Inside& in, const log::Fact& pickup, const fluids::Ledger::Moved& before, const fluids::Ledger::Moved& now);

}  // namespace baybook::book
