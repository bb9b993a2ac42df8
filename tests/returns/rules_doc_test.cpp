// docs/rules.md carries tables of what the rule files say; they are made here and compared, so that they cannot go stale.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R "returns: the tables"     writes the tables of today into docs/rules.md
#include <baybook/places.hpp>
#include <baybook/rules.hpp>

#include "returns/rule_keys.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cstdlib>
#include <fstream>
#include <sstream>
#include <string>
#include <string_view>

using namespace baybook;

namespace {

const std::string kPage = std::string(BAYBOOK_SOURCE) + "/docs/rules.md";
constexpr std::array<std::string_view, 4> kSets = {"us-federal", "us-california", "eu", "uk"};

std::string page() {
  std::ifstream in(kPage, std::ios::binary);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::string letter(Sure sure) {
  constexpr std::array<std::string_view, 6> kLetters = {"C", "C2", "M", "P", "D", "S"};
  return std::string(kLetters[static_cast<std::size_t>(sure)]);
}

std::string span_of(const Source& s) {
  return (s.from ? " from " + to_string(*s.from) : "") + (s.until ? " until " + to_string(*s.until) : "");
}

/// What the set's own file says of a key; California's column shows only what it changes.
std::string cell(const RuleSet& set, std::string_view key) {
  std::string out;
  for (const RuleValue& v : set.values) {
    if (v.key == key && v.source.file == set.files.back()) out += (out.empty() ? "" : "; ") + v.text + span_of(v.source) + " (" + letter(v.source.sure) + ")";
  }
  return out;
}

std::string values_table() {
  std::string out = "| key | type | what it means | judged by it |";
  for (const std::string_view name : kSets) out.append(" ").append(name).append(" |");
  out += "\n| --- | --- | --- | --- | --- | --- | --- | --- |\n";
  std::array<RuleSet, 4> sets;
  for (std::size_t i = 0; i < kSets.size(); ++i) sets[i] = *read_rules(kSets[i]);
  for (const returns::RuleKey& k : returns::rule_keys()) {
    std::string meaning(k.meaning);
    out.append("| `").append(k.key).append("` | ").append(returns::type_name(k.type)).append(" | ").append(meaning).append(" |");
    out += k.read_by.empty() ? " information: " + std::string(k.only_told) + " |"
                             : " `" + std::string(k.read_by) + "` |";
    for (const RuleSet& set : sets) out += " " + cell(set, k.key) + " |";
    out += "\n";
  }
  return out;
}

std::string word(YesNo answer) { return answer == YesNo::yes ? "yes" : answer == YesNo::no ? "no" : "determine"; }

std::string streams_table() {
  std::string out = "| set | stream | classes | code | hazardous | counted | density | section | status |\n| --- | --- | --- | --- | --- | --- | --- | --- | --- |\n";
  for (const std::string_view name : kSets) {
    const RuleSet set = *read_rules(name);
    for (const Stream& s : set.streams) {
      if (s.source.file != set.files.back()) continue;
      std::string classes;
      for (const std::string& c : s.classes) classes += (classes.empty() ? "" : ", ") + c;
      out += "| " + set.name + " | " + s.name + span_of(s.source) + " | " + classes + " | " + s.code + (s.mirror.empty() ? "" : " or " + s.mirror) + " | " + word(s.hazardous) + " | " + word(s.counted) + " | " +
             (s.density ? s.density->typed + " (" + letter(s.density_sure) + ")" : "") + " | " + s.source.section + " | " + letter(s.source.sure) + " |\n";
    }
  }
  return out;
}

std::string constituents_table() {
  constexpr std::array<std::string_view, 3> kFails = {"at least", "at most", "below"};
  std::string out = "| name | code | fails | level | section | status |\n| --- | --- | --- | --- | --- | --- |\n";
  const RuleSet set = *read_rules("us-federal");
  for (const Constituent& c : set.constituents)
    out += "| " + c.name + " | " + c.code + " | " + std::string(kFails[static_cast<std::size_t>(c.fails)]) + " | " + c.typed + " | " + c.source.section + " | " + letter(c.source.sure) + " |\n";
  return out;
}

/// The text between `<!-- NAME -->` and `<!-- end -->`.
struct Part {
  std::size_t at = 0, size = 0;
};

Part part_of(const std::string& text, std::string_view name) {
  const std::string open = "<!-- " + std::string(name) + " -->\n";
  const std::size_t start = text.find(open);
  REQUIRE(start != std::string::npos);
  const std::size_t at = start + open.size();
  const std::size_t end = text.find("<!-- end -->", at);
  REQUIRE(end != std::string::npos);
  return {at, end - at};
}

void same_or_refreshed(std::string_view name, const std::string& table) {
  const std::string text = page();
  const Part part = part_of(text, name);
  const char* const asked = std::getenv("BAYBOOK_REFRESH");
  if (asked != nullptr && std::string_view(asked) == "1") {
    std::ofstream(kPage, std::ios::binary | std::ios::trunc) << text.substr(0, part.at) << table << text.substr(part.at + part.size);
    return;
  }
  CHECK(text.substr(part.at, part.size) == table);
}

}  // namespace

TEST_SUITE("returns/rules page") {
  // One case: the tables are written into one page.
  TEST_CASE("the tables in docs/rules.md are those of the rule files") {
    same_or_refreshed("values", values_table());
    same_or_refreshed("streams", streams_table());
    same_or_refreshed("constituents", constituents_table());
  }

  TEST_CASE(
      "every key that a rule file may have, and every word that one may hold, is told in "
      "docs/rules.md") {
    const std::string text = page();
    const std::size_t form = text.find("## The form");
    const std::string told = text.substr(form, text.find("## A shop's own file") - form);
    const returns::RuleForm words = returns::rule_form();
    for (const auto list : {words.top, words.shop, words.value, words.stream, words.reportable,
                            words.constituent, words.schemes, words.groups, words.yes_no,
                            words.fails}) {
      for (const std::string_view word : list) {
        CAPTURE(word);
        CHECK(told.find('`' + std::string(word) + '`') != std::string::npos);
      }
    }
    for (const std::string_view word : words.status)
      CHECK(text.find("| `" + std::string(word) + "` |") != std::string::npos);
  }

  TEST_CASE("every tag that says where a figure was seen is told in docs/rules.md") {
    const std::string text = page();
    const auto told = [&](const std::string& seen) {
      std::string tag;
      for (const char c : seen + " ") {
        if ((c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9')) {
          tag += c;
          continue;
        }
        // Two capitals begin a tag; "NIOSH" and a code like D001 are told in words.
        const bool is_tag = tag.size() >= 3 && tag[0] >= 'A' && tag[1] >= 'A' && c != '-' && (c < 'a' || c > 'z');
        if (is_tag) {
          CAPTURE(tag);
          CHECK(text.find("**" + tag + "**") != std::string::npos);
        }
        tag.clear();
      }
    };
    for (const std::string_view name : kSets) {
      const RuleSet set = *read_rules(name);
      for (const RuleValue& v : set.values) told(v.source.seen);
      for (const Stream& s : set.streams) told(s.source.seen);
      for (const Reportable& r : set.reportable) told(r.source.seen);
    }
  }
}
