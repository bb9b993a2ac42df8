// What was erased, as a list that lies beside backups: one that was made before an erasure still has the text.
//
// The list names entries and fields, no text. Each line is what an erasure entry says, with its digest; a folder
// has one list for whatever books have backups in it, and nothing is ever taken out of it. docs/backup.md, "Erasures".
#pragma once

#include "book/inside.hpp"

#include <baybook/keep.hpp>

#include <map>
#include <string>
#include <vector>

namespace baybook::book {

/// The name of the list in a folder of backups.
inline constexpr std::string_view kErasureList = "baybook-erasures.jsonl";

struct ListedErasure {
  std::string digest;  ///< of the entry, 64 hexadecimal digits
  Day day{};
  std::vector<std::pair<std::string, std::vector<std::string>>> texts{};  ///< "identity:number", fields
};
/// By "identity:number" of the erasure entry.
using ErasureList = std::map<std::string, ListedErasure>;

/// The erasures that this book knows and that took effect, whoever wrote them.
[[nodiscard]] ErasureList erasures_of(Book::Inside& in);
/// The list of a folder; empty when there is none. `findings` gets a list that cannot be read.
[[nodiscard]] ErasureList read_erasure_list(const std::string& folder, std::vector<Finding>& findings);
/// Adds what this book knows to the list of the folder. Nothing is written when it knows nothing new.
void keep_erasure_list(Book::Inside& in, const std::string& folder, std::vector<Finding>& findings);

/// Of `known`, what `copy` does not know: texts that it still has although they were erased.
[[nodiscard]] std::vector<UnknownErasure> unknown_in(Book::Inside& copy, const ErasureList& known);

}  // namespace baybook::book
