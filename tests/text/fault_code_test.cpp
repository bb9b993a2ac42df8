#include <baybook/vin.hpp>

#include "csv_rows.hpp"

#include <doctest/doctest.h>

#include <set>
#include <string>

using namespace baybook;
using baybook_test::CsvRow;
using baybook_test::csv_rows;

namespace {

FaultCode read(std::string_view text) {
  CAPTURE(text);
  const auto code = read_fault_code(text);
  REQUIRE_MESSAGE(code.ok(), code.refusal().what);
  return *code;
}

/// SAE J1979 / J2012: bits 15-14 the letter, 13-12 the second character, then three hex digits. In small letters, so that
/// reading it has something to do.
std::string code_in_bytes(const std::string& hex) {
  const unsigned long value = std::stoul(hex.substr(0, 2) + hex.substr(3), nullptr, 16);
  std::string code(1, "pcbu"[(value >> 14U) & 3U]);
  code += static_cast<char>('0' + static_cast<char>((value >> 12U) & 3U));
  for (const unsigned shift : {8U, 4U, 0U}) code += "0123456789abcdef"[(value >> shift) & 15U];
  return code;
}

}  // namespace

TEST_SUITE("text/fault_code") {
  TEST_CASE("every listed code is read, is standardised, and is what its two bytes say") {
    const auto rows = csv_rows("dtc.csv");
    REQUIRE(rows.size() == 73);
    std::set<std::string> systems;
    for (const CsvRow& row : rows) {
      CAPTURE(row.at("code"));
      CAPTURE(row.at("source"));
      const FaultCode code = read(row.at("code"));
      CHECK(code.text == row.at("code"));
      CHECK(code.standardised == (row.at("definition_class") == "SAE/ISO standardised"));
      CHECK(read(code_in_bytes(row.at("raw_bytes_hex"))).text == row.at("code"));
      CHECK((code.system == "network") == (row.at("system") == "network"));
      systems.insert(code.system);
    }
    CHECK(systems == std::set<std::string>{"network", "powertrain"});
  }

  TEST_CASE("each pair of bytes is one code and each code is read") {
    // SAE J1979: 01 04 and 01 33 are P0104 and P0133 (public tests of an open OBD library); by the same rule the others.
    CHECK(read(code_in_bytes("01 04")).text == "P0104");
    CHECK(read(code_in_bytes("01 33")).text == "P0133");
    CHECK(read(code_in_bytes("C1 00")).text == "U0100");
    CHECK(read(code_in_bytes("34 00")).text == "P3400");
    CHECK(read(code_in_bytes("41 23")).system == "chassis");
    CHECK(read(code_in_bytes("FF FF")).text == "U3FFF");
  }

  TEST_CASE("the first letter names the system") {
    // SAE J2012 / ISO 15031-6.
    CHECK(read("P0217").system == "powertrain");
    CHECK(read("C0035").system == "chassis");
    CHECK(read("B0001").system == "body");
    CHECK(read("U0100").system == "network");
  }

  TEST_CASE("the second character tells the standard's codes from the maker's") {
    // SAE J2012 / ISO 15031-6: P0, P2 and P34 to P3F; C0, B0, U0. 3 is reserved for C and B and mixed for U.
    for (const std::string_view text : {"P0217", "P2181", "P3400", "P3FFF", "C0035", "B0001", "U0100"}) {
      CAPTURE(text);
      CHECK(read(text).standardised);
    }
    for (const std::string_view text : {"P1217", "P3000", "P33FF", "C1035", "C2035", "C3035", "B1001", "B2001", "B3001", "U1100", "U2100", "U3100"}) {
      CAPTURE(text);
      CHECK_FALSE(read(text).standardised);
    }
  }

  TEST_CASE("a code is kept in capitals with its failure type") {
    CHECK(read(" p0217 ").text == "P0217");
    CHECK(read("p0abc-1a").text == "P0ABC-1A");  // SAE J2012-DA, ISO 14229
    CHECK(read("u0100-00").system == "network");
  }

  TEST_CASE("a refused code says what is wrong and what was likely meant") {
    struct Row {
      std::string_view text;
      std::string_view what;
      std::string_view instead;
    };
    for (const Row& row : {
             Row{"", "fault code \"\" is empty", "P0217"},
             Row{"X0217", "fault code \"X0217\" begins with \"X\", not P, C, B or U", "P0217"},
             Row{"0301", "fault code \"0301\" begins with \"0\", not P, C, B or U", "P0301"},
             Row{"PO301", "fault code \"PO301\" has \"O\" in position 2: the letter O for the digit 0", "P0301"},
             Row{"p03o1", "fault code \"P03O1\" has \"O\" in position 4: the letter O for the digit 0", "P0301"},
             Row{"P4301", "fault code \"P4301\" has \"4\" in position 2, not 0 to 3", "P0217"},
             Row{"P03G1", "fault code \"P03G1\" has \"G\" in position 4, not a hex digit", "P0361"},
             Row{"P030", "fault code \"P030\" has 4 characters, not 5", "P0217"},
             Row{"P", "fault code \"P\" has 1 character, not 5", "P0217"},
             Row{"P03011", "fault code \"P03011\" goes on after five characters with \"1\", not -", "P0217"},
             Row{"P03011A", "fault code \"P03011A\" goes on after five characters with \"1\", not -", "P0301-1A"},
             Row{"P0301 1A", "fault code \"P0301 1A\" goes on after five characters with \" \", not -", "P0301-1A"},
             Row{"P0301-", "fault code \"P0301-\" has \"\" after -, not two hex digits", "P0217"},
             Row{"P0301-1", "fault code \"P0301-1\" has \"1\" after -, not two hex digits", "P0217"},
             Row{"P0301-1G", "fault code \"P0301-1G\" has \"1G\" after -, not two hex digits", "P0301-16"},
             Row{"P0301-1A2", "fault code \"P0301-1A2\" has \"1A2\" after -, not two hex digits", "P0217"},
             Row{"P03\u202E1", "fault code \"P03U+202E1\" has \"U+202E\" in position 4, not a hex digit", "P0217"},
             Row{"\u0420" "0301", "fault code \"\u0420" "0301\" begins with \"\u0420\", not P, C, B or U", "P0217"},
             Row{"P\xFF", "fault code \"P\\xff\" has \"\\xff\" in position 2, not 0 to 3", "P0217"},
         }) {
      CAPTURE(row.text);
      const auto code = read_fault_code(row.text);
      REQUIRE_FALSE(code.ok());
      CHECK(code.refusal().code == Code::unclear);
      CHECK(code.refusal().what == row.what);
      CHECK(code.refusal().instead == row.instead);
      CHECK(code.refusal().why.find("SAE J2012 / ISO 15031-6") != std::string::npos);
      CHECK(read_fault_code(code.refusal().instead).ok());
    }
  }

  TEST_CASE("two bytes of zero are no code") {
    // SAE J1979: 00 00 is padding (public tests of an open OBD library).
    CHECK(code_in_bytes("00 00") == "p0000");
    CHECK(read_fault_code("P0000").refusal().code == Code::unclear);
    CHECK_FALSE(read_fault_code("p0000-00").ok());
    // Nor are they what somebody is told to type instead.
    for (const char* typed : {"P000000", "PO000", "0000", "P0000:00"}) {
      CAPTURE(typed);
      CHECK(read_fault_code(read_fault_code(typed).refusal().instead).ok());
    }
    CHECK(read("C0000").text == "C0000");
  }
}
