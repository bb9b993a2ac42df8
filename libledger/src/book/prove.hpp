// Parts of the proof that a copy is put to as well.
#pragma once

#include "book/inside.hpp"
#include "book/unfit_prove.hpp"

#include <baybook/reports.hpp>

namespace baybook::book {

/// The file as SQLite sees it and every chain in it, from the first entry to the last. Fills
/// entries, good, seals and findings. `unfit`: also the entries that say what no entry can, as many
/// as are worth telling.
void prove_log(Book::Inside& in, Proof& proof, const Progress& progress,
               std::vector<UnfitEntry>* unfit = nullptr);
void add_finding(Proof& proof, std::string what, std::optional<EntryRef> entry, std::string instead);

}  // namespace baybook::book
