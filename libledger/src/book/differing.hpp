// In what the installations of a book differ, as each chose it when it was begun.
//
// No figure of the entries and no day in them hangs on it: amounts stand in base units, days and
// times as they were on the wall, and which rules hold is the same in every book (first_rules.hpp).
// What is printed, which day is today and how something typed is read do.
#pragma once

#include "book/inside.hpp"

#include <string>
#include <vector>

namespace baybook::book {

/// One installation with what its opening chose.
struct Opened {
  log::Installation installation;
  Settings settings;
  log::Effect effect;
  std::int64_t continues = 0;  ///< the origin of the one that it goes on from; 0: it began by itself
};
/// Every installation of the book that has an opening, this book's own first, then by tag.
[[nodiscard]] std::vector<Opened> openings(Book::Inside& in);

/// The name of the site in the opening of an installation; "" when it has none.
[[nodiscard]] std::string site_of(store::Db& db, std::int64_t origin);
/// A sentence for each setting in which installations of this book differ, with what each has; none
/// when there is one installation, or they agree. `printed_only`: those that show on a sheet.
[[nodiscard]] std::vector<std::string> differing_settings(Book::Inside& in,
                                                          bool printed_only = false);

}  // namespace baybook::book
