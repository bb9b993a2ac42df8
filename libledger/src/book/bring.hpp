// Entries that another installation wrote, taken into this book.
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

struct Incoming {
  log::Installation installation;
  log::Row row;
  std::vector<PrivateValue> privates;
};

/// Adds one entry, its private texts and its installation, and folds it at its place in effect order, inside the caller's
/// transaction. What it breaks is listed (table breach), never refused. Entries come in causal order: one after all that it
/// names. An entry already here is passed over when its digest agrees; otherwise store::Failure(unsound): a fork.
void bring_in(Book::Inside& in, const Incoming& incoming);

/// Every entry of the book in an order in which they can be brought in elsewhere.
[[nodiscard]] std::vector<Incoming> carry_out(Book::Inside& in);

}  // namespace baybook::book
