// What only a terminal gets, and the person's own settings.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <string>

using baybook::test::Answer;
using baybook::test::OpenShop;

TEST_SUITE("tools/terminal") {
namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

void write_settings(OpenShop& shop, const std::string& text) {
  const auto folder = shop.folder() / "xdg" / "baybook";
  std::filesystem::create_directories(folder);
  std::ofstream(folder / "config.toml") << text;
  shop.variables.emplace_back("XDG_CONFIG_HOME", (shop.folder() / "xdg").string());
}

}  // namespace

TEST_CASE("colour is for a terminal alone, never under NO_COLOR or a dumb one, and says nothing that the words do not") {
  OpenShop shop;
  shop.variables.emplace_back("TERM", "xterm");
  const std::string plain = shop.must({"levels"}).out;
  CHECK_FALSE(has(plain, "\x1b"));
  const std::string coloured = shop.run_on_terminal({"levels", "--no-pager"}, 200, 80).out;
  CHECK(has(coloured, "\x1b[1m"));
  std::string stripped;
  for (std::size_t i = 0; i < coloured.size(); ++i) {
    if (coloured[i] == '\x1b') i = coloured.find('m', i);
    else stripped += coloured[i];
  }
  CHECK(stripped == plain);
  CHECK(has(shop.must({"levels", "--color=always"}).out, "\x1b[1m"));
  CHECK_FALSE(has(shop.run_on_terminal({"levels", "--no-pager", "--color", "never"}, 200, 80).out, "\x1b"));
  CHECK(shop.run({"levels", "--color", "blue"}).status == 2);
  CHECK_FALSE(has(shop.must({"levels", "--json", "--color=always"}).out, "\x1b"));
  shop.variables.back().second = "dumb";
  CHECK_FALSE(has(shop.run_on_terminal({"levels", "--no-pager"}, 200, 80).out, "\x1b"));
  shop.variables.back().second = "xterm";
  shop.variables.emplace_back("NO_COLOR", "1");
  CHECK_FALSE(has(shop.run_on_terminal({"levels", "--no-pager"}, 200, 80).out, "\x1b"));
}

TEST_CASE("the last line of a refusal, what to type instead, stands out on a terminal") {
  OpenShop shop;
  shop.variables.emplace_back("TERM", "xterm");
  const Answer a = shop.run_on_terminal({"drain", "1", "coolant", "100L", "--into", "pan-1"}, 200, 80);
  CHECK(a.status == 1);
  CHECK(has(a.out, "\x1b[1mtype: "));
}

TEST_CASE("an answer longer than the screen goes through the pager, a shorter one and a pipe do not") {
  OpenShop shop;
  shop.variables.emplace_back("PAGER", "sed 's/^/paged: /'");
  CHECK(has(shop.run_on_terminal({"levels"}, 5, 80).out, "paged: "));
  CHECK_FALSE(has(shop.run_on_terminal({"levels"}, 200, 80).out, "paged: "));
  CHECK_FALSE(has(shop.run_on_terminal({"levels", "--no-pager"}, 5, 80).out, "paged: "));
  CHECK_FALSE(has(shop.must({"levels"}).out, "paged: "));
  // Leaving the pager early is no fault, and a pager that is not there loses nothing.
  shop.variables.back().second = "true";
  CHECK(shop.run_on_terminal({"levels"}, 5, 80).status == 0);
  shop.variables.back().second = "there-is-no-such-pager 2>/dev/null";
  CHECK(has(shop.run_on_terminal({"levels"}, 5, 80).out, "pan-1"));
  shop.variables.back().second = "";
  CHECK(has(shop.run_on_terminal({"levels"}, 5, 80).out, "pan-1"));
  // The status is that of the verb.
  shop.variables.back().second = "cat >/dev/null";
  CHECK(shop.run_on_terminal({"last", "NOBODY-1"}, 5, 80).status == 1);
}

TEST_CASE("an option comes before a variable, a variable before the settings") {
  OpenShop shop;
  write_settings(shop, "book = \"m.baybook\"\nby = \"Tam\"\n");
  shop.variables.erase(shop.variables.begin());  // BAYBOOK_BOOK
  CHECK(has(shop.must({"levels"}).out, "pan-1"));
  shop.must({"work", "1", "pump off"});
  CHECK(has(shop.must({"entry", "last", "--json"}).out, "\"by\":\"Tam\""));
  shop.must({"person", "add", "Wren", "--by", "Tam"});
  shop.variables.emplace_back("BAYBOOK_BY", "Wren");
  shop.must({"work", "1", "pump on"});
  CHECK(has(shop.must({"entry", "last", "--json"}).out, "\"by\":\"Wren\""));
  shop.must({"work", "1", "bled", "--by", "Tam"});
  CHECK(has(shop.must({"entry", "last", "--json"}).out, "\"by\":\"Tam\""));
  shop.variables.emplace_back("BAYBOOK_BOOK", "other.baybook");
  CHECK(shop.run({"levels"}).status == 3);
  CHECK(shop.run({"levels", "--book", "m.baybook"}).status == 0);
}

TEST_CASE("a slip in the settings is refused with its file, line and column, and nothing is done") {
  OpenShop shop;
  const std::string before = shop.dump();
  struct Slip {
    const char* text;
    const char* says;
  };
  for (const Slip& slip : {Slip{"book = \"m.baybook\"\nbuk = \"x\"\n", "config.toml:2:1: there is no setting named buk"},
                           {"by = 7\n", "config.toml:1:6: by is a text in quotes"},
                           {"color = \"blue\"\n", "config.toml:1:9: color is auto, always or never"},
                           {"book = \n", "config.toml:1:8: "}}) {
    OpenShop other;
    write_settings(other, slip.text);
    CAPTURE(slip.text);
    const Answer a = other.run({"work", "1", "pump off"});
    CHECK(a.status == 2);
    CAPTURE(a.err);
    CHECK(has(a.err, slip.says));
    CHECK(other.run({"--version"}).status == 0);
    CHECK(other.run({"help"}).status == 0);
  }
  // A relative XDG_CONFIG_HOME is no place (XDG Base Directory Specification): it is passed over.
  std::filesystem::create_directories(shop.folder() / "rel" / "baybook");
  std::ofstream(shop.folder() / "rel" / "baybook" / "config.toml") << "nonsense\n";
  shop.variables.emplace_back("XDG_CONFIG_HOME", "rel");
  CHECK(shop.run({"levels"}).status == 0);
  CHECK(before == shop.dump());
}

TEST_CASE("a long list comes as one object a line, the same objects as in the document") {
  const OpenShop shop;
  for (const std::string verb : {"entries", "levels", "jobs", "cars"}) {
    CAPTURE(verb);
    const std::string lines = shop.must({verb, "--jsonl"}).out;
    const std::string document = shop.must({verb, "--json"}).out;
    REQUIRE_FALSE(lines.empty());
    std::string joined;
    for (std::size_t at = 0; at < lines.size();) {
      const std::size_t end = lines.find('\n', at);
      CHECK(baybook::test::is_json(lines.substr(at, end - at + 1)));
      joined += (joined.empty() ? "" : ",") + lines.substr(at, end - at);
      at = end + 1;
    }
    CHECK(has(document, "[" + joined + "]"));
  }
  CHECK(shop.run({"last", "NOBODY-1", "--jsonl"}).status == 1);
  CHECK(baybook::test::is_json(shop.run({"last", "NOBODY-1", "--jsonl"}).out));
}
}
