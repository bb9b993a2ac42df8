// Parts of the proof that a copy is put to as well.
#pragma once

#include "book/inside.hpp"

#include <baybook/reports.hpp>

namespace baybook::book {

/// The file as SQLite sees it and every chain in it, from the first entry to the last. Fills entries, good, seals and findings.
void prove_log(Book::Inside& in, Proof& proof, const Progress& progress);
void add_finding(Proof& proof, std::string what, std::optional<EntryRef> entry, std::string instead);

}  // namespace baybook::book
