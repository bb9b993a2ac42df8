// The ends of the world as the ledger sees them.
#pragma once

#include <baybook/places.hpp>

namespace baybook::fluids {

inline constexpr std::int64_t kUnknownClass = 25;  // "unknown" in places.cpp

[[nodiscard]] constexpr bool is_end(PlaceId place) { return place.n < 1000; }

[[nodiscard]] constexpr Role role_of_end(PlaceId place) {
  if (place == kBefore) return Role::before;
  if (place == kSupplier) return Role::supplier;
  if (place == kGround) return Role::ground;
  if (place == kReceiver) return Role::receiver;
  if (place == kUsedUp) return Role::used_up;
  if (place == kMissing) return Role::missing;
  return Role::difference;
}

}  // namespace baybook::fluids
