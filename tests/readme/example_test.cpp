// The C++ example in README.md is this folder's library_example.hpp, word for word, and works.
#include "library_example.hpp"
#include "readme_blocks.hpp"
#include "support/test_book.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

TEST_SUITE("readme") {
  TEST_CASE("the example compiles and drains a car") {
    const Folder folder;
    const auto answer = drain_one_car(folder.file("shop.baybook"), instant("2026-03-05T09:40:00.000Z"));
    REQUIRE_MESSAGE(answer.ok(), why(answer));
    CHECK(answer->rfind("drained 5.4 L coolant into pan-1, bay:5:", 0) == 0);
    // A book is never started over one that is there.
    CHECK_FALSE(drain_one_car(folder.file("shop.baybook"), instant("2026-03-05T09:40:00.000Z")).ok());
  }

  TEST_CASE("the README shows that very text") {
    const std::string path = std::string(BAYBOOK_SOURCE) + "/README.md";
    const std::string page = read_file(path);
    const std::string code = read_file(std::string(BAYBOOK_SOURCE) + "/tests/readme/library_example.hpp");
    const Block block = fenced(page, "cpp");
    if (refresh()) replace_block(path, page, block, code);
    else CHECK(text_of(page, block) == code);
  }
}
