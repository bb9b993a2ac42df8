// The head of a body: what every entry says of itself, read from bytes that anybody may have written.
#include "log/header.hpp"

#include <doctest/doctest.h>

#include <string>
#include <utility>
#include <vector>

using namespace baybook;
using log::Malformed;
using log::Value;

TEST_SUITE_BEGIN("log/header");

namespace {

Value head() {
  Value v;
  v["format"] = 1;
  v["happened"] = "2026-03-05";
  v["installation"] = "48d1400000000000000000000000000f";
  v["kind"] = "work";
  v["number"] = 17;
  v["recorded"] = "2026-03-05T09:40:00.000Z";
  v["version"] = 1;
  return v;
}

}  // namespace

TEST_CASE("a head is read back, with and without a person and a time of day") {
  Value v = head();
  CHECK(log::read_header(v).row.id == EntryId{std::int64_t{74565} << 40 | 17});
  CHECK(log::read_header(v).row.who == 0);
  v["by"] = 3;
  v["time"] = "09:11+01:00";
  CHECK(log::read_header(v).row.who == (std::int64_t{74565} << 40 | 3));
  CHECK(log::read_header(v).row.moment != log::read_header(head()).row.moment);
}

TEST_CASE("every part of a head is written in the one way that this program writes it") {
  const std::vector<std::pair<const char*, Value>> wrong = {
      {"installation", Value("48d1400000000000000000000000000")},    // 31 digits
      {"installation", Value("48d1400000000000000000000000000f0")},  // 33
      {"installation", Value("48D1400000000000000000000000000F")},   {"installation", Value("48d140000000000000000000000000/0")},
      {"installation", Value("48d1400000000000000000000000000g")},   {"installation", Value("48d1400000000000000000000000000:")},
      {"installation", Value("")},
      {"number", Value(0)},
      {"number", Value(-1)},
      {"number", Value(std::int64_t{1} << 40)},
      {"number", Value("17")},
      {"kind", Value("")},
      {"kind", Value("drain")},
      {"recorded", Value("2026-03-05T09:40:00Z")},
      {"recorded", Value("2026-03-05 09:40:00.000Z")},
      {"recorded", Value("2026-03-05T24:00:00.000Z")},
      {"recorded", Value("2026-02-30T09:40:00.000Z")},
      {"happened", Value("2026-3-5")},
      {"happened", Value("2026-02-30")},
      {"happened", Value("05.03.2026")},
      {"time", Value("9:11+01:00")},
      {"time", Value("09:11")},
      {"time", Value("09:11-00:00")},
      {"time", Value("24:00+01:00")},
      {"by", Value(0)},
      {"by", Value("Tam")},
      {"format", Value("1")},
  };
  for (const auto& one : wrong) {
    Value v = head();
    v[one.first] = one.second;
    CAPTURE(one.first);
    CHECK_THROWS_AS((void)log::read_header(v), Malformed);
  }
}

TEST_CASE("a head without one of its parts is malformed") {
  for (const char* part : {"format", "happened", "installation", "kind", "number", "recorded", "version"}) {
    CAPTURE(part);
    Value v;
    for (const char* key : {"format", "happened", "installation", "kind", "number", "recorded", "version"}) {
      if (std::string(key) != part) v[key] = head().at(key);
    }
    CHECK_THROWS_AS((void)log::read_header(v), Malformed);
  }
}

TEST_CASE("a number of 40 bits is the last that an installation has") {
  Value v = head();
  v["number"] = (std::int64_t{1} << 40) - 1;
  CHECK(log::read_header(v).row.id.number() == (std::int64_t{1} << 40) - 1);
  v["number"] = 1;
  CHECK(log::read_header(v).row.id.number() == 1);
}

TEST_SUITE_END();
