#include "quantity/units.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <array>
#include <utility>

namespace baybook {

std::string_view base_unit(Dimension d) noexcept {
  switch (d) {
    case Dimension::volume: return "nl";
    case Dimension::mass: return "ug";
    case Dimension::count: return "pcs";
  }
  return "pcs";
}

std::string_view unit_name(Dimension d, const Units& units) noexcept { return quantity::book_unit(d, units).name; }

namespace quantity {

namespace {

// Litre family: SI brochure (BIPM), the litre is 0.001 m3, so that 1 cm3 = 1 mL. Here in nanolitres.
constexpr Unit litre{"L", Dimension::volume, 1'000'000'000, 1};
constexpr Unit decilitre{"dL", Dimension::volume, 100'000'000, 1};
constexpr Unit centilitre{"cL", Dimension::volume, 10'000'000, 1};
constexpr Unit millilitre{"mL", Dimension::volume, 1'000'000, 1};
// NIST Handbook 44, Appendix C: 1 US gallon = 231 in3 = 3.785411784 L = 4 quarts = 8 pints = 128 fluid ounces.
constexpr Unit us_gallon{"usgal", Dimension::volume, 3'785'411'784, 1};
constexpr Unit us_quart{"usqt", Dimension::volume, 946'352'946, 1};
constexpr Unit us_pint{"uspt", Dimension::volume, 473'176'473, 1};
constexpr Unit us_fluid_ounce{"usfloz", Dimension::volume, 473'176'473, 16};
// UK Units of Measurement Regulations 1995: 1 gallon = 4.54609 L = 4 quarts = 8 pints = 160 fluid ounces.
constexpr Unit imperial_gallon{"impgal", Dimension::volume, 4'546'090'000, 1};
constexpr Unit imperial_quart{"impqt", Dimension::volume, 1'136'522'500, 1};
constexpr Unit imperial_pint{"imppt", Dimension::volume, 568'261'250, 1};
constexpr Unit imperial_fluid_ounce{"impfloz", Dimension::volume, 56'826'125, 2};
// Gram family: SI brochure; 1 t = 1000 kg. Here in micrograms.
constexpr Unit kilogram{"kg", Dimension::mass, 1'000'000'000, 1};
constexpr Unit gram_unit{"g", Dimension::mass, 1'000'000, 1};
constexpr Unit milligram{"mg", Dimension::mass, 1'000, 1};
constexpr Unit tonne{"t", Dimension::mass, 1'000'000'000'000, 1};
// NIST Handbook 44, Appendix C: 1 avoirdupois pound = 0.45359237 kg = 16 ounces.
constexpr Unit pound{"lb", Dimension::mass, 453'592'370, 1};
constexpr Unit ounce{"oz", Dimension::mass, 453'592'370, 16};
constexpr Unit piece{"pcs", Dimension::count, 1, 1};

struct Spelling {
  std::string_view text;  // lower case, no blanks
  const Unit* unit;
};

constexpr std::array spellings{
    Spelling{"l", &litre}, Spelling{"ltr", &litre}, Spelling{"litre", &litre}, Spelling{"litres", &litre}, Spelling{"liter", &litre},
    Spelling{"liters", &litre}, Spelling{"dl", &decilitre}, Spelling{"cl", &centilitre}, Spelling{"ml", &millilitre},
    Spelling{"millilitre", &millilitre}, Spelling{"millilitres", &millilitre}, Spelling{"milliliter", &millilitre},
    Spelling{"milliliters", &millilitre}, Spelling{"cc", &millilitre}, Spelling{"ccm", &millilitre}, Spelling{"cm3", &millilitre},
    Spelling{"cm\xC2\xB3", &millilitre},
    Spelling{"kg", &kilogram}, Spelling{"kilo", &kilogram}, Spelling{"kilos", &kilogram}, Spelling{"kilogram", &kilogram},
    Spelling{"kilograms", &kilogram}, Spelling{"g", &gram_unit}, Spelling{"gram", &gram_unit}, Spelling{"grams", &gram_unit},
    Spelling{"mg", &milligram}, Spelling{"milligram", &milligram}, Spelling{"milligrams", &milligram}, Spelling{"t", &tonne},
    Spelling{"tonne", &tonne}, Spelling{"tonnes", &tonne}, Spelling{"lb", &pound}, Spelling{"lbs", &pound}, Spelling{"pound", &pound},
    Spelling{"pounds", &pound}, Spelling{"oz", &ounce}, Spelling{"ounce", &ounce}, Spelling{"ounces", &ounce},
    Spelling{"pcs", &piece}, Spelling{"pc", &piece}, Spelling{"piece", &piece}, Spelling{"pieces", &piece},
};

struct GallonFamily {
  std::array<std::string_view, 4> texts;  // bare spellings; "us", "imp" or "uk" may stand before each
  const Unit* us;
  const Unit* imperial;
};

constexpr std::array gallon_families{
    GallonFamily{{"gal", "gals", "gallon", "gallons"}, &us_gallon, &imperial_gallon},
    GallonFamily{{"qt", "qts", "quart", "quarts"}, &us_quart, &imperial_quart},
    GallonFamily{{"pt", "pts", "pint", "pints"}, &us_pint, &imperial_pint},
    GallonFamily{{"floz", "flozs", "fluidounce", "fluidounces"}, &us_fluid_ounce, &imperial_fluid_ounce},
};

/// Spellings with several readings. The "ton" figures: NIST Handbook 44, Appendix C (short ton 2000 lb, long ton 2240 lb).
UnitReading unclear_reading(std::string_view typed, std::string_view key) {
  const bool capital_m = typed.starts_with('M');
  if (key == "ml" && capital_m) return {.readings = "millilitres (mL) or megalitres (ML)", .rather = "mL"};
  if (key == "mg" && capital_m) return {.readings = "milligrams (mg) or megagrams (Mg), which are tonnes", .rather = "mg"};
  if (key == "ton" || key == "tons") {
    return {.readings = "tonnes of 1000 kg, short tons of 907.185 kg or long tons of 1016.047 kg", .rather = "t"};
  }
  return {};
}

UnitReading gallon_reading(std::string_view key, const Units& units) {
  // The measures of the United Kingdom are the imperial ones (UK Units of Measurement Regulations 1995).
  const bool says_us = key.starts_with("us");
  const bool says_uk = key.starts_with("uk");
  const bool says_imperial = says_uk || key.starts_with("imp");
  if (says_us || says_uk) key.remove_prefix(2);
  if (key.starts_with("imperial")) {
    key.remove_prefix(8);
  } else if (key.starts_with("imp")) {
    key.remove_prefix(3);
  }
  for (const GallonFamily& family : gallon_families) {
    if (std::find(family.texts.begin(), family.texts.end(), key) == family.texts.end()) continue;
    if (says_us || (!says_imperial && units.gallon == VolumeUnit::us_gallon)) return {.unit = family.us};
    if (says_imperial || units.gallon == VolumeUnit::imperial_gallon) return {.unit = family.imperial};
    return {.us = family.us, .imperial = family.imperial};
  }
  return {};
}

/// Units of other trades and words of the workshop that are one slip from a unit of another size. Nobody means that unit by them.
constexpr std::array other_words{
    std::string_view{"keg"}, std::string_view{"kgf"}, std::string_view{"lbf"}, std::string_view{"tbs"}, std::string_view{"qty"},
    std::string_view{"pin"}, std::string_view{"pins"}, std::string_view{"pot"}, std::string_view{"pots"}, std::string_view{"gas"},
    // Torques ten to a thousand times off.
    std::string_view{"cnm"}, std::string_view{"dnm"}, std::string_view{"knm"}, std::string_view{"mnm"}, std::string_view{"ncm"},
    std::string_view{"ndm"}, std::string_view{"nmm"}, std::string_view{"kgcm"}, std::string_view{"kgmm"},
};

bool letters_only(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= 'a' && c <= 'z'; });
}

/// `text` without blanks, points and hyphens, capitals kept: "fl. oz." as "floz".
std::string bare_letters(std::string_view text) {
  std::string bare;
  while (!text.empty()) {
    const std::size_t blank = blank_length(text);
    if (blank == 0 && text.front() != '.' && text.front() != '-') bare += text.front();
    text.remove_prefix(blank == 0 ? 1 : blank);
  }
  return bare;
}

/// The spellings that `typed` is one slip of, when all of them are of one size; else none.
///
/// A hint is typed as it stands. With fewer than three letters one slip leads from any unit to another (cc to cl), and two
/// slips lead from a kilolitre to a millilitre.
std::vector<std::string> meant_spellings(std::string_view typed, const std::vector<KnownUnit>& known) {
  const std::string bare = bare_letters(typed);
  const std::string key = folded(bare);
  // "5 L." and "8 fl. oz." have no slip in their letters. A capital M stays unclear, as it is without the point.
  if (bare != typed && !bare.starts_with('M')) {
    for (const KnownUnit& unit : known) {
      if (folded(unit.text) == key) return {unit.text};
    }
  }
  if (key.size() < 3 || !letters_only(key) || std::find(other_words.begin(), other_words.end(), key) != other_words.end()) return {};
  std::vector<std::string> names;
  std::string_view stands_for;
  for (const KnownUnit& unit : known) {
    if (edit_distance(key, unit.text) != 1) continue;
    if (!names.empty() && unit.stands_for != stands_for) return {};
    stands_for = unit.stands_for;
    names.push_back(unit.text);
  }
  constexpr std::size_t most = 3;
  std::sort(names.begin(), names.end());
  if (names.size() > most) names.resize(most);
  return names;
}

std::string quoted(std::string_view text) { return '"' + visible(text) + '"'; }

}  // namespace

std::string joined(const std::vector<std::string>& texts) {
  std::string all;
  for (const std::string& text : texts) {
    if (!all.empty()) all += " or ";
    all += text;
  }
  return all;
}

std::string folded(std::string_view text) {
  std::string key;
  while (!text.empty()) {
    if (const std::size_t blank = blank_length(text)) {
      text.remove_prefix(blank);
      continue;
    }
    const char c = text.front();
    key += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    text.remove_prefix(1);
  }
  return key;
}

UnitReading read_unit(std::string_view typed, const Units& units) {
  const std::string key = folded(typed);
  if (const UnitReading unclear = unclear_reading(typed, key); !unclear.readings.empty()) return unclear;
  for (const Spelling& spelling : spellings) {
    if (spelling.text == key) return {.unit = spelling.unit};
  }
  return gallon_reading(key, units);
}

const std::vector<KnownUnit>& amount_spellings() {
  static const std::vector<KnownUnit> all = [] {
    std::vector<KnownUnit> list;
    const auto add = [&](std::string_view text, std::string_view stands_for) {
      list.push_back(KnownUnit{std::string{text}, std::string{stands_for}});
    };
    for (const Spelling& spelling : spellings) add(spelling.text == "l" ? "L" : spelling.text, spelling.unit->name);
    for (const GallonFamily& family : gallon_families) {
      // A bare gallon is a size of its own: what it stands for is the book's setting, or refused.
      for (const std::string_view text : family.texts) add(text, family.texts.front());
      add(family.us->name, family.us->name);
      add(family.imperial->name, family.imperial->name);
    }
    return list;
  }();
  return all;
}

const Unit& book_unit(Dimension d, const Units& units) noexcept {
  if (d == Dimension::mass) return kilogram;
  if (d == Dimension::count) return piece;
  if (units.volume == VolumeUnit::us_gallon) return us_gallon;
  return units.volume == VolumeUnit::imperial_gallon ? imperial_gallon : litre;
}

std::string_view shown_name(Dimension d, const Units& units) noexcept {
  const bool plain = d == Dimension::volume && units.volume != VolumeUnit::litre && units.gallon == units.volume;
  return plain ? "gal" : unit_name(d, units);
}

const Unit& gram() noexcept { return gram_unit; }

Refusal refusal(Code code, std::string what, std::string why, const std::string& instead, std::vector<Figure> figures) {
  // What was typed may hold what a terminal obeys, and parts of it come back in what to type instead.
  return {code, std::move(what), std::move(why), visible(instead), std::move(figures)};
}

std::string replaced(std::string_view typed, std::string_view part, std::string_view by) {
  const auto at = static_cast<std::size_t>(part.data() - typed.data());
  return std::string{typed.substr(0, at)}.append(by).append(typed.substr(at + part.size()));
}

std::string words_like(std::string_view typed, std::string_view example) {
  const std::string words = "a number with its unit, like " + std::string{example};
  // Whoever types the words themselves is not told them again.
  return typed == words ? "only the number and its unit, like " + std::string{example} : words;
}

std::string meant_like(std::string_view noun, std::string_view example) {
  return std::string{"the "}.append(noun).append(" that is meant, like ").append(example);
}

Refusal nothing_typed(std::string_view noun, std::string_view example) {
  return refusal(Code::unclear, "no " + std::string{noun} + " is given", "a number and its unit are needed", words_like("", example));
}

Refusal number_refused(const Subject& subject, std::string_view part, const Number& number, std::string_view example,
                       std::string_view limit) {
  const std::string about = std::string{subject.noun} + ' ' + quoted(subject.typed);
  const std::string_view numeral = part.substr(0, number.length);
  switch (number.fault) {
    case NumberFault::thousands: {
      const std::string sign = number.negative ? "-" : "";
      std::vector<std::string> readings{replaced(subject.typed, numeral, sign + number.ungrouped)};
      if (!number.as_decimal.empty()) readings.push_back(replaced(subject.typed, numeral, sign + number.as_decimal));
      const bool has_unit = numeral.data() + numeral.size() != subject.typed.data() + subject.typed.size();
      if (!has_unit) {
        for (std::string& reading : readings) reading += subject.unit;
      }
      return refusal(Code::unclear, about + " has a separator in its number that can be read as thousands",
                     "numbers are written without thousands separators; one point or comma is the decimal sign", joined(readings),
                     {{"number", std::string{numeral}}});
    }
    case NumberFault::too_long:
      return refusal(Code::not_allowed, about + " is more than " + std::string{limit}, "a number this long is a slip of the finger",
                     meant_like(subject.noun, example));
    case NumberFault::several:
      return refusal(Code::unclear, about + " is not written as one number",
                     "one point or comma is the decimal sign, and nothing is added up here", meant_like(subject.noun, example));
    case NumberFault::too_many_decimals:
      return refusal(Code::unclear, about + " has more than 12 decimals", "at most 12 decimals are read",
                     replaced(subject.typed, numeral, numeral.substr(0, numeral.find_first_of(".,") + 1 + max_decimals)));
    case NumberFault::no_number:
    case NumberFault::none:
      break;
  }
  return refusal(Code::unclear, about + " has no number where one is expected", "a number comes first, then its unit",
                 words_like(subject.typed, example));
}

Refusal no_unit(const Subject& subject, std::string_view why) {
  return refusal(Code::unclear, std::string{subject.noun} + ' ' + quoted(subject.typed) + " has no unit", std::string{why},
                 std::string{subject.typed}.append(subject.unit));
}

Refusal unknown_unit(const Subject& subject, std::string_view unit, const std::vector<KnownUnit>& known) {
  std::vector<std::string> texts;
  for (const std::string& name : meant_spellings(unit, known)) texts.push_back(replaced(subject.typed, unit, name));
  if (texts.empty()) texts.push_back(words_like(subject.typed, subject.example));
  return refusal(Code::unclear, std::string{subject.noun} + ' ' + quoted(subject.typed) + ": no unit is called " + quoted(unit),
                 "only units with one meaning are read", joined(texts), {{"unit", std::string{unit}}});
}

}  // namespace quantity
}  // namespace baybook
