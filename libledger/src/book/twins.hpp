// One thing that was done once and entered twice, by two people who did not know of each other's entry.
#pragma once

#include "book/conflict_list.hpp"
#include "book/inside.hpp"

#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

/// Two movements of the same verb, of different installations, of which neither was written knowing
/// the other: with the same paper and a line between the same places, or of the same job, between the
/// same places, with the same amounts, not more than a day apart. Readings that are alike are none:
/// two people may look at one drum.
struct Twins {
  EntryId first;       ///< in effect order, the same in every book
  EntryId second;      ///< the one that is too many, if they are one
  std::string paper;   ///< that both name; may be empty
};
/// All that hold and that nobody settled to be two, in effect order of the first. Nothing is read in
/// a book of one installation.
class AllTwins {
 public:
  explicit AllTwins(Book::Inside& in);

  [[nodiscard]] const std::vector<Twins>& all() const { return all_; }
  [[nodiscard]] bool has(EntryId entry) const;
  [[nodiscard]] bool are(EntryId a, EntryId b) const;
  /// The first of them that moved something into or out of that place.
  [[nodiscard]] std::optional<Twins> at(PlaceId place) const;

 private:
  Book::Inside& in_;
  std::vector<Twins> all_;
};

/// What ends it where something else does not fit because of them: a command and a remark.
[[nodiscard]] std::string end_of(const Book::Inside& in, const Twins& twins);

void list_twins(Book::Inside& in, const ConflictMaker& maker, const AllTwins& twins,
                std::vector<Conflict>& out);

}  // namespace baybook::book
