// What holds again when a withdrawal is taken back must fit what was written meanwhile, as if it were written now.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// Whose code that is, of a place, fluid, firm or deadline, other than `except`; a place and a fluid must not be taken for one another.
[[nodiscard]] std::optional<EntryId> code_taken(store::Db& db, log::Kind kind, const std::string& code, EntryId except);
/// Why an entry that is withdrawn cannot hold again; none when it can, or when the fold asks what it takes (levels and sizes).
[[nodiscard]] std::optional<Refusal> cannot_come_back(Book::Inside& in, const log::Desk& desk, EntryId entry);

}  // namespace baybook::book
