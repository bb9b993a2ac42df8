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
                             "is = [\n  [1, 2],\n  [-3],\n]\n", "a.b.c.d.e.f.g.h = 1\n", "n = 1.5\nd = 2026-03-05\n", "t = \"\"\"\nTwo \"lines\"\nof it \\u00e9\"\"\"\"\n", "t = '''a\\\n\xC3\xA9'''\n", "t = \"\\\\\" # \\\"\n", "t = { a = 1, 'b' . c = [ { } , {d=true} ] }# end", "x = [ # one\r\n 0 ,\r\n]\r\n", "[a . \"b\"]\n[[ c ]]",
                             "s = \"\\b\\t\\n\\f\\r\\u00e9\\U0001F600\"\nl = \"\"\"a\\   \n   b\"\"\"\"\"\ne = '''\n'''''\n"}) {
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

  TEST_CASE("a bracket at the beginning of a line has the name of a table behind it, and what was opened is closed") {
    for (const char* bad : {"[[=]]\n", "a = 1\n  [ , ]\n", "[[[a]]]\n", "[ [a]]\n", "[]\n", "[", "[["}) {
      CAPTURE(bad);
      CHECK(fault_of(bad).ends_with("[ without the name of a table behind it"));
    }
    CHECK(fault_of("[a\n") == "1:3: the line ends where ] is expected");
    CHECK(fault_of("[[a]\n") == "1:5: the line ends where ]] is expected");
    CHECK(fault_of("[[a] ]\n") == "1:5:   where ]] is expected");
    CHECK(fault_of("[a] b = 1\n") == "1:5: b where the end of the line is expected");
  }

  TEST_CASE("a line is a key, = and one value") {
    CHECK(fault_of("a\n") == "1:2: the line ends where = is expected");
    CHECK(fault_of("a") == "1:2: the file ends where = is expected");
    CHECK(fault_of("a b = 1\n") == "1:3: b where = is expected");
    CHECK(fault_of("a. = 1\n") == "1:4: = where the name of a key is expected");
    CHECK(fault_of("a = \n") == "1:5: the line ends where a value is expected");
    CHECK(fault_of("a = ") == "1:5: the file ends where a value is expected");
    CHECK(fault_of("a = 1 2\n") == "1:7: 2 where the end of the line is expected");
    CHECK(fault_of("a = 1 \"x\"\n") == "1:7: \" where the end of the line is expected");
    CHECK(fault_of("= 1\n") == "1:1: = where the name of a key is expected");
    CHECK(fault_of("\"\"\"a\"\"\" = 1\n") == "1:1: a key of several lines");
    CHECK(fault_of("a = 1 \r b = 2\n").ends_with("\\x0d where the end of the line is expected"));
  }

  TEST_CASE("numbers are decimal, days are days, and what is neither is told with what may stand there") {
    for (const char* bad : {"07", "1_000", "0x1f", "0o17", "0b1", "1e5", "1.", ".5", "+", "-", "--1", "inf", "nan", "True", "yes", "2026-3-5", "2026-03-05T", "2026-03-05T09:40:11Z", "07:30", "2026-03-05:", "1234567890123456789", "5.2L"}) {
      CAPTURE(bad);
      CHECK(fault_of(std::string("a = ") + bad + "\n") == std::string("1:5: ") + bad + " is no value here: a text stands in quotes, a number is 12 or 1.5, a day is 2026-03-05, and there is true and false");
    }
    // The reader takes the digit for the first of a time of day.
    CHECK(fault_of("a = 2026-03-05 7,\n").starts_with("1:5: 2026-03-05 is no value here"));
    for (const char* good : {"0", "-0", "+17", "-3.25", "123456789012345678", "true", "false", "2026-03-05", "2026-03-05 # 7"}) {
      CAPTURE(good);
      CHECK(fault_of(std::string("a = ") + good + "\n") == "none");
    }
  }

  TEST_CASE("arrays go over lines, inline tables do not, and both are closed") {
    CHECK(fault_of("a = [1 2]\n") == "1:8: 2 where a comma or ] is expected");
    CHECK(fault_of("a = [,]\n") == "1:6: , where a value is expected");
    CHECK(fault_of("a = [1,\n") == "2:1: the file ends where a value is expected");
    CHECK(fault_of("a = [}\n") == "1:6: } where a value is expected");
    CHECK(fault_of("a = {b = 1\n}\n") == "1:11: the line ends where a comma or } is expected");
    CHECK(fault_of("a = {b = 1,}\n") == "1:12: } where the name of a key is expected");
    CHECK(fault_of("a = {b = 1 c = 2}\n") == "1:12: c where a comma or } is expected");
    CHECK(fault_of("a = " + std::string(16, '[') + std::string(16, ']') + "\n") == "none");
    CHECK(fault_of("a = " + std::string(17, '[') + std::string(17, ']') + "\n") == "1:21: values in values, more than 16 deep");
    CHECK(fault_of("a = " + std::string(200'000, '[')) == "1:21: values in values, more than 16 deep");
  }

  TEST_CASE("a text ends where its quotes do, and a backslash in it is one of those that TOML has") {
    CHECK(fault_of("a = \"b\n") == "1:7: a text in quotes that does not end on its line");
    CHECK(fault_of("a = 'b") == "1:7: a text in quotes that does not end");
    CHECK(fault_of("a = \"\"\"b\n\"\"\n").ends_with("a text in quotes that does not end"));
    CHECK(fault_of("a = \"\\q\"\n") == "1:7: a backslash before what TOML has no meaning for");
    CHECK(fault_of("a = \"\\u12g4\"\n").ends_with("\\u without its 4 hexadecimal digits"));
    CHECK(fault_of("a = \"\\U0000d800\"\n").ends_with("\\U with a number that is no character"));
    CHECK(fault_of("a = \"\\U00110000\"\n").ends_with("\\U with a number that is no character"));
    CHECK(fault_of("a = \"\"\"b\\  c\"\"\"\n").ends_with("a backslash with blanks behind it that is not at the end of its line"));
    CHECK(fault_of("a = \"\"\"\"\"\"\"\"\"\n").ends_with("where the end of the line is expected"));
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
