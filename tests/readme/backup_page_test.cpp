// The drill in docs/backup.md is done as it stands there, block after block in one shell, and what the screen shows is compared.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R drill     writes the answers of today into the page
#include "replay.hpp"

#include <doctest/doctest.h>

#include <regex>
#include <string>
#include <vector>

using namespace baybook::test;

namespace {

std::string page_path() { return std::string(BAYBOOK_SOURCE) + "/docs/backup.md"; }

/// Every block of the page that shows a screen.
std::vector<Block> screens(const std::string& page) {
  std::vector<Block> out;
  const std::string open = "```console\n";
  for (std::size_t at = 0; (at = page.find(open, at)) != std::string::npos;) {
    at += open.size();
    const std::size_t end = page.find("\n```", at);
    out.push_back({at, end + 1 - at});
    at = end;
  }
  return out;
}

/// Names of backups hold 8 digits of a digest.
std::string comparable(const std::string& text) {
  static const std::regex name(R"(-[0-9a-f]{8}\.baybook)");
  return std::regex_replace(without_digests(text), name, "-........baybook");
}

}  // namespace

TEST_SUITE("readme") {
  TEST_CASE("the drill for a lost disk goes as the page says, command for command") {
    std::string page = read_file(page_path());
    const std::vector<Block> blocks = screens(page);
    REQUIRE(blocks.size() == 4);
    std::vector<std::string> commands;
    std::vector<std::size_t> upto;
    for (const Block& b : blocks) {
      for (const std::string& c : commands_of(text_of(page, b))) commands.push_back(c);
      upto.push_back(commands.size());
    }
    REQUIRE(commands.size() > 9);
    const Folder folder;
    const std::string screen = replay(folder, commands);
    // Cut where the blocks begin: at the first command of each.
    std::vector<std::string> shown;
    std::size_t from = 0;
    for (std::size_t i = 0; i < blocks.size(); ++i) {
      const std::size_t to = i + 1 < blocks.size() ? screen.find("$ " + commands[upto[i]] + "\n", from) : screen.size();
      REQUIRE(to != std::string::npos);
      shown.push_back(screen.substr(from, to - from));
      from = to;
    }
    for (std::size_t i = blocks.size(); i-- > 0;) {
      if (!refresh()) CHECK(comparable(text_of(page, blocks[i])) == comparable(shown[i]));
      else if (comparable(text_of(page, blocks[i])) != comparable(shown[i])) {
        replace_block(page_path(), page, blocks[i], shown[i]);
        page = read_file(page_path());
      }
    }
    // And what the page promises: the backup has the first two entries, the third is refused.
    CHECK(screen.find("is a backup made") != std::string::npos);
    CHECK(screen.find("seal bay:2:") != std::string::npos);
  }
}
