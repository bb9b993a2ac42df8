// The most that a figure may be: where it is typed, where a draft is checked, and where an entry
// comes from elsewhere.
#pragma once

#include <baybook/quantity.hpp>

namespace baybook::quantity {

/// Base units: 1,000,000 L = 10^15 nL; 1,000,000 kg = 10^15 ug; 1,000,000 pieces. More is a slip of
/// the finger: common practice, no source.
[[nodiscard]] constexpr std::int64_t most_of(Dimension d) noexcept {
  return d == Dimension::count ? 1'000'000 : 1'000'000'000'000'000;
}

/// 10,000,000 km: past the life of any vehicle (common practice, no source).
inline constexpr std::int64_t kMostMetres = 10'000'000'000;
/// 10,000 Nm (common practice, no source).
inline constexpr std::int64_t kMostMillinewtonMetres = 10'000'000;
/// From a light gas condensate to mercury with room: common practice, no source.
inline constexpr std::int64_t kLeastDensity = 400'000;
inline constexpr std::int64_t kMostDensity = 20'000'000;

}  // namespace baybook::quantity
