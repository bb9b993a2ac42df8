// Every input that a fuzzer kept, read again in an ordinary build: corpus/TARGET and crashes/TARGET.
#include "property.hpp"
#include "targets.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

using namespace baybook;

TEST_SUITE("fuzz") {
namespace {

const std::filesystem::path kHere = BAYBOOK_SOURCE "/tests/fuzz";

std::vector<std::filesystem::path> files_of(const std::filesystem::path& folder) {
  std::vector<std::filesystem::path> out;
  if (!std::filesystem::exists(folder)) return out;
  for (const auto& file : std::filesystem::directory_iterator(folder)) {
    if (file.is_regular_file()) out.push_back(file.path());
  }
  std::sort(out.begin(), out.end());
  return out;
}

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

void replay(const std::string& target, void (*read)(std::string_view)) {
  std::size_t replayed = 0;
  for (const char* kept : {"corpus", "crashes"}) {
    for (const auto& file : files_of(kHere / kept / target)) {
      CAPTURE(file.string());
      CHECK_NOTHROW(read(bytes_of(file)));
      ++replayed;
    }
  }
  CHECK(replayed >= 5);
}

}  // namespace

#define BAYBOOK_FUZZ_REPLAY(name, readers) \
  TEST_CASE("every input kept for " readers " is read or refused as it should be") { replay(#name, fuzz::name); }
BAYBOOK_FUZZ_TARGETS(BAYBOOK_FUZZ_REPLAY)
#undef BAYBOOK_FUZZ_REPLAY

TEST_CASE("every fuzz target in the tree is replayed") {
  std::vector<std::string> listed;
#define BAYBOOK_FUZZ_NAME(name, readers) listed.emplace_back(#name);
  BAYBOOK_FUZZ_TARGETS(BAYBOOK_FUZZ_NAME)
#undef BAYBOOK_FUZZ_NAME
  std::sort(listed.begin(), listed.end());
  std::vector<std::string> there;
  for (const auto& file : files_of(kHere / "targets")) there.push_back(file.stem().string());
  CHECK(listed == there);
  for (const char* kept : {"corpus", "crashes"}) {
    for (const auto& folder : std::filesystem::directory_iterator(kHere / kept)) {
      CAPTURE(folder.path().string());
      if (folder.is_directory()) CHECK(std::binary_search(listed.begin(), listed.end(), folder.path().filename().string()));
    }
  }
}

}
