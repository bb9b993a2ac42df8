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

/// Metres as a fraction.
struct LengthUnit {
  std::string_view text;
  std::int64_t num;
  std::int64_t den;
};

// NIST SP 811, Appendix B: 1 mile = 1609.344 m.
constexpr std::int64_t mile_num = 201'168;
constexpr std::int64_t mile_den = 125;
constexpr std::array length_units{
    LengthUnit{"km", 1'000, 1}, LengthUnit{"kms", 1'000, 1}, LengthUnit{"kilometre", 1'000, 1}, LengthUnit{"kilometres", 1'000, 1},
    LengthUnit{"kilometer", 1'000, 1}, LengthUnit{"kilometers", 1'000, 1}, LengthUnit{"mi", mile_num, mile_den},
    LengthUnit{"mile", mile_num, mile_den}, LengthUnit{"miles", mile_num, mile_den}, LengthUnit{"m", 1, 1},
    LengthUnit{"metre", 1, 1}, LengthUnit{"metres", 1, 1}, LengthUnit{"meter", 1, 1}, LengthUnit{"meters", 1, 1},
};

constexpr std::string_view limit = "10000000 km";

const LengthUnit* find_length_unit(std::string_view typed) {
  if (typed == "M") return nullptr;  // a mile to some, a metre to others
  const std::string key = quantity::folded(typed);
  for (const LengthUnit& unit : length_units) {
    if (unit.text == key) return &unit;
  }
  return nullptr;
}

const std::vector<quantity::KnownUnit>& known_units() {
  static const std::vector<quantity::KnownUnit> known{{"km", "km"}, {"mi", "mi"}, {"miles", "mi"}, {"m", "m"}};
  return known;
}

}  // namespace

Result<Distance> parse_distance(std::string_view text, const Units& units) {
  const std::string book{units.distance == DistanceUnit::mile ? "mi" : "km"};
  const std::string example = "88210" + book;
  if (quantity::trimmed(text).empty()) return quantity::nothing_typed("distance", example);
  const auto cleaned = clean_text(text, "distance", 100);
  if (!cleaned) return cleaned.refusal();
  const std::string_view typed = quantity::trimmed(*cleaned);
  const quantity::Subject subject{"distance", typed, book, example};
  const std::string about = "distance \"" + visible(typed) + '"';

  const quantity::Number number = quantity::scan_number(typed, quantity::PointAndThree::refused);
  const bool too_long = number.fault == quantity::NumberFault::too_long;
  if (number.fault != quantity::NumberFault::none && !too_long) {
    return quantity::number_refused(subject, typed, number, example, limit);
  }
  const std::string_view unit_text = quantity::trimmed(typed.substr(number.length));
  if (unit_text.empty()) return quantity::no_unit(subject, "a bare number may be kilometres or miles");
  const LengthUnit* unit = find_length_unit(unit_text);
  if (unit == nullptr) return quantity::unknown_unit(subject, unit_text, known_units());
  if (number.negative) {
    return quantity::refusal(Code::not_allowed, about + " is negative", "an odometer counts up from zero",
                             std::string{typed.substr(typed.find_first_of("0123456789.,"))});
  }
  if (too_long) return quantity::number_refused(subject, typed, number, example, limit);
  const i128 metres = quantity::round_half_even(quantity::scaled(number, unit->num, unit->den));
  if (metres > quantity::kMostMetres) {
    return quantity::refusal(Code::not_allowed, about + " is more than " + std::string{limit},
                             "a distance this large is a slip of the finger", quantity::meant_like("distance", example));
  }
  return Distance{static_cast<std::int64_t>(metres), std::string{typed}};
}

std::string show_distance(std::int64_t metres, const Units& units) {
  if (units.distance == DistanceUnit::mile) {
    return quantity::fixed_text(static_cast<i128>(metres) * mile_den, mile_num, 0) + " mi";
  }
  return quantity::fixed_text(metres, 1'000, 0) + " km";
}

}  // namespace baybook
