// Which version of its kind an entry is of: docs/format.md, "Versions".
#include "log/version.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <iterator>
#include <string>
#include <utility>
#include <vector>

using namespace baybook::log;

namespace {

Value object(std::string_view key, Value value) {
  Value v;
  v[std::string(key)] = std::move(value);
  return v;
}

Value in_list(std::string_view list, Value item) {
  return object(list, Value(Value::Array{std::move(item)}));
}

// What came with version 2, written down here a second time: a word that is lost in the code is
// lost for every book that has it.
std::vector<std::pair<std::string, Value>> of_version_2() {
  Value mark = object("place", 4);
  mark["what"] = "bulk";
  Value shelf = object("place", 4);
  shelf["what"] = "shelf";
  return {{"missing", in_list("lines", object("to", "missing"))},
          {"was-low", object("was-low", Value(Value::Array{Value("coolant")}))},
          {"missing-from-cars", in_list("rows", object("missing-from-cars", object("best", "1")))},
          {"takes-out", in_list("takes-out", object("fit", 4))},
          {"alone", in_list("lines", object("alone", true))},
          {"beside", in_list("lines", object("beside", true))},
          {"alone", object("alone", true)},
          {"bulk", object("bulk", true)},
          {"bulk", std::move(mark)},
          {"shelf", std::move(shelf)},
          {"rolled-over", object("rolled-over", "mile")},
          {"codes", in_list("codes", "D008")},
          {"found", in_list("found", object("what", "lead"))},
          {"ground", object("ground", "mixed")},
          {"rebuts", object("rebuts", true)},
          {"shares", in_list("shares", object("substance", "ethylene glycol"))},
          {"haul-m", object("haul-m", 338'000)},
          {"own-vehicle", object("own-vehicle", true)},
          {"receives-as", object("receives-as", "collection-centre")},
          {"registered", object("registered", "2026-01-02")},
          {"streams", object("streams", Value(Value::Array{Value("coolant")}))}};
}

}  // namespace

TEST_SUITE("log/version") {
  TEST_CASE(
      "what came with version 2 makes an entry one of version 2, and the correction that brings "
      "it") {
    for (const auto& [word, details] : of_version_2()) {
      CAPTURE(word);
      CHECK(version_for(details) == 2);
      Value correction = object("target", 7);
      correction["action"] = "replace";
      correction["details"] = details;
      CHECK(version_for(correction) == 2);
    }
  }

  TEST_CASE("a choice is of version 3, and so is whatever says what its writer had seen") {
    Value choice = object("action", "keep");
    choice["over"] = Value(Value::Array{Value(7)});
    CHECK(version_for(choice) == 3);
    Value body = object("details", object("codes", "D008"));
    CHECK(version_of_body(body) == 2);
    body["seen"] = Value(Value::Array{Value("00004000000000000000000000000001:7")});
    CHECK(version_of_body(body) == 3);
    CHECK(version_of_body(object("details", Value())) == 1);
  }

  TEST_CASE("an entry that says nothing new stays readable for the programs before") {
    Value mark = object("place", 4);
    mark["what"] = "retire";
    for (const Value& details :
         {Value(), in_list("lines", object("to", "ground")), mark,
          object("what", "bulk"), in_list("rows", object("lost-from-cars", object("best", "1")))})
      CHECK(version_for(details) == 1);
  }

  TEST_CASE("the format page names each of them") {
    std::ifstream in(std::string(BAYBOOK_SOURCE) + "/docs/format.md");
    const std::string page{std::istreambuf_iterator<char>(in), {}};
    const std::size_t at = page.find("\n| 2 | ", page.find("## Versions"));
    REQUIRE(at != std::string::npos);
    const std::string row = page.substr(at + 1, page.find('\n', at + 1) - at);
    for (const auto& [word, details] : of_version_2()) {
      CAPTURE(word);
      CHECK(row.find("`" + word + "`") != std::string::npos);
    }
  }
}
