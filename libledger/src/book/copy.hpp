// A copy of a book in one file, made beside its place, read again from end to end, and only then given its name.
#pragma once

#include "book/inside.hpp"

#include <baybook/keep.hpp>

namespace baybook::book {

struct CopyOptions {
  bool force = false;    ///< over a file of that name; never over a book that somebody writes in
  bool goes_on = false;  ///< a book that is written in: write-ahead log, as a new one has. Else rollback journal, one file.
  bool papers = true;
  Progress progress{};
};

/// Writes what makes the copy what it is: a mark, or an installation of its own. Runs inside one transaction of the copy, before it is verified;
/// what it throws or refuses leaves everything as it was.
using Finish = std::function<Result<Done>(Book::Inside& copy)>;

[[nodiscard]] Result<Backup> copy_book(const Book& book, const std::string& path, const CopyOptions& options, const Finish& finish);

/// Reads a copy from end to end: the file, every chain, and that the last entry of every installation of `book` is in it. The first thing that
/// is wrong is a store::Failure.
[[nodiscard]] Backup read_again(Book::Inside& copy, const std::vector<std::pair<EntryId, std::string>>& tails, const Progress& progress);
/// The last entry of each installation with its digest.
[[nodiscard]] std::vector<std::pair<EntryId, std::string>> tails_of(Book::Inside& in);

}  // namespace baybook::book
