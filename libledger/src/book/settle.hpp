// Settlements: what two installations named apart and is one, or named alike and is two.
#pragma once

#include "book/inside.hpp"

#include <baybook/drafts.hpp>

namespace baybook::book {

/// Whether two things of that kind can be settled to be one: cars, places, fluids, people, firms.
[[nodiscard]] bool can_be_one(log::Kind kind);
/// Details {"action":"join"|"apart","keep":reference,"other":reference}. Refuses what cannot be one: another kind of thing, another
/// role or content, what is one already.
[[nodiscard]] Result<log::Built> build_settlement(Book::Inside& in, log::Desk& desk, const Settle& draft);

/// The rows of tables settlement and settled. Inside::settlements_moved says that everything else has to be folded anew.
void fold_settlement(Book::Inside& in, const log::Fact& fact);
void unfold_settlement(Book::Inside& in, const log::Fact& fact);

}  // namespace baybook::book
