// Amounts of fluid and of solid waste: whole nanolitres, whole micrograms, whole pieces.
//
// Units and their factors: NIST Handbook 44, Appendix C (US customary, avoirdupois) and the UK Units of Measurement
// Regulations 1995 (imperial gallon 4.54609 L). Whole gallons, quarts, pints and pounds are exact in the base units (a
// fluid ounce and an ounce are not: 29,573,529.5625 nL, 28,349,523.125 ug); any other input is rounded once, half to even.
#pragma once

#include <baybook/export.hpp>
#include <baybook/result.hpp>

#include <compare>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>

BAYBOOK_API_BEGIN
namespace baybook {

enum class Dimension : std::uint8_t { volume = 0, mass = 1, count = 2 };

/// One whole number of base units of one dimension. Different dimensions do not mix at compile time.
template <Dimension D>
struct Whole {
  std::int64_t n = 0;
  friend constexpr auto operator<=>(Whole, Whole) = default;
  friend constexpr Whole operator+(Whole a, Whole b) { return {a.n + b.n}; }
  friend constexpr Whole operator-(Whole a, Whole b) { return {a.n - b.n}; }
};
using Volume = Whole<Dimension::volume>;  ///< nanolitres
using Mass = Whole<Dimension::mass>;      ///< micrograms
using Count = Whole<Dimension::count>;    ///< pieces

/// The base unit as written in bodies and JSON: "nl", "ug", "pcs".
[[nodiscard]] std::string_view base_unit(Dimension d) noexcept;

/// An amount with its bounds: low <= best <= high, all in base units of `dimension`.
/// measured: low == best == high. estimated: the bounds say how far off it may be.
struct Amount {
  Dimension dimension = Dimension::volume;
  std::int64_t low = 0;
  std::int64_t best = 0;
  std::int64_t high = 0;
  bool estimated = false;
  std::string typed{};  ///< as the person wrote it; prints back unchanged
  friend bool operator==(const Amount&, const Amount&) = default;
};

enum class VolumeUnit : std::uint8_t { litre, us_gallon, imperial_gallon };
enum class DistanceUnit : std::uint8_t { kilometre, mile };
enum class TorqueUnit : std::uint8_t { newton_metre, pound_foot };

/// How the book reads and prints: chosen at `start`.
struct Units {
  VolumeUnit volume = VolumeUnit::litre;
  DistanceUnit distance = DistanceUnit::kilometre;
  TorqueUnit torque = TorqueUnit::newton_metre;
  /// What a bare `gal`, `qt`, `pt`, `fl oz` means; none: it is refused as unclear.
  std::optional<VolumeUnit> gallon{};
  /// Percent either side that `~x` stands for. Common practice, no source: a bucket read by eye.
  int estimate_percent = 10;
};

/// Reads `5.2L`, `500 ml`, `1.4 usgal`, `3 qt`, `2kg`, `3 pcs`, `~1.5L`, `0.5..1.2L`, `0.5..1.2~0.8L`. `cc`, `ccm`, `cm3` are
/// millilitres (SI brochure: 1 cm3 = 1 mL), `ukgal` is `impgal`.
/// `.` or `,` is the decimal sign.
/// Refuses with `unclear`: no number, no unit, unknown unit (with the ones of one size that it is a slip of), bare gallon without a
///   setting, a number with a thousands separator (1,200 or 1.200,5), more than one number (1 1/2, 4L 300ml). What to type
///   instead is one reading of what was typed, all of them, or words with an example;
/// `not_text`: control characters or invalid UTF-8;
/// `not_allowed`: zero, negative, bounds out of order, more than 1,000,000 L, 1,000,000 kg or 1,000,000 pieces (a slip of
///   the finger, not a workshop), or so small that it rounds to nothing.
[[nodiscard]] Result<Amount> parse_amount(std::string_view text, const Units& units);

/// A container's size or a level: one measured amount; zero is allowed. `~` and `..` are refused.
[[nodiscard]] Result<Amount> parse_level(std::string_view text, const Units& units);

/// A person's reading of `n` base units in the book's unit: "5.2 L", "1.37 gal", "850 g", "3 pcs". At most three decimals
/// (litres, gallons, kilograms), trailing zeros dropped; a value that these three decimals round is printed with all the
/// decimals it needs when `exact` is set.
[[nodiscard]] std::string show(std::int64_t n, Dimension d, const Units& units, bool exact = false);
/// The same beside figures that it is compared with: with as many decimals as it takes to stand on the side of each on which it is, so that
/// 100.0004 kg is never "100 kg" beside a limit of 100 kg.
[[nodiscard]] std::string show_beside(std::int64_t n, Dimension d, const Units& units, std::span<const std::int64_t> limits);
/// The number alone with exactly `decimals` decimals (half to even), for columns: "5.20".
[[nodiscard]] std::string show_number(std::int64_t n, Dimension d, const Units& units, int decimals);
/// How many decimals, from `least` on, such a number needs to stand on the side of each limit on which it is.
[[nodiscard]] int decimals_beside(std::int64_t n, Dimension d, const Units& units, int least, std::span<const std::int64_t> limits);
/// Whether that number is `n` itself, not rounded: what a form says of itself ("this closes") hangs
/// on it. A gallon is no decimal number of litres, so a figure in gallons hardly ever is.
[[nodiscard]] bool shows_exactly(std::int64_t n, Dimension d, const Units& units,
                                 int decimals) noexcept;
/// The unit's name in the book's setting: "L", "usgal", "impgal", "kg", "pcs".
[[nodiscard]] std::string_view unit_name(Dimension d, const Units& units) noexcept;
/// "5.2 L", or "0.5 to 1.2 L, best 0.85 L" for an estimate.
[[nodiscard]] std::string show(const Amount& amount, const Units& units);

/// An odometer reading in whole metres, with the text as typed. `88210km`, `54,811 mi` is refused as unclear, `54811 mi`.
struct Distance {
  std::int64_t metres = 0;  ///< 1 mi = 1609.344 m (NIST SP 811); rounded half to even
  std::string typed{};
  friend bool operator==(const Distance&, const Distance&) = default;
};
/// Refuses bare numbers, unknown units, negative values, more than 10,000,000 km. Zero is allowed.
[[nodiscard]] Result<Distance> parse_distance(std::string_view text, const Units& units);
/// "88210 km" or "54811 mi": whole units of the book, half to even. (1 mi readings print back as typed whole miles.)
[[nodiscard]] std::string show_distance(std::int64_t metres, const Units& units);
/// The same, with what was typed beside it when that was in the other unit: "80 km (typed 50mi)".
[[nodiscard]] std::string show_distance(const Distance& distance, const Units& units);

/// A torque in whole millinewton-metres. 1 lbf.ft = 1.3558179483314004 N.m (NIST SP 811).
struct Torque {
  std::int64_t millinewton_metres = 0;
  std::string typed{};
  friend bool operator==(const Torque&, const Torque&) = default;
};
/// `110Nm`, `81 lbft`, `11.2 kgfm`, `90 lbin`. Refuses bare numbers, unknown units, zero, negative, more than 10,000 Nm.
[[nodiscard]] Result<Torque> parse_torque(std::string_view text, const Units& units);
[[nodiscard]] std::string show_torque(std::int64_t millinewton_metres, const Units& units);

/// A density in micrograms per nanolitre scaled by 1e6 (so 1.07 kg/L = 1,070,000), typed as `1.07kg/L` or `7.5 lb/usgal`.
struct Density {
  std::int64_t ppm_kg_per_l = 0;
  std::string typed{};
};
/// Refuses outside 0.4 to 20 kg/L.
[[nodiscard]] Result<Density> parse_density(std::string_view text, const Units& units);
/// Volume of a mass at a density, rounded once, half to even (128-bit inside). Both throw std::overflow_error beyond 2^63 of the result, and for
/// a density that is none.
[[nodiscard]] Volume volume_of(Mass mass, const Density& density);
[[nodiscard]] Mass mass_of(Volume volume, const Density& density);

/// How much of a fluid is one substance, by mass, in millionths of it: 0 <= low <= best <= high <= 1,000,000, and more than nothing.
struct MassShare {
  std::string substance{};  ///< "ethylene glycol"
  std::int64_t low_ppm = 0, best_ppm = 0, high_ppm = 0;
  std::string typed{};      ///< the figure as written: "50%", "45..55%"
  friend bool operator==(const MassShare&, const MassShare&) = default;
};
/// Reads `ethylene glycol=50%`, `methanol=20..30%` (a data sheet often gives a range). Refuses with `unclear` what has no substance,
/// no `=`, no percent sign or no number; `not_text`; `not_allowed`: nothing, more than 100 %, bounds out of order, finer than a
/// millionth.
[[nodiscard]] Result<MassShare> parse_share(std::string_view text);
/// The substances by which a share and a rule are matched: capitals and blanks at the ends do not tell them apart.
[[nodiscard]] bool same_substance(std::string_view a, std::string_view b);
/// What a share of a mass weighs: low rounded down, best half to even, high up (128-bit inside).
struct ShareOfMass { std::int64_t low = 0, best = 0, high = 0; };
[[nodiscard]] ShareOfMass share_of(std::int64_t low_ug, std::int64_t best_ug, std::int64_t high_ug, const MassShare& share);
/// A mass in the unit that a text was written in ("5000 lb"): "3.54 lb", with as many decimals, from three on, as keep it on
/// the side of `limit_ug` on which it is. "" where the unit is no unit of mass.
[[nodiscard]] std::string show_as_typed(std::int64_t ug, std::string_view typed, std::int64_t limit_ug);

/// Shares `total` (>= 0) over `weights` (each >= 0, sum > 0) in proportion, in whole units: each gets the floor of its share,
/// then the units left over go one each to the largest remainders, ties to the earlier position.
/// 128-bit inside; the sum of the shares is exactly `total`. Documented in docs/format.md, fixed for ever.
void share_out(std::int64_t total, const std::int64_t* weights, std::int64_t* shares, std::size_t n);

}  // namespace baybook
BAYBOOK_API_END
