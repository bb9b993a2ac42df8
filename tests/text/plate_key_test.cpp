#include <baybook/text.hpp>

#include <doctest/doctest.h>

#include <string>

using namespace baybook;
using namespace std::string_view_literals;

TEST_SUITE("text/plate_key") {
  TEST_CASE("one plate typed in different ways has one key") {
    for (const std::string_view plate : {"MARSH-07"sv, "marsh 07"sv, " Marsh.07 "sv, "MARSH/07"sv, "m-a-r-s-h-0-7"sv, "MARSH\u00A0" "07"sv,
                                         "MARSH\u3000" "07"sv, "MARSH\u200B07"sv, "\u202EMARSH07"sv}) {
      CAPTURE(plate);
      CHECK(plate_key(plate) == "MARSH07");
    }
  }

  TEST_CASE("plates that differ in a letter or digit have different keys") {
    CHECK(plate_key("MARSH-07") != plate_key("MARSH-70"));
    CHECK(plate_key("MARSH-0") != plate_key("MARSH-O"));
    CHECK(plate_key("A_1") == "A_1");
    CHECK(plate_key("\u0410" "1") != plate_key("A1"));  // Cyrillic A
  }

  TEST_CASE("capitals follow the simple mapping of Unicode") {
    CHECK(plate_key("\u00FC-\u00E9") == "\u00DC\u00C9");
    CHECK(plate_key("\u0436" "12") == "\u0416" "12");
    CHECK(plate_key("\u03C3\u03C2") == "\u03A3\u03A3");
    CHECK(plate_key("\u00DF") == "\u00DF");  // UnicodeData.txt gives U+00DF no simple capital
    CHECK(plate_key("\u4E2D A") == "\u4E2D" "A");
  }

  TEST_CASE("a composed letter and its parts have one key") {
    // UnicodeData.txt, U+00DC and U+00C5.
    CHECK(plate_key("u\u0308") == plate_key("\u00FC"));
    CHECK(plate_key("A\u030A") == "\u00C5");
    CHECK(plate_key("u-\u0308") == "\u00DC");
  }

  TEST_CASE("the key of a key is the key") {
    for (const std::string_view plate : {"MARSH-07"sv, "u-\u0308 \u00DF"sv, "\u01C6\u1F80"sv, "a\xFF"sv, "\u0149"sv}) {
      CAPTURE(plate);
      CHECK(plate_key(plate_key(plate)) == plate_key(plate));
    }
  }

  TEST_CASE("a plate of separators alone has no key") {
    for (const std::string_view plate : {""sv, " "sv, "-./"sv, "\u200B"sv}) CHECK(plate_key(plate).empty());
  }

  TEST_CASE("stray bytes that stand together once a blank is gone hide nothing") {
    CHECK(plate_key("]\xE2\x80\xE2\x80\xAE\xAE") == "]");
    CHECK(plate_key(plate_key("\xE2\x80 \xAE" "a")) == plate_key("\xE2\x80 \xAE" "a"));
  }

  TEST_CASE("stray bytes stay in the key") {
    CHECK(plate_key("a-\xFF" "b") == "A\xFF" "B");
    CHECK(plate_key("a\xE2\x82") == "A\xE2\x82");
  }

  TEST_CASE("a plate longer than any text of a book has a key all the same") {
    std::string plate = "ab-1";
    for (int i = 0; i < 100'000; ++i) plate += "\u0301\u0327";
    CHECK(plate_key(plate).starts_with("AB1"));
  }
}
