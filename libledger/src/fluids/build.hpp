// Checks of what a person wants to write about places and movements, before the log sees it.
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::fluids {

[[nodiscard]] Result<log::Built> build(log::Desk& desk, Ledger& ledger, const NewPlace& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, Ledger& ledger, const PlaceMark& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, Ledger& ledger, const NewFluid& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, Ledger& ledger, const Movement& draft);
[[nodiscard]] Result<log::Built> build(log::Desk& desk, Ledger& ledger, const Gauge& draft);

/// Refuses bare ounces of a liquid (a weight, or fluid ounces?); says when more is drained than the circuit holds, or a size is by another quantity.
[[nodiscard]] Result<Done> check_amount(Ledger& ledger, MoveVerb verb, PlaceId from, PlaceId to, const Amount& amount, const Units& units, std::vector<std::string>& warnings);
/// Whether the trade moves things this way: a drain leaves a circuit, a pick-up ends at the receiver (F6).
[[nodiscard]] Result<Done> check_way(Ledger& ledger, MoveVerb verb, PlaceId from, PlaceId to);
/// The same of roles alone, without names and words.
[[nodiscard]] bool goes(MoveVerb verb, Role from, Role to) noexcept;
/// Paper numbers, lots of deliveries and treatment codes, which stand in the open: refuses what is
/// longer than 60 bytes or has a character that no such number has.
[[nodiscard]] Result<std::string> open_token(std::string_view text, std::string_view field);
[[nodiscard]] std::optional<MoveVerb> read_verb(std::string_view name);
/// One line of a movement as it stands in a body.
[[nodiscard]] log::Value write_line(const log::Desk& desk, PlaceId from, PlaceId to, const Amount& amount, FluidId fluid);

/// The derived rows of definitions: places, marks, fluids.
void fold(store::Db& db, const log::Fact& fact);
void unfold(store::Db& db, const log::Fact& fact);

/// A product is moved and read in the kind of quantity that it is kept in.
[[nodiscard]] Result<Done> in_its_unit(log::Desk& desk, FluidId fluid, Dimension dimension);

/// Seal, open and retire marks as they stand now.
struct Marks {
  bool sealed = false;
  bool retired = false;
};
[[nodiscard]] Marks marks_of(store::Db& db, PlaceId place, std::int64_t until_moment);

/// The role of a place, an end of the world and a place that was withdrawn included.
[[nodiscard]] Role role_of(store::Db& db, PlaceId place);

}  // namespace baybook::fluids
