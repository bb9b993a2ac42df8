#include <baybook/text.hpp>

#include <doctest/doctest.h>

#include <cstdlib>
#include <string>

using namespace baybook;

TEST_SUITE("text/as typed") {
  TEST_CASE("a word that a shell leaves alone is typed as it is") {
    for (const char* word : {"MARSH-07", "car:6", "17/2", "17@office", "É12-ÇA", "88,210km", "coolant=6.8L"}) CHECK(as_typed(word) == word);
  }

  TEST_CASE("a word that a shell would take apart is quoted, so that it comes back as it was") {
    CHECK(as_typed("É 12-ÇA") == "\"É 12-ÇA\"");
    CHECK(as_typed("") == "\"\"");
    // The shell of the machine is asked, as POSIX has it (Shell Command Language, 2.2.3 double quotes).
    for (const std::string word : {"QX 12", "a\"b", "$HOME", "`id`", "a\\b", "x;y", "x&y", "it's", "(x)", "*", "~", "#x", "a|b"}) {
      CAPTURE(word);
      CHECK(std::system(("test " + as_typed(word) + " = '" + [&] {
                          std::string quoted;
                          for (const char c : word) quoted += c == '\'' ? std::string("'\\''") : std::string(1, c);
                          return quoted;
                        }() + "'").c_str()) == 0);
    }
  }

  TEST_CASE("what could move a terminal is made visible first") { CHECK(as_typed("a\x1b[2J").find('\x1b') == std::string::npos); }
}
