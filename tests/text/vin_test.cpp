#include <baybook/vin.hpp>

#include "csv_rows.hpp"

#include <doctest/doctest.h>

#include <set>
#include <string>
#include <vector>

using namespace baybook;
using baybook_test::CsvRow;
using baybook_test::csv_rows;

namespace {

Vin read(std::string_view text) {
  CAPTURE(text);
  const auto vin = read_vin(text);
  REQUIRE_MESSAGE(vin.ok(), vin.refusal().what);
  return *vin;
}

Refusal refused(std::string_view text) {
  CAPTURE(text);
  const auto vin = read_vin(text);
  REQUIRE_FALSE(vin.ok());
  CHECK(vin.refusal().code == Code::unclear);
  CHECK(vin.refusal().why.find("49 CFR 565.13") != std::string::npos);
  CHECK(read_vin(vin.refusal().instead).ok());
  return vin.refusal();
}

std::string warning_of(std::string_view text) {
  const Vin vin = read(text);
  REQUIRE(vin.warnings.size() == 1);
  return vin.warnings[0];
}

bool has(const std::string& text, std::string_view part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_SUITE("text/vin") {
  TEST_CASE("the samples of the regulation have the sums it prints") {
    // 49 CFR 565, sample of the older section 565.6, Table V: sum 411, remainder 4.
    const auto regulation = vin_check_digit("1G4AH59H45G118341");
    REQUIRE(regulation.has_value());
    CHECK(regulation->sum == 411);
    CHECK(regulation->digit == '4');
    // NHTSA guide for new manufacturers, page 18: sum 314, remainder 6.
    const auto guide = vin_check_digit("1J9RP1A36A1644345");
    REQUIRE(guide.has_value());
    CHECK(guide->sum == 314);
    CHECK(guide->digit == '6');
  }

  TEST_CASE("every published example has the sum, digit and verdict computed for it") {
    const auto rows = csv_rows("vin_examples.csv");
    REQUIRE(rows.size() == 30);
    std::set<std::string> verdicts;
    for (const CsvRow& row : rows) {
      const std::string& text = row.at("vin");
      CAPTURE(text);
      CAPTURE(row.at("source"));
      const auto check = vin_check_digit(text);
      REQUIRE(check.has_value());
      CHECK(std::to_string(check->sum) == row.at("weighted_sum"));
      CHECK(std::to_string(check->sum % 11) == row.at("remainder"));
      CHECK(std::string(1, check->digit) == row.at("computed_check_digit"));
      const Vin vin = read(text);
      CHECK(vin.text == text);
      CHECK(std::string(1, vin.check_digit) == row.at("computed_check_digit"));
      CHECK(vin.check_digit_ok == (row.at("check_digit_matches") == "yes"));
      CHECK(vin.warnings.empty() == vin.check_digit_ok);
      verdicts.insert(row.at("check_digit_matches"));
    }
    CHECK(verdicts == std::set<std::string>{"no", "not applicable", "yes"});
  }

  TEST_CASE("each letter has the value of Table III and each position the weight of Table IV") {
    // 49 CFR 565.15(c). In position 8 the weight is 10, so the sum over zeros is ten times the value.
    const std::string letters = "ABCDEFGHJKLMNPRSTUVWXYZ";
    const std::string values = "12345678123457923456789";
    for (std::size_t i = 0; i < letters.size(); ++i) {
      std::string vin(17, '0');
      vin[7] = letters[i];
      CAPTURE(vin);
      CHECK(vin_check_digit(vin)->sum == 10 * (values[i] - '0'));
    }
    const std::vector<int> weights{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2};
    for (std::size_t i = 0; i < weights.size(); ++i) {
      std::string vin(17, '0');
      vin[i] = '1';
      CAPTURE(vin);
      CHECK(vin_check_digit(vin)->sum == weights[i]);
    }
  }

  TEST_CASE("there is no check digit for what is no VIN") {
    for (const std::string_view text : {"", "1111111111111111", "111111111111111111", "1111111111111111I", "O1111111111111111",
                                        "11111111Q11111111", "1111111111111111a", "1111111 111111111", "1111111111111111\xC3"}) {
      CAPTURE(text);
      CHECK_FALSE(vin_check_digit(text).has_value());
    }
  }

  TEST_CASE("a VIN is read in capitals without blanks") {
    CHECK(read(" 1m8gdm9a xkp042788 ").text == "1M8GDM9AXKP042788");
    CHECK(read("1M8GDM9AX\u00A0KP042788").text == "1M8GDM9AXKP042788");
    CHECK(read("1m8gdm9axkp042788").check_digit_ok);
  }

  TEST_CASE("North America is where the first character is 1 to 5") {
    // ISO 3780.
    for (const char c : std::string{"012345679ABCHJRSZ"}) {
      CAPTURE(c);
      std::string vin(17, '1');
      vin[0] = c;
      CHECK(read(vin).north_american == (c >= '1' && c <= '5'));
    }
  }

  TEST_CASE("S read for 5 in front is suggested back") {
    // vin_examples.csv, row SGZCZ43D13S812715: first letter misread.
    const std::string warning = warning_of("SGZCZ43D13S812715");
    CHECK(has(warning, "5GZCZ43D13S812715 (position 1 read as 5)"));
    CHECK(has(warning, "sum 384, remainder 10; 49 CFR 565.15(c)"));
    CHECK(has(warning, "not compulsory (ISO 3779)"));
  }

  TEST_CASE("each look-alike pair in a North American VIN is suggested back") {
    struct Row {
      std::string_view right;
      std::size_t at;
      char misread;
    };
    // All rows are right in vin_examples.csv. B and 8, D and 0, G and 6, L and 1, S and 5, Z and 2 have different values in
    // 49 CFR 565.15(c), Table III, so each slip shows.
    for (const Row& row : {Row{"1HGBH41JXMN109186", 3, '8'}, Row{"1HGBH41JXMN109186", 15, 'B'}, Row{"5J6HYJ8V55L009357", 9, 'S'},
                           Row{"5N1NJ01CXST000001", 9, '5'}, Row{"1G4AH59H45G118341", 1, '6'}, Row{"1HGCM82633A004352", 5, 'B'},
                           Row{"1HGCM82633A004352", 6, 'Z'}, Row{"1HGCM82633A004352", 11, 'D'}, Row{"1XPTD40X6JD456115", 4, '0'},
                           Row{"1XPTD40X6JD456115", 8, 'G'}, Row{"1XPTD40X6JD456115", 15, 'L'}, Row{"5GZCZ43D13S812715", 2, '2'},
                           Row{"5J6HYJ8V55L009357", 10, '1'}}) {
      CAPTURE(row.right);
      CAPTURE(row.at);
      std::string slip{row.right};
      REQUIRE(slip[row.at] != row.misread);
      slip[row.at] = row.misread;
      CHECK(has(warning_of(slip), std::string{row.right} + " (position " + std::to_string(row.at + 1) + " read as " + row.right[row.at] + ")"));
    }
  }

  TEST_CASE("two neighbours swapped are suggested back") {
    // 1M8GDM9AXKP042788 is the worked example with sum 351 in vin_examples.csv.
    CHECK(has(warning_of("1M8GDM9AXKP024788"), "1M8GDM9AXKP042788 (positions 13 and 14 swapped)"));
    CHECK(has(warning_of("1M8GDM9XAKP042788"), "1M8GDM9AXKP042788 (positions 8 and 9 swapped)"));
  }

  TEST_CASE("every suggestion passes the check") {
    for (const CsvRow& row : csv_rows("vin_examples.csv")) {
      if (row.at("check_digit_matches") == "yes") continue;
      const std::string warning = warning_of(row.at("vin"));
      const std::string mark = "right would be: ";
      auto at = warning.find(mark);
      if (at == std::string::npos) continue;
      CAPTURE(warning);
      at += mark.size();
      while (true) {
        const std::string suggested = warning.substr(at, 17);
        CAPTURE(suggested);
        CHECK(read(suggested).check_digit_ok);
        CHECK(suggested != row.at("vin"));
        at = warning.find("), ", at);
        if (at == std::string::npos) break;
        at += 3;
      }
    }
  }

  TEST_CASE("a filler in position 9 from elsewhere is said to be allowed and names no fault") {
    // vin_examples.csv: European filler Z in position 9.
    for (const std::string_view text : {"WP0ZZZ99ZTS392124", "WVWZZZAAZFD123456"}) {
      const std::string warning = warning_of(text);
      CHECK(has(warning, "position 9 is Z"));
      CHECK(has(warning, "outside North America a check digit is not compulsory (ISO 3779)"));
      CHECK_FALSE(has(warning, "right would be"));
    }
    CHECK_FALSE(has(warning_of("1XPTD40X0JD456115"), "outside North America"));
  }

  TEST_CASE("a letter that no VIN has is refused with the likely digit") {
    const Refusal letter_o = refused("1M8GDM9AXKPO42788");
    CHECK(letter_o.what == "VIN \"1M8GDM9AXKPO42788\" has \"O\" in position 12, likely 0");
    CHECK(letter_o.instead == "1M8GDM9AXKP042788");
    CHECK(refused("im8gdm9axkpq42788").what == "VIN \"IM8GDM9AXKPQ42788\" has \"I\" in position 1, likely 1");
    CHECK(refused("im8gdm9axkpq42788").instead == "1M8GDM9AXKP042788");
    CHECK(has(refused("1M8GDM9AXKPQ42788").what, "likely 0"));
    CHECK(refused("1M8GDM9AXKP-42788").what == "VIN \"1M8GDM9AXKP-42788\" has \"-\" in position 12");
    CHECK(has(refused("1M8GDM9AXKP\u041E" "42788").what, "in position 12"));
    CHECK(has(refused("1M8GDM9AXKP\xFF" "42788").what, "\\xff"));
  }

  TEST_CASE("another length than 17 is refused with the count") {
    CHECK(refused("").what == "VIN \"\" has 0 characters, not 17");
    CHECK(refused("1M8GDM9AXKP04278").what == "VIN \"1M8GDM9AXKP04278\" has 16 characters, not 17");
    CHECK(has(refused("1M8GDM9AXKP0427889").what, "18 characters"));
    CHECK(has(refused("\u00C9\u00C9").what, "2 characters"));
    CHECK(has(refused("\u00C9").what, "1 character, not 17"));
    CHECK(refused("1M8-GDM9AXKP042788").figures[0].value == "18");
  }
}
