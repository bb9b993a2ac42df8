#include "returns/findings.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <array>
#include <cctype>
#include <limits>

namespace baybook::returns {

namespace {

constexpr std::int64_t kMillion = 1'000'000;

bool holds(const Source& s, Day day) {
  return (!s.from || *s.from <= day) && (!s.until || day <= *s.until);
}

std::string lower(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

void skip_blanks(std::string_view& text) {
  while (!text.empty() && text.front() == ' ') text.remove_prefix(1);
}

/// "12.6" in millionths; what is read is taken off the text.
std::optional<std::int64_t> take_number(std::string_view& text) {
  constexpr std::int64_t most = 1'000'000'000;
  std::int64_t whole = 0;
  std::size_t digits = 0;
  while (!text.empty() && text.front() >= '0' && text.front() <= '9') {
    whole = whole * 10 + (text.front() - '0');
    if (whole > most) return std::nullopt;
    ++digits;
    text.remove_prefix(1);
  }
  std::int64_t out = whole * kMillion;
  if (text.starts_with('.')) {
    text.remove_prefix(1);
    std::size_t decimals = 0;
    for (std::int64_t place = kMillion / 10; !text.empty() && text.front() >= '0' && text.front() <= '9';
         place /= 10, ++decimals, text.remove_prefix(1)) {
      if (place == 0 && text.front() != '0') return std::nullopt;  // finer than anything measured
      out += place * (text.front() - '0');
    }
    if (decimals == 0) return std::nullopt;
    digits += decimals;
  }
  return digits == 0 ? std::nullopt : std::optional(out);
}

struct Unit {
  std::string_view spelled;
  std::string_view is;
  std::int64_t times, over;
};
constexpr auto kUnits = std::to_array<Unit>({
    {"mg/l", "mg/L", 1, 1},
    {"g/l", "mg/L", 1000, 1},
    {"ug/l", "mg/L", 1, 1000},
    {"\xC2\xB5g/l", "mg/L", 1, 1000},
    {"\xCE\xBCg/l", "mg/L", 1, 1000},
    {"ppm", "ppm", 1, 1},
    {"mg/kg", "ppm", 1, 1},
    {"%", "ppm", 10'000, 1},
    {"c", "C", 1, 1},
    {"\xC2\xB0" "c", "C", 1, 1},
    {"ph", "pH", 1, 1},
});

/// 140 F is 60 C, to the millionth.
std::int64_t celsius(std::int64_t fahrenheit) { return (fahrenheit - 32 * kMillion) * 5 / 9; }

std::string told_of(const Finding& f, const Constituent& c, Judged::Is is) {
  const std::string figure = f.what + " " + f.typed;
  const bool same = f.value == c.level && !f.less;
  const std::string limit = "the limit of " + c.typed;
  const std::string section = " (" + with_words(c.source.section, c.source.sure) + ")";
  if (is == Judged::Is::not_shown)
    return figure + " does not show on which side of " + limit + " it is" + section;
  if (is == Judged::Is::under)
    return figure + (c.fails == Constituent::Fails::at_least ? " is below " : " is above ") + limit +
           section;
  const std::string side = same                                        ? " is at "
                           : c.fails == Constituent::Fails::at_least ? " is over "
                                                                      : " is under ";
  return figure + side + limit + ": hazardous, " + c.code + section;
}

Judged::Is rated(const Finding& f, const Constituent& c) {
  using Is = Judged::Is;
  switch (c.fails) {
    case Constituent::Fails::at_least:
      // Less than the level itself is below it.
      if (f.less) return f.value <= c.level ? Is::under : Is::not_shown;
      return f.value >= c.level ? Is::at_limit : Is::under;
    case Constituent::Fails::at_most:
      if (f.less) return f.value <= c.level ? Is::at_limit : Is::not_shown;
      return f.value <= c.level ? Is::at_limit : Is::under;
    case Constituent::Fails::below:
      if (f.less) return f.value <= c.level ? Is::at_limit : Is::not_shown;
      return f.value < c.level ? Is::at_limit : Is::under;
  }
  return Is::not_rated;
}

struct Specified {
  std::string_view what, key;
};
constexpr auto kSpecified = std::to_array<Specified>({
    {"arsenic", "used-oil.fuel.arsenic.max-ppm"},
    {"cadmium", "used-oil.fuel.cadmium.max-ppm"},
    {"chromium", "used-oil.fuel.chromium.max-ppm"},
    {"lead", "used-oil.fuel.lead.max-ppm"},
    {"halogens", "used-oil.fuel.halogens.max-ppm"},
    {"pcb", "used-oil.fuel.pcb.max-ppm"},
});
constexpr std::string_view kFlash = "flash-point";

}  // namespace

Result<Finding> read_finding(std::string_view what, std::string_view typed) {
  const auto unclear = [&](const std::string& why) {
    return Refusal{Code::unclear,
                   visible(what) + ": \"" + visible(typed.substr(0, 60)) + "\" is no figure of an analysis",
                   why,
                   "\"5.0 mg/L\", \"<0.05 mg/L\", \"140 F\", \"12.6 pH\" or \"1200 ppm\"",
                   {}};
  };
  Finding out;
  out.what = lower(what);
  std::string_view rest = typed;
  skip_blanks(rest);
  if (rest.starts_with('<')) {
    out.less = true;
    rest.remove_prefix(1);
    skip_blanks(rest);
  }
  const std::string_view number = rest;
  const auto value = take_number(rest);
  if (!value) return unclear("a figure is a number with a point, and its unit");
  const std::string digits(number.substr(0, number.size() - rest.size()));
  skip_blanks(rest);
  std::string unit = lower(rest);
  while (!unit.empty() && unit.back() == ' ') unit.pop_back();
  if (unit.empty() && out.what == "ph") unit = "ph";
  std::string shown;
  if (unit == "f" || unit == "\xC2\xB0" "f") {
    out.unit = "C";
    out.value = celsius(*value);
    shown = "F";
  } else {
    const auto known = std::find_if(kUnits.begin(), kUnits.end(), [&](const Unit& u) { return u.spelled == unit; });
    if (known == kUnits.end())
      return unclear(unit.empty() ? "its unit is not said" : "its unit is not one that analyses have here");
    if (*value > std::numeric_limits<std::int64_t>::max() / known->times) return unclear("no analysis finds so much");
    out.unit = known->is;
    out.value = *value * known->times / known->over;
    shown = known->over != 1 || known->times != 1 ? std::string(rest) : std::string(known->is);
    while (!shown.empty() && shown.back() == ' ') shown.pop_back();
  }
  out.typed = (out.less ? "<" : "") + digits + (shown == "pH" ? "" : " " + shown);
  return out;
}

std::vector<Judged> judge_findings(const RuleSet& rules, Day day, const std::vector<Finding>& found) {
  std::vector<Judged> out;
  for (const Finding& f : found) {
    Judged j;
    for (const Constituent& c : rules.constituents) {
      if (c.name != f.what || c.unit != f.unit || !holds(c.source, day)) continue;
      const Judged::Is is = rated(f, c);
      // Of two rows of one name (pH: too low, too high) the one that is worse decides.
      if (j.is == Judged::Is::at_limit || (j.is == Judged::Is::not_shown && is == Judged::Is::under)) continue;
      j.is = is;
      j.code = is == Judged::Is::at_limit ? c.code : std::string();
      j.told = told_of(f, c, is);
    }
    if (j.is == Judged::Is::not_rated) j.told = f.what + " " + f.typed + ": the rules have no limit for it";
    out.push_back(std::move(j));
  }
  return out;
}

std::vector<std::string> names_of_findings(const RuleSet& rules, Day day) {
  std::vector<std::string> out;
  const auto add = [&](std::string_view name) {
    if (std::find(out.begin(), out.end(), name) == out.end()) out.emplace_back(name);
  };
  for (const Constituent& c : rules.constituents) {
    if (holds(c.source, day)) add(c.name);
  }
  for (const Specified& s : kSpecified) {
    if (rules.value(s.key, day) != nullptr) add(s.what);
  }
  if (rules.value("used-oil.fuel.min-flash-point-f", day) != nullptr) add(kFlash);
  return out;
}

std::optional<Halogens> halogens_in(const RuleSet& rules, Day day, const std::vector<Finding>& found) {
  const RuleValue* limit = rules.value("used-oil.halogens.ppm", day);
  if (limit == nullptr) return std::nullopt;
  for (const Finding& f : found) {
    if (f.what != "halogens" || f.unit != "ppm") continue;
    Halogens out;
    const std::int64_t level = limit->n * kMillion;
    out.presumed = f.value > level;
    out.at_edge = f.value == level && !f.less;
    const std::string section = " (" + with_words(limit->source.section, limit->source.sure) + ")";
    const std::string figure = f.typed + " total halogens is ";
    out.told = out.presumed  ? figure + "more than " + limit->text + " ppm: presumed to be mixed with listed halogenated waste" + section
               : out.at_edge ? figure + "just " + limit->text + " ppm: no presumption for whoever generates it, one for whoever processes or burns it" + section
                             : figure + (f.less ? "" : "less than ") + (f.less ? "not more than " : "") + limit->text + " ppm: no presumption" + section;
    return out;
  }
  return std::nullopt;
}

std::vector<std::string> off_specification(const RuleSet& rules, Day day, const std::vector<Finding>& found) {
  std::vector<std::string> out;
  const auto say = [&](const Finding& f, const char* side, const std::string& limit, const RuleValue& v) {
    out.push_back(f.what + " " + f.typed + side + limit + " (" + with_words(v.source.section, v.source.sure) + ")");
  };
  for (const Finding& f : found) {
    if (f.unit == "ppm") {
      const auto s = std::find_if(kSpecified.begin(), kSpecified.end(), [&](const Specified& one) { return one.what == f.what; });
      const RuleValue* most = s == kSpecified.end() ? nullptr : rules.value(s->key, day);
      if (most != nullptr && !f.less && f.value > most->n * kMillion) say(f, ", at most ", most->text + " ppm", *most);
    } else if (f.unit == "C" && f.what == kFlash) {
      const RuleValue* least = rules.value("used-oil.fuel.min-flash-point-f", day);
      if (least != nullptr && f.value < celsius(least->n * kMillion)) say(f, ", at least ", least->text + " F", *least);
    }
  }
  return out;
}

std::optional<std::string> clean_waste_code(std::string_view typed, std::string_view scheme) {
  std::string bare;
  for (const char c : typed) {
    if (c != ' ') bare += static_cast<char>(std::toupper(static_cast<unsigned char>(c)));
  }
  const auto digit = [](char c) { return c >= '0' && c <= '9'; };
  const bool us = bare.size() == 4 && std::string_view("DFKPU").find(bare[0]) != std::string_view::npos && std::all_of(bare.begin() + 1, bare.end(), digit);
  if (us && scheme != "list-of-waste") return bare;
  const bool star = bare.ends_with('*');
  if (star) bare.pop_back();
  if (scheme != "us" && bare.size() == 6 && std::all_of(bare.begin(), bare.end(), digit))
    return bare.substr(0, 2) + " " + bare.substr(2, 2) + " " + bare.substr(4) + (star ? "*" : "");
  return std::nullopt;
}

bool code_is(const RuleSet& rules, Day day, std::string_view key, std::string_view code) {
  const RuleValue* words = rules.value(key, day);
  if (words == nullptr) return false;
  for (std::string_view rest = words->text; !rest.empty();) {
    const std::size_t blank = std::min(rest.find(' '), rest.size());
    const std::string_view word = rest.substr(0, blank);
    if (!word.empty() && code.starts_with(word)) return true;
    rest.remove_prefix(std::min(blank + 1, rest.size()));
  }
  return false;
}

}  // namespace baybook::returns
