// Entries that are in the book already and say what no entry can: which of them hold, and what puts
// each right.
#pragma once

#include "book/inside.hpp"
#include "book/unfit.hpp"

#include <baybook/reports.hpp>

#include <set>

namespace baybook::book {

/// One entry of the chain with what is unfit in it.
struct UnfitEntry {
  EntryId id;
  log::Kind kind = log::Kind::opening;
  std::vector<Unfit> found;
};

/// What is unfit in an entry that is in the book, its private texts and what it names included.
[[nodiscard]] std::vector<Unfit> unfit_here(store::Db& db, const log::Row& row,
                                            const log::Header& header, const log::Value& body);

/// Leaves what holds: what was withdrawn or replaced since is no matter any more. The corrections of
/// the derived tables must be right.
void leave_what_holds(store::Db& db, UnfitEntry& e);

/// Of the entries that were ever corrected, those that hold and are unfit: what takes effect or loses
/// it can bring one back.
[[nodiscard]] std::set<EntryId> unfit_that_hold(store::Db& db);
/// Why an entry must not hold again that was withdrawn, or whose details were replaced: it says what
/// no entry can, and no other book would take it.
[[nodiscard]] std::optional<Refusal> unfit_to_come_back(Book::Inside& in, EntryId entry);

/// Tells those that hold: what was withdrawn or replaced since is no matter any more. The derived
/// tables must be right.
void tell_unfit(Book::Inside& in, std::vector<UnfitEntry> all, Proof& proof);

}  // namespace baybook::book
