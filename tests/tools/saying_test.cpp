// What `entries` prints is what `entries --saying` finds, through the real program.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

#include <map>
#include <sstream>

using namespace baybook::test;

TEST_SUITE("tools/saying") {
  TEST_CASE(
      "each word of each line that entries prints finds that line, and the word for what soaked a "
      "spill up is one of them") {
    const OpenShop shop;
    shop.must(
        {"spill", "1", "coolant", "0.3L", "--picked-up", "granules 1kg", "--into", "drum-absorb"});
    shop.must({"fill", "1", "coolant", "5L", "--from", "can-1"});
    shop.must({"code", "1", "P0217", "--cleared", "--note", "hot"});
    shop.must({"correct", "last", "--withdraw", "--why", "another car"});
    // On a screen that is wide enough a line is one line.
    const auto printed = [&](std::vector<std::string> more) {
      std::vector<std::string> typed = {"entries",    "--newest", "100",
                                        "--no-pager", "--color",  "never"};
      typed.insert(typed.end(), more.begin(), more.end());
      return shop.run_on_terminal(typed, 200, 400).out;
    };
    const std::string all = printed({});
    CHECK(has(all, "granules"));
    std::map<std::string, std::string> found;
    std::istringstream lines(all);
    std::string text;
    std::getline(lines, text);
    int words = 0;
    while (std::getline(lines, text)) {
      std::istringstream of_line(text);
      for (std::string word; of_line >> word;) {
        ++words;
        auto known = found.find(word);
        if (known == found.end()) known = found.emplace(word, printed({"--saying=" + word})).first;
        CAPTURE(word);
        // Columns are as wide as what is listed.
        CHECK_MESSAGE(has(flat(known->second), flat(text)), text);
      }
    }
    CHECK(words > 100);
    CHECK(has(printed({"--saying", "filled new oat-violet"}),
              "filled new 5 L oat-violet from can-1"));
    CHECK(has(printed({"--saying", "granules"}), "soak it up"));
  }
}
