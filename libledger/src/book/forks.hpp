// Installations whose chain parted: one number, two entries. Nobody can tell from a file which is
// the true one, so it is remembered until a file comes that goes on from what is here.
#pragma once

#include "book/conflict_list.hpp"

namespace baybook::book {

/// Kept beside the log under this name: it is what this book saw, and does not travel.
inline constexpr std::string_view kForks = "forks";

struct Parted {
  EntryId entry;             ///< the first number that is another entry in the file
  std::string here, there;   ///< the beginning of both digests, in hexadecimal
};
/// Throws Malformed where what is kept is none of ours.
[[nodiscard]] std::vector<Parted> forks_in(store::Db& db);
/// In the caller's transaction; one for each installation, the last that was seen.
void note_fork(store::Db& db, const Parted& fork);
/// A file agreed with what is here up to that number. Whether one was forgotten.
bool forget_forks(store::Db& db, std::int64_t origin, std::int64_t agrees_up_to);

void list_forks(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out);

}  // namespace baybook::book
