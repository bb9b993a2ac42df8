#include "quantity/decimal.hpp"

#include <algorithm>
#include <array>
#include <cassert>
#include <vector>

namespace baybook::quantity {

namespace {

constexpr std::string_view minus_sign = "\xE2\x88\x92";  // U+2212, what some keyboards and spreadsheets make of "-"
constexpr std::array<std::string_view, 3> blanks{" ", "\xC2\xA0", "\xE2\x80\xAF"};

bool is_digit(char c) noexcept { return c >= '0' && c <= '9'; }

bool digit_at(std::string_view text, std::size_t at) noexcept { return at < text.size() && is_digit(text[at]); }

/// A numeral cut into runs of digits and what stands between them.
struct Runs {
  std::string digits{};             // of the whole numeral, without separators
  std::string kinds{};              // of the separators, in order; ' ' stands for every kind of blank
  std::vector<std::size_t> cuts{};  // digits before each separator
};

/// Length of a separator at `at` that is followed by a digit; 0 when there is none.
std::size_t separator_length(std::string_view text, std::size_t at, char& kind) noexcept {
  if (at >= text.size()) return 0;
  const char c = text[at];
  if (c == '.' || c == ',' || c == '\'') {
    kind = c;
    return digit_at(text, at + 1) ? 1 : 0;
  }
  const std::size_t blank = blank_length(text.substr(at));
  if (blank == 0) return 0;
  kind = ' ';
  return digit_at(text, at + blank) ? blank : 0;
}

std::size_t take_runs(std::string_view text, std::size_t at, Runs& runs) {
  while (at < text.size()) {
    if (is_digit(text[at])) {
      runs.digits += text[at++];
      continue;
    }
    char kind = 0;
    const std::size_t length = separator_length(text, at, kind);
    if (length == 0 || (runs.digits.empty() && kind != '.' && kind != ',')) break;
    runs.kinds += kind;
    runs.cuts.push_back(runs.digits.size());
    at += length;
  }
  return at;
}

bool is_decimal_sign(char c) noexcept { return c == '.' || c == ','; }

/// One to three digits not led by a zero, then groups of exactly three with one kind of sign before each: 1,200 is 1200 to some
/// and 1.2 to others. With `last_is_decimal` the last sign begins the decimals instead.
bool looks_grouped(const Runs& runs, bool last_is_decimal) {
  const std::size_t signs = runs.cuts.size() - (last_is_decimal ? 1 : 0);
  if (signs == 0 || runs.cuts.front() < 1 || runs.cuts.front() > 3 || runs.digits.front() == '0') return false;
  for (std::size_t i = 0; i < signs; ++i) {
    const std::size_t end = i + 1 < runs.cuts.size() ? runs.cuts[i + 1] : runs.digits.size();
    if (runs.kinds[i] != runs.kinds.front() || end - runs.cuts[i] != 3) return false;
  }
  return true;
}

std::string with_point(const Runs& runs) {
  return runs.digits.substr(0, runs.cuts.back()) + '.' + runs.digits.substr(runs.cuts.back());
}

}  // namespace

std::size_t blank_length(std::string_view text) noexcept {
  for (const std::string_view blank : blanks) {
    if (text.starts_with(blank)) return blank.size();
  }
  return 0;
}

std::string_view trimmed(std::string_view text) noexcept {
  while (const std::size_t length = blank_length(text)) text.remove_prefix(length);
  for (bool again = true; again;) {
    again = false;
    for (const std::string_view blank : blanks) {
      if (text.ends_with(blank)) {
        text.remove_suffix(blank.size());
        again = true;
      }
    }
  }
  return text;
}

Number scan_number(std::string_view text, PointAndThree rule) {
  Number number;
  std::size_t at = 0;
  if (text.starts_with('-') || text.starts_with(minus_sign)) {
    number.negative = true;
    at = text.starts_with('-') ? 1 : minus_sign.size();
  }
  Runs runs;
  at = take_runs(text, at, runs);
  if (runs.digits.empty()) return number;
  number.length = at;

  const std::size_t separators = runs.kinds.size();
  const bool may_be_decimal = separators == 1 && is_decimal_sign(runs.kinds.back());
  const bool grouped = may_be_decimal && looks_grouped(runs, false) && (runs.kinds.back() == ',' || rule == PointAndThree::refused);
  if (grouped || separators > 1 || (separators == 1 && !may_be_decimal)) {
    // "1.200,5": signs that differ, so the last one is the decimal sign. "1,200,000": all of them group.
    const bool last_is_decimal = separators > 1 && runs.kinds.back() != runs.kinds.front() && is_decimal_sign(runs.kinds.back());
    // "1 1/2" is not eleven halves, and "1.5.2" is not 152: without the signs they would name another number.
    number.fault = looks_grouped(runs, last_is_decimal) ? NumberFault::thousands : NumberFault::several;
    if (number.fault == NumberFault::several) return number;
    number.ungrouped = last_is_decimal ? with_point(runs) : runs.digits;
    if (grouped && rule == PointAndThree::decimal) number.as_decimal = without_trailing_zeros(with_point(runs));
    return number;
  }

  const std::size_t whole_end = separators == 0 ? runs.digits.size() : runs.cuts.back();
  std::string_view whole = std::string_view{runs.digits}.substr(0, whole_end);
  std::string_view fraction = std::string_view{runs.digits}.substr(whole_end);
  while (whole.starts_with('0')) whole.remove_prefix(1);
  while (fraction.ends_with('0')) fraction.remove_suffix(1);
  if (whole.size() > static_cast<std::size_t>(max_whole_digits)) {
    number.fault = NumberFault::too_long;
    return number;
  }
  if (fraction.size() > static_cast<std::size_t>(max_decimals)) {
    number.fault = NumberFault::too_many_decimals;
    return number;
  }
  for (const char c : whole) number.mantissa = number.mantissa * 10 + (c - '0');
  for (const char c : fraction) number.mantissa = number.mantissa * 10 + (c - '0');
  number.decimals = static_cast<int>(fraction.size());
  number.fault = NumberFault::none;
  return number;
}

i128 power_of_ten(int exponent) {
  assert(exponent >= 0 && exponent <= 37);
  i128 power = 1;
  for (int i = 0; i < exponent; ++i) power *= 10;
  return power;
}

Ratio scaled(const Number& number, i128 num, i128 den) {
  i128 product = 0;
  [[maybe_unused]] const bool overflow = __builtin_mul_overflow(number.mantissa, num, &product);
  assert(!overflow);
  return {number.negative ? -product : product, den * power_of_ten(number.decimals)};
}

i128 floor_of(i128 num, i128 den) {
  assert(den > 0);
  const i128 quotient = num / den;
  return num % den < 0 ? quotient - 1 : quotient;
}

i128 round_half_even(i128 num, i128 den) {
  const i128 below = floor_of(num, den);
  const i128 rest = num - below * den;  // 0 <= rest < den
  const i128 to_next = den - rest;
  if (rest < to_next) return below;
  if (rest > to_next) return below + 1;
  return below % 2 == 0 ? below : below + 1;
}

i128 round_half_even(const Ratio& ratio) { return round_half_even(ratio.num, ratio.den); }

std::string whole_text(i128 value) {
  const bool negative = value < 0;
  std::string text;
  do {
    const int digit = static_cast<int>(value % 10);  // digit by digit, so that the lowest value needs no negation
    text += static_cast<char>('0' + (digit < 0 ? -digit : digit));
    value /= 10;
  } while (value != 0);
  if (negative) text += '-';
  std::reverse(text.begin(), text.end());
  return text;
}

std::string fixed_text(i128 num, i128 den, int decimals) {
  assert(decimals >= 0 && decimals <= 18);
  const i128 value = round_half_even(num * power_of_ten(decimals), den);
  std::string digits = whole_text(value < 0 ? -value : value);
  const auto places = static_cast<std::size_t>(decimals);
  if (digits.size() <= places) digits.insert(0, places + 1 - digits.size(), '0');
  if (places > 0) digits.insert(digits.size() - places, 1, '.');
  if (value < 0) digits.insert(0, 1, '-');
  return digits;
}

std::string without_trailing_zeros(std::string text) {
  if (text.find('.') == std::string::npos) return text;
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

}  // namespace baybook::quantity
