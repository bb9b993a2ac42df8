#include <baybook/text.hpp>

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace baybook;
using Names = std::vector<std::string>;

TEST_SUITE("text/near") {
  TEST_CASE("distance counts insertions, deletions, replacements and swaps of neighbours") {
    CHECK(edit_distance("", "") == 0);
    CHECK(edit_distance("", "abc") == 3);
    CHECK(edit_distance("drum", "drm") == 1);
    CHECK(edit_distance("drum", "drums") == 1);
    CHECK(edit_distance("drum", "drun") == 1);
    CHECK(edit_distance("drum", "durm") == 1);
    CHECK(edit_distance("kitten", "sitting") == 3);
    // What tells optimal string alignment from the unrestricted distance, which is 2: no part is edited twice.
    CHECK(edit_distance("ca", "abc") == 3);
  }

  TEST_CASE("distance is the same from both ends and zero only for the same text") {
    const Names words{"", "a", "drum", "durm", "coolant", "colant", "\u00F6lfass"};
    for (const std::string& a : words) {
      for (const std::string& b : words) {
        CAPTURE(a);
        CAPTURE(b);
        CHECK(edit_distance(a, b) == edit_distance(b, a));
        CHECK((edit_distance(a, b) == 0) == (a == b));
      }
    }
  }

  TEST_CASE("distance looks at characters and not at bytes or case") {
    CHECK(edit_distance("DRUM", "drum") == 0);
    CHECK(edit_distance("\u00D6L", "\u00F6l") == 0);
    CHECK(edit_distance("\u00F6l", "ol") == 1);
    CHECK(edit_distance("e\u0301", "\u00E9") == 0);
    CHECK(edit_distance("\u4E2D", "\u6587") == 1);
    // CaseFolding.txt, status F: the sharp s folds to ss.
    CHECK(edit_distance("stra\u00DF" "e", "STRASSE") == 0);
  }

  TEST_CASE("stray bytes are characters of their own") {
    CHECK(edit_distance("a\xFF", "a") == 1);
    CHECK(edit_distance("a\xFF", "A\xFF") == 0);
    CHECK(edit_distance("\xFF", "\u00FF") == 1);
  }

  TEST_CASE("names come nearest first and then in byte order") {
    CHECK(near_names("drum-coolan", {"drum-coolant-2", "drum-coolant", "bin", "crum-coolant"}) ==
          Names{"drum-coolant", "crum-coolant", "drum-coolant-2"});
    CHECK(near_names("bat", {"cat", "bar", "bad"}) == Names{"bad", "bar", "cat"});
    CHECK(near_names("bat", {"bar", "bat"}) == Names{"bat", "bar"});
  }

  TEST_CASE("names are within a third of the length and always within one edit") {
    CHECK(near_names("ab", {"ax", "xy"}) == Names{"ax"});
    CHECK(near_names("abcde", {"abcdx", "abcxx"}) == Names{"abcdx"});
    CHECK(near_names("abcdef", {"abcdxx", "abcxxx"}) == Names{"abcdxx"});
    CHECK(near_names("abcdef", {"abcdefgh", "abcdefghi"}) == Names{"abcdefgh"});
    CHECK(near_names("\u00E9\u00E9", {"\u00E9\u00E8", "\u00E8\u00E8"}) == Names{"\u00E9\u00E8"});  // two characters, four bytes
    CHECK(near_names("", {"a", "ab"}) == Names{"a"});
    CHECK(near_names("coolant", {}).empty());
  }

  TEST_CASE("at most as many names as asked for, each once") {
    const Names known{"bad", "bag", "bar", "bay", "bad"};
    CHECK(near_names("bat", known) == Names{"bad", "bag", "bar"});
    CHECK(near_names("bat", known, 1) == Names{"bad"});
    CHECK(near_names("bat", known, 9) == Names{"bad", "bag", "bar", "bay"});
    CHECK(near_names("bat", known, 0).empty());
  }

  TEST_CASE("a page of text is near to no name, however many marks stand on its letters") {
    std::string page;
    for (int i = 0; i < 100'000; ++i) page += "\u0301\u0327";
    CHECK(near_names(page, {"coolant"}).empty());
    CHECK(near_names("coolant", {page, "colant"}) == Names{"colant"});
  }
}
