// The names of members in JSON answers: each is on docs/json.md, and what has two has one value.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

#include <regex>
#include <set>
#include <sstream>

using namespace baybook::test;

namespace {

std::string source(const std::string& path) {
  return bytes_of(std::string(BAYBOOK_SOURCE) + "/" + path);
}

std::set<std::string> listed() {
  const std::string page = source("docs/json.md");
  const std::size_t at = page.find("```members\n") + 11;
  std::istringstream words(page.substr(at, page.find("```", at) - at));
  std::set<std::string> out;
  for (std::string w; words >> w;) out.insert(w);
  return out;
}

void add(std::set<std::string>& out, const std::string& text, const char* pattern) {
  const std::regex names(pattern);
  for (auto m = std::sregex_iterator(text.begin(), text.end(), names); m != std::sregex_iterator();
       ++m)
    out.insert((*m)[1]);
}

// Every name that the command writes, as its source says.
std::set<std::string> written() {
  std::set<std::string> out;
  for (const auto& file : std::filesystem::recursive_directory_iterator(
           std::string(BAYBOOK_SOURCE) + "/tools/baybook")) {
    if (file.path().extension() != ".cpp") continue;
    const std::string text = bytes_of(file.path());
    add(out, text, R"re(\.(?:member|key|strings|day|objects)\("([a-z_0-9]+)")re");
    add(out, text, R"re((?:entry_ref|figure|mass_member|sum_member)\(j, "([a-z_0-9]+)")re");
    if (file.path().parent_path().filename() != "sheet") continue;
    add(out, text, R"re((?:true|false), "([a-z_0-9]+)")re");
    add(out, text, R"re(also = "([a-z_0-9]+)")re");
  }
  return out;
}

// The value of a member, as it is written, from the first place where it stands after `from`.
std::string value(const std::string& json, const std::string& name, const std::string& from) {
  const std::size_t begin = json.find(from);
  REQUIRE_MESSAGE(begin != std::string::npos, from);
  const std::size_t at = json.find("\"" + name + "\":", begin);
  REQUIRE_MESSAGE(at != std::string::npos, name);
  const std::size_t first = at + name.size() + 3;
  if (json[first] == '{') return json.substr(first, json.find('}', first) + 1 - first);
  return json.substr(first, json.find_first_of(",}", first) - first);
}

}  // namespace

TEST_SUITE("tools/json_members") {
  TEST_CASE("every member that an answer can have stands on the page of members") {
    const std::set<std::string> all = listed();
    const std::set<std::string> used = written();
    CHECK(used.size() > 250);
    for (const std::string& name : used)
      CHECK_MESSAGE(all.contains(name),
                    "docs/json.md has no \"" << name << "\": is there a name for it already?");
  }

  TEST_CASE("where one value has two names in JSON both are there and say the same") {
    OpenShop shop;
    shop.must({"fill", "1", "coolant", "2L", "--from", "can-1"});
    shop.must({"spill", "can-1", "0.5L"});
    shop.must({"filter", "pan-1", "2L", "--into", "keep-1"});
    shop.must({"fill", "1", "coolant", "2L", "--from", "keep-1"});
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    shop.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    shop.must({"pickup", "--carrier", "Quill & Tarn Recovery", "--doc", "A-1", "--from",
               "drum-coolant=1L"});
    shop.must({"deadline", "add", "tank-test", "2026-11-30"});
    shop.must(
        {"job", "close", "1", "--as-is", "low", "--recheck", "coolant level", "--after", "3d"});
    shop.now = "2026-04-02T08:00:00.000Z";
    shop.must({"close", "2026-03"});
    shop.must({"receive", "oat-violet", "1L", "--into", "can-1", "--on", "2026-03-20"});
    struct Row {
      std::vector<std::string> typed;
      const char *from, *common, *other;
    };
    const Row rows[] = {
        {{"entry", "12", "--json"}, "\"entry\"", "day", "happened"},
        {{"history", "MARSH-07", "--form", "json"}, "\"rows\":[{\"day\"", "day", "happened"},
        {{"history", "MARSH-07", "--form", "json"}, "\"rows\":[{\"day\"", "summary", "what"},
        {{"limits", "--json"}, "\"limits\":[", "day", "due"},
        {{"limits", "--form", "json"}, "\"rows\":[", "day", "due"},
        {{"deadline", "list", "--json"}, "\"deadlines\"", "day", "due"},
        {{"last", "MARSH-07", "--json"}, "\"watch\"", "day", "due_day"},
        {{"car", "show", "MARSH-07", "--json"}, "\"odometer\"", "odometer_m", "m"},
        {{"last", "MARSH-07", "--json"},
         "\"circuits\":[{\"circuit\":\"coolant\",\"day\"",
         "entered_back",
         "put_back"},
        {{"last", "MARSH-07", "--json"},
         "\"circuits\":[{\"circuit\":\"coolant\",\"day\"",
         "entered_new",
         "new_in"},
        {{"totals", "2026-03", "--split", "job", "--form", "json"},
         "\"job\":\"1 MARSH-07\"",
         "entered_new",
         "new"},
        {{"totals", "2026-03", "--form", "json"}, "\"rows\":[{\"fluid\"", "lost_here", "lost"},
        {{"totals", "2026-03", "--form", "json"},
         "\"rows\":[{\"fluid\":\"coolant\",\"figure\"",
         "closed_at",
         "at_closing"},
        {{"pickup", "list", "--json"}, "\"lines\"", "container", "place"},
        {{"pickup", "list", "--json"}, "\"lines\"", "amount", "booked"},
        {{"pickup", "list", "--json"}, "\"lines\"", "weight", "booked_weight"},
        {{"label", "drum-coolant", "--json"}, "\"labels\"", "container", "filling"},
        {{"register", "2026-03", "--form", "json"}, "\"rows\":[{\"entry\"", "amount", "quantity"},
        {{"register", "2026-03", "--form", "json"}, "\"rows\":[{\"entry\"", "weight", "kg"},
        {{"rules", "list", "--json"}, "\"rule_sets\"", "set", "name"},
    };
    for (const Row& r : rows) {
      CAPTURE(r.typed.front());
      CAPTURE(r.other);
      const std::string json = shop.must(r.typed).out;
      CHECK(is_json(json));
      const std::string one = value(json, r.common, r.from);
      CHECK(one.size() > 2);
      CHECK(one == value(json, r.other, r.from));
    }
    CHECK(has(shop.must({"car", "show", "MARSH-07", "--json"}).out,
              "\"plate\":\"MARSH-07\",\"car\":\"MARSH-07\""));
    const std::string totals = shop.must({"totals", "2026-03", "--json"}).out;
    CHECK(has(totals, "\"key\":\"received\""));
    CHECK_FALSE(std::regex_search(totals, std::regex(R"re("key":"[a-z_]*-)re")));
  }
}
