// What an installation held of the others when it wrote an entry.
//
// Two people who do the same thing in two books have a conflict; one who saw what the other did and
// writes after it has none. The first entry that a book writes after entries of others came in says
// how far it has them (`seen`, docs/format.md), so that every book that holds the entries can tell.
#pragma once

#include "log/entry.hpp"

#include <vector>

namespace baybook::book {

/// The ends of the other installations' chains, as far as they are here.
struct Elsewhere {
  std::vector<EntryId> last{};  ///< of each, in the order of Installations::all
  Instant recorded{};           ///< the newest recorded time among them; 0 when there is none
  EntryId newest{};             ///< the entry that was recorded then
};
[[nodiscard]] Elsewhere elsewhere(store::Db& db, const log::Installations& known);

/// Those of `last` that this book's own installation has not said to have seen, in the order in
/// which a body names them.
[[nodiscard]] std::vector<EntryId> unsaid(store::Db& db, const log::Installations& known,
                                          const std::vector<EntryId>& last);

/// The rows of what an entry says to have seen. One look at the body where it says nothing.
void list_seen(store::Db& db, EntryId entry, const std::string& body);
/// The same for every entry of the log.
void list_all_seen(store::Db& db);

/// Whether whoever wrote `entry` held `other` then: an earlier entry of the same installation, or
/// one that it said to have seen. An installation that never said what it has seen (before version
/// 3 of a body) knew nothing of others. Cost: one look into an index.
[[nodiscard]] bool knows(store::Db& db, EntryId entry, EntryId other);
/// Neither was written by somebody who held the other.
[[nodiscard]] bool apart_in_knowledge(store::Db& db, EntryId a, EntryId b);

}  // namespace baybook::book
