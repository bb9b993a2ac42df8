#include <baybook/toml.hpp>

#include <doctest/doctest.h>

#include <string>

using namespace baybook;

TEST_SUITE("text/unfit_toml") {
  namespace {
  std::string fault_of(const std::string& text) {
    const auto fault = unfit_toml(text);
    return fault ? std::to_string(fault->line) + ":" + std::to_string(fault->column) + ": " + fault->what : "none";
  }
  }  // namespace

  TEST_CASE("what a rule file, a schedule and the settings are made of is fit for the reader") {
    for (const char* text : {"", "\xEF\xBB\xBF# a remark with \xC3\xA9\r\n", "name = \"caf\xC3\xA9\" # \xE2\x82\xAC\n", "[[value]]\nkey = 'a.b.c.d.e.f.g.h.i.j'\n", "[ \"table\" ]\n",
                             "is = [\n  [1, 2],\n  [-3],\n]\n", "a.b.c.d.e.f.g.h = 1\n", "n = 1.5\nd = 2026-03-05T09:40:11.25Z\n", "t = \"\"\"\nTwo \"lines\"\nof it \\u00e9\"\"\"\"\n", "t = '''a\\\n\xC3\xA9'''\n", "t = \"\\\\\" # \\\"\n"}) {
      CAPTURE(text);
      CHECK(fault_of(text) == "none");
    }
  }

  TEST_CASE("bytes that are no text are named with line and column") {
    CHECK(fault_of("a = 1\nb = \"\xFF\"\n") == "2:6: a byte that is not UTF-8");
    CHECK(fault_of("a = 1 # \x1B[2J\n") == "1:9: the control character \\x1b");
    CHECK(fault_of(std::string("[[\0d]]\n", 7)).ends_with("[ without the name of a table behind it"));
  }

  TEST_CASE("a character past ASCII stands in quotes or behind #") {
    CHECK(fault_of("caf\xC3\xA9 = 1\n") == "1:4: a character past ASCII outside quotes");
    CHECK(fault_of("a = 1\xC2\xA0\n") == "1:6: a character past ASCII outside quotes");
    CHECK(fault_of("\"caf\xC3\xA9\" = 1\n") == "none");
  }

  TEST_CASE("behind a backslash at the end of a line the first character is ASCII, for the reader looks at it as if it were a blank") {
    CHECK(fault_of("t = \"\"\"a\\\n \xC3\xA9\"\"\"\n") == "2:2: a character past ASCII first behind a backslash at a line's end");
    CHECK(fault_of("t = \"\"\"a\\\n  b\xC3\xA9\"\"\"\n") == "none");
    CHECK(fault_of("t = \"\\\xC3\xA9\"\n") == "1:7: a backslash before a character past ASCII");
  }

  TEST_CASE("a bracket at the beginning of a line has the name of a table behind it") {
    CHECK(fault_of("[[=]]\n").ends_with("[ without the name of a table behind it"));
    CHECK(fault_of("a = 1\n  [ , ]\n").ends_with("[ without the name of a table behind it"));
    CHECK(fault_of("[[[a]]]\n").ends_with("[ without the name of a table behind it"));
    CHECK(fault_of("[ [a]]\n").ends_with("[ without the name of a table behind it"));
    CHECK(fault_of("a = [\n[ , ]\n").ends_with("none"));
  }

  TEST_CASE("a blank within a value stands between a day and a time of two digits, and nowhere else") {
    for (const char* bad : {"d = 2026-03-05 7,\n", "d = 2026-03-05 7\n", "d = 20_26-03-0_5 7]\n", "d = 2026-03-05_ 7 \n", "n = 1 2\n"}) {
      CAPTURE(bad);
      CHECK(fault_of(bad).ends_with("one digit alone behind a number and a blank"));
    }
    for (const char* good : {"d = 2026-03-05 07:30:00\n", "d = [1 , 2, 3 ]\n", "t = \"at 5 7 \" # 5 7 \n", "a1 = 2 \n"}) {
      CAPTURE(good);
      CHECK(fault_of(good) == "none");
    }
  }

  TEST_CASE("a key in a quarter of a million parts is refused at its ninth") {
    std::string key = "a";
    for (int i = 0; i < 250'000; ++i) key += ".a";
    for (const std::string& text : {key + " = 1\n", "[" + key + "]\n", "[[" + key + "]]\n", "t = { " + key + " = 1 }\n", "\"x\"" + key.substr(1) + " = 1\n"}) {
      CAPTURE(text.substr(0, 40));
      CHECK(fault_of(text).ends_with("a key of more than 8 parts"));
    }
  }
}
