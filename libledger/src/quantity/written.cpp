#include "quantity/written.hpp"

#include <algorithm>
#include <charconv>

namespace baybook::quantity {

date::year_month_day civil(Day day) {
  // date::year holds 16 bits: beyond its ends every day is the last one it has.
  static const date::sys_days first{date::year::min() / date::January / 1};
  static const date::sys_days last{date::year::max() / date::December / 31};
  const std::int32_t n = std::clamp<std::int32_t>(day.n, first.time_since_epoch().count(),
                                                  last.time_since_epoch().count());
  return date::year_month_day{date::sys_days{date::days{n}}};
}

Day day_of(const date::year_month_day& ymd) {
  return {static_cast<std::int32_t>(date::sys_days{ymd}.time_since_epoch().count())};
}

std::string padded(std::int64_t value, std::size_t width) {
  std::string digits = std::to_string(value < 0 ? -value : value);
  if (digits.size() < width) digits.insert(0, width - digits.size(), '0');
  return value < 0 ? '-' + digits : digits;
}

int digits_only(std::string_view text) {
  int value = 0;
  const char* end = text.data() + text.size();
  if (text.empty() || text.size() > 8 || text.front() < '0' || text.front() > '9') return -1;
  const auto [at, error] = std::from_chars(text.data(), end, value);
  return error == std::errc{} && at == end ? value : -1;
}

bool month_exists(const Written& w) { return w.month >= 1 && w.month <= 12; }
bool year_fits(const Written& w) { return w.year >= first_year && w.year <= last_year; }

date::year_month_day as_civil(const Written& w) {
  return date::year{w.year} / date::month{static_cast<unsigned>(w.month)} / date::day{static_cast<unsigned>(w.day)};
}

bool exists(const Written& w) { return year_fits(w) && month_exists(w) && w.day >= 1 && w.day <= 31 && as_civil(w).ok(); }

std::string iso(const Written& w) { return padded(w.year, 4) + '-' + padded(w.month, 2) + '-' + padded(w.day, 2); }

unsigned weekday_named(std::string_view key) {
  for (unsigned i = 0; i < weekday_names.size(); ++i) {
    if (key == weekday_names[i] || key == weekday_names[i].substr(0, 3)) return i;
  }
  return static_cast<unsigned>(weekday_names.size());
}

unsigned weekday_of(Day day) { return date::weekday{date::sys_days{date::days{day.n}}}.c_encoding(); }

std::string words_like(std::string_view typed, std::string_view noun, std::string_view example) {
  const std::string words = std::string{"a "}.append(noun).append(" like ").append(example);
  // Whoever types the words themselves is not told them again.
  return typed == words ? std::string{"only the "}.append(noun).append(", like ").append(example) : words;
}

std::string day_like(std::string_view typed, Day today) { return words_like(typed, "day", to_string(today)); }

}  // namespace baybook::quantity
