// Entries as rows and as bodies; what an entry says after corrections.
#pragma once

#include "log/json.hpp"
#include "log/kinds.hpp"
#include "log/sha256.hpp"
#include "store/db.hpp"

#include <baybook/calendar.hpp>
#include <baybook/ids.hpp>
#include <baybook/places.hpp>
#include <baybook/quantity.hpp>

#include <compare>
#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace baybook::log {

inline constexpr std::int64_t kFormat = 1;

/// Moments sort entries by day, and within a day by when they happened: minutes of UTC, so that the hour that comes twice when
/// summer time ends is two hours. The last moment of a day is that of "no time given".
inline constexpr std::int64_t kMoments = 4096;
[[nodiscard]] constexpr std::int64_t moment_of(Day day, std::optional<TimeOfDay> at) {
  return std::int64_t{day.n} * kMoments + (at ? at->minute.n - at->offset_minutes + 1440 : kMoments - 1);
}
[[nodiscard]] constexpr std::int64_t first_moment(Day day) { return std::int64_t{day.n} * kMoments; }
[[nodiscard]] constexpr std::int64_t last_moment(Day day) { return moment_of(day, std::nullopt); }
[[nodiscard]] constexpr Day day_of_moment(std::int64_t moment) { return Day{static_cast<std::int32_t>(moment >> 12)}; }
/// The header field "time" of a canonical body; none when it has none.
[[nodiscard]] std::optional<TimeOfDay> time_of_body(std::string_view body);

/// A place in effect order: a function of the entry alone, the same in every book that holds it.
struct Effect {
  std::int64_t moment = 0;
  std::int64_t recorded = 0;
  EntryId id;
  friend constexpr auto operator<=>(const Effect&, const Effect&) = default;
};

/// One installation known to the book.
struct Installation {
  std::int64_t origin = 0;
  std::string identity;  ///< 32 hex: the 16 random bytes
  std::string tag;
  bool own = false;
};
struct Installations {
  std::vector<Installation> all;
  [[nodiscard]] const Installation& own() const;
  [[nodiscard]] std::string_view tag_of(std::int64_t origin) const;  ///< "?" when unknown
};
[[nodiscard]] Installations installations(store::Db& db);
/// The origin of an identity: its first 18 bits, never 0 (docs/format.md).
[[nodiscard]] std::int64_t origin_of(std::string_view identity_hex);
/// Whether an installation can have this identity: 32 lower-case hexadecimal digits whose origin is
/// not 0, which belongs to classes and ends of the world.
[[nodiscard]] bool is_identity(std::string_view identity_hex);

// References in bodies: a whole number for an entry of the same installation, "identity:number" for another's.
[[nodiscard]] Value write_ref(std::int64_t id, const Installations& known);
[[nodiscard]] std::int64_t read_ref(const Value& ref, std::int64_t origin);

// Places in bodies: a reference, {"car":ref,"circuit":name}, or the name of an end of the world.
[[nodiscard]] Value write_place(PlaceId place, const Installations& known);
[[nodiscard]] PlaceId read_place(const Value& value, std::int64_t origin);
/// The end of the world of that name.
[[nodiscard]] std::optional<PlaceId> end_of_world(std::string_view name);
/// What a stored number stands for. A number that stands for nothing comes from a damaged or a hostile book: throws Malformed.
[[nodiscard]] const Circuit& circuit_at(PlaceId place);
[[nodiscard]] const FluidClass& class_at(std::int64_t number);
// Fluids: a reference, or the name of a class.
[[nodiscard]] Value write_fluid(FluidId fluid, const Installations& known);
[[nodiscard]] FluidId read_fluid(const Value& value, std::int64_t origin);

// Amounts: {"best":"5400000000","typed":"5.4L","unit":"nl"}, with "high" and "low" when estimated.
[[nodiscard]] Value write_amount(const Amount& amount);
[[nodiscard]] Amount read_amount(const Value& value);
[[nodiscard]] Value write_units(const Units& units);
[[nodiscard]] Units read_units(const Value& value);

/// A day in a body as its number. Throws Malformed when it is none.
[[nodiscard]] std::int64_t read_day_number(std::string_view iso);

/// An entry whose details hold now: its own, or those of the correction that replaced them.
struct Fact {
  Effect effect;
  Kind kind = Kind::opening;
  std::int64_t who = 0;
  Value details;           ///< effective
  EntryId source;          ///< the entry whose details these are (itself, or the correction)
  bool withdrawn = false;
  [[nodiscard]] EntryId id() const { return effect.id; }
  /// References inside `details` are relative to the installation that wrote them.
  [[nodiscard]] std::int64_t origin() const { return source.origin(); }
};

struct Row {
  EntryId id;
  std::int64_t recorded = 0, moment = 0;
  Kind kind = Kind::opening;
  std::int64_t who = 0;
  std::string body;
  std::string digest;  ///< 32 bytes
};
[[nodiscard]] std::optional<Row> read_row(store::Db& db, EntryId id);
/// An entry that some index or table of the book names: throws store::Failure (unsound) when it is not there, as in a damaged file.
[[nodiscard]] Row row_of(store::Db& db, EntryId id);
[[nodiscard]] Fact read_fact(store::Db& db, const Row& row);
/// Throws store::Failure(unsound) when there is no such entry.
[[nodiscard]] Fact read_fact(store::Db& db, EntryId id);
[[nodiscard]] std::optional<Fact> find_fact(store::Db& db, EntryId id);
/// The first entry of an installation that was recorded at that instant or later; one past the last when there is none. Steps: the
/// logarithm of the chain's length, for numbers have no gaps and recorded time never runs backwards.
[[nodiscard]] EntryId first_recorded_since(store::Db& db, std::int64_t origin, Instant since);
[[nodiscard]] Value parse_body(const std::string& body);

/// What is shown in place of a private text that was erased.
inline constexpr std::string_view kErased = "(erased)";
/// Whether an erasure on record names this text of an entry: one that has no effect here explains
/// as well why it is not there, for another book may have erased it.
[[nodiscard]] bool erased(store::Db& db, EntryId entry, std::string_view field);
/// The private text of a field as it holds now (the correction's, if it replaced it), for reading: "" when there is none, kErased when it
/// was erased. An older text that was replaced by an erased one does not come back.
[[nodiscard]] std::string private_text(store::Db& db, EntryId entry, std::string_view field);
[[nodiscard]] std::string private_text(store::Db& db, const Fact& fact, std::string_view field);
/// The same for folds and for what is written again: "" when it was erased.
[[nodiscard]] std::string surviving_text(store::Db& db, const Fact& fact, std::string_view field);

}  // namespace baybook::log
