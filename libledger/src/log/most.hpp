// How much one entry may say. The builders refuse what is beyond; an entry from elsewhere is held
// to the same figures.
//
// None of them is of a law or of physics: they keep a slip of the finger, or somebody else's file,
// from filling a book (common practice, no source).
#pragma once

#include <cstddef>
#include <cstdint>

namespace baybook::log::most {

// Texts in the open, in bytes of UTF-8.
inline constexpr std::size_t kText = 120;  ///< make, model, engine, specification, site
inline constexpr std::size_t kProduct = 200;
inline constexpr std::size_t kDensitySource = 200;
inline constexpr std::size_t kSection = 200;
inline constexpr std::size_t kFileName = 200;
inline constexpr std::size_t kPart = 80;   ///< a part's number, its lot
inline constexpr std::size_t kToken = 60;  ///< a paper's number, a delivery's lot, a treatment code
inline constexpr std::size_t kFirmNumber = 60;
inline constexpr std::size_t kTransport = 40;
inline constexpr std::size_t kMachine = 60;
inline constexpr std::size_t kSubstance = 80;
inline constexpr std::size_t kInterval = 300;  ///< each text of an interval
inline constexpr std::size_t kRuleFile = std::size_t{256} * 1024;
inline constexpr std::size_t kTag = 12;
/// What was typed for a figure. An amount has 100 bytes; sums of amounts are put together from
/// several.
inline constexpr std::size_t kTyped = 4000;

// How many stand in one entry.
inline constexpr std::size_t kLines = 1000;
inline constexpr std::size_t kRechecks = 100;
inline constexpr std::size_t kTakes = 100;
inline constexpr std::size_t kTakenOut = 100;  ///< parts that one entry takes out
inline constexpr std::size_t kWasteCodes = 20;  ///< of a determination
inline constexpr std::size_t kFindings = 100;   ///< figures of an analysis
inline constexpr std::size_t kFinding = 40;     ///< each of them, as typed
inline constexpr std::size_t kContainers = 100;  ///< of an event
inline constexpr std::size_t kNumbers = 100;  ///< of a firm
inline constexpr std::size_t kShares = 50;    ///< of a product, of a spill
inline constexpr std::size_t kFirmStreams = 100;
inline constexpr std::size_t kParts = 1000;   ///< of an interval
inline constexpr std::size_t kIntervals = 2000;
inline constexpr std::size_t kInstallations = 10'000;  ///< whose entries one says to have seen
inline constexpr std::size_t kOver = 1000;  ///< entries that a choice has not hold
inline constexpr std::size_t kErased = 10'000;  ///< entries that an erasure names

// Figures.
inline constexpr std::int64_t kFirstYear = 1885;  ///< of a car
inline constexpr std::int64_t kYearsAhead = 2;    ///< a model year, after the year of the entry
inline constexpr std::int64_t kLastYear = 9998;   ///< of an interval
inline constexpr std::int64_t kMonths = 1200;     ///< of an interval, of a warranty
inline constexpr std::int64_t kDeadlineMonths = 600;
inline constexpr std::int64_t kGrantedDays = 366;  ///< that an authority added to a clock
inline constexpr std::int64_t kHours = 100'000;  ///< of an interval
inline constexpr std::int64_t kMinutes = 60'000'000;  ///< on the counter of an engine
inline constexpr std::int64_t kReuseDays = 3650;
inline constexpr std::int64_t kRecheckDays = 35'000;
inline constexpr std::int64_t kPutOffDays = 3660;
inline constexpr std::int64_t kEstimatePercent = 50;

}  // namespace baybook::log::most
