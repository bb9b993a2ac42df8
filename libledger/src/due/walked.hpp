// How wide the range of a projection has to be by what cars showed: each reading foretold from those before it.
//
// Asked for when a list is made, never kept: a row of one car does not depend on other cars. In
// whole millionths. The method and its figures: docs/projection.md.
// Source: no standard found; the usual share held is this project's own.
#pragma once

#include "due/projection.hpp"
#include "log/entry.hpp"

namespace baybook::due {

/// What cars showed that were walked forward, and the width that it asks for.
struct Walked {
  std::int64_t cars = 0;       ///< with kEnoughReadings or more
  std::int64_t forecasts = 0;  ///< readings of theirs that were foretold
  std::int64_t width_millionths = kUsualWidth;
};

/// A car with fewer readings shows too little.
inline constexpr std::size_t kEnoughReadings = 5;

/// The least width at which the range holds four in five: of these forecasts, weighed by how far
/// ahead they were, and of what is usual, which counts as much as forty long ones.
[[nodiscard]] std::int64_t width_to_hold(const std::vector<Miss>& misses);

/// By the odometers of this book up to a moment. However many cars there are, 200 are looked at,
/// spread over the book, and of each the newest 24 readings.
[[nodiscard]] Walked walk_forward(store::Db& db, std::int64_t until);

}  // namespace baybook::due
