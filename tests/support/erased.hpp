// What an erasure leaves: bytes in files, findings of `prove`.
#pragma once

#include "support/test_book.hpp"

#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

namespace baybook::test {

/// What `prove` finds, a line each; "" for a sound book.
inline std::string findings_of(const Book& book) {
  const auto p = prove(book);
  REQUIRE_MESSAGE(p.ok(), why(p));
  std::string out;
  for (const Finding& f : p->findings) out += f.what + "\n";
  return out;
}

/// How often these bytes stand in any file below the folder.
inline int times_in_files(const std::filesystem::path& folder, const std::string& bytes) {
  int out = 0;
  for (const auto& file : std::filesystem::recursive_directory_iterator(folder)) {
    if (!file.is_regular_file()) continue;
    std::ifstream in(file.path(), std::ios::binary);
    const std::string all{std::istreambuf_iterator<char>(in), {}};
    for (std::size_t at = 0; (at = all.find(bytes, at)) != std::string::npos; at += bytes.size()) ++out;
  }
  return out;
}

}  // namespace baybook::test
