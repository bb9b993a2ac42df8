// Entries that are in the book already and say what no entry can: which of them hold, and what puts
// each right.
#pragma once

#include "book/inside.hpp"
#include "book/unfit.hpp"

#include <baybook/reports.hpp>

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

/// Tells those that hold: what was withdrawn or replaced since is no matter any more. The derived
/// tables must be right.
void tell_unfit(Book::Inside& in, std::vector<UnfitEntry> all, Proof& proof);

}  // namespace baybook::book
