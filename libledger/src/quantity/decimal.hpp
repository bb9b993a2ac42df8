// Exact decimals: what a person types as a number, held as a 128-bit fraction until it is rounded, once.
//
// No floating point here on purpose: 0.1 has no exact double, and what is printed must add up.
#pragma once

#include <cstddef>
#include <cstdint>
#include <string>
#include <string_view>

namespace baybook::quantity {

__extension__ typedef __int128 i128;

/// Digits after the decimal sign that are read. 10 are enough to tell any two nanolitres apart in gallons.
inline constexpr int max_decimals = 12;
/// Digits before it. 1,000,000 kg in milligrams has 13. 25 digits times the largest factor (10^12 ug per t) fit 128 bits.
inline constexpr int max_whole_digits = 13;

enum class NumberFault : std::uint8_t {
  none,
  no_number,          ///< does not begin with a numeral
  thousands,          ///< 1,200  1.200,5  1 200  1'200: two signs, or one that may be either
  too_long,           ///< more whole digits than `max_whole_digits`: over every limit of the book
  too_many_decimals,  ///< more than `max_decimals` after trailing zeros are dropped
  several,            ///< 1 1/2  1.5.2  1,20,5: separators that group no thousands, so more than one number or a slip
};

/// The numeral at the start of a text. Value: mantissa / 10^decimals, with its sign.
struct Number {
  NumberFault fault = NumberFault::no_number;
  i128 mantissa = 0;
  int decimals = 0;
  bool negative = false;
  std::size_t length = 0;     ///< bytes of the text that belong to the numeral, sign included
  std::string ungrouped{};    ///< for `thousands`: the numeral with its grouping taken out ("1200.5")
  std::string as_decimal{};   ///< for `thousands` that may be a decimal instead ("1.2"); else empty
};

/// Whether `1.200` (a point and three digits) is one and two tenths, or refused as grouping like `1,200`.
/// Odometers are read in whole units, so three digits after a point there are far more often thousands.
enum class PointAndThree : std::uint8_t { decimal, refused };

[[nodiscard]] Number scan_number(std::string_view text, PointAndThree rule = PointAndThree::decimal);

/// An exact fraction; den > 0.
struct Ratio {
  i128 num = 0;
  i128 den = 1;
};

[[nodiscard]] i128 power_of_ten(int exponent);
/// The number times `num`/`den`, exact. The caller keeps mantissa * num within 128 bits (see `max_whole_digits`).
[[nodiscard]] Ratio scaled(const Number& number, i128 num, i128 den);
/// num/den to the nearest whole; a half goes to the even neighbour. den > 0.
[[nodiscard]] i128 round_half_even(i128 num, i128 den);
[[nodiscard]] i128 round_half_even(const Ratio& ratio);
[[nodiscard]] i128 floor_of(i128 num, i128 den);
/// num/den with exactly `decimals` decimals, half to even; never "-0". 0 <= decimals <= 18, |num| below 2^64.
[[nodiscard]] std::string fixed_text(i128 num, i128 den, int decimals);
/// "5.200" as "5.2", "3.000" as "3".
[[nodiscard]] std::string without_trailing_zeros(std::string text);
[[nodiscard]] std::string whole_text(i128 value);

/// Bytes of a blank at the start of `text`: space, no-break space (U+00A0), narrow no-break space (U+202F); else 0.
[[nodiscard]] std::size_t blank_length(std::string_view text) noexcept;
[[nodiscard]] std::string_view trimmed(std::string_view text) noexcept;

}  // namespace baybook::quantity
