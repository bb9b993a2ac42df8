// Removing personal data: what an erasure would reach, what a rule still holds, and whether the files are rid of it.
//
// Erasing itself is an entry (Erasure, drafts.hpp) and goes through Book::append. docs/personal-data.md tells what is kept where.
#pragma once

#include <baybook/book.hpp>
#include <baybook/export.hpp>
#include <baybook/rules.hpp>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// Why a private text has to stay for now, by the rules of the day of its record. An aid: docs/personal-data.md tells what is left out.
struct Holding {
  std::string what;            ///< "the paper of pick-up 41"
  std::string section;         ///< of the rule
  Sure sure = Sure::memory;
  std::optional<Day> free{};   ///< the first day on which it may go; none: not yet known, `until` says what it waits for
  std::string until;           ///< "until 2029-03-05", "while job 17 is open"
};
struct ErasureLine {
  EntryRef entry;
  Day happened;
  std::string verb;            ///< of the entry: "car add"
  std::string field;           ///< "keeper"
  std::string text;            ///< what would be erased
  std::optional<Holding> held{};
};
struct ErasurePlan {
  std::string about;           ///< "car:6", "person:5", "firm quill-tarn", "entry 17": no name
  std::vector<ErasureLine> lines;
  std::size_t held = 0;        ///< lines that a rule holds; with any the erasure is refused, or put on record as asked
  std::optional<Holding> longest{};  ///< of these the last to go
  std::int64_t papers = 0;     ///< scans kept beside the book that belong to these entries: they are not erased
};
/// What an erasure would reach today. Refuses: not_found (nothing, or nothing left, to erase), wrong_usage (not one thing is named).
[[nodiscard]] Result<ErasurePlan> plan_erasure(const Book& book, const Erasure& erasure, Day today);

/// Cars that were withdrawn and wore that plate (compared as plate_key does), at whatever time, in the order of their entries: they are in no
/// list, and their texts are still there. None for a plate that nobody wore. Reads every plate ever written. Errors: those of reading a book.
[[nodiscard]] Result<std::vector<CarId>> withdrawn_cars(const Book& book, std::string_view plate);

/// Whether an erasure is on record while bytes of its texts may still be in a file of the book.
[[nodiscard]] Result<bool> erasure_unfinished(const Book& book);
/// Writes the file anew without what was erased and empties the write-ahead log. Refuses with busy while another program has the book open.
[[nodiscard]] Result<Done> finish_erasures(const Book& book);

}  // namespace baybook
BAYBOOK_API_END
