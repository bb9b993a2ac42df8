#include "support/test_book.hpp"

#include "log/references.hpp"

#include <filesystem>
#include <fstream>
#include <regex>
#include <set>

using namespace baybook;
using namespace baybook::test;

namespace {

// Every key under which the library writes a reference, as its source says.
std::set<std::string> written_keys() {
  std::set<std::string> out;
  const std::regex writes(R"re(\["([a-z-]+)"\] = (?:log::)?write_(?:ref|place|fluid)\()re");
  for (const auto& file : std::filesystem::recursive_directory_iterator(std::string(BAYBOOK_SOURCE) + "/libledger/src")) {
    if (file.path().extension() != ".cpp") continue;
    std::ifstream in(file.path());
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    for (auto m = std::sregex_iterator(text.begin(), text.end(), writes); m != std::sregex_iterator(); ++m) out.insert((*m)[1]);
  }
  return out;
}

}  // namespace

TEST_SUITE("book/references") {
  TEST_CASE("every key under which a reference is written is known where references are checked and settled") {
    const std::set<std::string> keys = written_keys();
    CHECK(keys.size() > 10);
    for (const std::string& key : keys) {
      if (key == "by") continue;  // the header's, which is a column of its own
      CAPTURE(key);
      log::Value v;
      v[key] = 5;
      const auto found = log::references_in(v, 77);
      REQUIRE(found.size() == 1);
      CHECK(found[0].entry.origin() == 77);
      CHECK(found[0].entry.number() == 5);
    }
  }

  TEST_CASE("names of classes and of ends of the world and days are no references, a circuit's car is one") {
    log::Value circuit;
    circuit["car"] = 4;
    circuit["circuit"] = "coolant";
    log::Value line;
    line["fluid"] = "coolant";
    line["from"] = circuit;
    line["to"] = "ground";
    log::Value d;
    d["lines"] = log::Value::array({line});
    d["also"] = log::Value::array({log::Value(7), log::Value("0123456789abcdef0123456789abcdef:9")});
    const auto found = log::references_in(d, 77);
    REQUIRE(found.size() == 3);
    CHECK(found[0].key == "also");
    CHECK(found[1].entry.number() == 9);
    CHECK(found[1].entry.origin() == log::origin_of("0123456789abcdef0123456789abcdef"));
    CHECK(found[2].key == "car");
    log::Value rules;
    rules["from"] = "2026-03-01";
    CHECK(log::references_in(rules, 77).empty());
  }

  TEST_CASE("what should be a reference and is none is malformed") {
    for (const char* key : {"car", "job", "target", "pickup"}) {
      CAPTURE(key);
      log::Value v;
      v[key] = true;
      CHECK_THROWS_AS(static_cast<void>(log::references_in(v, 77)), log::Malformed);
      v[key] = "the red one";
      CHECK_THROWS_AS(static_cast<void>(log::references_in(v, 77)), log::Malformed);
    }
  }
}
