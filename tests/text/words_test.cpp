#include "text/words.hpp"

#include <doctest/doctest.h>

using namespace baybook::text;

TEST_SUITE("text/words") {
  TEST_CASE("a word is found whatever its case and its marks, inside of a longer one too") {
    CHECK(Words("PUMP").all_in({"two water pumps"}));
    CHECK(Words("flussigkeit").all_in({"K\xC3\xBChlfl\xC3\xBCssigkeit"}));
    CHECK(Words("FL\xC3\x9CSSIG").all_in({"K\xC3\xBChlfl\xC3\xBCssigkeit"}));
    // Composed and taken apart are one text (UAX #15); the sharp s folds to two (Unicode, CaseFolding.txt: 00DF; F; 0073 0073).
    CHECK(Words("re\xCC\x81""servoir").all_in({"R\xC3\xA9SERVOIR"}));
    CHECK(Words("strasse").all_in({"Stra\xC3\x9F""e"}));
    CHECK(Words("\xD0\xBF\xD0\xBE\xD0\xBC\xD0\xBF\xD0\xB0").all_in({"\xD0\x9F\xD0\x9E\xD0\x9C\xD0\x9F\xD0\x90"}));
    CHECK_FALSE(Words("pump").all_in({"pum", "p"}));
  }

  TEST_CASE("all words have to be there, each in any of the texts") {
    CHECK(Words("water  pump").all_in({"pump renewed", "no water lost"}));
    CHECK_FALSE(Words("water pump").all_in({"pump renewed"}));
    CHECK(Words("water\xC2\xA0pump").all_in({"pump", "water"}));  // a no-break space
  }

  TEST_CASE("blanks alone are no words") {
    CHECK(Words("").empty());
    CHECK(Words("  \xC2\xA0 ").empty());
    CHECK(Words("a bcd ef").longest() == "bcd");
  }

  TEST_CASE("bytes that are no text are compared as they are") {
    CHECK(occurs("a\xFF""B", "\xFF""b"));
    CHECK_FALSE(occurs("a\xFE", "\xFF"));
  }
}
