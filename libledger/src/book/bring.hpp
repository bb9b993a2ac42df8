// Entries that another installation wrote, put into this book: its log rows, and their folds.
#pragma once

#include "book/inside.hpp"

#include <string>
#include <vector>

namespace baybook::book {

struct PrivateValue {
  std::string field;
  std::string salt;  ///< 32 bytes
  std::string value;
};

/// The row of an entry that is new here, and one of its private texts, as they are; inside the caller's transaction.
void insert_entry(Book::Inside& in, const log::Row& row);
void insert_private(Book::Inside& in, EntryId entry, const PrivateValue& text);

/// Folds entries whose rows have been put in, each after all that it names, at their places in effect order. What they break is listed
/// (table breach), never refused. Few are folded one by one; many, or a settlement among them, by folding the whole log anew.
void fold_brought(Book::Inside& in, const std::vector<EntryId>& entries);

}  // namespace baybook::book
