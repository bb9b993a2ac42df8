// A page whose blocks show a screen: its commands typed block after block into one shell, and what
// the screen shows compared with the page.
#pragma once

#include "replay.hpp"

#include <string>
#include <vector>

namespace baybook::test {

/// Every block of the page that shows a screen.
inline std::vector<Block> screens(const std::string& page) {
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

/// Types the page at `path`; `comparable` leaves out what differs from book to book. What the whole
/// screen showed. With BAYBOOK_REFRESH=1 the answers of today are written into the page.
template <class Comparable>
std::string replay_page(const std::string& path, std::size_t blocks_wanted,
                        const Comparable& comparable) {
  std::string page = read_file(path);
  const std::vector<Block> blocks = screens(page);
  REQUIRE(blocks.size() == blocks_wanted);
  std::vector<std::string> commands;
  std::vector<std::size_t> upto;
  for (const Block& b : blocks) {
    for (const std::string& c : commands_of(text_of(page, b))) commands.push_back(c);
    upto.push_back(commands.size());
  }
  REQUIRE(commands.size() > blocks.size());
  const Folder folder;
  const std::string screen = replay(folder, commands);
  // Cut where the blocks begin: at the first command of each.
  std::vector<std::string> shown;
  std::size_t from = 0;
  for (std::size_t i = 0; i < blocks.size(); ++i) {
    const std::size_t to = i + 1 < blocks.size()
                               ? screen.find("$ " + commands[upto[i]] + "\n", from)
                               : screen.size();
    REQUIRE(to != std::string::npos);
    shown.push_back(screen.substr(from, to - from));
    from = to;
  }
  for (std::size_t i = blocks.size(); i-- > 0;) {
    if (!refresh()) {
      CHECK(comparable(text_of(page, blocks[i])) == comparable(shown[i]));
    } else if (comparable(text_of(page, blocks[i])) != comparable(shown[i])) {
      replace_block(path, page, blocks[i], shown[i]);
      page = read_file(path);
    }
  }
  return screen;
}

}  // namespace baybook::test
