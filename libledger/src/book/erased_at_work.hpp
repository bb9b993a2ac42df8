// Erasures that reach a car while somebody works on it.
#pragma once

#include "book/inside.hpp"

#include <set>
#include <string>
#include <utility>
#include <vector>

namespace baybook::book {

/// An open job, and an erasure in force that took a text of its car.
using ErasedAtWork = std::set<std::pair<JobId, EntryId>>;
[[nodiscard]] ErasedAtWork erased_at_work(Book::Inside& in);
/// What came to that since, in words: which erasure, which car, which job, and what shows it.
[[nodiscard]] std::vector<std::string> told_since(Book::Inside& in, const ErasedAtWork& before);

}  // namespace baybook::book
