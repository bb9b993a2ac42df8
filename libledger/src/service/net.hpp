// What entered a circuit in a job against what left it.
#pragma once

#include "log/entry.hpp"

#include <map>
#include <vector>

namespace baybook::service {

using NetOf = std::pair<std::int64_t, std::int64_t>;  ///< circuit, dimension
struct Net {
  /// What one line of an entry moved.
  struct Line {
    EntryId entry;
    std::int64_t line = 0;
    bool in = false;
    bool booked = false;  ///< by the closing of the job: nobody saw it move
    std::int64_t best = 0;
  };
  std::int64_t left = 0, in = 0;                 ///< best
  std::int64_t low = 0, best = 0, high = 0;      ///< entered less left
  std::vector<Line> lines{};                     ///< in effect order
  /// Both sides are one, or may be by their bounds.
  [[nodiscard]] bool even() const { return best == 0 || (low <= 0 && high >= 0); }
};
[[nodiscard]] std::map<NetOf, Net> nets_of(store::Db& db, CarId car, JobId job);
/// "coolant: 4 L left, 5 L entered, 1 L more in than out (between ... and ...)", the bounds where they differ.
[[nodiscard]] std::string told(const NetOf& of, const Net& n, const Units& units);

}  // namespace baybook::service
