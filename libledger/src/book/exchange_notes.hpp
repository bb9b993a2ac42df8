// What a book keeps beside its log about exchange files: which were taken in, and whether it waits
// for one before it is written in. None of it is in any entry, and none of it travels.
#pragma once

#include "book/inside.hpp"

#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

/// The row of files that were taken in whole: their digests, a line each, the newest last.
inline constexpr const char* kTakenFiles = "exchange-files";
/// The row of a book in the place of a lost one: a line for each other installation that it held
/// then, "IDENTITY NUMBER" of its last entry.
inline constexpr const char* kWaits = "waits-for-exchange";

[[nodiscard]] bool was_taken(store::Db& db, std::string_view digest);
/// True when something was written.
bool note_taken(store::Db& db, const std::string& digest);
/// Files are looked at again: something that came with one was thrown out.
void forget_taken(store::Db& db);

/// Notes that a book in the place of a lost one waits for the others that it knows; for none when
/// it knows none. `in`: the copy that goes on, its opening written.
void wait_for_others(Book::Inside& in);
/// Tags of those that it waits for.
[[nodiscard]] std::vector<std::string> waited_for(Book::Inside& in);
/// Refuses what would be written meanwhile. A word about an installation and an erasure are not
/// held up: the first comes with a file, the second is owed to somebody.
[[nodiscard]] std::optional<Refusal> refuse_while_waiting(Book::Inside& in,
                                                          const Draft& draft);
/// How far a file that came in goes.
struct FileReach {
  std::string identity;
  std::int64_t last = 0;
};
/// Ends the waiting when the file is one of another book that goes as far as what was held of it;
/// true when it did. `by`: whose book wrote it, "" when the file does not say.
bool wait_no_more_for(Book::Inside& in, std::string_view by, const std::vector<FileReach>& reach);
/// Ends it whatever came; true when it waited.
bool wait_no_more(store::Db& db);

}  // namespace baybook::book
