// The clock of a machine, looked at beside what the book's own installation wrote last.
//
// The library reads no clock: the instant comes in with every call. A wrong one dates entries
// wrongly, so the book says what it can tell of it: that it stands before an entry that is there,
// that it leapt, or that it cannot be. docs/decisions/0024 has the choices.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/export.hpp>
#include <baybook/ids.hpp>
#include <baybook/result.hpp>

#include <cstdint>
#include <string>
#include <string_view>

BAYBOOK_API_BEGIN
namespace baybook {

class Book;

/// The first and the last year in which a clock can stand. Before the first this program was not
/// there; a machine that lost its battery begins at 1970, 1980, 2000 or the year it was made.
/// Beyond the last it counted over (a 32-bit counter ends in 2106).
inline constexpr int kFirstClockYear = 2025;
inline constexpr int kLastClockYear = 2099;
/// A day that many years ago is taken, and said aloud (common practice, no source).
inline constexpr int kYearsBack = 30;
/// A workshop that writes nothing for longer than this is rarer than a clock that leapt (common
/// practice, no source).
inline constexpr int kDaysAhead = 45;
/// A clock that is set right by a time service steps back by less; nobody is asked about that
/// (common practice, no source).
inline constexpr int kMinutesBehind = 5;

/// What the clock looks like. Nothing is refused for it: who asks before writing is the caller.
struct ClockCheck {
  enum class Is : std::uint8_t {
    fits,
    behind,  ///< before the newest recorded time of this installation: entries are dated by the
             ///< clock and keep their order
    ahead,   ///< more than kDaysAhead after it
  };
  Is is = Is::fits;
  /// Whether somebody should look at the clock before anything is written by it: it is ahead, or
  /// more than kMinutesBehind behind and no entry was written by it since.
  bool ask = false;
  Instant now{};
  Instant last{};      ///< what it was compared with
  EntryId entry{};     ///< the entry that was recorded then
  std::string what{};  ///< "the clock of this machine says 2026-03-05 09:40, 4684 days before entry
                       ///< 3 (2039-01-01 00:00)"; empty when it fits
  std::string way_out{};  ///< what to do if it is wrong, and if it was; empty when it fits
};
[[nodiscard]] std::string_view name_of(ClockCheck::Is is) noexcept;

/// Looks at the clock before a write. Refuses: not_allowed (a year in which no clock can stand),
/// not_found (zone).
[[nodiscard]] Result<ClockCheck> clock_against(const Book& book, Instant now);

}  // namespace baybook
BAYBOOK_API_END
