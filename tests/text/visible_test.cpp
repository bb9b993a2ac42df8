#include <baybook/text.hpp>

#include <doctest/doctest.h>

#include <string>

using namespace baybook;
using namespace std::string_view_literals;

TEST_SUITE("text/visible") {
  TEST_CASE("no control byte reaches the terminal") {
    // The Unicode Standard, section 23.1: U+0000 to U+001F, U+007F to U+009F.
    for (int code = 0; code < 0xA0; ++code) {
      if (code >= 0x20 && code < 0x7F) continue;
      CAPTURE(code);
      std::string text;
      if (code >= 0x80) text += '\xC2';
      text += static_cast<char>(code);
      constexpr char hex[] = "0123456789abcdef";
      CHECK(visible(text) == std::string{"\\x"} + hex[code / 16] + hex[code % 16]);
    }
    CHECK(visible("a\0b"sv) == "a\\x00b");
    CHECK(visible("\x1B[31mred") == "\\x1b[31mred");
    CHECK(visible("\u009B" "31m") == "\\x9b31m");
    CHECK(visible("a\nb\r\t") == "a\\x0ab\\x0d\\x09");
  }

  TEST_CASE("every byte of what is not UTF-8 is shown in hex") {
    // RFC 3629, sections 3 and 10: overlong, surrogate, past U+10FFFF, cut short.
    CHECK(visible("\xC0\xAF") == "\\xc0\\xaf");
    CHECK(visible("\xED\xA0\x80") == "\\xed\\xa0\\x80");
    CHECK(visible("\xF4\x90\x80\x80") == "\\xf4\\x90\\x80\\x80");
    CHECK(visible("a\xE2\x82") == "a\\xe2\\x82");
    CHECK(visible("\xE2\x82z") == "\\xe2\\x82z");
    CHECK(visible("\xFF\xC3\xA9") == "\\xff\xC3\xA9");
  }

  TEST_CASE("what turns or hides other text is named") {
    // UAX #9, section 2: the explicit directional characters.
    CHECK(visible("a\u202E" "b") == "aU+202Eb");
    CHECK(visible("\u202A\u202B\u202C\u202D") == "U+202AU+202BU+202CU+202D");
    CHECK(visible("\u2066\u2067\u2068\u2069") == "U+2066U+2067U+2068U+2069");
    CHECK(visible("\u200E\u200F\u061C") == "U+200EU+200FU+061C");
    // The Unicode Standard, section 23.2: layout controls.
    CHECK(visible("\u200B\u200C\u200D\u2060\uFEFF\u00AD") == "U+200BU+200CU+200DU+2060U+FEFFU+00AD");
    CHECK(visible("\u2028\u2029") == "U+2028U+2029");
    // The Unicode Standard, section 23.9: tag characters.
    CHECK(visible("\U000E0041") == "U+E0041");
  }

  TEST_CASE("letters of any script stay as they are") {
    for (const std::string_view text : {""sv, "squeals \\x41"sv, "\u00E9"sv, "e\u0301"sv, "\u4E2D\u6587"sv, "\u05D0\u0627"sv,
                                        "\U0001F527"sv, "\u0600\u06DD"sv, "\u00A0"sv}) {
      CAPTURE(text);
      CHECK(visible(text) == text);
    }
  }

  TEST_CASE("what is visible once stays so") {
    for (const std::string_view text : {"a\0b\xFF\u202E"sv, "\u0085\u2028"sv}) CHECK(visible(visible(text)) == visible(text));
  }

  TEST_CASE("width is counted in columns of the terminal") {
    CHECK(display_width("") == 0);
    CHECK(display_width("wheel") == 5);
    // UAX #11, section 4: wide (W) and fullwidth (F) characters take two columns; a combining mark (UAX #44, Mn) takes none.
    CHECK(display_width("\u4E2D\u6587") == 4);
    CHECK(display_width("\uFF21") == 2);
    CHECK(display_width("\uD55C") == 2);
    CHECK(display_width("e\u0301") == 1);
    CHECK(display_width("\u00E9") == 1);
    CHECK(display_width("\u0301") == 0);
    CHECK(display_width("\U0001F527") == 2);
  }

  TEST_CASE("width counts the escape and not the byte") {
    CHECK(display_width("a\x1B") == 5);
    CHECK(display_width("\u202E") == 6);
    CHECK(display_width("\xFF\xFE") == 8);
    CHECK(display_width("\0"sv) == 4);
    CHECK(display_width("\u0085") == 4);
  }
}
