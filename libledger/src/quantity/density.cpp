#include <baybook/quantity.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/most.hpp"
#include "quantity/units.hpp"

#include <limits>
#include <numeric>
#include <stdexcept>
#include <string>
#include <vector>

namespace baybook {

namespace {

using quantity::i128;
using quantity::Unit;

constexpr std::int64_t scale = 1'000'000;  // of Density::ppm_kg_per_l
constexpr std::string_view example = "1.07kg/L";
/// 6 whole digits are over the limit in kg/L and lb/gal and within it in g/L; more would leave 128 bits.
constexpr i128 scalable = 1'000'000;

/// kg/L * 10^6 for one `mass` per `volume`, in lowest terms.
quantity::Ratio per(const Unit& mass, const Unit& volume) {
  // At most 10^12 * 2 * 10^6 over 4.6 * 10^9 * 16.
  std::int64_t num = mass.num * volume.den;
  std::int64_t den = volume.num * mass.den;
  const std::int64_t first = std::gcd(num, den);
  num /= first;
  den /= first;
  const std::int64_t second = std::gcd(scale, den);
  return {static_cast<i128>(num) * (scale / second), den / second};
}

const std::vector<quantity::KnownUnit>& known_units() {
  static const std::vector<quantity::KnownUnit> known{
      {"kg/L", "kg/L"}, {"g/mL", "g/mL"}, {"g/L", "g/L"}, {"lb/usgal", "lb/usgal"}, {"lb/impgal", "lb/impgal"}};
  return known;
}

std::string in_kg_per_l(i128 ppm) { return quantity::without_trailing_zeros(quantity::fixed_text(ppm, scale, 3)) + " kg/L"; }

}  // namespace

Result<Density> parse_density(std::string_view text, const Units& units) {
  if (quantity::trimmed(text).empty()) return quantity::nothing_typed("density", example);
  const auto cleaned = clean_text(text, "density", 100);
  if (!cleaned) return cleaned.refusal();
  const std::string_view typed = quantity::trimmed(*cleaned);
  const quantity::Subject subject{"density", typed, "kg/L", example};
  const std::string about = "density \"" + visible(typed) + '"';

  const quantity::Number number = quantity::scan_number(typed);
  const bool too_long = number.fault == quantity::NumberFault::too_long;
  if (number.fault != quantity::NumberFault::none && !too_long) {
    return quantity::number_refused(subject, typed, number, example, "20 kg/L");
  }
  const std::string_view unit_text = quantity::trimmed(typed.substr(number.length));
  if (unit_text.empty()) return quantity::no_unit(subject, "a bare number may be kilograms per litre or pounds per gallon");
  const std::size_t slash = unit_text.find('/');
  if (slash == std::string_view::npos) return quantity::unknown_unit(subject, unit_text, known_units());
  const std::string_view mass_text = quantity::trimmed(unit_text.substr(0, slash));
  const std::string_view volume_text = quantity::trimmed(unit_text.substr(slash + 1));
  const quantity::UnitReading mass = quantity::read_unit(mass_text, units);
  const quantity::UnitReading volume = quantity::read_unit(volume_text, units);
  const bool too_large = too_long || number.mantissa >= scalable * quantity::power_of_ten(number.decimals);
  const auto ppm_in = [&](const Unit& one_volume) -> i128 {
    const quantity::Ratio factor = per(*mass.unit, one_volume);
    return quantity::round_half_even(quantity::scaled(number, factor.num, factor.den));
  };

  const bool is_mass = mass.unit != nullptr && mass.unit->dimension == Dimension::mass;
  if (is_mass && volume.us != nullptr) {
    const std::string us = too_large ? "more than 20 kg/L" : in_kg_per_l(ppm_in(*volume.us));
    const std::string imperial = too_large ? "more than 20 kg/L" : in_kg_per_l(ppm_in(*volume.imperial));
    return quantity::refusal(
        Code::unclear, about + " is " + us + " in US measure or " + imperial + " in imperial measure",
        "the book has no setting for a bare " + quantity::folded(volume_text),
        quantity::replaced(typed, volume_text, volume.us->name) + " or " + quantity::replaced(typed, volume_text, volume.imperial->name),
        {{"us", us}, {"imperial", imperial}});
  }
  if (!is_mass || volume.unit == nullptr || volume.unit->dimension != Dimension::volume) {
    return quantity::unknown_unit(subject, unit_text, known_units());
  }
  const i128 ppm = too_large ? i128{quantity::kMostDensity} + 1 : ppm_in(*volume.unit);
  if (ppm < quantity::kLeastDensity || ppm > quantity::kMostDensity) {
    const std::string shown = too_large ? "far more" : in_kg_per_l(ppm);
    return quantity::refusal(Code::not_allowed, about + " (" + shown + ") is outside 0.4 to 20 kg/L",
                             "no fluid of a workshop is lighter or heavier than that", quantity::meant_like("density", example));
  }
  return Density{static_cast<std::int64_t>(ppm), std::string{typed}};
}

namespace {

// What a book changed by hand holds may be beyond every figure; a wrong one is worse than none.
std::int64_t in_range(i128 n) {
  if (n > std::numeric_limits<std::int64_t>::max() || n < std::numeric_limits<std::int64_t>::min()) throw std::overflow_error("a weight or a volume beyond 2^63");
  return static_cast<std::int64_t>(n);
}

i128 ppm_of(const Density& density) {
  if (density.ppm_kg_per_l <= 0) throw std::overflow_error("a density of nothing or less");
  return density.ppm_kg_per_l;
}

}  // namespace

Volume volume_of(Mass mass, const Density& density) { return {in_range(quantity::round_half_even(static_cast<i128>(mass.n) * scale, ppm_of(density)))}; }

Mass mass_of(Volume volume, const Density& density) { return {in_range(quantity::round_half_even(static_cast<i128>(volume.n) * ppm_of(density), scale))}; }

}  // namespace baybook
