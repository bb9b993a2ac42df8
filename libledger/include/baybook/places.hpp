// Where fluid and solid waste can be, and what it can be. Numbers here reach the file: they are fixed for ever.
#pragma once

#include <baybook/export.hpp>
#include <baybook/ids.hpp>

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

BAYBOOK_API_BEGIN
namespace baybook {

enum class Role : std::uint8_t {
  circuit = 0,  ///< a circuit of a car
  hold_catch = 1,  ///< "catch": pan, bucket; its fate is undecided
  reuse = 2,    ///< filtered, kept to go back
  stock = 3,    ///< new
  waste = 4,    ///< one stream, waits for pick-up
  before = 5,   ///< end of the world: what a car held before its first entry
  supplier = 6,
  ground = 7,   ///< spilled: floor, drain, soil
  receiver = 8, ///< picked up
  used_up = 9,
  difference = 10,  ///< what a gauge found more or less than the book said
  missing = 11,  ///< what left a circuit unseen: nobody says that it was spilled, or where it is
};
[[nodiscard]] std::string_view name_of(Role role) noexcept;                 ///< "catch", "reuse", ...
[[nodiscard]] std::optional<Role> read_role(std::string_view text) noexcept;  ///< the four that a shop may add: catch, reuse, stock, waste
[[nodiscard]] constexpr bool holds(Role r) noexcept { return r >= Role::hold_catch && r <= Role::waste; }

inline constexpr PlaceId kBefore{1}, kSupplier{2}, kGround{3}, kReceiver{4}, kUsedUp{5},
    kDifference{6}, kMissing{7};

/// What a fluid or solid is, whoever made it. `number` is its FluidId when no product is known.
struct FluidClass {
  std::int64_t number;
  std::string_view name;   ///< "coolant", "engine-oil", ...
  std::string_view group;  ///< what may be mixed as waste: "coolant", "oil", "brake-fluid", ...: every kind of oil is one group
  std::string_view caution;  ///< one line for the person who handles it
};
[[nodiscard]] std::span<const FluidClass> fluid_classes() noexcept;
[[nodiscard]] const FluidClass* find_class(std::string_view name) noexcept;
[[nodiscard]] const FluidClass* find_class(FluidId id) noexcept;

/// The circuits a car can have; the number is the position on disk.
struct Circuit {
  std::int64_t number;       ///< 1 to 31
  std::string_view name;     ///< "coolant", "engine-oil", "gearbox", "front-axle", "brake", ...
  std::string_view takes;    ///< the class that goes in
};
[[nodiscard]] std::span<const Circuit> circuits() noexcept;
[[nodiscard]] const Circuit* find_circuit(std::string_view name) noexcept;
[[nodiscard]] const Circuit* find_circuit(std::int64_t number) noexcept;

[[nodiscard]] constexpr PlaceId circuit_of(CarId car, const Circuit& c) { return PlaceId{car.n + (c.number << 58)}; }
[[nodiscard]] constexpr bool is_circuit(PlaceId p) { return (p.n >> 58) != 0; }
[[nodiscard]] constexpr CarId car_of(PlaceId p) { return CarId{p.n & ((std::int64_t{1} << 58) - 1)}; }

/// What a pick-up says becomes of the load.
enum class Fate : std::uint8_t { none = 0, recycled = 1, disposed = 2 };
[[nodiscard]] std::string_view name_of(Fate fate) noexcept;
[[nodiscard]] std::optional<Fate> read_fate(std::string_view text) noexcept;  ///< recycle, recycled, dispose, disposed

}  // namespace baybook
BAYBOOK_API_END
