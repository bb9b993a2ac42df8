// Readings of an odometer or of a counter of hours: whether one goes on from the one before it and,
// when it does not, which of three things it was.
//
// Each has its own arithmetic. Replaced: distance goes on from this reading, and what the old
// instrument showed stays as it was. Rolled over: what the instrument counts to is added. Misread:
// the reading before is taken out, as if it had not been (book/misread.hpp).
#pragma once

#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::service {

enum class Counts : std::uint8_t { distance, hours };  ///< in metres, or in minutes

/// A reading that is to be written or to hold again.
struct Said {
  CarId car;
  Counts counts = Counts::distance;
  std::int64_t figure = 0;  ///< metres or minutes
  std::string typed{};
  Dial dial = Dial::goes_on;
  EntryId itself{};  ///< of one that is put right: the entry it stands in
  bool asks = true;  ///< the verb has options that say which of the three it was
  /// What was said of the reading that was misread and taken out is said of this one.
  std::optional<std::int64_t> inherits{};
};

/// What `jumps` of a row says: nothing, the first of another instrument, or (in the counter's base
/// unit) how far it counts before it begins again at nothing.
inline constexpr std::int64_t kGoesOn = 0;
inline constexpr std::int64_t kReplaced = 1;

/// How a reading fits between its neighbours in effect order: what `jumps` is to say of it. Refuses
/// with runs_backwards one that shows less and does not say why, or more than the one after it; with
/// not_allowed what cannot have been: nothing rolled over, or too far for the days.
[[nodiscard]] Result<std::int64_t> fits(const log::Desk& desk, const Said& said);
/// Whether a reading shows less than the one before it.
[[nodiscard]] bool goes_back(const log::Desk& desk, const Said& said);

/// What an instrument counts to, an odometer that has shown `figure` and was read in miles or in
/// kilometres: the next power of ten, five figures or more; a counter of hours three or more. Common
/// practice, no source. None: past the life of any instrument.
[[nodiscard]] std::optional<std::int64_t> range_above(Counts counts, std::int64_t figure,
                                                      bool miles);
[[nodiscard]] bool is_range(Counts counts, std::int64_t units) noexcept;

/// A reading of the book.
struct Earlier {
  EntryId entry;
  std::int64_t figure = 0, moment = 0, jumps = kGoesOn;
};
/// Those right before where the new entry will stand that show more than it, the nearest first: as
/// far back as the first of the same instrument or round.
[[nodiscard]] std::vector<Earlier> standing_above(const log::Desk& desk, const Said& said);

/// `jumps` into the details of an entry, and out of them.
void write_jumps(log::Value& details, Counts counts, std::int64_t jumps);
[[nodiscard]] std::int64_t jumps_of(const log::Value& details);
/// The details without what they say of a reading's instrument.
[[nodiscard]] log::Value without_jumps(const log::Value& details);
/// What details say, as it is typed.
[[nodiscard]] Dial dial_of(const log::Value& details);
/// ", first of another instrument", ", began again after 100000 mi", "" for one that goes on.
[[nodiscard]] std::string told_jumps(const log::Value& details);

/// What is said of an instrument goes with a reading.
[[nodiscard]] Refusal said_without_reading();

/// Says that a reading lies further from the one before than anybody drives. `itself`: of a reading that is put right, the entry it stands in.
void say_if_far(const log::Desk& desk, CarId car, const Distance& reading, EntryId itself,
                std::vector<std::string>& warnings);

}  // namespace baybook::service
