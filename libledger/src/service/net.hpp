// What entered a circuit in a job against what left it.
#pragma once

#include "log/entry.hpp"

#include <map>

namespace baybook::service {

using NetOf = std::pair<std::int64_t, std::int64_t>;  ///< circuit, dimension
struct Net {
  std::int64_t left = 0, in = 0;                 ///< best
  std::int64_t low = 0, best = 0, high = 0;      ///< entered less left
  /// A circuit that was only topped up was low before; else both must agree within their bounds.
  [[nodiscard]] bool agrees() const { return left == 0 || best == 0 || (low <= 0 && high >= 0); }
};
[[nodiscard]] std::map<NetOf, Net> nets_of(store::Db& db, CarId car, JobId job);
/// "coolant: 4 L left, 5 L entered, 1 L more in than out (between ... and ...)", the bounds where they differ.
[[nodiscard]] std::string told(const NetOf& of, const Net& n, const Units& units);

}  // namespace baybook::service
