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

/// What `jumps` of a row says of a reading: it goes on; it is the first of another instrument; it
/// is one that came to its last figure in kilometres (or hours) or in miles and began again at
/// nothing.
inline constexpr std::int64_t kGoesOn = 0;
inline constexpr std::int64_t kReplaced = 1;
inline constexpr std::int64_t kRolledOver = 2;
inline constexpr std::int64_t kRolledOverMiles = 3;

/// How a reading fits between its neighbours in effect order: what `jumps` is to say of it. Refuses
/// with runs_backwards one that shows less and does not say why, or more than the one after it;
/// with not_allowed what cannot have been: nothing rolled over, or too far for the days.
[[nodiscard]] Result<std::int64_t> fits(const log::Desk& desk, const Said& said);
/// Whether a reading shows less than the one before it.
[[nodiscard]] bool goes_back(const log::Desk& desk, const Said& said);

/// What an instrument counts to that has shown `figure`, in its base unit: the next power of ten
/// miles, kilometres or hours above it, five figures or more, hours three or more. Common practice,
/// no source. None: past the life of any instrument.
[[nodiscard]] std::optional<std::int64_t> range_above(Counts counts, std::int64_t figure,
                                                      bool miles);
/// What is added to a reading that follows one that showed `before`: what the instrument counts to,
/// where it shows less than that. A reading of the same round that lies between takes it over, and
/// one before that is put right moves it. 0: nothing.
[[nodiscard]] std::int64_t added_by(std::int64_t jumps, Counts counts, std::int64_t before,
                                    std::int64_t figure);

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
/// What `rolled-over` says: in which unit the instrument counts.
inline constexpr const char* kInKilometres = "km";
inline constexpr const char* kInMiles = "mi";
inline constexpr const char* kInHours = "h";
[[nodiscard]] std::int64_t jumps_of(const log::Value& details);
/// The details without what they say of a reading's instrument.
[[nodiscard]] log::Value without_jumps(const log::Value& details);
/// What details say, as it is typed.
[[nodiscard]] Dial dial_of(const log::Value& details);
/// ", first of another instrument", ", began again at 0", "" for one that goes on.
[[nodiscard]] std::string told_jumps(const log::Value& details);

/// What is said of an instrument goes with a reading.
[[nodiscard]] Refusal said_without_reading();

/// Says that a reading lies further from the one before than anybody drives. `itself`: of a reading
/// that is put right, the entry it stands in.
void say_if_far(const log::Desk& desk, CarId car, const Distance& reading, EntryId itself,
                std::vector<std::string>& warnings);

}  // namespace baybook::service
