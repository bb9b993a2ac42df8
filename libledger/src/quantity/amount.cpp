// Reading amounts and levels. The grammar, blanks allowed between its pieces:
//
//   amount   = "~" quantity | part ".." part [ "~" part ] | quantity
//   quantity = number unit
//   part     = number [ unit ]      a part without a unit takes that of the last part
//
// Everything unclear is refused before anything that is against a rule, in the order of Code.
#include <baybook/quantity.hpp>
#include <baybook/text.hpp>

#include "quantity/decimal.hpp"
#include "quantity/most.hpp"
#include "quantity/units.hpp"

#include <algorithm>
#include <array>
#include <optional>

namespace baybook {

namespace {

using quantity::i128;
using quantity::Number;
using quantity::NumberFault;
using quantity::Ratio;
using quantity::Unit;

constexpr std::string_view limit_text(Dimension d) noexcept {
  switch (d) {
    case Dimension::volume: return "1000000 L";
    case Dimension::mass: return "1000000 kg";
    case Dimension::count: return "1000000 pcs";
  }
  return "";
}

/// Longest text that is read: no amount needs more, and a refusal quotes all of it.
constexpr std::size_t max_typed_bytes = 100;

struct Part {
  std::string_view text{};  // of this part, within what was typed
  Number number{};
  std::string_view unit{};  // as typed; empty when there is none
};

class Reader {
 public:
  Reader(std::string_view typed, std::string_view noun, const Units& units)
      : typed_(typed), units_(units), example_("5.2" + std::string{quantity::shown_name(Dimension::volume, units)}),
        subject_{noun, typed, quantity::shown_name(Dimension::volume, units), example_} {}
  // The subject looks into the example of its own reader.
  Reader(const Reader&) = delete;
  Reader& operator=(const Reader&) = delete;

  [[nodiscard]] std::optional<Refusal> take(std::string_view text, Part& part) const {
    part.text = quantity::trimmed(text);
    part.number = quantity::scan_number(part.text);
    part.unit = quantity::trimmed(part.text.substr(part.number.length));
    const bool unclear = part.number.fault != NumberFault::none && part.number.fault != NumberFault::too_long;
    if (part.number.fault == NumberFault::several) return several();
    if (unclear && part.number.fault != NumberFault::no_number && more_numbers(part.unit)) return several();
    if (unclear) return quantity::number_refused(subject_, part.text, part.number, example_, "");
    return std::nullopt;
  }

  [[nodiscard]] std::optional<Refusal> find(const Part& part, const Unit*& unit) const {
    if (part.unit.empty()) return quantity::no_unit(subject_, "a bare number is never given a unit by guess");
    const quantity::UnitReading reading = quantity::read_unit(part.unit, units_);
    unit = reading.unit;
    if (unit != nullptr) return std::nullopt;
    if (reading.us != nullptr) return bare_gallon(part, *reading.us, *reading.imperial);
    if (!reading.readings.empty()) {
      return quantity::refusal(Code::unclear, about() + " may mean " + std::string{reading.readings},
                               "only units with one meaning are read", quantity::replaced(typed_, part.unit, reading.rather));
    }
    // A hint that keeps the first number alone would book less (4L 300ml) or more (5L - 0.3L) than there was.
    if (more_numbers(part.unit)) return several();
    return quantity::unknown_unit(subject_, part.unit, quantity::amount_spellings());
  }

  [[nodiscard]] Refusal number_too_long(const Part& part, Dimension d) const {
    return quantity::number_refused(subject_, part.text, part.number, "5.2" + std::string{quantity::shown_name(d, units_)},
                                    limit_text(d));
  }

  [[nodiscard]] Refusal not_allowed(std::string_view what, std::string_view why, std::string instead) const {
    return quantity::refusal(Code::not_allowed, about() + ' ' + std::string{what}, std::string{why}, std::move(instead));
  }

  [[nodiscard]] Refusal two_dimensions() const {
    return quantity::refusal(Code::unclear, about() + " mixes units of different kinds",
                             "the bounds and the best value of one amount are all volumes, all masses or all pieces",
                             "two bounds in one unit, like 0.5..1.2" + std::string{subject_.unit});
  }

  [[nodiscard]] Refusal several() const {
    return quantity::refusal(Code::unclear, about() + " has more than one number in it", "one amount is read; nothing is added up or taken off here",
                             "the one amount that it comes to, like " + example_);
  }

  [[nodiscard]] Refusal shape() const {
    return quantity::refusal(Code::unclear, about() + " has no reading as one amount",
                             "an amount is a number with a unit, ~ before it for an estimate, or two bounds with .. between them",
                             "two bounds with a best value, like 0.5..1.2~0.8" + std::string{subject_.unit});
  }

  /// What to type for an amount that was read and breaks a rule.
  [[nodiscard]] std::string meant() const { return quantity::meant_like(subject_.noun, example_); }
  [[nodiscard]] std::string_view typed() const noexcept { return typed_; }

 private:
  /// A second number after the first one; the 3 of m3 or dm3 is none.
  [[nodiscard]] bool more_numbers(std::string_view rest) const {
    const std::size_t digit = rest.find_first_of("0123456789");
    if (digit == std::string_view::npos || quantity::read_unit(rest, units_).unit != nullptr) return false;
    const bool power = digit > 0 && digit + 1 == rest.size() && (rest[digit] == '2' || rest[digit] == '3');
    const auto is_letter = [](char c) { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); };
    return !power || !std::all_of(rest.begin(), rest.end() - 1, is_letter);
  }

  [[nodiscard]] std::string about() const {
    return std::string{subject_.noun}.append(" \"").append(visible(typed_)).append("\"");
  }

  [[nodiscard]] Refusal bare_gallon(const Part& part, const Unit& us, const Unit& imperial) const {
    const Units litres{};
    const auto in_litres = [&](const Unit& unit) -> std::string {
      if (part.number.fault != NumberFault::none) return std::string{"more than "}.append(limit_text(Dimension::volume));
      const Ratio exact = quantity::scaled(part.number, unit.num, unit.den);
      const i128 ceiling = quantity::most_of(Dimension::volume);
      const i128 whole = quantity::round_half_even(exact);
      if (whole > ceiling || whole < -ceiling) return std::string{"more than "}.append(limit_text(Dimension::volume));
      return show(static_cast<std::int64_t>(whole), Dimension::volume, litres);
    };
    const std::string us_text = in_litres(us);
    const std::string imperial_text = in_litres(imperial);
    return quantity::refusal(
        Code::unclear, about() + " is " + us_text + " in US measure or " + imperial_text + " in imperial measure",
        "the book has no setting for a bare " + quantity::folded(part.unit),
        quantity::replaced(typed_, part.unit, us.name) + " or " + quantity::replaced(typed_, part.unit, imperial.name),
        {{"us", us_text}, {"imperial", imperial_text}});
  }

  std::string_view typed_;
  const Units& units_;
  std::string example_;
  quantity::Subject subject_;
};

/// The parts of one amount with their exact values, in the order typed.
struct Values {
  std::array<Part, 3> parts{};
  std::array<Ratio, 3> exact{};
  std::size_t n = 0;
  Dimension dimension = Dimension::volume;
};

/// The whole numbers of pieces below and above what was typed, in its place: half a piece is not known to be one more or one less.
std::string whole_pieces(const Reader& reader, const Part& part, const Ratio& exact) {
  const i128 below = quantity::floor_of(exact.num, exact.den);
  const std::string_view numeral = part.text.substr(0, part.number.length);
  const std::string more = quantity::replaced(reader.typed(), numeral, quantity::whole_text(below + 1));
  return below == 0 ? more : quantity::replaced(reader.typed(), numeral, quantity::whole_text(below)) + " or " + more;
}

/// Two bounds as they are to be typed, each in the unit that it was read in.
std::string as_bounds(const Part& low, const Part& high, const Values& values, bool with_best) {
  const Part& last = values.parts[values.n - 1];
  // One unit at the end does for bounds that were typed without any.
  const auto has_own = [&](const Part& part) { return !part.unit.empty() && &part != &last; };
  const bool one_unit = !has_own(low) && !has_own(high);
  const auto bound = [&](const Part& part) -> std::string {
    if (one_unit) return std::string{part.text.substr(0, part.number.length)};
    return part.unit.empty() ? std::string{part.text}.append(last.unit) : std::string{part.text};
  };
  std::string text = bound(low) + ".." + bound(high);
  if (with_best) return text.append("~").append(last.text);
  return one_unit ? text.append(last.unit) : text;
}

/// Finds the units and works out the values. Refuses what is unclear, then what breaks a rule that stands for each part alone.
std::optional<Refusal> evaluate(const Reader& reader, bool zero_allowed_first, bool zero_allowed, Values& values) {
  std::array<const Unit*, 3> found{};
  for (std::size_t i = values.n; i-- > 0;) {
    Part& part = values.parts[i];
    const Unit* unit = nullptr;
    if (part.unit.empty() && i + 1 != values.n) {
      unit = found[values.n - 1];
    } else if (auto refused = reader.find(part, unit)) {
      return refused;
    }
    found[i] = unit;
  }
  values.dimension = found[values.n - 1]->dimension;
  for (std::size_t i = 0; i < values.n; ++i) {
    if (found[i]->dimension != values.dimension) return reader.two_dimensions();
  }
  for (std::size_t i = 0; i < values.n; ++i) {
    const Part& part = values.parts[i];
    if (part.number.negative) {
      return reader.not_allowed("is negative", "an amount is what moved, and never less than nothing",
                                quantity::replaced(reader.typed(), part.text, part.text.substr(part.text.find_first_of("0123456789.,"))));
    }
    if (part.number.fault == NumberFault::too_long) return reader.number_too_long(part, values.dimension);
    values.exact[i] = quantity::scaled(part.number, found[i]->num, found[i]->den);
    const Ratio& exact = values.exact[i];
    const i128 rounded = quantity::round_half_even(exact);
    if (rounded > quantity::most_of(values.dimension)) {
      return reader.not_allowed("is more than " + std::string{limit_text(values.dimension)},
                                "an amount this large is a slip of the finger", reader.meant());
    }
    if (values.dimension == Dimension::count && exact.num % exact.den != 0) {
      return reader.not_allowed("is not a whole number of pieces", "pieces are counted whole", whole_pieces(reader, part, exact));
    }
    const bool zero_fits = zero_allowed || (zero_allowed_first && i == 0);
    if (exact.num == 0 && !zero_fits) {
      return reader.not_allowed("is nothing", "an amount is more than nothing", reader.meant());
    }
    if (exact.num != 0 && rounded == 0) {
      return reader.not_allowed("is so small that it rounds to nothing",
                                "the book counts whole nanolitres, micrograms and pieces", reader.meant());
    }
  }
  return std::nullopt;
}

std::int64_t whole(const Ratio& exact) { return static_cast<std::int64_t>(quantity::round_half_even(exact)); }

/// `percent` of the exact value, rounded once. Whole pieces round outwards: "~3 pcs" of 10 percent is 2 to 4, not 3 to 3.
std::int64_t percent_of(const Ratio& exact, int percent, Dimension d) {
  const i128 num = exact.num * percent;
  const i128 den = exact.den * 100;
  if (d != Dimension::count) return static_cast<std::int64_t>(quantity::round_half_even(num, den));
  const i128 floor = quantity::floor_of(num, den);
  return static_cast<std::int64_t>(percent > 100 && floor * den != num ? floor + 1 : floor);
}

Result<Amount> read_estimate(const Reader& reader, std::string_view text, const Units& units) {
  Values values;
  values.n = 1;
  if (auto refused = reader.take(text, values.parts[0])) return *refused;
  if (auto refused = evaluate(reader, false, false, values)) return *refused;
  const int percent = std::clamp(units.estimate_percent, 0, 100);
  Amount amount{values.dimension, percent_of(values.exact[0], 100 - percent, values.dimension), whole(values.exact[0]),
                percent_of(values.exact[0], 100 + percent, values.dimension), true, std::string{reader.typed()}};
  if (amount.high > quantity::most_of(values.dimension)) {
    return reader.not_allowed("may be more than " + std::string{limit_text(values.dimension)},
                              "an amount this large is a slip of the finger", reader.meant());
  }
  return amount;
}

Result<Amount> read_bounds(const Reader& reader, std::string_view low_text, std::string_view rest) {
  Values values;
  const std::size_t tilde = rest.find('~');
  const bool has_best = tilde != std::string_view::npos;
  const std::array<std::string_view, 3> texts{low_text, rest.substr(0, tilde), has_best ? rest.substr(tilde + 1) : ""};
  values.n = has_best ? 3 : 2;
  for (std::size_t i = 0; i < values.n; ++i) {
    if (auto refused = reader.take(texts[i], values.parts[i])) return *refused;
  }
  // The lower bound alone may be nothing: "somewhere between none and half a litre".
  if (auto refused = evaluate(reader, true, false, values)) return *refused;
  const std::int64_t low = whole(values.exact[0]);
  const std::int64_t high = whole(values.exact[1]);
  const auto middle = static_cast<std::int64_t>(quantity::round_half_even(static_cast<i128>(low) + high, 2));
  const std::int64_t best = has_best ? whole(values.exact[2]) : middle;
  if (low > high) {
    return reader.not_allowed("has its bounds out of order", "the lower bound comes first",
                              as_bounds(values.parts[1], values.parts[0], values, has_best));
  }
  if (best < low || best > high) {
    return reader.not_allowed("has its best value outside its bounds", "the best value lies between the lower and the upper bound",
                              as_bounds(values.parts[0], values.parts[1], values, false));
  }
  if (best == 0) return reader.not_allowed("is nothing at best", "an amount is more than nothing", reader.meant());
  return Amount{values.dimension, low, best, high, true, std::string{reader.typed()}};
}

Result<Amount> read_measured(const Reader& reader, bool zero_allowed) {
  Values values;
  values.n = 1;
  if (auto refused = reader.take(reader.typed(), values.parts[0])) return *refused;
  if (auto refused = evaluate(reader, false, zero_allowed, values)) return *refused;
  const std::int64_t n = whole(values.exact[0]);
  return Amount{values.dimension, n, n, n, false, std::string{reader.typed()}};
}

Result<std::string> clean(std::string_view text, std::string_view noun, const Units& units) {
  if (quantity::trimmed(text).empty()) {
    return quantity::nothing_typed(noun, "5.2" + std::string{quantity::shown_name(Dimension::volume, units)});
  }
  auto cleaned = clean_text(text, noun, max_typed_bytes);
  if (!cleaned) return cleaned;
  return std::string{quantity::trimmed(*cleaned)};
}

}  // namespace

namespace {

Result<Amount> read_amount(std::string_view text, const Units& units) {
  const auto typed = clean(text, "amount", units);
  if (!typed) return typed.refusal();
  const std::string_view all = *typed;
  const Reader reader{all, "amount", units};
  const std::size_t dots = all.find("..");
  if (dots != std::string_view::npos) {
    const std::string_view rest = all.substr(dots + 2);
    const bool odd = all.starts_with('~') || rest.starts_with('.') || rest.find("..") != std::string_view::npos ||
                     std::count(rest.begin(), rest.end(), '~') > 1 || all.substr(0, dots).find('~') != std::string_view::npos;
    if (odd) return reader.shape();
    return read_bounds(reader, all.substr(0, dots), rest);
  }
  const std::size_t tilde = all.rfind('~');
  if (tilde == std::string_view::npos) return read_measured(reader, false);
  if (tilde != 0) return reader.shape();
  return read_estimate(reader, all.substr(1), units);
}

/// Two bounds that are to be typed instead and are themselves refused give way to what that refusal
/// says, until they are read or it is words: "3L..2" has no unit at its end, "3L..2L" is out of
/// order, "2L..3L" is read.
std::string followed(std::string one, const Units& units) {
  constexpr int most_steps = 6;  // each mends one fault, and there are fewer kinds of them
  for (int step = 0; step < most_steps; ++step) {
    const bool words = one.empty() || (one.front() >= 'a' && one.front() <= 'z');
    if (words) break;
    const auto tried = read_amount(one, units);
    if (tried.ok()) break;
    one = tried.refusal().instead;
  }
  return one;
}

}  // namespace

Result<Amount> parse_amount(std::string_view text, const Units& units) {
  auto read = read_amount(text, units);
  if (read.ok() || text.find("..") == std::string_view::npos) return read;
  Refusal refusal = std::move(read).refusal();
  constexpr std::string_view between = " or ";
  std::string instead;
  for (std::size_t at = 0; at != std::string::npos;) {
    const std::size_t next = refusal.instead.find(between, at);
    const std::string one =
        followed(refusal.instead.substr(at, next == std::string::npos ? next : next - at), units);
    if (instead.empty()) instead = one;
    else if (instead != one) instead.append(between).append(one);
    at = next == std::string::npos ? next : next + between.size();
  }
  refusal.instead = std::move(instead);
  return refusal;
}

Result<Amount> parse_level(std::string_view text, const Units& units) {
  const auto typed = clean(text, "level", units);
  if (!typed) return typed.refusal();
  const Reader reader{*typed, "level", units};
  if (typed->find('~') != std::string::npos || typed->find("..") != std::string::npos) {
    // "~2L" may have been read off a gauge after all; between two bounds nobody can choose for whoever typed them.
    const bool readable = typed->starts_with('~') && parse_level(std::string_view{*typed}.substr(1), units).ok();
    return reader.not_allowed("is an estimate", "a size or a level is one measured amount, without ~ and ..",
                              readable ? std::string{quantity::trimmed(std::string_view{*typed}.substr(1))} + ", if that was measured" : reader.meant());
  }
  return read_measured(reader, true);
}

}  // namespace baybook
