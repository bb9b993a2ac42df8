#include <baybook/vin.hpp>

#include "csv_rows.hpp"

#include <doctest/doctest.h>

#include <algorithm>
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
  // What is to be typed is a VIN that can be, or words.
  const auto instead = read_vin(vin.refusal().instead);
  if (instead.ok()) CHECK((!instead->north_american || instead->warnings.empty()));
  else CHECK(vin.refusal().instead.starts_with("the VIN again, as it stands on the car"));
  return vin.refusal();
}

/// `right` with another character in a position, and the check digit made to fit.
std::string with(std::string vin, std::size_t position, char c) {
  vin[position - 1] = c;
  vin[8] = vin_check_digit(vin)->digit;
  return vin;
}

/// What a warning suggests: each VIN after "right would be: ".
std::vector<std::string> suggested(const Vin& vin) {
  std::vector<std::string> out;
  for (const std::string& w : vin.warnings) {
    const std::string mark = "right would be: ";
    auto at = w.find(mark);
    if (at == std::string::npos) continue;
    for (at += mark.size();; at += 3) {
      out.push_back(w.substr(at, 17));
      at = w.find("), ", at);
      if (at == std::string::npos) break;
    }
  }
  return out;
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
      const bool told = text == "11111111111111111" || text == "SGZCZ43D13S812715";
      CHECK(vin.warnings.empty() == ((vin.check_digit_ok || !vin.north_american) && !told));
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

  TEST_CASE("S read for 5 in front is asked about where all would fit then, and names no fault") {
    // vin_examples.csv, row SGZCZ43D13S812715: first letter misread.
    CHECK(warning_of("SGZCZ43D13S812715") ==
          "is the first character S, and not 5? With 5 it is a North American VIN whose check "
          "digit fits: 5GZCZ43D13S812715");
    // With anything that a North American VIN cannot have, nothing is asked.
    std::string other = "SGZCZ43D13S812715";
    other[9] = 'Z';
    CHECK(read(other).warnings.empty());
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
      const Vin vin = read(slip);
      REQUIRE_FALSE(vin.warnings.empty());
      CHECK(has(vin.warnings.back(), std::string{row.right} + " (position " +
                                         std::to_string(row.at + 1) + " read as " +
                                         row.right[row.at] + ")"));
    }
  }

  TEST_CASE("two neighbours swapped are suggested back") {
    // 1M8GDM9AXKP042788 is the worked example with sum 351 in vin_examples.csv.
    CHECK(has(warning_of("1M8GDM9AXKP024788"), "1M8GDM9AXKP042788 (positions 13 and 14 swapped)"));
    CHECK(has(warning_of("1M8GDM9XAKP042788"), "1M8GDM9AXKP042788 (positions 8 and 9 swapped)"));
  }

  TEST_CASE("a suggestion passes the check and breaks none of the rules, whatever was typed") {
    // 49 CFR 565.15: a check digit, a model year's sign, digits at the end. Every slip of each published North American VIN is tried.
    const std::string signs = "0123456789ABCDEFGHJKLMNPRSTUVWXYZ";
    const std::string no_year = "IOQUZ0";
    int seen = 0;
    for (const CsvRow& row : csv_rows("vin_examples.csv")) {
      const std::string& right = row.at("vin");
      if (right.front() < '1' || right.front() > '5') continue;
      for (std::size_t i = 0; i < right.size(); ++i) {
        for (const char c : signs) {
          std::string typed = right;
          typed[i] = c;
          for (const std::string& other : suggested(read(typed))) {
            ++seen;
            CAPTURE(typed);
            CAPTURE(other);
            CHECK(other != typed);
            CHECK(read(other).check_digit_ok);
            CHECK(no_year.find(other[9]) == std::string::npos);
            CHECK((other[8] == 'X' || (other[8] >= '0' && other[8] <= '9')));
            CHECK(other.substr(14).find_first_not_of("0123456789") == std::string::npos);
            for (std::size_t k = 12; k < 14; ++k)
              CHECK((other[k] == typed[k] || (other[k] >= '0' && other[k] <= '9')));
            CHECK(other.front() >= '1');
            CHECK(other.front() <= '5');
          }
        }
      }
    }
    CHECK(seen > 500);
  }

  TEST_CASE(
      "outside North America no fault is named: not of the check digit, position 9, position 10 or "
      "a letter at the end") {
    for (const char first : std::string("6789ABCDEFGHJKLMNPRSTUVWXYZ")) {
      for (const std::string_view rest :
           {"VWZZZ8KZ0A01BCDE", "ABAA3AG0U1C2D3E4", "DF9G0JZ9Z00000AB", "H1RN85900000000Z"}) {
        const std::string text = std::string(1, first) + std::string(rest);
        CAPTURE(text);
        CHECK(read(text).warnings.empty());
      }
    }
    // vin_examples.csv: European filler Z in position 9.
    CHECK(read("WP0ZZZ99ZTS392124").warnings.empty());
    CHECK(read("WVWZZZAAZFD123456").warnings.empty());
    CHECK_FALSE(read("WVWZZZAAZFD123456").check_digit_ok);
  }

  TEST_CASE("a filler in position 9 of a North American VIN has words of its own") {
    std::string filler = "5GZCZ43D13S812715";
    filler[8] = 'Z';
    const std::string warning = warning_of(filler);
    CHECK(has(
        warning,
        "position 9 is Z, a filler of makers that use no check digit; a North American VIN, which "
        "begins with 1 to 5, has a check digit there, 0 to 9 or X: of the other 16 it is 1"));
    CHECK(has(warning, "or is the first character S, and not 5?"));
    filler[8] = 'U';
    CHECK(has(warning_of(filler),
              "position 9 is U; a North American VIN, which begins with 1 to 5, has a check digit "
              "there"));
    filler[8] = '7';
    CHECK(has(warning_of(filler), "position 9 is 7; the check digit of the other 16 is 1"));
  }

  TEST_CASE("a sign that stands for no model year is named with those that are not used there") {
    for (const char c : std::string("UZ0")) {
      const std::string text = with("1M8GDM9AXKP042788", 10, c);
      const std::string warning = warning_of(text);
      CHECK(has(warning, std::string("position 10 is ") + c +
                             ", which stands for no model year: I, O, Q, U, Z and 0 are not used "
                             "there (49 CFR 565.15, Table VII)"));
    }
    CHECK(refused("1M8GDM9AXOP042788").why ==
          "a VIN has digits and the letters A to Z without I, O and Q (49 CFR 565.13, ISO 3779), "
          "and for the model year neither U, Z nor 0 (49 CFR 565.15, Table VII)");
    // U for V: suggested where it makes all of it right.
    const std::string v = with("1M8GDM9AXKP042788", 10, 'V');
    std::string u = v;
    u[9] = 'U';
    const std::vector<std::string> all = suggested(read(u));
    CHECK(std::find(all.begin(), all.end(), v) != all.end());
  }

  TEST_CASE(
      "a letter among the last four of a North American VIN is named, of a maker of few among the "
      "last three") {
    CHECK(has(warning_of(with("1M8GDM9AXKP042788", 15, 'B')),
              "position 15 is B; the last four of a North American VIN are digits, of a light "
              "vehicle the last five (49 CFR 565.15(d))"));
    CHECK(has(warning_of(with("1M8GDM9AXKP042788", 14, 'B')), "position 14 is B"));
    // Other vehicles than light ones may have one in position 13.
    CHECK(read(with("1M8GDM9AXKP042788", 13, 'B')).warnings.empty());
    // 49 CFR 565.15(a): a 9 in position 3, and 12 to 14 are the maker's own.
    CHECK(read(with("1J9RP1A36A1644345", 14, 'B')).warnings.empty());
    CHECK(has(warning_of(with("1J9RP1A36A1644345", 15, 'B')), "position 15 is B"));
  }

  TEST_CASE("seventeen equal characters draw a note, whatever their check digit and wherever") {
    for (const char c : std::string("1257ASWZ")) {
      const Vin vin = read(std::string(17, c));
      CAPTURE(vin.text);
      REQUIRE_FALSE(vin.warnings.empty());
      CHECK(
          has(vin.warnings.front(), std::string("all 17 characters are ") + c + ": a placeholder"));
    }
  }

  TEST_CASE("position 10 stands for two model years thirty years apart, and another year is told") {
    const Vin k = read("1M8GDM9AXKP042788");
    CHECK(vin_model_years(k) == std::vector<int>{1989, 2019});
    CHECK(vin_model_years(read(with(k.text, 10, '9'))) == std::vector<int>{2009, 2039});
    CHECK(vin_model_years(read(with(k.text, 10, 'A'))) == std::vector<int>{1980, 2010});
    CHECK(vin_model_years(read(with(k.text, 10, 'U'))).empty());
    CHECK(vin_model_years(read("WVWZZZAAZFD123456")).empty());
    for (const int year : {0, 1989, 2019}) CHECK(vin_year_note(k, year).empty());
    CHECK(vin_year_note(k, 2014) ==
          "position 10 is K, model year 1989 or 2019 (49 CFR 565.15, Table VII); the car is "
          "entered as one of 2014");
    CHECK(vin_year_note(read("WVWZZZAAZFD123456"), 2014).empty());
  }

  TEST_CASE("a letter that no VIN has is refused with the likely digit") {
    const Refusal letter_o = refused("1M8GDM9AXKPO42788");
    CHECK(letter_o.what == "VIN \"1M8GDM9AXKPO42788\" has \"O\" in position 12, likely 0");
    CHECK(letter_o.instead == "1M8GDM9AXKP042788");
    CHECK(refused("im8gdm9axkpq42788").what == "VIN \"IM8GDM9AXKPQ42788\" has \"I\" in position 1, likely 1");
    CHECK(refused("im8gdm9axkpq42788").instead == "1M8GDM9AXKP042788");
    CHECK(has(refused("1M8GDM9AXKPQ42788").what, "likely 0"));
    // A reading that cannot be is not proposed: here no digit makes the check digit fit.
    CHECK(refused("1M8GDM9A1KPO42788").instead ==
          "the VIN again, as it stands on the car: 17 digits and letters");
    CHECK(refused("WVWZZZAAZFDO23456").instead == "WVWZZZAAZFD023456");
    CHECK(refused("QF9ZZZ00000000000").instead ==
          "the VIN again, as it stands on the car: 17 digits and letters");
    CHECK(refused("1FAPP64R7OH123456").what ==
          "VIN \"1FAPP64R7OH123456\" has \"O\" in position 10");
    CHECK(refused("1M8GDM9AXKP-42788").what == "VIN \"1M8GDM9AXKP-42788\" has \"-\" in position 12");
    CHECK(has(refused("1M8GDM9AXKP\u041E" "42788").what, "in position 12"));
    CHECK(has(refused("1M8GDM9AXKP\xFF" "42788").what, "\\xff"));
  }

  TEST_CASE("another length than 17 is refused with the count") {
    CHECK(refused("").what == "VIN \"\" has 0 characters, not 17");
    CHECK(refused("1M8GDM9AXKP04278").what == "VIN \"1M8GDM9AXKP04278\" has 16 characters, not 17");
    CHECK(has(refused("1M8GDM9AXKP0427889").what, "18 characters"));
    CHECK(refused("AB12345").instead ==
          "the VIN again, as it stands on the car: 17 digits and letters; no VIN for a car that is "
          "older than them");
    CHECK(has(refused("\u00C9\u00C9").what, "2 characters"));
    CHECK(has(refused("\u00C9").what, "1 character, not 17"));
    CHECK(refused("1M8-GDM9AXKP042788").figures[0].value == "18");
  }
}
