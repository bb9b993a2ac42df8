// Each key of the rule files decides, and then the code that judges by it is named, or it says that
// it does not.
#include "returns/rule_keys.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <string>

using namespace baybook::returns;

namespace {

const std::string kSource = std::string(BAYBOOK_SOURCE) + "/libledger/src/";

std::map<std::string, std::string> sources() {
  std::map<std::string, std::string> out;
  for (const auto& file : std::filesystem::recursive_directory_iterator(kSource)) {
    if (file.path().extension() != ".cpp") continue;
    std::ifstream in(file.path());
    out[file.path().string().substr(kSource.size())] = {std::istreambuf_iterator<char>(in), {}};
  }
  return out;
}

bool has(const std::string& text, std::string_view key) {
  return text.find('"' + std::string(key) + '"') != std::string::npos;
}

}  // namespace

TEST_SUITE("returns/rule readers") {
  TEST_CASE(
      "a key that decides stands in the file that is named, and one that is only told in no file "
      "but the tables") {
    const auto all = sources();
    REQUIRE(all.size() > 100);
    for (const RuleKey& k : rule_keys()) {
      CAPTURE(k.key);
      CHECK(k.read_by.empty() != k.only_told.empty());
      if (!k.read_by.empty()) {
        const auto at = all.find(std::string(k.read_by));
        REQUIRE(at != all.end());
        CHECK(has(at->second, k.key));
        continue;
      }
      for (const auto& [name, text] : all) {
        if (name == "returns/rule_keys.cpp" || name == "returns/rule_readers.cpp") continue;
        CAPTURE(name);
        CHECK_FALSE(has(text, k.key));
      }
    }
  }

  TEST_CASE("the table of readers names each key once and no other") {
    std::set<std::string_view> named;
    for (const RuleReader& r : rule_readers()) {
      CAPTURE(r.key);
      CHECK(find_rule_key(r.key) != nullptr);
      CHECK(named.insert(r.key).second);
    }
    CHECK(named.size() == rule_keys().size());
  }
}
