// The drill in docs/backup.md is done as it stands there, block after block in one shell, and what the screen shows is compared.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R drill     writes the answers of today into the page
#include "page_screens.hpp"

#include <doctest/doctest.h>

#include <regex>
#include <string>
#include <vector>

using namespace baybook::test;

namespace {

std::string page_path() { return std::string(BAYBOOK_SOURCE) + "/docs/backup.md"; }

/// Names of backups hold 8 digits of a digest.
std::string comparable(const std::string& text) {
  static const std::regex name(R"(-[0-9a-f]{8}\.baybook)");
  return std::regex_replace(without_digests(text), name, "-........baybook");
}

}  // namespace

TEST_SUITE("readme") {
  TEST_CASE("the drill for a lost disk goes as the page says, command for command") {
    const std::string screen = replay_page(page_path(), 4, comparable);
    // And what the page promises: the backup has the first two entries, the third is refused.
    CHECK(screen.find("is a backup made") != std::string::npos);
    CHECK(screen.find("seal bay:2:") != std::string::npos);
  }
}
