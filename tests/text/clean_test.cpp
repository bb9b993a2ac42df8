#include <baybook/text.hpp>

#include <doctest/doctest.h>

#include <string>

using namespace baybook;
using namespace std::string_view_literals;

namespace {

std::string cleaned(std::string_view text) {
  const auto clean = clean_text(text, "complaint");
  REQUIRE_MESSAGE(clean.ok(), clean.refusal().what);
  return *clean;
}

Refusal refused(std::string_view text, std::size_t max_bytes = 4000) {
  const auto clean = clean_text(text, "complaint", max_bytes);
  REQUIRE_FALSE(clean.ok());
  return clean.refusal();
}

std::string repeated(std::string_view text, std::size_t times) {
  std::string all;
  for (std::size_t i = 0; i < times; ++i) all += text;
  return all;
}

}  // namespace

TEST_SUITE("text/clean") {
  TEST_CASE("text is stored composed") {
    // UnicodeData.txt, U+00E9.
    CHECK(cleaned("e\u0301") == "\u00E9");
    // UAX #15, Figure 3: the Angstrom sign.
    CHECK(cleaned("\u212B") == "\u00C5");
    // The Unicode Standard, section 3.12: Hangul letters.
    CHECK(cleaned("\u1112\u1161\u11AB") == "\uD55C");
    // UAX #15, Figure 5: two marks in either order.
    CHECK(cleaned("s\u0307\u0323") == "\u1E69");
    CHECK(cleaned("s\u0323\u0307") == "\u1E69");
    // UAX #15, Figure 6: a ligature is no matter of canonical composition.
    CHECK(cleaned("\uFB01") == "\uFB01");
    // UAX #15, section 5.1: composition exclusion, stays apart.
    CHECK(cleaned("\u0958") == "\u0915\u093C");
  }

  TEST_CASE("cleaning what is clean changes nothing") {
    for (const std::string_view text : {"squeals when cold"sv, "e\u0301 \u212B"sv, "\u202Eabc"sv, "\U0001F527 \u4E2D"sv, "a  b"sv}) {
      CAPTURE(text);
      const std::string once = cleaned(text);
      CHECK(cleaned(once) == once);
    }
  }

  TEST_CASE("outer blanks of any width go and inner ones stay") {
    CHECK(cleaned("  a  b ") == "a  b");
    CHECK(cleaned("\u00A0\u3000wheel\u2003") == "wheel");
    CHECK(cleaned("a\u00A0" "b") == "a\u00A0" "b");
  }

  TEST_CASE("nothing but blanks is refused as unclear with a line to type") {
    for (const std::string_view text : {""sv, "   "sv, "\u00A0\u3000"sv}) {
      CAPTURE(text);
      const Refusal refusal = refused(text);
      CHECK(refusal.code == Code::unclear);
      CHECK(refusal.what == "complaint is empty");
      CHECK(refusal.instead == "squeals when cold");
    }
    CHECK(clean_text("", "plate").refusal().instead == "MARSH-07");
  }

  TEST_CASE("bytes that are not UTF-8 are refused with their place") {
    struct Row {
      std::string_view text;
      std::string_view byte;
    };
    // RFC 3629, section 3 (ranges) and 10 (overlong forms); the surrogates U+D800 to U+DFFF; past U+10FFFF.
    for (const Row& row : {Row{"a\x80", "2"}, Row{"\xC0\xAF", "1"}, Row{"\xC1\xBF", "1"}, Row{"ab\xE0\x80\xAF", "3"},
                           Row{"\xF0\x80\x80\xAF", "1"}, Row{"\xED\xA0\x80", "1"}, Row{"\xED\xBF\xBF", "1"}, Row{"\xF4\x90\x80\x80", "1"},
                           Row{"\xF8\x88\x80\x80\x80", "1"}, Row{"a\xC3", "2"}, Row{"a\xE2\x82", "2"}, Row{"a\xF0\x9F\x94", "2"},
                           Row{"\xE2\x82z", "1"}, Row{"\xFF", "1"}, Row{"\xFE", "1"}}) {
      CAPTURE(row.text);
      const Refusal refusal = refused(row.text);
      CHECK(refusal.code == Code::not_text);
      REQUIRE(refusal.figures.size() == 1);
      CHECK(refusal.figures[0].value == row.byte);
      CHECK(refusal.why.find("RFC 3629, section 3") != std::string::npos);
      CHECK(clean_text(refusal.instead, "complaint").ok());
    }
    CHECK(refused("rattle\xC0s").what == "complaint has \\xc0 at byte 7, which is not UTF-8");
    CHECK(refused("rattle\xC0s").instead == "rattle s");
  }

  TEST_CASE("the code points at the ends of each UTF-8 length are text") {
    // RFC 3629, section 3: the table of ranges.
    for (const std::string_view text : {"~"sv, "\xC2\xA1"sv, "\xDF\xBF"sv, "\xE0\xA0\x80"sv, "\xED\x9F\xBF"sv, "\xEE\x80\x80"sv,
                                        "\xF0\x90\x80\x80"sv, "\xF4\x8F\xBF\xBD"sv}) {
      CAPTURE(text);
      CHECK(cleaned(text) == text);
    }
  }

  TEST_CASE("every control character is refused, also at the ends") {
    // The Unicode Standard, section 23.1: U+0000 to U+001F, U+007F to U+009F.
    for (int code = 0; code < 0xA0; ++code) {
      if (code >= 0x20 && code < 0x7F) continue;
      CAPTURE(code);
      std::string control;
      if (code >= 0x80) control += '\xC2';
      control += static_cast<char>(code);
      for (const std::string& text : {"a" + control + "b", control + "b", "a" + control, control}) {
        const Refusal refusal = refused(text);
        CHECK(refusal.code == Code::not_text);
        CHECK(clean_text(refusal.instead, "complaint").ok());
      }
    }
    CHECK(refused("a\0b"sv).what == "complaint has the control character \\x00 at byte 2");
    CHECK(refused("a\0b"sv).instead == "a b");
    CHECK(refused("a\nb").what == "complaint has the control character \\x0a at byte 2");
    CHECK(refused("a\u0085" "b").what == "complaint has the control character \\x85 at byte 2");
  }

  TEST_CASE("line and paragraph separators are refused") {
    // The Unicode Standard, section 5.8.
    CHECK(refused("a\u2028b").code == Code::not_text);
    CHECK(refused("a\u2028b").what == "complaint has the line break U+2028 at byte 2");
    CHECK(refused("\u2029").code == Code::not_text);
    CHECK(refused("a\u2029").instead == "a");
  }

  TEST_CASE("bidirectional controls and joiners are stored as they were typed") {
    CHECK(cleaned("a\u202E" "b") == "a\u202E" "b");
    CHECK(cleaned("\u2066x\u2069") == "\u2066x\u2069");
    CHECK(cleaned("a\u200D" "b") == "a\u200D" "b");
  }

  TEST_CASE("the limit counts the bytes that would be stored") {
    CHECK(clean_text("abcde", "name", 5).ok());
    CHECK(clean_text("  abcde  ", "name", 5).ok());
    const Refusal refusal = refused("abcdef", 5);
    CHECK(refusal.code == Code::not_text);
    CHECK(refusal.what == "complaint has 6 bytes, more than 5");
    CHECK(refusal.instead == "abcde");
    // Nine bytes of Hangul letters become one syllable of three (The Unicode Standard, section 3.12).
    CHECK(clean_text("\u1112\u1161\u11AB", "name", 3).ok());
    CHECK_FALSE(clean_text("\u1112\u1161\u11AB", "name", 2).ok());
    // And three bytes grow to six where composition is excluded.
    CHECK_FALSE(clean_text("\u0958", "name", 5).ok());
    CHECK(clean_text(std::string(4000, 'x'), "text").ok());
    CHECK_FALSE(clean_text(std::string(4001, 'x'), "text").ok());
    CHECK(clean_text(repeated("\u1112\u1161\u11AB", 1333), "text", 3999).ok());
  }

  TEST_CASE("what to type for a long text is cut between characters") {
    const Refusal refusal = refused(repeated("\u20AC", 30), 50);
    CHECK(refusal.instead == repeated("\u20AC", 16));
  }

  TEST_CASE("a code is folded to small letters") {
    CHECK(*clean_code("Drum-Coolant-2", "code") == "drum-coolant-2");
    CHECK(*clean_code(" a ", "code") == "a");
    CHECK(*clean_code("7", "code") == "7");
    CHECK(*clean_code("a--b", "code") == "a--b");
    CHECK(*clean_code(std::string(40, 'A'), "code") == std::string(40, 'a'));
  }

  TEST_CASE("a refused code comes with one that is accepted") {
    struct Row {
      std::string text;
      Code code;
      std::string_view instead;
    };
    for (const Row& row : {
             Row{"", Code::unclear, "bay-1"}, Row{"wash bay", Code::unclear, "wash-bay"}, Row{"-a", Code::unclear, "a"},
             Row{"a-", Code::unclear, "a"}, Row{"-", Code::unclear, "bay-1"}, Row{"a_b", Code::unclear, "a-b"},
             Row{"\u00D6lfass 3", Code::unclear, "olfass-3"}, Row{"\u4E2D", Code::unclear, "bay-1"},
             Row{std::string(41, 'a'), Code::unclear, "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"},
             Row{std::string(39, 'a') + "-bc", Code::unclear, "aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa"},
             Row{"a\tb", Code::not_text, "a-b"}, Row{"a\xFF", Code::not_text, "a"}, Row{"a\u202E" "b", Code::unclear, "a-b"},
         }) {
      CAPTURE(row.text);
      const auto code = clean_code(row.text, "tag");
      REQUIRE_FALSE(code.ok());
      CHECK(code.refusal().code == row.code);
      CHECK(code.refusal().instead == row.instead);
      CHECK(*clean_code(code.refusal().instead, "tag") == row.instead);
    }
    CHECK(clean_code("wash bay", "tag").refusal().what == "tag \"wash bay\" has a blank");
    CHECK(clean_code("a\u202E" "b", "tag").refusal().what == "tag \"aU+202Eb\" has \"U+202E\"");
  }
}
