// The licence, and what is linked under other ones.
#include "readme_blocks.hpp"

#include <doctest/doctest.h>

#include <regex>
#include <string>

using namespace baybook::test;

namespace {

std::string source(const std::string& file) {
  return read_file(std::string(BAYBOOK_SOURCE) + "/" + file);
}

}  // namespace

TEST_SUITE("readme/licence") {
  TEST_CASE("the program is under the MIT licence, and the README and the package say so") {
    CHECK(source("docs/LICENSE").starts_with("MIT License\n\nCopyright (c) "));
    CHECK(source("README.md").find("MIT: [docs/LICENSE](docs/LICENSE)") != std::string::npos);
    const std::string package = source("docs/package/copyright");
    const std::size_t all = package.find("\nFiles: *\n");
    REQUIRE(all != std::string::npos);
    CHECK(package.find("License: Expat\n", all) < package.find("\nFiles: ", all + 1));
  }

  TEST_CASE("every library that the build installs to link is named with its terms") {
    const std::string package = source("docs/package/copyright");
    const std::string script = source("tests/install.sh");
    const std::size_t begin = script.find("packages=(");
    REQUIRE(begin != std::string::npos);
    const std::string list = script.substr(begin, script.find(')', begin) - begin);
    const std::regex library("(lib[a-z0-9+-]+|zlib1g)-dev");
    int seen = 0;
    for (std::sregex_iterator at(list.begin(), list.end(), library), end; at != end; ++at) {
      const std::string name = at->str();
      if (name == "libicu-dev") continue;  // headers that name what is not linked
      CAPTURE(name);
      CHECK(package.find(name) != std::string::npos);
      ++seen;
    }
    CHECK(seen > 8);
  }
}
