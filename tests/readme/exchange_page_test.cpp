// A day, a conflict, a dead machine and a third one, as docs/exchange.md has them, are done again
// and compared.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R "day between two books"   writes today's answers
#include <doctest/doctest.h>

#include <regex>
#include <string>

#include "page_screens.hpp"

using namespace baybook::test;

namespace {

std::string page_path() { return std::string(BAYBOOK_SOURCE) + "/docs/exchange.md"; }

/// The names of exchange files hold 8 digits of an identity; digests that are read aloud stand in
/// groups of 4.
std::string comparable(const std::string& text) {
  static const std::regex name(R"(-[0-9a-f]{8}\.exchange)");
  static const std::regex aloud(R"(( [0-9a-f]{4}){2,})");
  static const std::regex seal(R"(\b([a-z0-9-]+:[0-9]+:)[0-9a-f]{16})");
  std::string out = std::regex_replace(text, name, "-........exchange");
  out = std::regex_replace(out, aloud, " ....");
  return without_digests(std::regex_replace(out, seal, "$1................"));
}

}  // namespace

TEST_SUITE("readme") {
  TEST_CASE(
      "a day between two books, a conflict, a dead machine and a third one go as the page says") {
    const std::string screen = replay_page(page_path(), 8, comparable);
    // And what the page promises.
    CHECK(screen.find("nothing has to be settled") != std::string::npos);
    CHECK(screen.find("this book stands in the place of a lost one, and office may hold") !=
          std::string::npos);
    CHECK(screen.find("NOT TAKEN") == std::string::npos);
    CHECK(screen.find("there is no verb") == std::string::npos);
    const std::string page = read_file(page_path());
    CHECK(page.size() < 14000);
  }
}
