#include "property.hpp"
#include "targets.hpp"

#include <baybook/quantity.hpp>

#include <array>

namespace baybook::fuzz {

namespace {

constexpr std::int64_t limit_of(Dimension d) { return d == Dimension::count ? 1'000'000 : 1'000'000'000'000'000; }

Units units_of(std::size_t choice) {
  Units u;
  u.volume = std::array{VolumeUnit::litre, VolumeUnit::us_gallon, VolumeUnit::imperial_gallon}[choice % 3];
  choice /= 3;
  if (choice % 4 > 0) u.gallon = std::array{VolumeUnit::litre, VolumeUnit::us_gallon, VolumeUnit::imperial_gallon}[choice % 4 - 1];
  // A gallon is never a litre: the command has no such setting.
  if (u.gallon == VolumeUnit::litre) u.gallon.reset();
  choice /= 4;
  u.distance = choice % 2 == 0 ? DistanceUnit::kilometre : DistanceUnit::mile;
  u.torque = choice % 2 == 0 ? TorqueUnit::newton_metre : TorqueUnit::pound_foot;
  return u;
}

void amount(std::string_view text, const Units& units, bool level) {
  const auto read = level ? parse_level(text, units) : parse_amount(text, units);
  if (!read) return told_with_instead(read.refusal(), text);
  const Amount& a = *read;
  hold(0 <= a.low && a.low <= a.best && a.best <= a.high, "low <= best <= high");
  hold(a.high <= limit_of(a.dimension), "no amount is over the limit");
  hold(a.estimated || (a.low == a.best && a.best == a.high), "a measured amount is its own bounds");
  hold(level ? !a.estimated : a.best > 0, "an amount is more than nothing, a level is measured");
  const auto again = level ? parse_level(a.typed, units) : parse_amount(a.typed, units);
  hold(again.ok() && *again == a, "what was typed is read the same again");
  if (a.best == 0) return;
  const auto shown = parse_amount(show(a.best, a.dimension, units, true), units);
  hold(shown.ok() && shown->best == a.best && shown->dimension == a.dimension, "an amount shown exactly is read back: " + show(a.best, a.dimension, units, true));
  hold(!show(a, units).empty() && !show_number(a.high, a.dimension, units, 2).empty(), "an amount can be shown");
}

void distance(std::string_view text, const Units& units) {
  const auto read = parse_distance(text, units);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(read->metres >= 0 && read->metres <= 10'000'000'000, "a distance is 0 to 10,000,000 km");
  const auto again = parse_distance(read->typed, units);
  hold(again.ok() && *again == *read, "a distance as typed is read the same again");
  // In whole miles the very largest are shown half a mile over the limit at most.
  if (read->metres > 10'000'000'000 - 805) return;
  const auto shown = parse_distance(show_distance(read->metres, units), units);
  hold(shown.ok() && show_distance(shown->metres, units) == show_distance(read->metres, units), "a distance as shown is read back to what is shown");
}

void torque(std::string_view text, const Units& units) {
  const auto read = parse_torque(text, units);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(read->millinewton_metres > 0 && read->millinewton_metres <= 10'000'000, "a torque is more than nothing, to 10,000 Nm");
  const auto again = parse_torque(read->typed, units);
  hold(again.ok() && *again == *read, "a torque as typed is read the same again");
  hold(!show_torque(read->millinewton_metres, units).empty(), "a torque can be shown");
}

void share(std::string_view text) {
  const auto read = parse_share(text);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(0 <= read->low_ppm && read->low_ppm <= read->best_ppm && read->best_ppm <= read->high_ppm &&
           read->high_ppm <= 1'000'000 && read->high_ppm > 0,
       "a share is a part of the whole");
  const auto again = parse_share(read->substance + "=" + read->typed);
  hold(again.ok() && *again == *read, "a share as typed is read the same again");
}

void density(std::string_view text, const Units& units) {
  const auto read = parse_density(text, units);
  if (!read) return told_with_instead(read.refusal(), text);
  hold(read->ppm_kg_per_l >= 400'000 && read->ppm_kg_per_l <= 20'000'000, "a density is 0.4 to 20 kg/L");
  const auto again = parse_density(read->typed, units);
  hold(again.ok() && again->ppm_kg_per_l == read->ppm_kg_per_l && again->typed == read->typed, "a density as typed is read the same again");
  // A volume is not finer than the mass it came from by more than the rounding of both.
  const Volume back = volume_of(mass_of(Volume{1'000'000'000}, *read), *read);
  hold(back.n >= 999'999'998 && back.n <= 1'000'000'002, "a litre weighed and measured again is a litre");
}

}  // namespace

void quantity(std::string_view bytes) {
  Input in(bytes);
  const std::size_t what = in.choice(6);
  const Units units = units_of(in.choice(24));
  switch (what) {
    case 0: return amount(in.rest(), units, false);
    case 1: return amount(in.rest(), units, true);
    case 2: return distance(in.rest(), units);
    case 3: return torque(in.rest(), units);
    case 4:
      return density(in.rest(), units);
    default:
      return share(in.rest());
  }
}

}  // namespace baybook::fuzz
