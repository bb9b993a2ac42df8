// Reads rule files: the ones in the library and a shop's own. What is wrong is told with its line and column; nothing is guessed.
#include <baybook/places.hpp>
#include <baybook/rules.hpp>
#include <baybook/text.hpp>
#include <baybook/toml.hpp>

#include "log/sha256.hpp"
#include "returns/findings.hpp"
#include "returns/rule_files.hpp"
#include "returns/rule_keys.hpp"

#include <algorithm>
#include <array>
#include <charconv>
#include <cstdio>
#include <limits>
#include <utility>

// Debian has this library as a shared object only, and the command is linked statically: this one file compiles it.
#define TOML_HEADER_ONLY 1
#define TOML_EXCEPTIONS 0
#define TOML_ENABLE_FORMATTERS 0
// Values in values: no file here has more than three, and they are taken down by recursion.
#define TOML_MAX_NESTED_VALUES 16
#include <toml++/toml.h>

namespace baybook {

namespace {

using returns::RuleFile;
using returns::RuleKey;
using Names = std::vector<std::string>;
using Keys = std::span<const std::string_view>;

constexpr std::string_view kWhy = "the form of rule files is told in docs/rules.md";
constexpr std::array<std::string_view, 9> kTopKeys = {"name", "title", "scheme", "based-on", "aid", "value", "stream", "reportable", "constituent"};
constexpr std::array<std::string_view, 4> kShopKeys = {"value", "stream", "reportable", "constituent"};
constexpr std::array<std::string_view, 8> kValueKeys = {"key", "is", "section", "status", "seen", "from", "until", "note"};
constexpr std::array<std::string_view, 23> kStreamKeys = {"name", "title", "classes", "code", "mirror", "hazardous", "counted", "managed", "until-determined", "why", "label", "hazard", "density", "density-source", "density-status", "never-with", "group", "section", "status", "seen", "from", "until", "note"};
constexpr std::array<std::string_view, 10> kReportableKeys = {"classes", "substance", "quantity", "window", "section", "status", "seen", "from", "until", "note"};
constexpr std::array<std::string_view, 10> kConstituentKeys = {"name", "code", "level", "fails", "section", "status", "seen", "from", "until", "note"};
constexpr std::array<std::string_view, 3> kFails = {"at-least", "at-most", "below"};
constexpr std::array<std::string_view, 1> kUntilDetermined = {"hazardous"};
constexpr std::array<std::string_view, 2> kSchemes = {"us", "list-of-waste"};
constexpr std::array<std::string_view, 9> kGroups = {"hazardous-waste", "used-oil", "universal-waste", "battery", "wipes", "airbags", "acute", "acute-residue", "other"};
constexpr std::array<std::string_view, 6> kSure = {"C", "C2", "M", "P", "D", "S"};
constexpr std::array<Sure, 6> kSureOf = {Sure::confirmed, Sure::secondary, Sure::memory, Sure::practice, Sure::derived, Sure::shop};
constexpr std::array<std::string_view, 3> kYesNo = {"yes", "no", "determine"};
constexpr std::array<YesNo, 3> kYesNoOf = {YesNo::yes, YesNo::no, YesNo::by_determination};
constexpr std::size_t kMaxBytes = 1'000;

bool among(std::string_view text, Keys words) { return std::find(words.begin(), words.end(), text) != words.end(); }

std::string joined(Keys words) {
  std::string out;
  for (std::size_t i = 0; i < words.size(); ++i) out.append(i == 0 ? "" : i + 1 == words.size() ? " or " : ", ").append(words[i]);
  return out;
}

std::vector<std::string_view> split(std::string_view words) {
  std::vector<std::string_view> out;
  while (!words.empty()) {
    const std::size_t bar = std::min(words.find('|'), words.size());
    out.push_back(words.substr(0, bar));
    words.remove_prefix(std::min(bar + 1, words.size()));
  }
  return out;
}

std::int32_t first_day(const Source& s) { return s.from ? s.from->n : std::numeric_limits<std::int32_t>::min(); }
std::int32_t last_day(const Source& s) { return s.until ? s.until->n : std::numeric_limits<std::int32_t>::max(); }
bool holds(const Source& s, Day day) { return first_day(s) <= day.n && day.n <= last_day(s); }
bool meet(const Source& a, const Source& b) { return first_day(a) <= last_day(b) && first_day(b) <= last_day(a); }

/// The days on which both hold.
void narrow(Source& s, const Source& to) {
  if (first_day(to) > first_day(s)) s.from = to.from;
  if (last_day(to) < last_day(s)) s.until = to.until;
}

/// A [[stream]] as written: only what stands there. A stream that an earlier file knows takes the rest from it.
struct StreamRow {
  Stream is;
  Names given;
  [[nodiscard]] bool has(std::string_view key) const { return std::find(given.begin(), given.end(), key) != given.end(); }
};

class FileReader {
 public:
  FileReader(RuleSet& set, std::string file, bool shop)
      : set_(set), file_(std::move(file)), shop_(shop), first_value_(set.values.size()), first_stream_(set.streams.size()) {}

  [[nodiscard]] std::optional<Refusal> read(const toml::table& top) {
    if (!known_keys(top, shop_ ? Keys(kShopKeys) : Keys(kTopKeys)) || (!shop_ && !head(top))) return refusal_;
    if (rows(top, "value", &FileReader::value) && rows(top, "stream", &FileReader::stream) && rows(top, "reportable", &FileReader::reportable) && rows(top, "constituent", &FileReader::constituent)) {
      (void)streams_named();
    }
    return refusal_;
  }

  [[nodiscard]] Refusal at(toml::source_position where, const std::string& text, const std::string& instead) const {
    return Refusal{Code::unclear, file_ + ":" + std::to_string(where.line) + ":" + std::to_string(where.column) + ": " + visible(text), std::string(kWhy), visible(instead), {}};
  }

 private:
  using Row = bool (FileReader::*)(const toml::table&);

  bool fail(toml::source_position where, const std::string& text, const std::string& instead = {}) {
    refusal_ = at(where, text, instead);
    return false;
  }

  /// The first unknown one as the eye meets it: the table keeps its keys in the order of their names.
  bool known_keys(const toml::table& table, Keys known) {
    const toml::key* first = nullptr;
    for (const auto& [key, node] : table) {
      if (among(key.str(), known)) continue;
      const auto here = key.source().begin;
      if (first == nullptr || here < first->source().begin) first = &key;
    }
    if (first == nullptr) return true;
    const Names near = near_names(first->str(), Names(known.begin(), known.end()));
    return fail(first->source().begin, "there is no key named " + visible(first->str().substr(0, 60)) + " here", near.empty() ? joined(known) : near.front());
  }

  bool rows(const toml::table& top, std::string_view name, Row row) {
    const toml::node* node = top.get(name);
    if (node == nullptr) return true;
    const toml::array* list = node->as_array();
    if (list == nullptr) return fail(node->source().begin, std::string(name) + " is a list of tables", "[[" + std::string(name) + "]]");
    for (const toml::node& one : *list) {
      const toml::table* table = one.as_table();
      if (table == nullptr) return fail(one.source().begin, std::string(name) + " is a list of tables", "[[" + std::string(name) + "]]");
      if (!(this->*row)(*table)) return false;
    }
    return true;
  }

  bool words(const toml::node& node, std::string_view key, std::string& into) {
    const auto text = node.value_exact<std::string>();
    if (!text) return fail(node.source().begin, std::string(key) + " is a text in quotes", std::string(key) + " = \"...\"");
    if (text->empty()) {
      into.clear();
      return true;
    }
    const auto clean = clean_text(*text, key, kMaxBytes);
    if (!clean) return fail(node.source().begin, clean.refusal().what, clean.refusal().instead);
    into = *clean;
    return true;
  }

  /// The text of a key, empty when it is not there.
  bool text(const toml::table& table, std::string_view key, std::string& into) {
    const toml::node* node = table.get(key);
    return node == nullptr || words(*node, key, into);
  }

  bool needed(const toml::table& table, std::string_view key, std::string_view of, std::string& into, std::string_view instead) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return fail(table.source().begin, std::string(of) + " has no " + std::string(key), std::string(key) + " = " + std::string(instead));
    if (!words(*node, key, into)) return false;
    return !into.empty() || fail(node->source().begin, std::string(key) + " is empty", std::string(key) + " = " + std::string(instead));
  }

  bool one_of(const toml::table& table, std::string_view key, Keys known, std::string& into) {
    if (!text(table, key, into)) return false;
    const toml::node* node = table.get(key);
    return node == nullptr || among(into, known) || fail(node->source().begin, std::string(key) + " is " + joined(known) + ", not \"" + visible(into) + '"', std::string(key) + " = \"" + std::string(known.front()) + '"');
  }

  bool list(const toml::table& table, std::string_view key, Names& into) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return true;
    const toml::array* texts = node->as_array();
    if (texts == nullptr) return fail(node->source().begin, std::string(key) + " is a list of texts", std::string(key) + " = [\"...\"]");
    into.clear();
    for (const toml::node& one : *texts) {
      std::string word;
      if (!words(one, key, word)) return false;
      if (word.empty()) return fail(one.source().begin, std::string(key) + " holds an empty text", std::string(key) + " = [\"...\"]");
      into.push_back(std::move(word));
    }
    return true;
  }

  bool day(const toml::table& table, std::string_view key, std::optional<Day>& into) {
    const toml::node* node = table.get(key);
    if (node == nullptr) return true;
    if (const auto date = node->value_exact<toml::date>()) {
      std::array<char, 16> iso{};
      std::snprintf(iso.data(), iso.size(), "%04u-%02u-%02u", static_cast<unsigned>(date->year), static_cast<unsigned>(date->month), static_cast<unsigned>(date->day));
      into = read_day(iso.data());
    } else if (const auto written = node->value_exact<std::string>()) {
      into = read_day(*written);
    }
    return into || fail(node->source().begin, std::string(key) + " is a day of the years 1900 to 2999", std::string(key) + " = 2026-01-01");
  }

  bool status(const toml::table& table, std::string_view key, std::string_view of, Sure& into) {
    const toml::node* node = table.get(key);
    std::string word;
    if (node == nullptr && shop_) {
      into = Sure::shop;
      return true;
    }
    if (!needed(table, key, of, word, "\"C\"") || !one_of(table, key, kSure, word)) return false;
    into = kSureOf[static_cast<std::size_t>(std::find(kSure.begin(), kSure.end(), word) - kSure.begin())];
    if (into == Sure::shop && !shop_) return fail(node->source().begin, std::string(key) + " S is for a shop's own file", std::string(key) + " = \"M\"");
    return true;
  }

  /// Where it comes from and when it holds.
  bool source(const toml::table& table, const std::string& of, Source& into) {
    into.file = file_;
    if (!needed(table, "section", of, into.section, "\"40 CFR 262.16(b)\"") || !status(table, "status", of, into.sure)) return false;
    if (!text(table, "seen", into.seen) || !text(table, "note", into.note)) return false;
    if ((into.sure == Sure::confirmed || into.sure == Sure::secondary) && into.seen.empty()) {
      const toml::node* node = table.get("status");
      return fail(node->source().begin, of + " has no source: its status says that it was seen, and seen does not say where", "seen = \"...\", or status = \"M\"");
    }
    return period(table, of, into);
  }

  bool period(const toml::table& table, const std::string& of, Source& into) {
    if (!day(table, "from", into.from) || !day(table, "until", into.until)) return false;
    if (into.from && into.until && *into.until < *into.from) {
      return fail(table.get("until")->source().begin, of + " holds until " + to_string(*into.until) + ", before its first day " + to_string(*into.from), "until on or after from");
    }
    return true;
  }

  bool head(const toml::table& top) {
    std::string scheme, based_on;
    const std::string of = "the file";
    if (!needed(top, "name", of, set_.name, "\"us-federal\"") || !needed(top, "title", of, set_.title, "\"...\"")) return false;
    if (!needed(top, "scheme", of, scheme, "\"us\"") || !one_of(top, "scheme", kSchemes, scheme) || !text(top, "based-on", based_on)) return false;
    if (!set_.scheme.empty() && set_.scheme != scheme) return fail(top.get("scheme")->source().begin, "scheme is " + scheme + ", and " + set_.scheme + " in the file it stands on", "scheme = \"" + set_.scheme + '"');
    set_.scheme = scheme;
    return needed(top, "aid", of, set_.aid, "\"an aid only; ...\"");
  }

  bool amount(const toml::node& node, Dimension dimension, std::string_view kind, std::string_view instead, RuleValue& into) {
    const auto read = parse_amount(into.text, Units{});
    if (!read) return fail(node.source().begin, read.refusal().what, read.refusal().instead);
    if (read->estimated || read->dimension != dimension) return fail(node.source().begin, visible(into.text) + " is not one measured " + std::string(kind), std::string(instead));
    into.n = read->best;
    return true;
  }

  /// "180 d": whole, from 1 to 36,500.
  bool span(const toml::node& node, const RuleKey& key, std::string_view unit, RuleValue& into) {
    const std::string_view t = into.text;
    const char* end = t.data() + t.size();
    const auto [rest, error] = std::from_chars(t.data(), end, into.n);
    if (error == std::errc() && into.n >= 1 && into.n <= 36'500 && std::string_view(rest, static_cast<std::size_t>(end - rest)) == " " + std::string(unit)) return true;
    return fail(node.source().begin, std::string(key.key) + " is in " + std::string(returns::type_name(key.type)) + ", 1 to 36500, not \"" + visible(t) + '"', "is = " + std::string(returns::example_of(key.type)));
  }

  bool month_and_day(const toml::node& node, RuleValue& into) {
    // A leap year, so that 29 February is one of its days.
    const std::optional<Day> day = into.text.size() == 5 ? read_day("2024-" + into.text) : std::nullopt;
    if (!day) return fail(node.source().begin, "\"" + visible(into.text) + "\" is not a day of the year", "is = \"09-01\" for the first of September");
    into.n = std::stoi(into.text.substr(0, 2)) * 100 + std::stoi(into.text.substr(3));
    return true;
  }

  bool is(const toml::node& node, const RuleKey& key, RuleValue& into) {
    using enum RuleValue::Type;
    const std::string instead = "is = " + std::string(returns::example_of(key.type));
    const std::string wrong = std::string(key.key) + " is of the type " + std::string(returns::type_name(key.type));
    into.type = key.type;
    if (key.type == yes) {
      const auto flag = node.value_exact<bool>();
      if (!flag) return fail(node.source().begin, wrong, instead);
      into.n = *flag ? 1 : 0;
      into.text = *flag ? "yes" : "no";
      return true;
    }
    if (key.type == number) {
      const auto n = node.value_exact<std::int64_t>();
      if (!n || *n < 0) return fail(node.source().begin, wrong + ", whole and not negative", instead);
      into.n = *n;
      into.text = std::to_string(*n);
      return true;
    }
    if (!node.is_string()) return fail(node.source().begin, wrong, instead);
    if (!words(node, "is", into.text)) return false;
    if (into.text.empty()) return fail(node.source().begin, "is is empty", instead);
    switch (key.type) {
      case mass: return amount(node, Dimension::mass, "mass", instead, into);
      case volume: return amount(node, Dimension::volume, "volume", instead, into);
      case distance: {
        const auto read = parse_distance(into.text, Units{});
        if (!read) return fail(node.source().begin, read.refusal().what, read.refusal().instead);
        into.n = read->metres;
        return true;
      }
      case days: return span(node, key, "d", into);
      case hours: return span(node, key, "h", into);
      case months: return span(node, key, "mo", into);
      case day_of_year: return month_and_day(node, into);
      case word: {
        const std::vector<std::string_view> known = split(key.words);
        return known.empty() || among(into.text, known) || fail(node.source().begin, std::string(key.key) + " is " + joined(known) + ", not \"" + visible(into.text) + '"', "is = \"" + std::string(known.front()) + '"');
      }
      case number:
      case yes: break;
    }
    return true;
  }

  bool value(const toml::table& table) {
    RuleValue v;
    if (!known_keys(table, kValueKeys) || !needed(table, "key", "a value", v.key, "\"clock.small.days\"")) return false;
    const auto where = table.get("key")->source().begin;
    const RuleKey* key = returns::find_rule_key(v.key);
    if (key == nullptr) {
      Names known;
      for (const RuleKey& k : returns::rule_keys()) known.emplace_back(k.key);
      const Names near = near_names(v.key, known);
      return fail(where, "there is no value named " + visible(v.key), near.empty() ? "a key of docs/rules.md" : "key = \"" + near.front() + '"');
    }
    const toml::node* node = table.get("is");
    if (node == nullptr) return fail(table.source().begin, v.key + " has no is", "is = " + std::string(returns::example_of(key->type)));
    if (!is(*node, *key, v) || !source(table, v.key, v.source)) return false;
    for (std::size_t i = first_value_; i < set_.values.size(); ++i) {
      const RuleValue& other = set_.values[i];
      if (other.key == v.key && meet(other.source, v.source)) return twice(where, v.key, v.source, other.source);
    }
    set_.values.push_back(std::move(v));
    return true;
  }

  bool twice(toml::source_position where, const std::string& what, const Source& a, const Source& b) {
    const Day day{std::max(first_day(a), first_day(b))};
    const bool always = !a.from && !b.from;
    return fail(where, what + " stands twice in this file" + (always ? "" : " for " + to_string(day)), "from and until that do not overlap");
  }

  bool stream(const toml::table& table) {
    StreamRow row;
    Stream& s = row.is;
    if (!known_keys(table, kStreamKeys) || !needed(table, "name", "a stream", s.name, "\"used-oil\"")) return false;
    for (const auto& [key, node] : table) row.given.emplace_back(key.str());
    const auto where = table.get("name")->source().begin;
    const auto code = clean_code(s.name, "stream");
    if (!code || *code != s.name) return fail(where, "a stream's name is of a-z, 0-9 and -, not \"" + visible(s.name) + '"', "name = \"used-oil\"");
    const std::string of = "the stream " + s.name;
    std::string hazardous, counted, until_determined;
    if (!text(table, "managed", s.managed) || !one_of(table, "until-determined", kUntilDetermined, until_determined)) return false;
    s.until_determined = !until_determined.empty();
    if (!text(table, "title", s.title) || !text(table, "code", s.code) || !text(table, "mirror", s.mirror) || !text(table, "why", s.why)) return false;
    if (!one_of(table, "hazardous", kYesNo, hazardous) || !one_of(table, "counted", kYesNo, counted) || !one_of(table, "group", kGroups, s.group)) return false;
    if (!list(table, "label", s.label) || !list(table, "hazard", s.hazard) || !classes(table, s) || !never_with(table, s) || !density(table, of, s)) return false;
    if (row.has("hazardous")) s.hazardous = yes_no(hazardous);
    if (row.has("counted")) s.counted = yes_no(counted);
    const std::vector<Stream> earlier = earlier_of(s.name);
    if (!earlier.empty() && only_density(row)) {
      s.source.file = file_;
      if (!period(table, of, s.source)) return false;
    } else {
      if (earlier.empty()) {
        for (const std::string_view key : {"title", "hazardous", "counted", "group"}) {
          if (!row.has(key)) return fail(table.source().begin, of + " has no " + std::string(key), std::string(key) + " = \"...\"");
        }
      }
      if (!source(table, of, s.source)) return false;
      s.note = s.source.note;
    }
    for (const StreamRow& other : streams_) {
      if (!meet(other.is.source, s.source)) continue;
      if (other.is.name == s.name) return twice(where, of, s.source, other.is.source);
      for (const std::string& c : s.classes) {
        if (std::find(other.is.classes.begin(), other.is.classes.end(), c) == other.is.classes.end()) continue;
        return fail(table.get("classes")->source().begin, c + " becomes " + other.is.name + " already in this file", "each class in one stream");
      }
    }
    lay_over(row, earlier);
    streams_.push_back(std::move(row));
    return true;
  }

  static YesNo yes_no(std::string_view word) { return kYesNoOf[static_cast<std::size_t>(std::find(kYesNo.begin(), kYesNo.end(), word) - kYesNo.begin())]; }

  static bool only_density(const StreamRow& row) {
    constexpr std::array<std::string_view, 6> kOnly = {"name", "density", "density-source", "density-status", "from", "until"};
    return row.has("density") && std::all_of(row.given.begin(), row.given.end(), [&](const std::string& key) { return among(key, kOnly); });
  }

  std::vector<Stream> earlier_of(std::string_view name) const {
    std::vector<Stream> out;
    for (std::size_t i = 0; i < first_stream_; ++i) {
      if (set_.streams[i].name == name) out.push_back(set_.streams[i]);
    }
    return out;
  }

  bool classes(const toml::table& table, Stream& s) {
    if (!list(table, "classes", s.classes)) return false;
    for (std::size_t i = 0; i < s.classes.size(); ++i) {
      if (!is_class(*(*table.get("classes")->as_array()).get(i), s.classes[i])) return false;
    }
    return true;
  }

  bool is_class(const toml::node& node, const std::string& name) {
    if (find_class(name) != nullptr) return true;
    Names known;
    for (const FluidClass& c : fluid_classes()) known.emplace_back(c.name);
    const Names near = near_names(name, known);
    return fail(node.source().begin, "there is no class of fluid named " + visible(name), near.empty() ? "a class of `baybook fluid list --classes`" : '"' + near.front() + '"');
  }

  bool never_with(const toml::table& table, Stream& s) {
    if (!list(table, "never-with", s.never_with)) return false;
    for (std::size_t i = 0; i < s.never_with.size(); ++i) named_.emplace_back(s.never_with[i], (*table.get("never-with")->as_array()).get(i)->source().begin);
    return true;
  }

  /// A stream may be named before it stands in the file, so they are looked up when all have been read.
  bool streams_named() {
    Names known;
    for (const Stream& s : set_.streams) known.push_back(s.name);
    for (const auto& [name, where] : named_) {
      if (std::find(known.begin(), known.end(), name) != known.end()) continue;
      const Names near = near_names(name, known);
      return fail(where, "there is no stream named " + visible(name), near.empty() ? "a stream of this file" : '"' + near.front() + '"');
    }
    return true;
  }

  bool density(const toml::table& table, const std::string& of, Stream& s) {
    const toml::node* node = table.get("density");
    if (node == nullptr) {
      for (const std::string_view key : {"density-source", "density-status"}) {
        if (const toml::node* stray = table.get(key)) return fail(stray->source().begin, of + " has " + std::string(key) + " and no density", "density = \"0.9 kg/L\"");
      }
      return true;
    }
    std::string typed;
    if (!words(*node, "density", typed)) return false;
    const auto read = parse_density(typed, Units{});
    if (!read) return fail(node->source().begin, read.refusal().what, read.refusal().instead);
    s.density = *read;
    if (table.get("density-source") == nullptr) return fail(node->source().begin, of + " has a density without a source", "density-source = \"weighed, 2026-03\"");
    return needed(table, "density-source", of, s.density_source, "\"weighed, 2026-03\"") && status(table, "density-status", of, s.density_sure);
  }

  /// Puts the row into the set: by itself, or once over each row of an earlier file whose days it meets.
  void lay_over(const StreamRow& row, const std::vector<Stream>& earlier) {
    if (earlier.empty()) {
      set_.streams.push_back(row.is);
      return;
    }
    std::vector<Stream> made;
    for (const Stream& base : earlier) {
      if (!meet(base.source, row.is.source)) continue;
      made.push_back(over(base, row));
    }
    for (Stream& s : made) set_.streams.push_back(std::move(s));
  }

  Stream over(const Stream& base, const StreamRow& row) const {
    Stream s = base;
    const auto take = [&](std::string_view key, auto member) {
      if (row.has(key)) s.*member = row.is.*member;
    };
    take("title", &Stream::title);
    take("code", &Stream::code);
    take("mirror", &Stream::mirror);
    take("hazardous", &Stream::hazardous);
    take("counted", &Stream::counted);
    take("why", &Stream::why);
    take("managed", &Stream::managed);
    take("until-determined", &Stream::until_determined);
    take("label", &Stream::label);
    take("hazard", &Stream::hazard);
    take("never-with", &Stream::never_with);
    take("group", &Stream::group);
    take("density", &Stream::density);
    take("density", &Stream::density_source);
    take("density", &Stream::density_sure);
    if (row.has("classes")) {
      s.classes = row.is.classes;
    } else {
      std::erase_if(s.classes, [&](const std::string& c) { return moved(c, base, row.is.source); });
    }
    if (only_density(row)) {
      s.source.file = file_;
      narrow(s.source, row.is.source);
      return s;
    }
    const Source under = s.source;
    s.source = row.is.source;
    narrow(s.source, under);
    s.source.note = (s.source.note.empty() ? "" : s.source.note + "; ") + "what is not told here is as in " + under.file + " (" + under.section + ")";
    s.note = row.has("note") ? row.is.note : base.note;
    return s;
  }

  /// Whether a file above the one of `base`, or this one, gave this class to another stream.
  bool moved(const std::string& fluid_class, const Stream& base, const Source& when) const {
    bool above = false;
    for (std::size_t i = 0; i < set_.streams.size(); ++i) {
      const Stream& s = set_.streams[i];
      const bool same_file = i < first_stream_ && s.source.file == base.source.file;
      above = above || (same_file && s.name == base.name);
      if (!above || same_file || s.name == base.name || !meet(s.source, when)) continue;
      if (std::find(s.classes.begin(), s.classes.end(), fluid_class) != s.classes.end()) return true;
    }
    return false;
  }

  bool constituent(const toml::table& table) {
    Constituent c;
    if (!known_keys(table, kConstituentKeys) || !needed(table, "name", "a constituent", c.name, "\"lead\"")) return false;
    const auto where = table.get("name")->source().begin;
    const auto name = clean_code(c.name, "constituent");
    if (!name || *name != c.name) return fail(where, "a constituent's name is of a-z, 0-9 and -, not \"" + visible(c.name) + '"', "name = \"lead\"");
    std::string fails;
    if (!needed(table, "code", c.name, c.code, "\"D008\"") || !needed(table, "level", c.name, c.typed, "\"5.0 mg/L\"")) return false;
    if (!needed(table, "fails", c.name, fails, "\"at-least\"") || !one_of(table, "fails", kFails, fails) || !source(table, c.name, c.source)) return false;
    const auto level = returns::read_finding(c.name, c.typed);
    if (!level) return fail(table.get("level")->source().begin, level.refusal().what, level.refusal().instead);
    if (level->less) return fail(table.get("level")->source().begin, "a level is one figure", "level = \"5.0 mg/L\"");
    c.level = level->value;
    c.unit = level->unit;
    c.fails = fails == "below" ? Constituent::Fails::below : fails == "at-most" ? Constituent::Fails::at_most : Constituent::Fails::at_least;
    const auto same = [&](const Constituent& other) { return other.name == c.name && other.unit == c.unit && other.fails == c.fails; };
    bool mine = false;
    for (const Constituent& other : constituents_) {
      if (same(other) && meet(other.source, c.source)) return twice(where, c.name, c.source, other.source);
      mine = mine || same(other);
    }
    // The first row of this file takes the place of what an earlier file said of it.
    if (!mine) std::erase_if(set_.constituents, same);
    constituents_.push_back(c);
    set_.constituents.push_back(std::move(c));
    return true;
  }

  bool reportable(const toml::table& table) {
    Reportable r;
    RuleValue quantity;
    if (!known_keys(table, kReportableKeys) || !needed(table, "classes", "a reportable", r.classes, "\"coolant\"")) return false;
    const auto where = table.get("classes")->source().begin;
    if (!is_class(*table.get("classes"), r.classes) || !needed(table, "substance", "a reportable", r.substance, "\"ethylene glycol\"")) return false;
    if (!needed(table, "quantity", r.substance, quantity.text, "\"5000 lb\"") || !needed(table, "window", r.substance, r.window, "\"within any 24-hour period\"")) return false;
    if (!amount(*table.get("quantity"), Dimension::mass, "mass", "quantity = \"5000 lb\"", quantity) || !source(table, r.substance, r.source)) return false;
    r.quantity = Mass{quantity.n};
    r.typed = quantity.text;
    const auto same = [&](const Reportable& other) {
      return other.classes == r.classes && other.substance == r.substance;
    };
    for (const Reportable& other : reportable_) {
      if (same(other) && meet(other.source, r.source))
        return twice(where, r.substance + " of " + r.classes, r.source, other.source);
    }
    reportable_.push_back(r);
    set_.reportable.push_back(std::move(r));
    return true;
  }

  RuleSet& set_;
  std::string file_;
  bool shop_;
  std::size_t first_value_, first_stream_;  ///< of this file; what stands before is of the files it stands on
  std::vector<StreamRow> streams_;
  std::vector<Reportable> reportable_;
  std::vector<Constituent> constituents_;
  std::vector<std::pair<std::string, toml::source_position>> named_;
  std::optional<Refusal> refusal_;
};

const RuleFile* find_file(std::string_view name) {
  for (const RuleFile& f : returns::rule_files()) {
    if (f.name == name) return &f;
  }
  return nullptr;
}

/// Reads one file onto the set; a file of the library first reads what it stands on.
std::optional<Refusal> read_file(RuleSet& set, log::Sha256& digest, std::string_view text, const std::string& file, bool shop) {
  constexpr std::string_view kForm = "the form of TOML: key = 12, key = \"text\", [[value]]";
  if (const auto unfit = unfit_toml(text)) return FileReader(set, file, shop).at({static_cast<toml::source_index>(unfit->line), static_cast<toml::source_index>(unfit->column)}, unfit->what, std::string(kForm));
  const toml::parse_result parsed = toml::parse(text, file);
  if (!parsed) return FileReader(set, file, shop).at(parsed.error().source().begin, visible(parsed.error().description()), std::string(kForm));
  if (const toml::node* below = parsed.table().get("based-on"); below != nullptr && !shop) {
    const RuleFile* found = find_file(below->value_or(std::string_view{}));
    if (found == nullptr || found->text == text) return FileReader(set, file, shop).at(below->source().begin, "based-on names no other rule set", "based-on = \"us-federal\"");
    if (auto refused = read_file(set, digest, found->text, std::string(found->name) + ".toml", false)) return refused;
  }
  set.files.push_back(file);
  digest.update(text);
  return FileReader(set, file, shop).read(parsed.table());
}

}  // namespace

std::string_view name_of(Sure sure) noexcept {
  constexpr std::array<std::string_view, 6> kNames = {"confirmed", "secondary", "memory", "practice", "derived", "shop"};
  return kNames[static_cast<std::size_t>(sure)];
}

std::string_view words_for(Sure sure) noexcept {
  constexpr std::array<std::string_view, 6> kWords = {"confirmed", "from a secondary source", "from memory", "common practice, no source", "worked out from other values", "the shop's own"};
  return kWords[static_cast<std::size_t>(sure)];
}

std::string with_words(std::string text, Sure sure) {
  if (sure == Sure::confirmed || sure == Sure::shop || text.find(words_for(sure)) != std::string::npos) return text;
  return text + " (" + std::string(words_for(sure)) + ")";
}

std::string_view meaning_of(std::string_view key) noexcept {
  const RuleKey* known = returns::find_rule_key(key);
  return known == nullptr ? std::string_view{} : known->meaning;
}

std::string_view read_by(std::string_view key) noexcept {
  const RuleKey* known = returns::find_rule_key(key);
  return known == nullptr ? std::string_view{} : known->read_by;
}

std::string_view only_told(std::string_view key) noexcept {
  const RuleKey* known = returns::find_rule_key(key);
  return known == nullptr ? std::string_view{} : known->only_told;
}

const RuleValue* RuleSet::value(std::string_view key, Day day) const {
  for (auto v = values.rbegin(); v != values.rend(); ++v) {
    if (v->key == key && holds(v->source, day)) return &*v;
  }
  return nullptr;
}

const Stream* RuleSet::stream(std::string_view stream_name, Day day) const {
  for (auto s = streams.rbegin(); s != streams.rend(); ++s) {
    if (s->name == stream_name && holds(s->source, day)) return &*s;
  }
  return nullptr;
}

const Stream* RuleSet::stream_of(std::string_view fluid_class, Day day) const {
  for (auto s = streams.rbegin(); s != streams.rend(); ++s) {
    if (holds(s->source, day) && std::find(s->classes.begin(), s->classes.end(), fluid_class) != s->classes.end()) return &*s;
  }
  return nullptr;
}

std::vector<const Reportable*> RuleSet::reportable_on(Day day) const {
  std::vector<const Reportable*> out;
  // From the file read last on: its row of a day stands for those before it.
  for (auto r = reportable.rbegin(); r != reportable.rend(); ++r) {
    const auto same = [&](const Reportable* other) {
      return other->classes == r->classes && same_substance(other->substance, r->substance);
    };
    if (holds(r->source, day) && std::none_of(out.begin(), out.end(), same)) out.push_back(&*r);
  }
  std::reverse(out.begin(), out.end());
  return out;
}

namespace {

/// Whether the days on which others hold leave none of a row's own.
bool covered(const Source& row, std::vector<const Source*> by) {
  std::sort(by.begin(), by.end(),
            [](const Source* a, const Source* b) { return first_day(*a) < first_day(*b); });
  std::int64_t next = first_day(row);
  for (const Source* s : by) {
    if (first_day(*s) > next) return false;
    next = std::max<std::int64_t>(next, std::int64_t{last_day(*s)} + 1);
  }
  return next > last_day(row);
}

template <class Row, class Same>
std::vector<RuleRow> rows_of(const std::vector<Row>& all, const std::vector<std::string>& files,
                             const Same& same) {
  const auto file_of = [&](const Row& r) {
    return std::find(files.begin(), files.end(), r.source.file) - files.begin();
  };
  std::vector<bool> shown(all.size(), false);
  std::vector<RuleRow> out;
  for (std::size_t i = 0; i < all.size(); ++i) {
    if (shown[i]) continue;
    std::vector<std::size_t> group;
    for (std::size_t n = i; n < all.size(); ++n) {
      if (same(all[n], all[i])) group.push_back(n);
    }
    std::stable_sort(group.begin(), group.end(), [&](std::size_t a, std::size_t b) {
      return file_of(all[a]) > file_of(all[b]);
    });
    for (const std::size_t n : group) {
      shown[n] = true;
      RuleRow row;
      row.index = n;
      std::vector<const Source*> over;
      for (const std::size_t other : group) {
        if (file_of(all[other]) <= file_of(all[n]) || !meet(all[other].source, all[n].source))
          continue;
        over.push_back(&all[other].source);
        row.by = all[other].source.file;  // the last one is of the file right above it
      }
      if (!over.empty())
        row.is = covered(all[n].source, over) ? RuleRow::Is::replaced : RuleRow::Is::holds_in_part;
      out.push_back(std::move(row));
    }
  }
  return out;
}

}  // namespace

std::string_view name_of(RuleRow::Is is) noexcept {
  return is == RuleRow::Is::holds      ? "holds"
         : is == RuleRow::Is::replaced ? "replaced"
                                       : "holds in part";
}

std::vector<RuleRow> value_rows(const RuleSet& set) {
  return rows_of(set.values, set.files,
                 [](const RuleValue& a, const RuleValue& b) { return a.key == b.key; });
}

std::vector<RuleRow> stream_rows(const RuleSet& set) {
  return rows_of(set.streams, set.files,
                 [](const Stream& a, const Stream& b) { return a.name == b.name; });
}

std::vector<RuleRow> reportable_rows(const RuleSet& set) {
  return rows_of(set.reportable, set.files, [](const Reportable& a, const Reportable& b) {
    return a.classes == b.classes && same_substance(a.substance, b.substance);
  });
}

returns::RuleForm returns::rule_form() noexcept {
  return {kTopKeys,         kShopKeys, kValueKeys, kStreamKeys, kReportableKeys,
          kConstituentKeys, kSchemes,  kGroups,    kSure,       kYesNo,
          kFails};
}

std::span<const std::string_view> rule_set_names() noexcept {
  static const std::vector<std::string_view> names = [] {
    std::vector<std::string_view> out;
    for (const RuleFile& f : returns::rule_files()) out.push_back(f.name);
    return out;
  }();
  return names;
}

Result<RuleSet> read_rules(std::string_view name, std::string_view shop_text, std::string_view shop_name) {
  const RuleFile* found = find_file(name);
  if (found == nullptr) {
    const Keys known = rule_set_names();
    const Names near = near_names(name, Names(known.begin(), known.end()));
    return Refusal{Code::not_found, "there is no rule set named " + visible(name), "the program comes with " + joined(known), near.empty() ? joined(known) : near.front(), {}};
  }
  RuleSet set;
  log::Sha256 digest;
  if (auto refused = read_file(set, digest, found->text, std::string(found->name) + ".toml", false)) return *std::move(refused);
  if (!shop_text.empty()) {
    const std::string file = shop_name.empty() ? "shop.toml" : visible(shop_name);
    if (auto refused = read_file(set, digest, shop_text, file, true)) return *std::move(refused);
  }
  set.digest = log::hex(digest.finish());
  return set;
}

}  // namespace baybook
