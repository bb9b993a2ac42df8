// The worked months in docs/rules.md are typed as they stand there, each into a shop of its own, and what the screen shows is compared. The
// figures by hand stand on the page above each, and here a second time, worked out from the exact factors and the densities of the rule files.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R "worked month"     writes the answers of today into the page
#include "replay.hpp"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using namespace baybook::test;

namespace {

std::string page_path() { return std::string(BAYBOOK_SOURCE) + "/docs/rules.md"; }

std::vector<Block> screens(const std::string& page) {
  std::vector<Block> out;
  const std::string open = "```console\n";
  for (std::size_t at = page.find("## Worked months"); (at = page.find(open, at)) != std::string::npos;) {
    at += open.size();
    const std::size_t end = page.find("\n```", at);
    out.push_back({at, end + 1 - at});
    at = end;
  }
  return out;
}

// What must be on the screen of each: kilograms to nine places. 1 US gallon is 3.785411784 L (NIST Handbook 44).
//   solvent     35 gal x 3.785411784 x 0.78
//   antifreeze  25 gal x 3.785411784 x 1.07, and nothing once it is determined
//   quarter     80, 150 and 1,400 L of petrol x 0.743
//   year        11 x 95 kg = 1,045 kg on 15 November; 180 days later is 14 May, 165 days after 30 November
//   event       300 L of petrol x 0.743 = 222.9 kg recorded, 14.86 kg counted
//   mixture     150 x 0.743 + 20 gal x 3.785411784 x 0.78 + 100 x 0.899
const std::vector<std::vector<std::string>> kByHand = {
    {"103.341741703", "small quantity generator (SQG)"},
    {"101.259765222", "0.000000000", "very small"},
    {"59.440000000", "111.450000000", "1040.200000000", "large quantity generator (LQG)"},
    {"1045 kg", "reached on 2025-11-15", "165 days left"},
    {"14.860000000", "very small"},
    {"260.402423830", "small quantity generator (SQG)"},
};

}  // namespace

TEST_SUITE("readme") {
  TEST_CASE("each worked month comes out as it does by hand") {
    std::string page = read_file(page_path());
    const std::vector<Block> blocks = screens(page);
    REQUIRE(blocks.size() == kByHand.size());
    for (std::size_t i = blocks.size(); i-- > 0;) {
      CAPTURE(i);
      const Folder folder;
      const std::string shown = replay(folder, commands_of(text_of(page, blocks[i])));
      for (const std::string& figure : kByHand[i]) {
        CAPTURE(figure);
        CHECK(shown.find(figure) != std::string::npos);
      }
      const std::string there = text_of(page, blocks[i]);
      if (!refresh()) {
        CHECK(without_digests(there) == without_digests(shown));
      } else if (without_digests(there) != without_digests(shown)) {
        replace_block(page_path(), page, blocks[i], shown);
        page = read_file(page_path());
      }
    }
  }
}
