#include <baybook/quantity.hpp>

#include "quantity/decimal.hpp"
#include "quantity/units.hpp"

#include <algorithm>
#include <string>

namespace baybook {

namespace {

using quantity::i128;
using quantity::Unit;

/// Decimals of a reading for people. Common practice, no source: a millilitre or a gram is finer than a workshop measures.
constexpr int shown_decimals = 3;

/// `n` base units in `unit`, trailing zeros dropped.
std::string number_in(std::int64_t n, const Unit& unit, bool exact) {
  int decimals = shown_decimals;
  // A gallon is not a decimal number of nanolitres, so "exact" is the shortest text that reads back to the same whole number.
  while (exact && decimals < quantity::max_decimals) {
    const i128 scale = quantity::power_of_ten(decimals);
    const i128 shown = quantity::round_half_even(static_cast<i128>(n) * unit.den * scale, unit.num);
    if (quantity::round_half_even(shown * unit.num, unit.den * scale) == n) break;
    ++decimals;
  }
  return quantity::without_trailing_zeros(quantity::fixed_text(static_cast<i128>(n) * unit.den, unit.num, decimals));
}

struct ShownUnit {
  const Unit& unit;
  std::string_view name;
};

/// Masses below a kilogram are read in grams. 999.9996 g is on its way to print as 1000 g, so it goes in kilograms.
ShownUnit shown_unit(std::int64_t n, Dimension d, const Units& units, bool exact) {
  if (d == Dimension::count && (n == 1 || n == -1)) return {quantity::book_unit(d, units), "pc"};
  const Unit& book = quantity::book_unit(d, units);
  if (d == Dimension::mass && n != 0) {
    const std::int64_t kilogram = book.num;
    const std::int64_t half_step = exact ? 0 : 500;  // half of a milligram, the last decimal shown in grams
    if (n > -kilogram + half_step && n < kilogram - half_step) return {quantity::gram(), "g"};
  }
  return {book, quantity::shown_name(d, units)};
}

}  // namespace

std::string show(std::int64_t n, Dimension d, const Units& units, bool exact) {
  const ShownUnit shown = shown_unit(n, d, units, exact);
  return number_in(n, shown.unit, exact) + ' ' + std::string{shown.name};
}

namespace {

// Whether the figure rounded to so many decimals lies on the same side of the limit as it does itself.
bool same_side(std::int64_t n, const Unit& unit, int decimals, std::int64_t limit) {
  const i128 scale = quantity::power_of_ten(decimals);
  const i128 shown = quantity::round_half_even(static_cast<i128>(n) * unit.den * scale, unit.num);
  const i128 rounded = shown * unit.num;
  const i128 edge = static_cast<i128>(limit) * unit.den * scale;
  if (n == limit) return quantity::round_half_even(rounded, unit.den * scale) == n;
  return n < limit ? rounded < edge : rounded > edge;
}

int decimals_in(std::int64_t n, const Unit& unit, int least, std::span<const std::int64_t> limits) {
  int decimals = least;
  const auto decided = [&] {
    return std::all_of(limits.begin(), limits.end(), [&](std::int64_t limit) { return same_side(n, unit, decimals, limit); });
  };
  while (decimals < quantity::max_decimals && !decided()) ++decimals;
  return decimals;
}

}  // namespace

int decimals_beside(std::int64_t n, Dimension d, const Units& units, int least, std::span<const std::int64_t> limits) {
  return decimals_in(n, quantity::book_unit(d, units), std::clamp(least, 0, quantity::max_decimals), limits);
}

std::string show_beside(std::int64_t n, Dimension d, const Units& units, std::span<const std::int64_t> limits) {
  const ShownUnit shown = shown_unit(n, d, units, false);
  const int decimals = decimals_in(n, shown.unit, shown_decimals, limits);
  const std::string number = quantity::fixed_text(static_cast<i128>(n) * shown.unit.den, shown.unit.num, decimals);
  return quantity::without_trailing_zeros(number) + ' ' + std::string{shown.name};
}

std::string show_number(std::int64_t n, Dimension d, const Units& units, int decimals) {
  const Unit& unit = quantity::book_unit(d, units);
  return quantity::fixed_text(static_cast<i128>(n) * unit.den, unit.num, std::clamp(decimals, 0, 18));
}

bool shows_exactly(std::int64_t n, Dimension d, const Units& units, int decimals) noexcept {
  const Unit& unit = quantity::book_unit(d, units);
  const i128 left_over = static_cast<i128>(n) * unit.den % unit.num;
  return left_over * quantity::power_of_ten(std::clamp(decimals, 0, 18)) % unit.num == 0;
}

std::string show(const Amount& amount, const Units& units) {
  if (!amount.estimated) return show(amount.best, amount.dimension, units);
  // One unit for all three, that of the upper bound: "0.9 to 1.2 kg", never "900 g to 1.2 kg".
  const ShownUnit shown = shown_unit(amount.high, amount.dimension, units, false);
  const std::string name{shown.name};
  return number_in(amount.low, shown.unit, false) + " to " + number_in(amount.high, shown.unit, false) + ' ' + name + ", best " +
         number_in(amount.best, shown.unit, false) + ' ' + name;
}

}  // namespace baybook
