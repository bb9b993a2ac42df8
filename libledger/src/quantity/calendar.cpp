// Calendar arithmetic, and reading and printing of days, months, minutes and instants. Nothing here knows a time zone.
//
// Printed by hand: iostreams and strftime follow a locale, and a book must read the same everywhere.
#include <baybook/calendar.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/units.hpp"

#include <date/date.h>

#include <algorithm>
#include <array>
#include <charconv>
#include <string>
#include <utility>
#include <vector>

namespace baybook {

namespace {

using quantity::folded;
using quantity::refusal;
using quantity::trimmed;

// Outside these a year is a slip of the finger: no motor vehicle is older, no book will live longer.
constexpr int first_year = 1900;
constexpr int last_year = 2999;

constexpr std::int64_t ms_per_day = 86'400'000;

constexpr std::array<std::string_view, 12> month_names{"january", "february", "march",     "april",   "may",      "june",
                                                       "july",    "august",   "september", "october", "november", "december"};
/// In the order of the C encoding of date::weekday: Sunday is 0.
constexpr std::array<std::string_view, 7> weekday_names{"sunday", "monday", "tuesday", "wednesday", "thursday", "friday", "saturday"};

date::year_month_day civil(Day day) { return date::year_month_day{date::sys_days{date::days{day.n}}}; }

Day day_of(const date::year_month_day& ymd) {
  return {static_cast<std::int32_t>(date::sys_days{ymd}.time_since_epoch().count())};
}

std::string padded(std::int64_t value, std::size_t width) {
  std::string digits = std::to_string(value < 0 ? -value : value);
  if (digits.size() < width) digits.insert(0, width - digits.size(), '0');
  return value < 0 ? '-' + digits : digits;
}

/// All of `text` as digits, or -1.
int digits_only(std::string_view text) {
  int value = 0;
  const char* end = text.data() + text.size();
  if (text.empty() || text.size() > 8 || text.front() < '0' || text.front() > '9') return -1;
  const auto [at, error] = std::from_chars(text.data(), end, value);
  return error == std::errc{} && at == end ? value : -1;
}

/// Three numbers that name a day, whether or not the day exists.
struct Written {
  int year;
  int month;
  int day;
};

bool month_exists(const Written& w) { return w.month >= 1 && w.month <= 12; }
bool year_fits(const Written& w) { return w.year >= first_year && w.year <= last_year; }

date::year_month_day as_civil(const Written& w) {
  return date::year{w.year} / date::month{static_cast<unsigned>(w.month)} / date::day{static_cast<unsigned>(w.day)};
}

bool exists(const Written& w) { return year_fits(w) && month_exists(w) && w.day >= 1 && w.day <= 31 && as_civil(w).ok(); }

std::string iso(const Written& w) { return padded(w.year, 4) + '-' + padded(w.month, 2) + '-' + padded(w.day, 2); }

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

/// What to type when nothing can be made of `typed`: words with the example marked as one. A day that stands alone there is typed
/// as it stands, and dates the entry wrongly.
std::string words_like(std::string_view typed, std::string_view noun, std::string_view example) {
  const std::string words = std::string{"a "}.append(noun).append(" like ").append(example);
  // Whoever types the words themselves is not told them again.
  return typed == words ? std::string{"only the "}.append(noun).append(", like ").append(example) : words;
}

std::string day_like(std::string_view typed, Day today) { return words_like(typed, "day", to_string(today)); }

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

/// Index into `weekday_names` of "mon" or "monday"; 7 when there is none.
unsigned weekday_named(std::string_view key) {
  for (unsigned i = 0; i < weekday_names.size(); ++i) {
    if (key == weekday_names[i] || key == weekday_names[i].substr(0, 3)) return i;
  }
  return static_cast<unsigned>(weekday_names.size());
}

unsigned weekday_of(Day day) { return date::weekday{date::sys_days{date::days{day.n}}}.c_encoding(); }

// What follows finds out what a person meant who wrote a day in a way that is not read. It goes into what to type instead, and
// only as far as another person would read the same.

/// A run of letters or of digits; what stands between the runs is left out.
struct Word {
  std::string text;
  int number;  // -1 for letters, and for more than eight digits
  [[nodiscard]] bool is_year() const { return number >= 0 && text.size() == 4; }
  [[nodiscard]] bool is_short() const { return number >= 0 && text.size() <= 2; }
};

/// The runs of `text`, in small letters; none when a sign stands between them that no written day has.
std::vector<Word> words_of(std::string_view text) {
  std::vector<Word> words;
  const auto kind = [](char c) { return c >= '0' && c <= '9' ? 1 : (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ? 2 : 0; };
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t begin = at;
    const int run = kind(text[at]);
    if (run == 0) {
      if (std::string_view{" .,/-"}.find(text[at]) == std::string_view::npos) return {};
      ++at;
      continue;
    }
    while (at < text.size() && kind(text[at]) == run) ++at;
    const std::string_view word = text.substr(begin, at - begin);
    words.push_back(Word{folded(word), run == 1 ? digits_only(word) : -1});
  }
  return words;
}

/// 1 to 12 for "march" or "mar"; 0 when there is none.
int month_named(std::string_view key) {
  if (key == "sept") return 9;
  for (std::size_t i = 0; i < month_names.size(); ++i) {
    if (key == month_names[i] || key == month_names[i].substr(0, 3)) return static_cast<int>(i) + 1;
  }
  return 0;
}

std::string joined(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) {
    if (!all.empty()) all += " or ";
    all += text;
  }
  return all;
}

/// Adds the day if it exists and is not among them.
void add_reading(std::vector<std::string>& readings, const Written& w) {
  if (exists(w) && std::find(readings.begin(), readings.end(), iso(w)) == readings.end()) readings.push_back(iso(w));
}

/// 4 March 2026, March 4th, 2026, Wed 4 Mar: a month by its name with one or two numbers.
std::string day_of_named_month(std::string_view typed, Day today) {
  int month = 0;
  unsigned weekday = 7;
  std::vector<Word> numbers;
  for (const Word& word : words_of(typed)) {
    const bool suffix = word.text == "st" || word.text == "nd" || word.text == "rd" || word.text == "th";
    if (word.number >= 0) {
      numbers.push_back(word);
    } else if (const int named = month_named(word.text); named != 0 && month == 0) {
      month = named;
    } else if (const unsigned name = weekday_named(word.text); name < 7 && weekday == 7) {
      weekday = name;
    } else if (word.text != "of" && word.text != "the" && !(suffix && !numbers.empty())) {
      return "";
    }
  }
  if (month == 0) return "";
  std::vector<std::string> readings;
  if (numbers.size() == 2 && (numbers[0].is_year() || numbers[1].is_year())) {
    const Word& year = numbers[0].is_year() ? numbers[0] : numbers[1];
    const Word& day = numbers[0].is_year() ? numbers[1] : numbers[0];
    if (day.is_short()) add_reading(readings, {year.number, month, day.number});
  } else if (numbers.size() == 2 && numbers[0].is_short() && numbers[1].text.size() == 2) {
    add_reading(readings, {2000 + numbers[1].number, month, numbers[0].number});
  } else if (numbers.size() == 1 && numbers[0].is_short()) {
    // Without a year it is the last such day, or the next one.
    const int year = static_cast<int>(civil(today).year());
    const Written last{year, month, numbers[0].number};
    if (exists(last) && day_of(as_civil(last)) > today) add_reading(readings, {year - 1, month, numbers[0].number});
    add_reading(readings, last);
  }
  if (weekday < 7) {
    std::erase_if(readings, [&](const std::string& reading) { return weekday_of(*read_day(reading)) != weekday; });
  }
  return joined(readings);
}

/// 20260304, 04032026, 260304: nothing between the three numbers.
std::string day_of_digits(std::string_view typed, DateOrder order) {
  if (digits_only(typed) < 0 || (typed.size() != 8 && typed.size() != 6)) return "";
  const auto part = [&](std::size_t from, std::size_t size) { return digits_only(typed.substr(from, size)); };
  const std::size_t wide = typed.size() - 4;  // digits of the year
  const int century = wide == 2 ? 2000 : 0;
  std::vector<std::string> readings;
  add_reading(readings, {century + part(0, wide), part(wide, 2), part(wide + 2, 2)});
  if (order != DateOrder::month_first) add_reading(readings, {century + part(4, wide), part(2, 2), part(0, 2)});
  if (order != DateOrder::day_first) add_reading(readings, {century + part(4, wide), part(0, 2), part(2, 2)});
  return joined(readings);
}

/// 3 days ago, 2 weeks ago, -3 days, -2w.
std::string days_back(std::string_view typed) {
  const std::vector<Word> words = words_of(typed);
  const bool ago = words.size() == 3 && words[2].text == "ago";
  const bool minus = words.size() == 2 && typed.starts_with('-');
  if ((!ago && !minus) || words[0].number < 0 || words[0].number > 36'500) return "";
  const std::string& unit = words[1].text;
  if (unit == "d" || unit == "day" || unit == "days") return '-' + std::to_string(words[0].number) + 'd';
  if (unit == "w" || unit == "week" || unit == "weeks") return words[0].number > 5'000 ? "" : '-' + std::to_string(words[0].number * 7) + 'd';
  return "";
}

/// last monday, on monday, tues: a weekday as it is not read.
std::string day_of_weekday(std::string_view typed, Day today) {
  const std::vector<Word> words = words_of(typed);
  const bool last = words.size() == 2 && (words[0].text == "last" || words[0].text == "past");
  const bool on = words.size() == 2 && words[0].text == "on";
  if (words.empty() || (words.size() != 1 && !last && !on)) return "";
  const std::string& name = words.back().text;
  if (name.size() < 3) return "";
  for (unsigned i = 0; i < weekday_names.size(); ++i) {
    if (!weekday_names[i].starts_with(name) && !(name == "weds" && i == 3)) continue;
    // On a Monday, mon is today and the last Monday was a week ago.
    return last && weekday_of(today) == i ? "-7d" : std::string{weekday_names[i].substr(0, 3)};
  }
  return "";
}

/// 2026-03-04T10:00, 2026-03-04 10:00:30Z: the time of day goes into an option of its own.
std::string day_with_time(std::string_view typed) {
  if (typed.size() < 14 || !read_day(typed.substr(0, 10)) || (typed[10] != 'T' && typed[10] != 't' && typed[10] != ' ')) return "";
  std::string clock{trimmed(typed.substr(11))};
  if (clock.size() >= 8 && clock[2] == ':' && clock[5] == ':') {
    std::size_t end = clock.find_first_not_of("0123456789.", 6);
    if (end == std::string::npos) end = clock.size();
    clock.erase(5, end - 5);
  }
  const auto time = parse_time(clock);
  if (!time.ok()) return "";
  const bool has_offset = time->offset_minutes.has_value();
  return std::string{typed.substr(0, 10)} + " with --at " + (has_offset ? to_string(TimeOfDay{time->minute, *time->offset_minutes}) : to_string(time->minute));
}

/// What a day that is not read is for a person, as it is to be typed; else words with an example.
std::string day_meant(std::string_view typed, Day today, DateOrder order) {
  constexpr std::size_t longest = 60;  // a page that was pasted is no day
  if (typed.size() > longest) return day_like(typed, today);
  const std::string key = folded(typed);
  if (key == "daybeforeyesterday" || key == "thedaybeforeyesterday") return "-2d";
  for (const std::string& meant : {day_with_time(typed), day_of_digits(typed, order), days_back(typed), day_of_weekday(typed, today),
                                   day_of_named_month(typed, today)}) {
    if (!meant.empty()) return meant;
  }
  return day_like(typed, today);
}

/// 2026-3, 2026/03, 03/2026, 202603, march 2026, 2026-03-05: one month for everybody; else words with an example.
std::string month_meant(std::string_view typed, Month now) {
  constexpr std::size_t longest = 60;
  const std::string words_for_it = words_like(typed, "month", to_string(now));
  if (typed.size() > longest) return words_for_it;
  if (const auto day = read_day(typed)) return to_string(month_of(*day));
  std::vector<Word> words = words_of(typed);
  if (words.size() == 1 && words[0].number >= 0 && words[0].text.size() == 6) {
    words = {Word{words[0].text.substr(0, 4), words[0].number / 100}, Word{words[0].text.substr(4), words[0].number % 100}};
  }
  if (words.size() != 2) return words_for_it;
  const Word& year = words[0].is_year() ? words[0] : words[1];
  const Word& month = words[0].is_year() ? words[1] : words[0];
  const Written w{year.number, month.is_short() ? month.number : month_named(month.text), 1};
  return year.is_year() && exists(w) ? to_string(month_of(day_of(as_civil(w)))) : words_for_it;
}

/// The minute with the offset that is meant by +1, +0530 or Z; else words with an example.
std::string offset_meant(std::string_view offset, Minute minute) {
  const std::string time = to_string(minute);
  if (offset == "Z" || offset == "z" || offset == "-00:00") return time + "+00:00";
  std::string digits{offset.substr(1)};
  // 1:30 is 0130; 1:3 may be 0103 or 0130.
  if (digits.size() >= 4 && digits[digits.size() - 3] == ':') digits.erase(digits.size() - 3, 1);
  if (digits.size() == 1) digits.insert(0, 1, '0');
  if (digits.size() == 2) digits += "00";
  if (digits.size() == 3) digits.insert(0, 1, '0');
  if (digits.size() == 4) {
    const std::string whole = time + offset.front() + digits.substr(0, 2) + ':' + digits.substr(2);
    if (const auto read = read_time(whole)) return to_string(*read);
  }
  return time + " and its offset, like " + time + "+01:00";
}

/// 9am, 9.30, 0930, 9h30, 9:30:15, 9:4, noon: a time of day as it is to be typed; else words with an example.
std::string time_meant(std::string_view typed) {
  const std::string words_for_it = words_like(typed, "time", "09:40");
  const std::string key = folded(typed);
  if (key == "noon" || key == "midday") return "12:00";
  std::string_view rest = key;
  const auto number = [&](std::size_t most) {
    std::size_t size = 0;
    while (size < most && size < rest.size() && rest[size] >= '0' && rest[size] <= '9') ++size;
    const std::string_view digits = rest.substr(0, size);
    rest.remove_prefix(size);
    return digits;
  };
  std::string_view hours = number(4);
  std::string_view minutes;
  bool seconds = false;
  if (hours.size() > 2) {
    minutes = hours.substr(hours.size() - 2);
    hours.remove_suffix(2);
  } else if (!rest.empty() && std::string_view{":.,h"}.find(rest.front()) != std::string_view::npos) {
    const bool by_letter = rest.front() == 'h';
    rest.remove_prefix(1);
    minutes = number(2);
    if (minutes.empty() && !by_letter) return words_for_it;
    if (minutes.empty()) minutes = "00";
    seconds = minutes.size() == 2;
  }
  // The seconds of a clock are not kept.
  if (seconds && rest.size() >= 3 && rest.front() == ':' && digits_only(rest.substr(1, 2)) >= 0) rest.remove_prefix(3);
  const bool am = rest == "am" || rest == "a.m.";
  const bool pm = rest == "pm" || rest == "p.m.";
  if (minutes.empty() && (am || pm)) minutes = "00";
  int hour = digits_only(hours);
  const int minute = digits_only(minutes);
  if (hour < 0 || minute < 0 || minute > 59 || hour > 23 || (!rest.empty() && !am && !pm) || (am && hour > 12) || (pm && hour == 0)) return words_for_it;
  const auto at = [](int h, int m) { return to_string(Minute{static_cast<std::int16_t>(h * 60 + m)}); };
  if (minutes.size() == 1) return am || pm ? words_for_it : at(hour, minute) + (minute < 6 && minute > 0 ? " or " + at(hour, minute * 10) : "");
  // 12 am and 12 pm are read both ways (common practice, no source), and half a day hangs on it.
  if ((am || pm) && hour == 12 && minute == 0) return "12:00 or 00:00";
  if (am && hour == 12) hour = 0;
  if (pm && hour < 12) hour += 12;
  return at(hour, minute);
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
  const auto years = static_cast<std::int32_t>(quantity::floor_of(month.n, 12));
  const auto number = static_cast<unsigned>(month.n - years * 12 + 1);
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
    if (sign != std::string_view::npos && parse_minute(refused.instead).ok()) {
      refused.instead = offset_meant(typed.substr(sign), *parse_minute(refused.instead));
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
