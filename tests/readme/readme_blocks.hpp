// Fenced blocks of a page.
#pragma once

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <stdexcept>
#include <string>

namespace baybook::test {

inline std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw std::runtime_error("cannot read " + path);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// Where the text between "```LANGUAGE\nSTART" and "\n```" begins and how long it is, the last line end counted in.
struct Block {
  std::size_t at = 0, size = 0;
};

inline Block fenced(const std::string& page, const std::string& language, const std::string& start = {}) {
  const std::string open = "```" + language + "\n";
  const std::size_t fence = page.find(open + start);
  if (fence == std::string::npos) throw std::runtime_error("there is no block ```" + language + " " + start);
  const std::size_t at = fence + open.size();
  const std::size_t end = page.find("\n```", at);
  if (end == std::string::npos) throw std::runtime_error("the block ```" + language + " " + start + " has no end");
  return {at, end + 1 - at};
}

inline std::string text_of(const std::string& page, Block b) { return page.substr(b.at, b.size); }

/// Whether to bring the page up to date rather than to compare it: BAYBOOK_REFRESH=1.
inline bool refresh() {
  const char* const asked = std::getenv("BAYBOOK_REFRESH");
  return asked != nullptr && std::string(asked) == "1";
}

inline void replace_block(const std::string& path, const std::string& page, Block b, const std::string& text) {
  std::ofstream out(path, std::ios::binary | std::ios::trunc);
  out << page.substr(0, b.at) << text << page.substr(b.at + b.size);
}

}  // namespace baybook::test
