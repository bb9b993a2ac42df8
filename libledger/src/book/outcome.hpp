// After a commit that failed: what did the disk keep?
#pragma once

#include "book/inside.hpp"
#include "log/sha256.hpp"

namespace baybook::book {

enum class Outcome { stored, not_stored, unknown };

/// Closes the file, opens it again and looks for the entry by its digest, which no other entry has. The answer counts only when the
/// write-ahead log could then be brought into the file and synced: what is read back alone may lie in memory and not on the disk.
[[nodiscard]] Outcome look_again(Book::Inside& in, EntryId entry, const log::Digest& digest);

/// Commits; after a failure looks again. Nothing: it is stored, and `noted` says so when it took a second look. Else why it is not: `unwritable`
/// (it is not stored) or `unknown_outcome`, with the entry and its digest as figures. `entry` is the last one that the transaction wrote.
[[nodiscard]] std::optional<Refusal> commit_or_look(Book::Inside& in, EntryId entry, const log::Digest& digest, std::string& noted);

}  // namespace baybook::book
