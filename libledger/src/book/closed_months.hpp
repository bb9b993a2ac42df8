// What an entry does to months that are closed: told when it is written, before the print is read.
#pragma once

#include "book/inside.hpp"

#include <string>
#include <vector>

namespace baybook::book {

/// How far back an entry reaches.
struct ReachesBack {
  bool all = false;         ///< as far as the book goes: a settlement, a word, a file
  bool figures = true;      ///< it can change figures, or what they are judged to be
  std::int64_t from = 0;    ///< a moment: no month before it has other figures by this
  std::vector<Month> on{};  ///< the months in which it was written, or what it corrects
};
[[nodiscard]] ReachesBack reach_of(Book::Inside& in, const log::Built& built,
                                   const log::Effect& effect);

/// The closed months from there on, as they are before something is written. Reads no figures
/// where no month is closed.
class ClosedMonths {
 public:
  ClosedMonths(Book::Inside& in, ReachesBack reach);
  /// Those that have other figures now, and those in which it was written. After Ledger::flush.
  [[nodiscard]] std::vector<ClosedReach> since(const Book& book) const;

 private:
  struct Before {
    Month month;
    EntryId entry;
    std::string figures;
  };
  ReachesBack reach_;
  std::vector<Before> before_;
};

/// "2026-03 is closed (entry 40): this changes ...", a sentence for each thing that becomes of
/// them.
[[nodiscard]] std::vector<std::string> told(const Book::Inside& in,
                                            const std::vector<ClosedReach>& closed);

}  // namespace baybook::book
