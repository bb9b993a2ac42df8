#include <baybook/quantity.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/most.hpp"
#include "quantity/units.hpp"

#include <array>
#include <string>
#include <vector>

namespace baybook {

namespace {

using quantity::i128;

/// Millinewton-metres as a fraction.
struct TorqueFactor {
  std::int64_t num;
  std::int64_t den;
};

constexpr TorqueFactor newton_metre{1'000, 1};
// NIST SP 811, Appendix B: 1 lbf.ft = 0.3048 m * 0.45359237 kg * 9.80665 m/s2 = 1.3558179483314004 N.m, exact.
// The fraction is in lowest terms, so that 21 digits of a number still fit 128 bits.
constexpr TorqueFactor pound_foot{3'389'544'870'828'501, 2'500'000'000'000};
constexpr TorqueFactor pound_inch{1'129'848'290'276'167, 10'000'000'000'000};  // a twelfth of it, exact
constexpr TorqueFactor kilogram_metre{980'665, 100};                           // NIST SP 811: 1 kgf.m = 9.80665 N.m

struct Spelling {
  std::string_view text;  // lower case, without the sign between the two units
  const TorqueFactor* factor;
};

constexpr std::array spellings{
    Spelling{"nm", &newton_metre}, Spelling{"lbft", &pound_foot}, Spelling{"lbfft", &pound_foot}, Spelling{"ftlb", &pound_foot},
    Spelling{"ftlbf", &pound_foot}, Spelling{"ftlbs", &pound_foot}, Spelling{"lbin", &pound_inch}, Spelling{"lbfin", &pound_inch},
    Spelling{"inlb", &pound_inch}, Spelling{"inlbf", &pound_inch}, Spelling{"inlbs", &pound_inch}, Spelling{"kgfm", &kilogram_metre},
    Spelling{"kgm", &kilogram_metre}, Spelling{"mkgf", &kilogram_metre},
};

constexpr std::string_view limit = "10000 Nm";
/// Whole digits that are worth scaling: 9 of them are over the limit in every unit, and more would leave 128 bits.
constexpr i128 scalable = 1'000'000'000;

const TorqueFactor* find_factor(std::string_view typed) {
  std::string key = quantity::folded(typed);
  // Middle dot, dot operator, hyphen or point between the two units, once: N.m, lbf-ft.
  for (const std::string_view sign : {"\xC2\xB7", "\xE2\x8B\x85", "-", ".", "*"}) {
    const std::size_t at = key.find(sign);
    if (at == std::string::npos || at == 0 || at + sign.size() == key.size()) continue;
    key.erase(at, sign.size());
    break;
  }
  for (const Spelling& spelling : spellings) {
    if (spelling.text == key) return spelling.factor;
  }
  return nullptr;
}

const std::vector<quantity::KnownUnit>& known_units() {
  static const std::vector<quantity::KnownUnit> known{{"Nm", "Nm"}, {"lbft", "lbft"}, {"lbin", "lbin"}, {"kgfm", "kgfm"}};
  return known;
}

}  // namespace

Result<Torque> parse_torque(std::string_view text, const Units& units) {
  const std::string book{units.torque == TorqueUnit::pound_foot ? "lbft" : "Nm"};
  const std::string example = "110" + book;
  if (quantity::trimmed(text).empty()) return quantity::nothing_typed("torque", example);
  const auto cleaned = clean_text(text, "torque", 100);
  if (!cleaned) return cleaned.refusal();
  const std::string_view typed = quantity::trimmed(*cleaned);
  const quantity::Subject subject{"torque", typed, book, example};
  const std::string about = "torque \"" + visible(typed) + '"';

  const quantity::Number number = quantity::scan_number(typed);
  const bool too_long = number.fault == quantity::NumberFault::too_long;
  if (number.fault != quantity::NumberFault::none && !too_long) {
    return quantity::number_refused(subject, typed, number, example, limit);
  }
  const std::string_view unit_text = quantity::trimmed(typed.substr(number.length));
  if (unit_text.empty()) return quantity::no_unit(subject, "a bare number may be newton-metres or pound-feet");
  const TorqueFactor* factor = find_factor(unit_text);
  if (factor == nullptr) return quantity::unknown_unit(subject, unit_text, known_units());
  if (number.negative) {
    return quantity::refusal(Code::not_allowed, about + " is negative", "a torque is given without its direction",
                             std::string{typed.substr(typed.find_first_of("0123456789.,"))});
  }
  const bool too_large = too_long || number.mantissa >= scalable * quantity::power_of_ten(number.decimals);
  const i128 value =
      too_large ? i128{quantity::kMostMillinewtonMetres} + 1
                : quantity::round_half_even(quantity::scaled(number, factor->num, factor->den));
  if (value > quantity::kMostMillinewtonMetres) {
    return quantity::refusal(Code::not_allowed, about + " is more than " + std::string{limit},
                             "a torque this large is a slip of the finger", quantity::meant_like("torque", example));
  }
  if (value == 0) {
    return quantity::refusal(Code::not_allowed, about + (number.mantissa == 0 ? " is nothing" : " rounds to nothing"),
                             "a torque is more than nothing, in whole millinewton-metres", quantity::meant_like("torque", example));
  }
  return Torque{static_cast<std::int64_t>(value), std::string{typed}};
}

std::string show_torque(std::int64_t millinewton_metres, const Units& units) {
  // One decimal from 10 upwards, three below. Common practice, no source: wrenches are set no finer.
  const auto number = [](i128 num, i128 den) {
    const bool small = num < 10 * den && num > -10 * den;
    return quantity::without_trailing_zeros(quantity::fixed_text(num, den, small ? 3 : 1));
  };
  if (units.torque == TorqueUnit::newton_metre) return number(millinewton_metres, newton_metre.num) + " Nm";
  // num is below 2^64 * 2.5e12 and is scaled by at most 10^3: within 128 bits.
  return number(static_cast<i128>(millinewton_metres) * pound_foot.den, pound_foot.num) + " lbft";
}

}  // namespace baybook
