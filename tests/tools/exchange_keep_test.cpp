// A second and a third machine, a dead one, and a month that is closed while things are open
// between the books, through the real program.
#include <doctest/doctest.h>

#include <filesystem>
#include <string>
#include <vector>

#include "run_program.hpp"
#include "support/has.hpp"

using namespace baybook::test;

namespace {

using Words = std::vector<std::string>;

class Books : public Shop {
 public:
  Books() {
    std::filesystem::create_directory(file("shared"));
    must("bay", {"start", "bay.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay",
                 "--zone", "Europe/Lisbon"});
    must("bay", {"place", "add", "pan-1", "--role", "catch", "--size", "20L"});
    must("bay", {"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size",
                 "200L"});
    must("bay", {"car", "add", "MARSH-07", "--circuit", "coolant=6.8L"});
  }
  Answer in(const std::string& tag, const Words& words) {
    variables = {{"BAYBOOK_BOOK", tag + ".baybook"}};
    return run(words);
  }
  Answer must(const std::string& tag, const Words& words) {
    Answer a = in(tag, words);
    INFO(tag << " " << words.front() << ": " << a.out << a.err);
    REQUIRE(a.status == 0);
    return a;
  }
  void at(int day, int hour) {
    const auto two = [](int n) { return (n < 10 ? "0" : "") + std::to_string(n); };
    now = "2026-03-" + two(day) + "T" + two(hour) + ":00:00.000Z";
  }
  std::string answers(const std::string& tag) {
    return must(tag, {"levels", "--circuits", "--json"}).out + must(tag, {"totals", "2026-03"}).out;
  }
};

// Without the seals, of which each book prints its own first.
std::string without_seals(const std::string& text) {
  std::string out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    const std::string line = text.substr(at, end - at);
    if (!line.starts_with("seal ")) out += line + "\n";
    at = end + 1;
  }
  return out;
}

}  // namespace

TEST_SUITE("tools/exchange keep") {
  TEST_CASE(
      "a second and a third machine begun from the first have nothing to settle and nobody to "
      "accept in ten evenings") {
    Books books;
    CHECK(has(
        flat(books.must("bay", {"backup", "--continue", "office.baybook", "--tag", "office"}).out),
        "the book that it was copied from accepts it"));
    std::vector<std::string> machines = {"bay", "office"};
    for (int day = 6; day < 16; ++day) {
      if (day == 9) {
        books.must("bay", {"backup", "--continue", "van.baybook", "--tag", "van"});
        machines.emplace_back("van");
      }
      books.at(day, 9);
      const std::string n = std::to_string(day);
      books.must("bay", {"job", "open", "MARSH-07", "--for", "cold start " + n});
      for (const std::string& tag : machines) {
        books.must(tag,
                   {"place", "add", "tray-" + tag + "-" + n, "--role", "catch", "--size", "9L"});
        // Each another amount: the same twice could be one thing that both entered.
        const std::string litres = tag == "bay" ? "1L" : tag == "office" ? "2L" : "3L";
        books.must(tag, {"discard", "coolant", litres, "--into", "drum-coolant"});
      }
      books.must("bay", {"job", "close", "MARSH-07", "--result", "starts"});
      books.at(day, 18);
      for (int round = 0; round < 2; ++round) {
        for (const std::string& tag : machines) {
          const Answer a = books.must(tag, {"exchange", "with", "shared"});
          CHECK_FALSE(has(a.out, "to be settled"));
          CHECK_FALSE(has(a.out, "not accepted"));
          CHECK_FALSE(has(a.out, "no effect"));
        }
      }
      for (const std::string& tag : machines) {
        CAPTURE(tag);
        CHECK(has(books.must(tag, {"settle", "list"}).out, "nothing has to be settled"));
        CHECK(without_seals(books.answers(tag)) == without_seals(books.answers("bay")));
      }
    }
  }

  TEST_CASE(
      "a restored bay is told to take in the others' files, is not written in before, and has all "
      "that it lost after") {
    Books books;
    books.must("bay", {"backup", "--continue", "office.baybook", "--tag", "office"});
    for (const char* tag : {"bay", "office", "bay"})
      books.must(tag, {"exchange", "with", "shared"});
    std::filesystem::create_directory(books.file("stick"));
    books.must("bay", {"backup", "stick/bay.baybook"});
    for (int n = 1; n < 6; ++n)
      books.must("bay", {"place", "add", "tray-" + std::to_string(n), "--role", "catch"});
    books.must("bay", {"exchange", "with", "shared"});
    books.must("office", {"exchange", "with", "shared"});
    const std::string before = books.answers("office");
    std::filesystem::remove(books.file("bay.baybook"));
    // Its own file is gone with it, and the other's has all of it.
    for (const auto& e : std::filesystem::directory_iterator(books.file("shared")))
      if (e.path().filename().string().starts_with("bay-")) std::filesystem::remove(e.path());
    const Answer r = books.in("bay", {"backup", "restore", "stick/bay.baybook"});
    CHECK(r.status == 0);
    CHECK(has(flat(r.out), "office may hold what was written after it"));
    const Answer no = books.in("bay", {"place", "add", "tray-9", "--role", "catch"});
    CHECK(no.status == 1);
    CHECK(has(flat(no.err), "this book stands in the place of a lost one, and office may hold"));
    CHECK(has(flat(no.err), "baybook exchange with FOLDER"));
    const Answer in = books.must("bay", {"exchange", "with", "shared"});
    CHECK(has(in.out, "office: newest"));
    books.must("bay", {"place", "add", "tray-9", "--role", "catch"});
    for (int n = 1; n < 6; ++n)
      CHECK(has(books.must("bay", {"levels"}).out, "tray-" + std::to_string(n)));
    books.must("bay", {"exchange", "with", "shared"});
    const Answer back = books.must("office", {"exchange", "with", "shared"});
    CHECK_FALSE(has(back.out, "NOT TAKEN"));
    CHECK(has(back.out, "bay-2"));
    CHECK(has(books.must("office", {"settle", "list"}).out, "nothing has to be settled"));
    CHECK(books.must("office", {"prove"}).status == 0);
  }

  TEST_CASE("when no other book is left a restored one is written in after a word, and only then") {
    Books books;
    books.must("bay", {"backup", "--continue", "office.baybook", "--tag", "office"});
    std::filesystem::create_directory(books.file("stick"));
    books.must("bay", {"backup", "stick/bay.baybook"});
    std::filesystem::remove(books.file("bay.baybook"));
    books.must("bay", {"backup", "restore", "stick/bay.baybook"});
    CHECK(has(books.must("bay", {"exchange", "none", "--dry-run"}).out, "nothing was written"));
    CHECK(books.in("bay", {"place", "add", "tray-9", "--role", "catch"}).status == 1);
    CHECK(has(books.must("bay", {"exchange", "none"}).out, "waits no more for office"));
    books.must("bay", {"place", "add", "tray-9", "--role", "catch"});
    CHECK(has(books.must("bay", {"exchange", "none"}).out, "waits for no other"));
    CHECK(books.must("bay", {"prove"}).status == 0);
  }

  TEST_CASE(
      "a month that is closed says what is open between the books, that month's first, and how "
      "fresh each is") {
    Books books;
    books.must("bay", {"backup", "--continue", "office.baybook", "--tag", "office"});
    books.at(6, 9);
    for (const char* tag : {"bay", "office"}) {
      books.must(tag, {"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil",
                       "--size", "60L"});
      books.must(tag, {"exchange", "with", "shared"});
    }
    books.now = "2026-04-02T09:00:00.000Z";
    books.must("office", {"car", "add", "MARSH-09"});
    books.must("bay", {"car", "add", "MARSH-09"});
    books.must("office", {"exchange", "with", "shared"});
    books.must("bay", {"exchange", "with", "shared"});
    books.now = "2026-04-05T09:00:00.000Z";
    for (const bool dry : {true, false}) {
      Words words = {"close", "2026-03"};
      if (dry) words.emplace_back("--dry-run");
      const Answer json =
          dry ? books.must("bay", {"close", "2026-03", "--dry-run", "--json"}) : Answer{};
      const Answer a = books.must("bay", words);
      const std::string err = flat(a.err);
      CHECK(has(err,
                "2 things are to be settled between the books, 1 of 2026-03: baybook settle list"));
      CHECK(has(err, "drum-oil"));
      CHECK_FALSE(has(err, "MARSH-09"));
      CHECK(has(flat(a.out), "what is here of office: nothing for 3 days, newest Thursday"));
      if (!dry) continue;
      CHECK(is_json(json.out));
      CHECK(has(json.out, "\"conflicts\":2"));
      CHECK(has(json.out, "\"to_settle\":[{\"what\":\"place\""));
      CHECK(has(json.out,
                "\"installations\":[{\"tag\":\"office\",\"newest\":\"2026-04-02T09:00:00.000Z\","
                "\"days\":3}]"));
    }
  }
}
