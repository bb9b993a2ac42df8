// Rule sets: what the law of a place says about waste, as data. Limits, codes, label words and days come from libledger/rules/*.toml and from
// a shop's own file, never from code; each value stands beside its section, how sure it is, and the days between which it holds.
//
// An aid to record keeping only: it defers to the competent authority, local codes and licensed practice.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/export.hpp>
#include <baybook/quantity.hpp>
#include <baybook/result.hpp>

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

class Book;

/// How sure a value is (docs/sources.md).
enum class Sure : std::uint8_t {
  confirmed,  ///< "C": the rule's text, or a rule that copies it, was seen
  secondary,  ///< "C2": seen in guidance or a secondary article, not in the rule's text
  memory,     ///< "M": from memory, not confirmed
  practice,   ///< "P": common practice, no source
  derived,    ///< "D": worked out from other values here
  shop,       ///< "S": the shop's own file
};
[[nodiscard]] std::string_view name_of(Sure sure) noexcept;  ///< for programs: "confirmed", "secondary", "memory", "practice", "derived", "shop"
[[nodiscard]] std::string_view words_for(Sure sure) noexcept;  ///< for a sentence: "from memory", "common practice, no source"
/// A text with how sure its value is behind it: "40 CFR 262.16 (from memory)"; nothing twice, and nothing behind what was confirmed or is
/// the shop's own.
[[nodiscard]] std::string with_words(std::string text, Sure sure);

/// Where a value comes from and when it holds.
struct Source {
  std::string section;            ///< "40 CFR 262.16(b)", never empty
  Sure sure = Sure::memory;
  std::string seen;               ///< where it was seen, or empty
  std::optional<Day> from{}, until{};  ///< first and last day on which it holds; none: no end
  std::string note{};
  std::string file;               ///< rule file it stands in, "us-federal.toml"
};

/// A named value. What its key means and of which type it is, is fixed in src/returns/rule_keys.cpp and told in docs/rules.md; an unknown
/// key is an error of the file.
struct RuleValue {
  enum class Type : std::uint8_t { mass, volume, distance, days, hours, months, number, yes, word, day_of_year } type = Type::number;
  std::string key;           ///< "clock.small.days"
  std::int64_t n = 0;        ///< micrograms, nanolitres, metres, days, hours, months, a number, 1 or 0; day_of_year: month * 100 + day
  std::string text;          ///< as written in the file: "100 kg"
  Source source;
};

enum class YesNo : std::uint8_t { no, yes, by_determination };  ///< by_determination: `determine` says it for each batch

/// What a fluid or solid becomes as waste.
struct Stream {
  std::string name;                     ///< "used-oil"
  std::string title;                    ///< "Used oil"
  std::vector<std::string> classes;     ///< classes that become it: "engine-oil"
  std::string code;                     ///< "16 01 14*", "D001", empty when the rules have none
  std::string mirror;                   ///< the paired code when it is determined not to be hazardous: "16 01 15"
  YesNo hazardous = YesNo::by_determination;
  YesNo counted = YesNo::no;            ///< toward the US generator category
  std::string why;                      ///< why it is counted or not, with the section
  /// How it is managed while it is not counted ("as used oil, under 40 CFR part 279"); empty: no
  /// exclusion covers it, so that what was determined to be hazardous is counted.
  std::string managed;
  bool until_determined = false;        ///< while nobody has determined it, it is hazardous
  std::vector<std::string> label;       ///< words that the container must carry
  std::vector<std::string> hazard;      ///< hazard words for the label: "Harmful if swallowed (H302)"
  std::optional<Density> density{};     ///< default, for what was not weighed
  std::string density_source{};
  Sure density_sure = Sure::memory;
  std::vector<std::string> never_with;  ///< streams it may not be mixed with
  std::string group;                    ///< which clock of the rules runs: "hazardous-waste", "used-oil", "universal-waste", "battery", "wipes", "airbags", "acute", "acute-residue", "other"
  std::string note{};                   ///< a conflict or an open point, shown and never silently settled
  Source source;
};

/// A substance whose release may have to be reported at once.
struct Reportable {
  std::string classes;        ///< class of fluid it is looked up by: "coolant"
  std::string substance;      ///< "ethylene glycol"
  Mass quantity;
  std::string typed{};        ///< as written in the file: "5000 lb"
  std::string window;         ///< "within any 24-hour period"
  Source source;
};

/// A figure of an analysis that decides: what it is compared with, and which code it gives.
struct Constituent {
  std::string name;           ///< "lead"
  std::string code;           ///< "D008"
  enum class Fails : std::uint8_t { at_least, at_most, below } fails = Fails::at_least;
  std::int64_t level = 0;     ///< millionths of `unit`
  std::string unit;           ///< "mg/L", "C" or "pH"
  std::string typed;          ///< as written in the file: "5.0 mg/L"
  Source source;
};

struct RuleSet {
  std::string name;           ///< "us-federal"
  std::string title;          ///< "US federal, 40 CFR parts 260 to 279"
  std::string scheme;         ///< "us" (generator categories by month) or "list-of-waste" (by code and hazard)
  std::string digest;         ///< SHA-256 over the texts of `files`, one after the other, 64 hex
  std::vector<std::string> files;   ///< "us-federal.toml", in the order they were read
  std::string aid;            ///< the sentence that every screen and page carries
  std::vector<RuleValue> values;
  std::vector<Stream> streams;
  std::vector<Reportable> reportable;
  std::vector<Constituent> constituents;

  /// The value that holds on a day; null when the rules say nothing. Of several the file read last decides: a shop's own stands above
  /// the set, the set above what it stands on.
  [[nodiscard]] const RuleValue* value(std::string_view key, Day day) const;
  [[nodiscard]] const Stream* stream(std::string_view name, Day day) const;
  /// The stream a class becomes.
  [[nodiscard]] const Stream* stream_of(std::string_view fluid_class, Day day) const;
  /// What is reportable on a day, each class and substance once, as the file read last says it.
  [[nodiscard]] std::vector<const Reportable*> reportable_on(Day day) const;
};

/// One row of a set as it is shown: what holds, and below it the rows of earlier files whose place it took.
struct RuleRow {
  std::size_t index = 0;      ///< in the list of the set: values, streams, reportable
  enum class Is : std::uint8_t {
    holds,             ///< on all its days
    holds_in_part,     ///< a later file says otherwise for some of its days
    replaced,          ///< a later file says otherwise for all of them
  } is = Is::holds;
  std::string by{};           ///< the file that says otherwise: "us-california.toml"
};
[[nodiscard]] std::string_view name_of(RuleRow::Is is) noexcept;  ///< "holds", "holds in part", "replaced"
/// Rows of one key (name of a stream; class and substance) together, in the order in which the keys come up; of one key that of the file
/// read last first.
[[nodiscard]] std::vector<RuleRow> value_rows(const RuleSet& set);
[[nodiscard]] std::vector<RuleRow> stream_rows(const RuleSet& set);
[[nodiscard]] std::vector<RuleRow> reportable_rows(const RuleSet& set);

/// What a key means, one line; empty for an unknown key.
[[nodiscard]] std::string_view meaning_of(std::string_view key) noexcept;
/// The file of the library's source that judges by a key, "book/limits_clocks.cpp"; empty for a key by which nothing is judged.
[[nodiscard]] std::string_view read_by(std::string_view key) noexcept;
/// Why nothing is judged by a key: what the book does not know, or what it is shown for. Empty for a key that decides.
[[nodiscard]] std::string_view only_told(std::string_view key) noexcept;
/// Names of the rule sets that come with the program, sorted.
[[nodiscard]] std::span<const std::string_view> rule_set_names() noexcept;
/// Reads a rule set, what it stands on, and a shop's own file on top ("" for none). A shop's file adds values and streams or lays them over
/// those of the set; a stream that the set knows needs only what is different. Refuses: not_found (no such set, with near names),
/// unclear (`name:line:column: text`: unknown key, class or stream, missing section or status, a value without a source, a density of zero
/// or out of range, a wrong type, last day before the first, one key twice for a day).
[[nodiscard]] Result<RuleSet> read_rules(std::string_view name, std::string_view shop_text = {}, std::string_view shop_name = {});
/// The rules that the book goes by on a day; not_found when none were chosen.
[[nodiscard]] Result<RuleSet> rules(const Book& book, Day day);

}  // namespace baybook
BAYBOOK_API_END
