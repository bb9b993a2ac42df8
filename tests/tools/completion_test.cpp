// What a shell may complete, asked of the program and of a real bash; and the manual page by real tools.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <string>
#include <vector>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::OpenShop;
using baybook::test::Shop;

TEST_SUITE("tools/completion") {
namespace {

bool tool_is_there(const std::string& name) { return std::system(("command -v " + name + " >/dev/null 2>&1").c_str()) == 0; }

std::vector<std::string> suggested(const Shop& shop, std::vector<std::string> words) {
  std::vector<std::string> args = {"suggest", "--"};
  args.insert(args.end(), words.begin(), words.end());
  const Answer a = shop.run(args);
  CHECK(a.status == 0);
  CHECK(a.err.empty());
  std::vector<std::string> out;
  for (std::size_t at = 0; at < a.out.size();) {
    const std::size_t end = a.out.find('\n', at);
    out.push_back(a.out.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

bool among(const std::vector<std::string>& list, const std::string& word) { return std::find(list.begin(), list.end(), word) != list.end(); }

}  // namespace

TEST_CASE("verbs, the second word of a family, options, and the names of the book are suggested where they fit") {
  const OpenShop shop;
  CHECK(suggested(shop, {"dr"}) == std::vector<std::string>{"drain"});
  CHECK(among(suggested(shop, {""}), "job"));
  CHECK_FALSE(among(suggested(shop, {""}), "suggest"));
  CHECK(suggested(shop, {"job", "c"}) == std::vector<std::string>{"close"});
  CHECK(suggested(shop, {"drain", "1", "cool"}) == std::vector<std::string>{"coolant"});
  CHECK(suggested(shop, {"drain", "1", "coolant", "5L", "--into", ""}) == std::vector<std::string>{"can-1", "drum-absorb", "drum-coolant", "keep-1", "pan-1"});
  CHECK(suggested(shop, {"drain", "1", "coolant", "5L", "--in"}) == std::vector<std::string>{"--into"});
  CHECK(among(suggested(shop, {"drain", ""}), "1"));
  CHECK(among(suggested(shop, {"drain", ""}), "MARSH-07"));
  CHECK(suggested(shop, {"last", "MAR"}) == std::vector<std::string>{"MARSH-07"});
  CHECK(suggested(shop, {"work", "1", "x", "--by", "T"}) == std::vector<std::string>{"Tam"});
  CHECK(suggested(shop, {"receive", "oat"}) == std::vector<std::string>{"oat-violet"});
  CHECK(suggested(shop, {"place", "add", "x", "--role", ""}).size() == 4);
  CHECK(suggested(shop, {"levels", "--book", ""}) == std::vector<std::string>{":files"});
}

TEST_CASE("what is asked without a book, or with one that cannot be read, is answered with nothing and no word of complaint") {
  const Shop shop;
  CHECK(suggested(shop, {"last", ""}).empty());
  CHECK(suggested(shop, {"drain", "1", "coolant", "5L", "--book", "nowhere", "--into", ""}).empty());
  CHECK(suggested(shop, {"no-such-verb", ""}).empty());
  CHECK(suggested(shop, {}).size() > 10);
}

TEST_CASE("a real bash completes with the script that the program prints") {
  const OpenShop shop;
  const std::string script = R"(
set -u
PATH=)" + std::filesystem::path(BAYBOOK_PROGRAM).parent_path().string() + R"(:$PATH
source <(baybook completion bash)
try() {
  COMP_WORDS=("$@")
  COMP_CWORD=$(($# - 1))
  _baybook
  printf '%s|' "${COMPREPLY[@]}"
  echo
}
try baybook dra
try baybook drain 1 coolant 5L --into p
try baybook last MA
)";
  std::ofstream(shop.file("try.sh")) << script;
  const std::string out = shop.file("answer").string();
  const std::string command = "cd '" + shop.folder().string() + "' && BAYBOOK_BOOK=m.baybook bash try.sh > answer 2>&1";
  CHECK(std::system(command.c_str()) == 0);
  CHECK(bytes_of(out) == "drain|\npan-1|\nMARSH-07|\n");
}

TEST_CASE("zsh and fish find no fault in their scripts") {
  const Shop shop;
  for (const std::string shell : {"zsh", "fish"}) {
    CAPTURE(shell);
    const Answer a = shop.run({"completion", shell});
    REQUIRE(a.status == 0);
    if (!tool_is_there(shell)) {
      MESSAGE("not run: ", shell, " is not on this machine");
      continue;
    }
    std::ofstream(shop.file("script")) << a.out;
    CHECK(std::system((shell + " -n '" + shop.file("script").string() + "'").c_str()) == 0);
  }
  CHECK(shop.run({"completion", "tcsh"}).status == 2);
}

TEST_CASE("the manual page is made from the verb table and passes mandoc's check") {
  const Shop shop;
  const Answer a = shop.run({"manual"});
  REQUIRE(a.status == 0);
  for (const char* part : {"*drain*", "*job open*", "BAYBOOK\\_NOW", "config.toml", "# EXIT STATUS"}) {
    CAPTURE(part);
    CHECK(a.out.find(part) != std::string::npos);
  }
  CHECK(a.out.find("*suggest*") == std::string::npos);
  if (!tool_is_there("scdoc") || !tool_is_there("mandoc")) {
    MESSAGE("not run: scdoc or mandoc is not on this machine");
    return;
  }
  std::ofstream(shop.file("m.scd")) << a.out;
  const std::string in = "cd '" + shop.folder().string() + "' && ";
  REQUIRE(std::system((in + "scdoc < m.scd > m.1").c_str()) == 0);
  // Long lines are a matter of style, and empty paragraphs are scdoc's own.
  const int found = std::system((in + "mandoc -Tlint -W warning m.1 2>&1 | grep -v 'skipping paragraph macro' > lint.txt").c_str());
  CHECK(found != 0);
  CHECK(bytes_of(shop.file("lint.txt")) == "");
}
}
