// Which intervals hold for a car.
#pragma once

#include "due/anchors.hpp"

namespace baybook::due {

/// One task of a car and its limits, 0: none.
struct Wanted {
  std::int64_t schedule = 0, n = 0;
  int rank = 0;
  DoneBy by;
  std::int64_t months = 0, metres = 0, minutes = 0, filtered = 0;
};

/// Of the intervals that a car has for one task the nearest to it holds: its own, its model's with that engine, its model's, its
/// circuit's specification. In the order of the tasks' names; none for a scrapped car.
[[nodiscard]] std::vector<Wanted> wanted(store::Db& db, CarId car);

}  // namespace baybook::due
