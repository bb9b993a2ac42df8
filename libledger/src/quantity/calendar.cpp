// Calendar arithmetic, and reading and printing of days, months, minutes and instants. Nothing here knows a time zone.
//
// Printed by hand: iostreams and strftime follow a locale, and a book must read the same everywhere.
#include <baybook/calendar.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/meant.hpp"
#include "quantity/units.hpp"
#include "quantity/written.hpp"

#include <date/date.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <utility>
#include <vector>

namespace baybook {

namespace {

using namespace quantity;

constexpr std::int64_t ms_per_day = 86'400'000;

int last_day_number(const Written& w) {
  const auto last = date::year{w.year} / date::month{static_cast<unsigned>(w.month)} / date::last;
  return static_cast<int>(static_cast<unsigned>(last.day()));
}

std::string quoted(std::string_view text) {
  constexpr std::size_t longest = 60;  // enough to recognise what was typed; the rest of a pasted page helps nobody
  return '"' + visible(text.substr(0, longest)) + (text.size() > longest ? "..." : "") + '"';
}

/// YYYY-MM-DD of digits only, at the start of `text`.
std::optional<Written> scan_iso(std::string_view text) {
  if (text.size() != 10 || text[4] != '-' || text[7] != '-') return std::nullopt;
  const Written w{digits_only(text.substr(0, 4)), digits_only(text.substr(5, 2)), digits_only(text.substr(8, 2))};
  if (w.year < 0 || w.month < 0 || w.day < 0) return std::nullopt;
  return w;
}

/// Why a day that was written does not exist, and the nearest one that does when it is past the end of its month.
Refusal no_such_day(const Written& w, std::string_view typed, Day today) {
  if (!year_fits(w)) {
    return refusal(Code::unclear, "day " + quoted(typed) + " is in the year " + std::to_string(w.year),
                   "years run from 1900 to 2999", day_like(typed, today), {{"year", std::to_string(w.year)}});
  }
  if (!month_exists(w)) {
    return refusal(Code::unclear, "day " + quoted(typed) + " is in month " + std::to_string(w.month), "months run from 1 to 12",
                   day_like(typed, today), {{"month", std::to_string(w.month)}});
  }
  const int last = last_day_number(w);
  const std::string nearest = w.day > last && w.day <= 31 ? iso(Written{w.year, w.month, last}) : day_like(typed, today);
  return refusal(Code::unclear,
                 "day " + quoted(typed) + " does not exist: " + std::string{month_names[static_cast<std::size_t>(w.month) - 1]} + ' ' +
                     std::to_string(w.year) + " has " + std::to_string(last) + " days",
                 "a day is one of the calendar", nearest, {{"days", std::to_string(last)}});
}

/// Three numbers with one kind of separator between them: 03/04/2026, 3.4.2026, 2026/03/04, 2026-3-4.
struct Triple {
  std::array<int, 3> n;
  std::array<std::size_t, 3> width;
  char sign;
};

std::optional<Triple> scan_triple(std::string_view text) {
  const std::size_t first = text.find_first_of("/.-");
  if (first == std::string_view::npos) return std::nullopt;
  const std::size_t second = text.find(text[first], first + 1);
  if (second == std::string_view::npos) return std::nullopt;
  const std::array<std::string_view, 3> parts{text.substr(0, first), text.substr(first + 1, second - first - 1),
                                              text.substr(second + 1)};
  Triple triple{};
  triple.sign = text[first];
  for (std::size_t i = 0; i < 3; ++i) {
    triple.n[i] = digits_only(parts[i]);
    triple.width[i] = parts[i].size();
    if (triple.n[i] < 0 || triple.width[i] > 4) return std::nullopt;
  }
  return triple;
}

/// A year of two digits leaves open the century, and which of the three numbers is the year.
Refusal without_century(const Triple& triple, std::string_view typed, Day today) {
  struct Reading {
    std::string day;
    std::string name;
    std::string how;
  };
  std::vector<Reading> readings;
  const auto add = [&](const Written& w, const char* name, const char* how) {
    const bool there = std::any_of(readings.begin(), readings.end(), [&](const Reading& r) { return r.day == iso(w); });
    if (exists(w) && !there) readings.push_back(Reading{iso(w), name, how});
  };
  const auto& n = triple.n;
  // Between hyphens the year may well come first, as it does in 2026-03-04.
  if (triple.sign == '-' && triple.width[0] == 2) add(Written{2000 + n[0], n[1], n[2]}, "year_first", " with the year first");
  if (triple.width[2] == 2) {
    add(Written{2000 + n[2], n[1], n[0]}, "day_first", " with the day first");
    add(Written{2000 + n[2], n[0], n[1]}, "month_first", " with the month first");
  }
  if (readings.empty()) {
    return refusal(Code::unclear, "day " + quoted(typed) + " has no reading as a day", "a day is written year-month-day", day_like(typed, today));
  }
  if (readings.size() == 1) {
    return refusal(Code::unclear, "day " + quoted(typed) + " has no century", "a year is written with four digits", readings.front().day);
  }
  std::string all;
  std::string instead;
  std::vector<Figure> figures;
  for (const Reading& r : readings) {
    all += (all.empty() ? "" : " or ") + r.day + r.how;
    instead += (instead.empty() ? "" : " or ") + r.day;
    figures.push_back(Figure{r.name, r.day});
  }
  return refusal(Code::unclear, "day " + quoted(typed) + " is " + all, "a day is written year-month-day", instead, std::move(figures));
}

Result<Day> day_of_triple(const Triple& triple, std::string_view typed, Day today, DateOrder order) {
  const auto& n = triple.n;
  if (triple.width[0] == 4) {
    const Written w{n[0], n[1], n[2]};
    if (!exists(w)) return no_such_day(w, typed, today);
    return refusal(Code::unclear, "day " + quoted(typed) + " is not written as year-month-day",
                   "a day that begins with its year has two digits for month and day, and - between", iso(w));
  }
  if (triple.width[2] != 4) return without_century(triple, typed, today);
  const int year = n[2];
  const Written day_first{year, n[1], n[0]};
  const Written month_first{year, n[0], n[1]};
  const Written& wanted = order == DateOrder::month_first ? month_first : day_first;
  const Written& other = order == DateOrder::month_first ? day_first : month_first;
  if (order != DateOrder::none) {
    if (exists(wanted)) return day_of(as_civil(wanted));
    Refusal refused = no_such_day(wanted, typed, today);
    if (exists(other)) refused.instead = iso(other);
    return refused;
  }
  const bool both = exists(day_first) && exists(month_first) && iso(day_first) != iso(month_first);
  if (!both) {
    // 25/04/2026 has one reading only, and 04/04/2026 the same one twice.
    if (exists(day_first)) return day_of(as_civil(day_first));
    if (exists(month_first)) return day_of(as_civil(month_first));
    return no_such_day(day_first, typed, today);
  }
  return refusal(Code::unclear,
                 "day " + quoted(typed) + " is " + iso(day_first) + " with the day first or " + iso(month_first) + " with the month first",
                 "a day is written year-month-day", iso(day_first) + " or " + iso(month_first),
                 {{"day_first", iso(day_first)}, {"month_first", iso(month_first)}});
}

}  // namespace

std::string to_string(Day day) {
  const auto ymd = civil(day);
  return padded(static_cast<int>(ymd.year()), 4) + '-' + padded(static_cast<unsigned>(ymd.month()), 2) + '-' +
         padded(static_cast<unsigned>(ymd.day()), 2);
}

std::string to_string(Month month) {
  const auto years = static_cast<std::int64_t>(quantity::floor_of(month.n, 12));
  return padded(1970 + years, 4) + '-' + padded(month.n - years * 12 + 1, 2);
}

std::string to_string(Minute minute) { return padded(minute.n / 60, 2) + ':' + padded(minute.n % 60, 2); }

std::string to_string(TimeOfDay time) {
  const int size = time.offset_minutes < 0 ? -time.offset_minutes : time.offset_minutes;
  return to_string(time.minute) + (time.offset_minutes < 0 ? '-' : '+') + padded(size / 60, 2) + ':' + padded(size % 60, 2);
}

std::string to_string(Instant instant) {
  const auto day = static_cast<std::int64_t>(quantity::floor_of(instant.ms, ms_per_day));
  const std::int64_t ms = instant.ms - day * ms_per_day;
  return to_string(Day{static_cast<std::int32_t>(day)}) + 'T' + padded(ms / 3'600'000, 2) + ':' + padded(ms / 60'000 % 60, 2) + ':' +
         padded(ms / 1'000 % 60, 2) + '.' + padded(ms % 1'000, 3) + 'Z';
}

std::optional<Day> read_day(std::string_view iso_text) {
  const auto w = scan_iso(iso_text);
  if (!w || !exists(*w)) return std::nullopt;
  return day_of(as_civil(*w));
}

std::optional<TimeOfDay> read_time(std::string_view text) {
  if (text.size() != 11 || text[2] != ':' || (text[5] != '+' && text[5] != '-') || text[8] != ':') return std::nullopt;
  const int hour = digits_only(text.substr(0, 2));
  const int minute = digits_only(text.substr(3, 2));
  const int offset_hours = digits_only(text.substr(6, 2));
  const int offset_minutes = digits_only(text.substr(9, 2));
  if (hour < 0 || hour > 23 || minute < 0 || minute > 59 || offset_hours < 0 || offset_hours > 15 || offset_minutes < 0 || offset_minutes > 59) {
    return std::nullopt;
  }
  const int offset = offset_hours * 60 + offset_minutes;
  // RFC 3339 gives -00:00 a meaning of its own (the offset is not known); here it would be a second spelling of +00:00.
  if (text[5] == '-' && offset == 0) return std::nullopt;
  return TimeOfDay{Minute{static_cast<std::int16_t>(hour * 60 + minute)}, static_cast<std::int16_t>(text[5] == '-' ? -offset : offset)};
}

std::optional<Instant> read_instant(std::string_view text) {
  if (text.size() != 24 || text[10] != 'T' || text[13] != ':' || text[16] != ':' || text[19] != '.' || text[23] != 'Z') {
    return std::nullopt;
  }
  const auto day = read_day(text.substr(0, 10));
  const int hour = digits_only(text.substr(11, 2));
  const int minute = digits_only(text.substr(14, 2));
  const int second = digits_only(text.substr(17, 2));
  const int ms = digits_only(text.substr(20, 3));
  // No leap second 23:59:60: instants are counted as POSIX does, and to_string never writes one.
  if (!day || hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 59 || ms < 0) return std::nullopt;
  return Instant{day->n * ms_per_day + ((hour * 60 + minute) * 60 + second) * std::int64_t{1'000} + ms};
}

Month month_of(Day day) {
  const auto ymd = civil(day);
  return {(static_cast<int>(ymd.year()) - 1970) * 12 + static_cast<std::int32_t>(static_cast<unsigned>(ymd.month())) - 1};
}

Day first_of(Month month) {
  constexpr std::int32_t lowest = (static_cast<int>(date::year::min()) - 1970) * 12;
  constexpr std::int32_t highest = (static_cast<int>(date::year::max()) - 1970) * 12 + 11;
  const std::int32_t held = std::clamp(month.n, lowest, highest);
  const auto years = static_cast<std::int32_t>(quantity::floor_of(held, 12));
  const auto number = static_cast<unsigned>(held - years * 12 + 1);
  return day_of(date::year{1970 + years} / date::month{number} / 1);
}

Day last_of(Month month) {
  const auto first = civil(first_of(month));
  return day_of(first.year() / first.month() / date::last);
}

Day add_months(Day day, int months) {
  // date::year holds 16 bits. Past its ends nothing is due any more, so the result stays at the last month there.
  constexpr std::int64_t lowest = (static_cast<int>(date::year::min()) - 1970) * std::int64_t{12};
  constexpr std::int64_t highest = (static_cast<int>(date::year::max()) - 1970) * std::int64_t{12} + 11;
  const std::int64_t wanted = std::clamp(std::int64_t{month_of(day).n} + months, lowest, highest);
  const Month month{static_cast<std::int32_t>(wanted)};
  const auto number = static_cast<std::int32_t>(static_cast<unsigned>(civil(day).day()));
  return {std::min(first_of(month).n + number - 1, last_of(month).n)};
}

Result<Day> parse_day(std::string_view text, Day today, DateOrder order) {
  const std::string_view typed = trimmed(text);
  const std::string key = folded(typed);
  if (key.empty()) return refusal(Code::unclear, "no day is given", "a day is written year-month-day", day_like(typed, today));
  if (key == "today") return today;
  if (key == "yesterday") return Day{today.n - 1};
  if (const auto w = scan_iso(typed)) {
    if (!exists(*w)) return no_such_day(*w, typed, today);
    return day_of(as_civil(*w));
  }
  if (const unsigned wanted = weekday_named(key); wanted < weekday_names.size()) {
    return Day{today.n - static_cast<std::int32_t>((weekday_of(today) + 7 - wanted) % 7)};
  }
  if (key.size() >= 3 && key.front() == '-' && key.back() == 'd') {
    const int days = digits_only(std::string_view{key}.substr(1, key.size() - 2));
    constexpr int most = 36'500;  // a hundred years back: more is a slip of the finger
    if (days > most) {
      return refusal(Code::unclear, "day " + quoted(typed) + " is more than " + std::to_string(most) + " days back",
                     "a day that far back is written out", day_like(typed, today));
    }
    if (days >= 0) return Day{today.n - days};
  }
  if (const auto triple = scan_triple(typed)) return day_of_triple(*triple, typed, today, order);
  return refusal(Code::unclear, "day " + quoted(typed) + " has no reading as a day",
                 "a day is written year-month-day, or as today, yesterday, -3d or mon", day_meant(typed, today, order));
}

Result<Month> parse_month(std::string_view text, Day today) {
  const std::string_view typed = trimmed(text);
  const std::string key = folded(typed);
  const Month now = month_of(today);
  if (key == "this-month") return now;
  if (key == "last-month") return Month{now.n - 1};
  if (typed.size() == 7 && typed[4] == '-') {
    const int year = digits_only(typed.substr(0, 4));
    const int month = digits_only(typed.substr(5, 2));
    const Written w{year, month, 1};
    if (exists(w)) return month_of(day_of(as_civil(w)));
    if (year >= 0 && month >= 0) {
      return refusal(Code::unclear, "month " + quoted(typed) + " does not exist", "years run from 1900 to 2999, months from 01 to 12",
                     words_like(typed, "month", to_string(now)));
    }
  }
  if (key.empty()) return refusal(Code::unclear, "no month is given", "a month is written year-month", words_like(typed, "month", to_string(now)));
  return refusal(Code::unclear, "month " + quoted(typed) + " has no reading as a month",
                 "a month is written year-month, or as this-month or last-month", month_meant(typed, now));
}

Result<Minute> parse_minute(std::string_view text) {
  const std::string_view typed = trimmed(text);
  const std::size_t colon = typed.find(':');
  if (colon != std::string_view::npos && colon >= 1 && colon <= 2 && typed.size() == colon + 3) {
    const int hour = digits_only(typed.substr(0, colon));
    const int minute = digits_only(typed.substr(colon + 1));
    if (hour >= 0 && hour <= 23 && minute >= 0 && minute <= 59) return Minute{static_cast<std::int16_t>(hour * 60 + minute)};
    if (hour >= 0 && minute >= 0) {
      // The end of a day is the beginning of the next one; no other time off the clock has a place on it.
      const bool past_midnight = hour == 24 && minute <= 59;
      return refusal(Code::unclear, "time " + quoted(typed) + " is not on the clock", "times run from 00:00 to 23:59",
                     past_midnight ? to_string(Minute{static_cast<std::int16_t>(minute)}) + " of the next day" : words_like(typed, "time", "09:40"));
    }
  }
  return refusal(Code::unclear, typed.empty() ? std::string{"no time is given"} : "time " + quoted(typed) + " has no reading as a time",
                 "a time is hours and minutes of a 24-hour clock", time_meant(typed));
}

Result<TypedTime> parse_time(std::string_view text) {
  const std::string_view typed = trimmed(text);
  const std::size_t sign = typed.find_first_of("+-Zz");
  auto minute = parse_minute(typed.substr(0, std::min(sign, typed.size())));
  if (!minute.ok()) {
    Refusal refused = std::move(minute).refusal();
    // The time alone would be another one than the time with its offset.
    if (sign != std::string_view::npos) {
      const auto meant = parse_minute(refused.instead);
      refused.instead = meant.ok() ? offset_meant(typed.substr(sign), *meant) : words_like(typed, "time and its offset", "09:40+01:00");
    }
    return refused;
  }
  if (sign == std::string_view::npos) return TypedTime{*minute, std::nullopt};
  const std::string_view offset = typed.substr(sign);
  if (offset == "Z" || offset == "z") return TypedTime{*minute, std::int16_t{0}};
  const auto read = read_time(to_string(*minute) + std::string(offset == "-00:00" ? "+00:00" : offset));
  if (!read) {
    return refusal(Code::unclear, "the offset in " + quoted(typed) + " has no reading", "how far the clock stood from UTC is a sign, hours and minutes",
                   offset_meant(offset, *minute));
  }
  return TypedTime{*minute, read->offset_minutes};
}

}  // namespace baybook
