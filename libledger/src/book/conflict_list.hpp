// What has to be settled, for those who are inside a write or a report already; and what its parts
// are made with.
#pragma once

#include "book/inside.hpp"

#include <baybook/exchange.hpp>

#include <set>
#include <string>
#include <utility>
#include <vector>

namespace baybook::book {

/// As `conflicts`, without a look of its own at one moment of the book.
[[nodiscard]] std::vector<Conflict> list_conflicts(Book::Inside& in);

/// Makes the conflicts of a list.
class ConflictMaker {
 public:
  explicit ConflictMaker(Book::Inside& in);

  /// Whether these two were settled to be two.
  [[nodiscard]] bool apart(EntryId a, EntryId b) const {
    return apart_.contains(std::minmax(a.n, b.n));
  }
  [[nodiscard]] Conflict make(Conflict::What what, std::string text,
                              const std::vector<EntryId>& entries) const;
  void tell(Conflict& c, EntryId entry) const;
  /// One of these is to hold: a command for each.
  void choose(Conflict& c, const std::vector<EntryId>& among) const;
  void keep_apart(Conflict& c, EntryId a, EntryId b, const std::string& why = "...") const;
  [[nodiscard]] std::string withdraw(EntryId entry) const;

 private:
  Book::Inside& in_;
  std::set<std::pair<std::int64_t, std::int64_t>> apart_;
};

/// Two installations that did something to the same thing without knowing of each other, and that
/// the fold takes as it stands: determinations, jobs, cars, schedules, choices (unaware.cpp).
void list_unaware(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out);

/// Two corrections of one entry (two_corrections.cpp).
void list_corrections(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out);

}  // namespace baybook::book
