// The mark that makes a copy a backup: it is read like any book, and nothing is ever written in it.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// Puts the mark in; a copy of a backup keeps the one it has.
void write_mark(store::Db& db, const BackupMark& mark);
/// Takes it out: of a copy that goes on as an installation of its own.
void remove_mark(store::Db& db);
[[nodiscard]] BackupMark read_mark(const std::string& bytes);
/// Why a backup is not written in, and what to do instead.
[[nodiscard]] Refusal not_written_in(const std::string& path, const BackupMark& mark);

}  // namespace baybook::book
