// The transcript in README.md is replayed and compared, so that it cannot go stale, and the lines in docs/format.md that check an entry by
// hand are run on the book that it makes.
//
//   BAYBOOK_REFRESH=1 ctest --test-dir build -R readme     writes the answers of today into README.md
//
// A page that is read cannot be trusted to be harmless, but this one is the project's own and runs in an empty folder.
#include "replay.hpp"

#include <doctest/doctest.h>

#include <vector>

using namespace baybook::test;

namespace {

std::string page_path() { return std::string(BAYBOOK_SOURCE) + "/README.md"; }

/// The book that the transcript makes.
std::string make_the_book(const Folder& folder) {
  const std::string page = read_file(page_path());
  replay(folder, commands_of(text_of(page, fenced(page, "console", "$ baybook start"))));
  return folder.file("shop/marsh.baybook");
}

std::string line_to_verify() {
  const std::string page = read_file(std::string(BAYBOOK_SOURCE) + "/docs/format.md");
  return text_of(page, fenced(page, "sh", "# verify-entry"));
}

Answer verify(const Folder& folder, const std::string& book, int entry) { return bash(folder, "BOOK='" + book + "'\nN=" + std::to_string(entry) + "\n" + line_to_verify()); }

}  // namespace

TEST_SUITE("readme") {
  TEST_CASE("digests are passed over, and nothing else") {
    CHECK(without_digests("entry 2  5b4a04d379a9, bay:20:7237d04678521b28.") == "entry 2  ............, bay:20:.................");
    CHECK(without_digests("paper 0041233, 2026-03-05T09:40:00.000Z, 5b4a04d379a") == "paper 0041233, 2026-03-05T09:40:00.000Z, 5b4a04d379a");
  }

  TEST_CASE("every command of the transcript answers as it stands there") {
    const std::string page = read_file(page_path());
    const Block block = fenced(page, "console", "$ baybook start");
    const std::vector<std::string> commands = commands_of(text_of(page, block));
    REQUIRE(commands.size() > 15);
    const Folder folder;
    const std::string screen = replay(folder, commands);
    // What is answered fits a screen of 80 columns; what is typed may be longer.
    for (std::size_t at = 0; at < screen.size();) {
      const std::size_t end = screen.find('\n', at);
      const std::string line = screen.substr(at, end - at);
      CAPTURE(line);
      CHECK((line.starts_with("$ ") || line.size() <= 80));
      at = end + 1;
    }
    if (refresh()) {
      if (without_digests(text_of(page, block)) != without_digests(screen)) replace_block(page_path(), page, block, screen);
    } else {
      CHECK(without_digests(text_of(page, block)) == without_digests(screen));
    }
  }

  TEST_CASE("sqlite3 and sha256sum alone verify an entry by the line in docs/format.md") {
    const Folder folder;
    const std::string book = make_the_book(folder);
    for (const int entry : {1, 2, 14}) {
      CAPTURE(entry);
      const Answer digest = bash(folder, "sqlite3 -readonly '" + book + "' 'SELECT lower(hex(digest)) FROM entry WHERE id & 1099511627775 = " + std::to_string(entry) + "'");
      const Answer a = verify(folder, book, entry);
      CHECK(a.status == 0);
      CHECK(digest.text.size() == 65);
      CHECK(a.text == "entry " + std::to_string(entry) + ": " + digest.text);
    }
    // There is no such entry: nothing is verified.
    CHECK(verify(folder, book, 4000).status != 0);

    // One byte of a body changed in a copy: that entry fails, and no other.
    const std::string copy = folder.file("shop/copy.baybook");
    REQUIRE(bash(folder, "sqlite3 '" + book + "' \"VACUUM INTO '" + copy + "'\"\n").status == 0);
    CHECK(verify(folder, copy, 14).status == 0);
    REQUIRE(bash(folder, "sqlite3 '" + copy + "' \"UPDATE entry SET body = replace(body, '\\\"number\\\":14,', '\\\"number\\\":15,') WHERE id & 1099511627775 = 14\"\n").status == 0);
    const Answer changed = verify(folder, copy, 14);
    CHECK(changed.status != 0);
    CHECK(changed.text.empty());
    CHECK(verify(folder, copy, 13).status == 0);
    CHECK(verify(folder, copy, 15).status == 0);
  }

  TEST_CASE("the line for the whole chain finds what was changed") {
    const std::string page = read_file(std::string(BAYBOOK_SOURCE) + "/docs/format.md");
    const std::string line = text_of(page, fenced(page, "sh", "# verify-chain"));
    const Folder folder;
    const std::string book = make_the_book(folder);
    const Answer sound = bash(folder, "BOOK='" + book + "'\n" + line);
    CHECK(sound.status == 0);
    CHECK(sound.text.find(" entries, last digest ") != std::string::npos);
    REQUIRE(bash(folder, "sqlite3 '" + book + "' \"UPDATE entry SET body = body || ' ' WHERE id & 1099511627775 = 14\"\n").status == 0);
    const Answer changed = bash(folder, "BOOK='" + book + "'\n" + line);
    CHECK(changed.status != 0);
    CHECK(changed.text == "entry 14 does not follow\n");
  }
}
