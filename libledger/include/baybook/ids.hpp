// Names of things inside the program: the entry that made them.
#pragma once

#include <baybook/export.hpp>

#include <compare>
#include <cstdint>

BAYBOOK_API_BEGIN
namespace baybook {

/// An entry: origin * 2^40 + number. The origin (1 to 2^18 - 1) is taken from the installation's 16 random bytes, so that an
/// entry has the same id in every book that holds it (docs/format.md).
struct EntryId {
  std::int64_t n = 0;
  [[nodiscard]] constexpr std::int64_t origin() const { return n >> 40; }
  [[nodiscard]] constexpr std::int64_t number() const { return n & ((std::int64_t{1} << 40) - 1); }
  friend constexpr auto operator<=>(EntryId, EntryId) = default;
};

/// Things are known by the entry that made them; each kind has its own type so that a car cannot be passed for a job.
template <class Tag>
struct Made {
  std::int64_t n = 0;
  explicit constexpr operator bool() const { return n != 0; }
  friend constexpr auto operator<=>(Made, Made) = default;
};
using CarId = Made<struct CarTag>;
using JobId = Made<struct JobTag>;
using PersonId = Made<struct PersonTag>;
using FirmId = Made<struct FirmTag>;
using DeadlineId = Made<struct DeadlineTag>;
/// A product (id of its entry), or a whole class of which no product is known (the class number, below 1000).
using FluidId = Made<struct FluidTag>;
/// A place of the shop (id of its entry), a circuit of a car (car id + circuit number * 2^58), or an end of the world (1 to 9).
using PlaceId = Made<struct PlaceTag>;

}  // namespace baybook
BAYBOOK_API_END
