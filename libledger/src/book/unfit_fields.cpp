#include "book/unfit_fields.hpp"

#include "log/most.hpp"
#include "quantity/most.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::book {

using log::Value;

namespace {

constexpr std::size_t kShown = 40;

std::string between(std::int64_t least, std::int64_t most) {
  return "between " + std::to_string(least) + " and " + std::to_string(most);
}

bool is_hex(std::string_view text, std::size_t digits) {
  return text.size() == digits &&
         text.find_first_not_of("0123456789abcdef") == std::string_view::npos;
}

// Whole and in the one spelling: no sign but a minus, no leading zero, no minus zero.
std::optional<std::int64_t> read_decimal(std::string_view text) {
  std::int64_t n = 0;
  const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), n);
  if (error != std::errc() || end != text.data() + text.size()) return std::nullopt;
  if (std::to_string(n) != text) return std::nullopt;
  return n;
}

// What nearly every text is: printable ASCII, no blank at either end. The others take the way that
// typed ones take.
bool plain(std::string_view text) {
  if (text.empty() || text.front() == ' ' || text.back() == ' ') return false;
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= 0x20 && c < 0x7F; });
}

}  // namespace

std::string Path::text() const {
  std::string out = up != nullptr ? up->text() : std::string();
  if (!out.empty()) out += '/';
  // A key comes from the file as well.
  if (index != 0)
    out += std::to_string(index);
  else
    out += visible(key.substr(0, kShown));
  return out;
}

std::string shown(const Value& v) {
  if (v.is_string()) {
    const std::string& text = v.as_string();
    if (text.empty()) return "empty";
    return "\"" + visible(text.substr(0, kShown)) + (text.size() > kShown ? "..." : "") + "\"";
  }
  if (v.is_int()) return std::to_string(v.as_int());
  if (v.is_bool()) return v.as_bool() ? "true" : "false";
  return v.is_array() ? "a list" : "an object";
}

std::string text_fault(std::string_view text, std::size_t most) {
  if (plain(text) && text.size() <= most) return "";
  // The field's name is put before it by whoever tells it.
  const auto clean = clean_text(text, "it", most);
  if (!clean.ok()) return clean.refusal().what.substr(clean.refusal().what.find(' ') + 1);
  if (*clean != text)
    return "is not as texts are kept: in NFC (UAX #15), without blanks at its ends";
  return "";
}

std::string ref_fault(const Value& v, const Reading& reading) {
  if (v.is_int()) {
    const std::int64_t n = v.as_int();
    if (n < 1 || n >= std::int64_t{1} << 40)
      return "is " + std::to_string(n) + ", which is no number of an entry";
    if (n >= reading.number()) return "names entry " + std::to_string(n) + ", which came after it";
    return "";
  }
  const std::string none = "is " + shown(v) + ", which names no entry";
  if (!v.is_string()) return none;
  const std::string_view text = v.as_string();
  if (text.size() < 34 || text[32] != ':' || !log::is_identity(text.substr(0, 32))) return none;
  const auto n = read_decimal(text.substr(33));
  if (!n || *n < 1 || *n >= std::int64_t{1} << 40) return none;
  if (text.substr(0, 32) == reading.identity())
    return "spells out its own installation, which a number alone stands for";
  return "";
}

Unfit::Sort ref_sort(const Value& v) {
  // A number that some entry can have is read as one; nothing else is a reference at all.
  const bool number = v.is_int() && v.as_int() >= 1 && v.as_int() < std::int64_t{1} << 40;
  return number ? Unfit::Sort::value : Unfit::Sort::form;
}

Reading::Reading(const log::Header& header)
    : identity_(header.identity),
      number_(header.row.id.number()),
      kind_(header.row.kind),
      happened_(log::day_of_moment(header.row.moment)) {}

void Reading::add(const Path& path, std::string what, Unfit::Sort sort) {
  if (all_.size() < kMostUnfit) all_.push_back({path.text(), std::move(what), sort});
}

Fields::Fields(const Value& object, const Path& path, Reading& reading)
    : value_(object), path_(path), reading_(reading), is_object_(object.is_object()) {
  if (!is_object_)
    reading_.add(path_, "is " + shown(object) + ", not an object", Unfit::Sort::form);
}

void Fields::wrong(std::string_view key, std::string what, Unfit::Sort sort) {
  reading_.add(Path{&path_, key, 0}, std::move(what), sort);
}

const Value* Fields::any(std::string_view key, Need need) {
  known_.push_back(key);
  const Value* v = value_.find(key);
  if (v == nullptr && need == Need::always) malformed(key, "is missing");
  return v;
}

std::optional<std::string_view> Fields::text(std::string_view key, Need need, std::size_t most) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  if (!v->is_string()) return malformed(key, "is " + shown(*v) + ", not a text"), std::nullopt;
  if (std::string fault = text_fault(v->as_string(), most); !fault.empty())
    return wrong(key, std::move(fault)), std::nullopt;
  return std::string_view(v->as_string());
}

void Fields::typed(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return;
  if (!v->is_string()) return malformed(key, "is " + shown(*v) + ", not a text");
  const std::string_view text = v->as_string();
  // A program that made its figures by itself has nothing typed.
  if (text.empty() || plain(text)) {
    if (text.size() > log::most::kTyped)
      wrong(key, "has " + std::to_string(text.size()) + " bytes, more than " +
                     std::to_string(log::most::kTyped));
    return;
  }
  const auto clean = clean_text(text, "it", log::most::kTyped);
  if (!clean.ok() && clean.refusal().code == Code::not_text)
    wrong(key, clean.refusal().what.substr(3));
}

std::optional<std::string_view> Fields::code(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  if (!v->is_string()) return malformed(key, "is " + shown(*v) + ", not a text"), std::nullopt;
  const auto clean = clean_code(v->as_string(), "it");
  if (!clean.ok() || *clean != v->as_string()) {
    return wrong(
               key,
               "is " + shown(*v) +
                   ", not a code: 1 to 40 of a-z, 0-9 and -, with a letter or digit at both ends"),
           std::nullopt;
  }
  return std::string_view(v->as_string());
}

std::optional<std::string_view> Fields::word(std::string_view key, Need need,
                                             std::initializer_list<std::string_view> words) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  if (v->is_string() && std::find(words.begin(), words.end(), v->as_string()) != words.end())
    return std::string_view(v->as_string());
  std::string all;
  for (const std::string_view w : words) all += (all.empty() ? "" : ", ") + std::string(w);
  wrong(key, "is " + shown(*v) + ", not one of: " + all, word_sort(*v));
  return std::nullopt;
}

bool Fields::yes(std::string_view key) {
  const Value* v = any(key, Need::if_said);
  if (v == nullptr) return false;
  if (v->is_bool() && v->as_bool()) return true;
  malformed(key, "is " + shown(*v) + ", not true: where it is not so the field is left out");
  return false;
}

std::optional<bool> Fields::flag(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  if (!v->is_bool()) return malformed(key, "is " + shown(*v) + ", not yes or no"), std::nullopt;
  return v->as_bool();
}

std::optional<std::int64_t> Fields::whole(std::string_view key, Need need, std::int64_t least,
                                          std::int64_t most) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  if (v->is_int() && v->as_int() >= least && v->as_int() <= most) return v->as_int();
  wrong(key, "is " + shown(*v) + ", not a whole number " + between(least, most),
        v->is_int() ? Unfit::Sort::value : Unfit::Sort::form);
  return std::nullopt;
}

std::optional<Day> Fields::day(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  const auto day = v->is_string() ? read_day(v->as_string()) : std::nullopt;
  if (!day || to_string(*day) != v->as_string())
    return malformed(key, "is " + shown(*v) + ", not a day"), std::nullopt;
  return day;
}

std::optional<std::int64_t> Fields::decimal(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return std::nullopt;
  const auto n = v->is_string() ? read_decimal(v->as_string()) : std::nullopt;
  if (!n) malformed(key, "is " + shown(*v) + ", not a whole number in quotes");
  return n;
}

bool Fields::hex(std::string_view key, Need need, std::size_t digits) {
  const Value* v = any(key, need);
  if (v == nullptr) return false;
  if (v->is_string() && is_hex(v->as_string(), digits)) return true;
  malformed(key, "is " + shown(*v) + ", not " + std::to_string(digits) + " hexadecimal digits");
  return false;
}

bool Fields::ref(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return false;
  std::string fault = ref_fault(*v, reading_);
  if (fault.empty()) return true;
  wrong(key, std::move(fault), ref_sort(*v));
  return false;
}

void Fields::place(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return;
  const bool named = v->is_string() && v->as_string().find(':') == std::string::npos;
  if (v->is_object()) {
    inside(*v, Path{&path_, key, 0}, [](Fields& f) {
      f.ref("car", Need::always);
      const Value* circuit = f.any("circuit", Need::always);
      if (circuit == nullptr) return;
      if (!circuit->is_string() || find_circuit(std::string_view(circuit->as_string())) == nullptr)
        f.wrong("circuit", "is " + shown(*circuit) + ", which no car has", word_sort(*circuit));
    });
  } else if (named) {
    // A newer program may know one more end of the world.
    if (!log::end_of_world(v->as_string()))
      wrong(key, "is " + shown(*v) + ", which is no place", word_sort(*v));
  } else if (std::string fault = ref_fault(*v, reading_); !fault.empty()) {
    wrong(key, std::move(fault), ref_sort(*v));
  }
}

void Fields::fluid(std::string_view key, Need need) {
  const Value* v = value_.find(key);
  if (v != nullptr && v->is_string() && v->as_string().find(':') == std::string::npos)
    return fluid_class(key, need);
  ref(key, need);
}

void Fields::fluid_class(std::string_view key, Need need) {
  const Value* v = any(key, need);
  if (v == nullptr) return;
  if (v->is_string() && find_class(std::string_view(v->as_string())) != nullptr) return;
  wrong(key, "is " + shown(*v) + ", which is no class of fluid or waste", word_sort(*v));
}

std::optional<Amount> Fields::amount(std::string_view key, Need need, const AmountLimits& limits) {
  std::optional<Amount> out;
  object(key, need, [&](Fields& f) {
    const auto unit = f.word("unit", Need::always, {"nl", "ug", "pcs"});
    const auto best = f.decimal("best", Need::always);
    const bool estimated =
        f.any("low", Need::if_said) != nullptr || f.any("high", Need::if_said) != nullptr;
    const auto low = estimated ? f.decimal("low", Need::always) : best;
    const auto high = estimated ? f.decimal("high", Need::always) : best;
    f.typed("typed", Need::always);
    if (!unit || !best || !low || !high) return;
    const Dimension d = *unit == "nl"   ? Dimension::volume
                        : *unit == "ug" ? Dimension::mass
                                        : Dimension::count;
    if (limits.of && d != *limits.of)
      return f.wrong("unit", "is " + shown(Value(*unit)) + ", not \"" +
                                 std::string(base_unit(*limits.of)) + "\"");
    const std::int64_t most = limits.computed ? log::max_whole : quantity::most_of(d);
    if (*low < 0)
      return f.wrong(estimated ? "low" : "best", "is " + std::to_string(*low) + ", below nothing");
    if (*low > *best || *best > *high)
      return f.wrong("best", "is " + std::to_string(*best) + ", outside its bounds");
    if (*best == 0 && !limits.nothing) return f.wrong("best", "is nothing");
    if (*high > most)
      return f.wrong(estimated ? "high" : "best",
                     "is " + std::to_string(*high) + ", more than " + std::to_string(most));
    out = Amount{d, *low, *best, *high, estimated, {}};
  });
  return out;
}

std::optional<Density> Fields::density(std::string_view key) {
  std::optional<Density> out;
  object(key, Need::if_said, [&](Fields& f) {
    const auto ppm =
        f.whole("ppm-kg-per-l", Need::always, quantity::kLeastDensity, quantity::kMostDensity);
    f.text("source", Need::always, log::most::kDensitySource);
    f.typed("typed", Need::always);
    if (ppm) out = Density{*ppm, {}};
  });
  return out;
}

void Fields::distance(std::string_view metres, std::string_view typed_key, Need need,
                      std::int64_t least) {
  const bool said = value_.has(metres) || value_.has(typed_key);
  const Need both = said ? Need::always : need;
  whole(metres, both, least, quantity::kMostMetres);
  typed(typed_key, both);
}

bool Fields::list(const Value& v, std::string_view key, std::size_t most, bool may_be_empty) {
  if (!v.is_array()) return malformed(key, "is " + shown(v) + ", not a list"), false;
  if (v.as_array().empty() && !may_be_empty)
    return wrong(key, "is an empty list: where there is nothing the field is left out"), false;
  if (v.as_array().size() <= most) return true;
  wrong(key,
        "has " + std::to_string(v.as_array().size()) + " in it, more than " + std::to_string(most));
  return false;
}

void Fields::end() {
  for (const auto& [key, v] : value_.as_object()) {
    if (std::find(known_.begin(), known_.end(), key) == known_.end())
      wrong(key, "is a field that no such entry has", Unfit::Sort::newer);
  }
}

}  // namespace baybook::book
