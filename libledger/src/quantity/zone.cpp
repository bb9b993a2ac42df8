// Time zones: the only file that asks the system's time-zone database.
//
// USE_OS_TZDB makes the date library read the compiled files of the system instead of fetching a copy from the network.
// Those files list changes of offset up to 2037 at the most; a later instant takes the offset of the last one listed.
#include <baybook/calendar.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/units.hpp"

#ifndef USE_OS_TZDB
#define USE_OS_TZDB 1
#endif
#include <date/tz.h>

#include <algorithm>
#include <chrono>
#include <exception>
#include <limits>
#include <new>
#include <string>
#include <sys/stat.h>

namespace baybook {

namespace {

// Years 1 to 9999: what a Day and its text can hold whatever the offset is.
constexpr std::int64_t first_ms = -62'135'596'800'000;  // 0001-01-01T00:00:00Z
constexpr std::int64_t last_ms = 253'402'300'799'999;   // 9999-12-31T23:59:59.999Z

/// Null when the database does not know the name or cannot be read.
const date::time_zone* find_zone(std::string_view zone) {
  if (zone.empty()) return nullptr;
  try {
    return date::locate_zone(zone);
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception&) {
    return nullptr;
  }
}

// A name whose file is there is no wrong name, even where nothing can be read now: a disk that
// fails, no file descriptor left.
bool has_file(std::string_view zone) {
  // Other files lie there too: no name of a zone has a point or begins with a small letter.
  const bool may_be_one = !zone.empty() && zone.front() >= 'A' && zone.front() <= 'Z' &&
                          zone.find_first_of(std::string_view(".\0", 2)) == std::string_view::npos;
  if (!may_be_one) return false;
  struct stat st {};
  return ::stat(("/usr/share/zoneinfo/" + std::string(zone)).c_str(), &st) == 0 &&
         S_ISREG(st.st_mode);
}

Refusal no_zone(std::string_view zone) {
  if (has_file(zone))
    return quantity::refusal(Code::unreadable,
                             "time zone " + visible(zone) + ": the system's database has it and cannot "
                                                            "be read",
                             "the day is told by it", "look at /usr/share/zoneinfo; then the same again");
  return quantity::refusal(Code::not_found, "time zone \"" + visible(zone.substr(0, 60)) + "\" is not in the system's database",
                           "zones are named as area/place, as in the IANA time-zone database", "Europe/Lisbon",
                           {{"zone", visible(zone.substr(0, 60))}});
}

/// The ends of time in the database are wider than what counts in milliseconds here.
Instant instant_of(date::sys_seconds at) {
  constexpr std::int64_t most = std::numeric_limits<std::int64_t>::max() / 1'000;
  return {std::clamp(static_cast<std::int64_t>(at.time_since_epoch().count()), -most, most) * 1'000};
}

}  // namespace

bool zone_exists(std::string_view zone) { return find_zone(zone) != nullptr; }

Result<LocalDay> local_day(Instant instant, std::string_view zone) {
  const date::time_zone* found = find_zone(zone);
  if (found == nullptr) return no_zone(zone);
  if (instant.ms < first_ms || instant.ms > last_ms) {
    return quantity::refusal(Code::not_allowed, "instant " + std::to_string(instant.ms) + " ms is outside the years 1 to 9999",
                             "a day has a year of four digits", "", {{"ms", std::to_string(instant.ms)}});
  }
  const auto seconds = static_cast<std::int64_t>(quantity::floor_of(instant.ms, 1'000));
  date::sys_info info;
  try {
    info = found->get_info(date::sys_seconds{std::chrono::seconds{seconds}});
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception&) {
    return no_zone(zone);  // listed, but its file cannot be read
  }
  const std::int64_t local = seconds + info.offset.count();
  const auto day = static_cast<std::int64_t>(quantity::floor_of(local, 86'400));
  const std::int64_t minute = (local - day * 86'400) / 60;
  return LocalDay{Day{static_cast<std::int32_t>(day)}, Minute{static_cast<std::int16_t>(minute)},
                  static_cast<std::int32_t>(info.offset.count()), instant_of(info.begin), instant_of(info.end)};
}

Result<WallTime> wall_time(Day day, Minute minute, std::string_view zone) {
  const date::time_zone* found = find_zone(zone);
  if (found == nullptr) return no_zone(zone);
  const std::int64_t seconds = std::int64_t{day.n} * 86'400 + minute.n * 60;
  date::local_info info;
  try {
    info = found->get_info(date::local_seconds{std::chrono::seconds{seconds}});
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception&) {
    return no_zone(zone);
  }
  WallTime out;
  out.readings = info.result == date::local_info::unique ? 1 : info.result == date::local_info::ambiguous ? 2 : 0;
  out.offset_seconds = static_cast<std::int32_t>(info.first.offset.count());
  out.second_offset_seconds = static_cast<std::int32_t>((out.readings == 1 ? info.first : info.second).offset.count());
  return out;
}

}  // namespace baybook
