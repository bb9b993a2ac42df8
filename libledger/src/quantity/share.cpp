// Shares of a fluid by mass, and masses in the unit that a rule is written in.
#include "quantity/decimal.hpp"
#include "quantity/units.hpp"

#include <baybook/quantity.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook {

namespace {

using quantity::i128;
using quantity::Number;
using quantity::NumberFault;

constexpr std::int64_t kWhole = 1'000'000;
constexpr std::string_view kExample = "\"ethylene glycol=50%\"";
constexpr std::size_t kMostSubstance = 80;

Refusal unclear(std::string what, std::string why) {
  return quantity::refusal(Code::unclear, std::move(what), std::move(why),
                           "a share of the mass, like " + std::string(kExample));
}

Refusal not_allowed(std::string what, std::string why) {
  return quantity::refusal(Code::not_allowed, std::move(what), std::move(why),
                           "a share above 0 and up to 100 percent, like " + std::string(kExample));
}

/// "50" or "45.5" as millionths; what is wrong with it in `refused`.
std::optional<std::int64_t> millionths(std::string_view text, const std::string& whole,
                                       std::optional<Refusal>& refused) {
  text = quantity::trimmed(text);
  const Number n = quantity::scan_number(text);
  if (n.fault == NumberFault::too_long) {
    refused = not_allowed(whole + " is more than all of it", "a share is a part of the mass");
  } else if (n.fault != NumberFault::none || n.length != text.size()) {
    refused = unclear(whole + " has no clear number before the percent sign", "");
  } else if (n.negative) {
    refused = not_allowed(whole + " is negative", "a share is a part of the mass");
  }
  if (refused) return std::nullopt;
  const quantity::Ratio exact = quantity::scaled(n, kWhole, 100);
  if (exact.num > exact.den * kWhole) {
    refused = not_allowed(whole + " is more than all of it", "a share is a part of the mass");
    return std::nullopt;
  }
  if (exact.num % exact.den != 0) {
    refused = not_allowed(whole + " is finer than a millionth", "a share is kept in millionths");
    return std::nullopt;
  }
  return static_cast<std::int64_t>(exact.num / exact.den);
}

std::int64_t part(std::int64_t ug, std::int64_t ppm, int round) {
  const i128 product = static_cast<i128>(ug) * ppm;
  if (round == 0) return static_cast<std::int64_t>(quantity::round_half_even(product, kWhole));
  const i128 down = quantity::floor_of(product, kWhole);
  return static_cast<std::int64_t>(round > 0 && down * kWhole != product ? down + 1 : down);
}

}  // namespace

Result<MassShare> parse_share(std::string_view text) {
  const std::string whole = visible(text.substr(0, 200));
  const std::size_t equals = text.rfind('=');
  if (equals == std::string_view::npos)
    return unclear(whole + " does not say which substance and how much",
                   "a share is a substance, = and a percentage of the mass");
  auto substance =
      clean_text(quantity::trimmed(text.substr(0, equals)), "substance", kMostSubstance);
  if (!substance.ok()) {
    if (substance.refusal().code == Code::not_text) return std::move(substance).refusal();
    return unclear(whole + " names no substance of at most 80 bytes", substance.refusal().what);
  }
  std::string_view figure = quantity::trimmed(text.substr(equals + 1));
  MassShare out;
  out.substance = *substance;
  out.typed = figure;
  if (!figure.ends_with('%'))
    return unclear(whole + " has no percent sign", "a share is told in percent of the mass");
  figure.remove_suffix(1);
  std::optional<Refusal> refused;
  const std::size_t dots = figure.find("..");
  const auto low = millionths(figure.substr(0, dots), whole, refused);
  if (!low) return *std::move(refused);
  const auto high =
      dots == std::string_view::npos ? low : millionths(figure.substr(dots + 2), whole, refused);
  if (!high) return *std::move(refused);
  if (*low > *high) return not_allowed(whole + " has its bounds out of order", "");
  if (*high == 0) return not_allowed(whole + " is nothing", "what is not in it is not said");
  out.low_ppm = *low;
  out.high_ppm = *high;
  out.best_ppm = (*low + *high) / 2;
  return out;
}

bool same_substance(std::string_view a, std::string_view b) {
  return edit_distance(quantity::trimmed(a), quantity::trimmed(b)) == 0;
}

ShareOfMass share_of(std::int64_t low_ug, std::int64_t best_ug, std::int64_t high_ug,
                     const MassShare& share) {
  ShareOfMass out;
  out.low = part(low_ug, share.low_ppm, -1);
  out.best = part(best_ug, share.best_ppm, 0);
  out.high = part(high_ug, share.high_ppm, 1);
  return out;
}

std::string show_as_typed(std::int64_t ug, std::string_view typed, std::int64_t limit_ug) {
  const std::size_t at = typed.find_last_of("0123456789");
  if (at == std::string_view::npos) return "";
  const std::string_view name = quantity::trimmed(typed.substr(at + 1));
  const quantity::Unit* unit = quantity::read_unit(name, Units{}).unit;
  if (unit == nullptr || unit->dimension != Dimension::mass) return "";
  int decimals = 3;
  // A figure that rounds onto the limit, or over it, would say that it was reached.
  const auto rounded = [&] {
    const i128 scale = quantity::power_of_ten(decimals);
    const i128 shown =
        quantity::round_half_even(static_cast<i128>(ug) * unit->den * scale, unit->num);
    return shown * unit->num - static_cast<i128>(limit_ug) * unit->den * scale;
  };
  const auto side = [](i128 n) { return n < 0 ? -1 : n > 0 ? 1 : 0; };
  const int wanted = side(static_cast<i128>(ug) - limit_ug);
  while (decimals < quantity::max_decimals && side(rounded()) != wanted) ++decimals;
  const std::string number =
      quantity::fixed_text(static_cast<i128>(ug) * unit->den, unit->num, decimals);
  return quantity::without_trailing_zeros(number) + " " + std::string(name);
}

}  // namespace baybook
