// Spills beside the reportable quantities of the rules.
#pragma once

#include "book/limits.hpp"

#include <baybook/returns.hpp>

#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

/// What got out in one entry, of one fluid.
struct GotOut {
  std::int64_t fluid = 0, dimension = 0;
  std::int64_t low = 0, best = 0, high = 0;
};
/// One entry by which something got out.
struct Spill {
  EntryId id;
  Day day;
  std::int64_t moment = 0;
  std::optional<std::int64_t>
      minute{};  ///< of UTC, counted from 1970; none: no time of day is written
  std::vector<GotOut> out{};
  std::vector<MassShare> shares{};
  std::string reached{}, typed{};
};

/// The spills of the book from one day to another, and what they come to.
class Spills {
 public:
  Spills(Office& office, Day from, Day until);
  [[nodiscard]] const std::vector<Spill>& all() const { return all_; }
  [[nodiscard]] SpillAdvice advice(const Spill& spill);

 private:
  struct Part;
  class Parts;
  struct Near;
  [[nodiscard]] SpillComparison compare(const Part& own, const Near& near);

  Office& office_;
  std::vector<Spill> all_;
};

/// The substances of shares as the rules of a day name them: refused where one is not among them
/// and looks like one that is, for then nothing would be compared with it. Of one that is nothing
/// like it a warning.
[[nodiscard]] std::optional<Refusal> refuse_substances(Book::Inside& in, Day day,
                                                       const std::vector<MassShare>& shares,
                                                       std::vector<std::string>& warnings);
/// A line for each spill that stands at a quantity or near it.
void spills(LimitSheet& sheet);
/// What a month's totals say of its spills.
void spill_notices(Office& office, Month month, std::vector<std::string>& notices);
/// "at or over 5000 lb of ethylene glycol", for lists; "" where nothing is near.
[[nodiscard]] std::string in_short(const SpillAdvice& advice);

}  // namespace baybook::book
