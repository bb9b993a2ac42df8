// A book that is met for the first time, through the real program.
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::Shop;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// A bay, and an office that has taken the bay's file and wrote about its entries.
class Two : public Shop {
 public:
  Two() {
    for (const char* tag : {"bay", "office"}) {
      use(tag);
      must({"start", std::string(tag) + ".baybook", "--site", "Saltmarsh Motor Works", "--tag", tag,
            "--zone", "Europe/Lisbon"});
    }
    use("bay");
    must({"place", "add", "drum", "--role", "waste", "--takes", "coolant", "--size", "60L"});
    must({"car", "add", "MARSH-07", "--circuit", "coolant=6.8L"});
    must({"job", "open", "MARSH-07", "--for", "warm"});
    must({"drain", "1", "coolant", "5L", "--into", "drum"});
    must({"exchange", "out", "bay.exchange"});
    use("office");
    must({"exchange", "in", "bay.exchange"});
    must({"correct", "5@bay", "--amount", "4L", "--why", "read again"});  // 3@office
    must({"erase", "car", "MARSH-07", "--plate", "--yes"});               // 4@office
    must({"exchange", "out", "office.exchange"});
    use("bay");
  }
  void use(const std::string& tag) { variables = {{"BAYBOOK_BOOK", tag + ".baybook"}}; }
  Answer must(const Words& words) const {
    Answer a = run(words);
    INFO(a.err);
    REQUIRE(a.status == 0);
    return a;
  }
  // The digest of entry 1 as the verb prints it, in groups.
  std::string first_of(const std::string& tag) const {
    const std::string list = flat(must({"exchange", "list"}).out);
    const std::size_t at = list.find("entry 1 ", list.find(tag + " Saltmarsh"));
    REQUIRE(at != std::string::npos);
    return list.substr(at + 8, 79);
  }
};

}  // namespace

TEST_SUITE("tools/peers") {
  TEST_CASE(
      "the dry run of a first file says who it is, the digest that the other book prints, and what "
      "it would do, and writes nothing") {
    Two two;
    const std::string before = two.must({"entries", "--json"}).out;
    const Answer dry = two.must({"exchange", "in", "office.exchange", "--dry-run"});
    const std::string said = flat(dry.out);
    CHECK(holds(said, "office is new here: Saltmarsh Motor Works, 4 entries of "));
    CHECK(holds(said, "replaces 1 entry of others: without effect until accepted"));
    CHECK(holds(said, "entry 3@office replaces entry 5 (drained 5 L coolant into drum)"));
    CHECK(holds(said, "erases 1 text of others: without effect until accepted"));
    CHECK(holds(said, "entry 4@office erases \"plate\" of entry 3 (car registered)"));
    CHECK(holds(said, "nothing was written"));
    CHECK(two.must({"entries", "--json"}).out == before);
    two.use("office");
    CHECK(holds(said, two.first_of("office")));
    CHECK(is_json(two.must({"exchange", "list", "--json"}).out));
  }

  TEST_CASE(
      "what was met waits on the list of what is due, one entry is agreed to, all are accepted, "
      "and what erases asks first") {
    Two two;
    const std::string said = flat(two.must({"exchange", "in", "office.exchange"}).out);
    CHECK(holds(said, "2 entries have no effect until somebody agrees: baybook due --for papers"));
    CHECK(holds(said, "type: baybook exchange accept office --dry-run"));
    CHECK(holds(two.must({"levels"}).out, "5 L"));
    const std::string due = flat(two.must({"due", "--for", "papers"}).out);
    CHECK(holds(due, "office was met and is not accepted"));
    CHECK(holds(due, "type: baybook exchange agree 3@office"));
    CHECK(holds(due, "type: baybook exchange agree 4@office --dry-run"));
    CHECK(holds(two.must({"due", "--json"}).out, "exchange agree 3@office"));
    CHECK(holds(flat(two.must({"entry", "3@office"}).out), "no effect replaces entry 5"));
    CHECK(holds(flat(two.must({"entries"}).out), "[no effect until agreed]"));
    const Answer asks = two.run({"exchange", "agree", "4@office"});
    CHECK(asks.status == 2);
    CHECK(holds(flat(asks.err), "would erase 1 text for good, and nobody is there to be asked"));
    CHECK(two.run({"exchange", "accept", "office"}).status == 2);
    CHECK(holds(flat(two.must({"exchange", "accept", "office", "--dry-run"}).out),
                "1 text would be erased for good"));
    CHECK(holds(two.must({"levels"}).out, "5 L"));
    const Answer agreed = two.must({"exchange", "agree", "3@office", "--json"});
    CHECK(is_json(agreed.out));
    CHECK(holds(agreed.out, "\"takes_effect\":[\"replaces entry 5"));
    CHECK(holds(two.must({"levels"}).out, "4 L"));
    CHECK(holds(two.must({"car", "list"}).out, "MARSH-07"));
    two.must({"exchange", "accept", "office", "--yes", "--once", "k"});
    CHECK(holds(two.must({"exchange", "accept", "office", "--yes", "--once", "k"}).out,
                "nothing new was written"));
    CHECK_FALSE(holds(two.must({"car", "list"}).out, "MARSH-07"));
    CHECK_FALSE(holds(two.must({"due", "--for", "papers"}).out, "office"));
    CHECK(two.must({"prove"}).status == 0);
  }

  TEST_CASE("a stranger is told of on standard error when no answer is wanted") {
    Two two;
    const Answer in = two.must({"exchange", "in", "office.exchange", "--quiet"});
    CHECK(in.out.empty());
    CHECK(holds(flat(in.err), "check: office is new here and not accepted"));
    CHECK(two.must({"exchange", "in", "office.exchange", "--quiet"}).err.empty());
  }

  TEST_CASE("a file is taken and its writer accepted in one go, after asking where that erases") {
    Two two;
    const Answer asks = two.run({"exchange", "in", "office.exchange", "--accept", "office"});
    CHECK(asks.status == 2);
    CHECK(holds(flat(asks.err), "what is accepted would erase 1 text for good"));
    CHECK_FALSE(holds(two.must({"exchange", "list"}).out, "office"));
    const Answer nobody =
        two.run({"exchange", "in", "office.exchange", "--accept", "van", "--yes"});
    CHECK(nobody.status == 1);
    CHECK(holds(flat(nobody.err), "there is no installation van to accept"));
    CHECK(is_json(
        two.must({"exchange", "in", "office.exchange", "--accept", "office", "--yes", "--json"})
            .out));
    CHECK(holds(two.must({"levels"}).out, "4 L"));
    CHECK(two.must({"prove"}).status == 0);
  }

  TEST_CASE(
      "what came in the wrong name is thrown out after asking, lies beside the book, and does not "
      "come back by itself") {
    Two two;
    two.must({"exchange", "in", "office.exchange"});
    const std::string before = two.must({"entries", "--json"}).out;
    CHECK(holds(flat(two.must({"exchange", "forget", "office", "--dry-run"}).out),
                "would throw out 4 entries of office, numbers 1 to 4"));
    CHECK(two.run({"exchange", "forget", "office"}).status == 2);
    CHECK(two.must({"entries", "--json"}).out == before);
    CHECK(!std::filesystem::exists(two.file("bay.baybook.forgotten-office-1-4.exchange")));
    for (const Words& words :
         {Words{"exchange", "forget", "bay", "--yes"}, Words{"exchange", "forget", "van", "--yes"},
          Words{"exchange", "forget", "office", "--from", "9", "--yes"}}) {
      CAPTURE(words[2]);
      const Answer a = two.run(words);
      CHECK(a.status == 1);
      CHECK(a.out.empty());
    }
    CHECK(two.run({"exchange", "forget", "office", "--from", "x"}).status == 2);
    two.must({"exchange", "forget", "office", "--from", "3", "--yes"});
    CHECK(std::filesystem::exists(two.file("bay.baybook.forgotten-office-3-4.exchange")));
    const Answer again = two.run({"exchange", "in", "office.exchange"});
    CHECK(again.status == 1);
    CHECK(holds(flat(again.out), "entries 3 to 4@office were thrown out of this book by entry 7"));
    two.must({"exchange", "in", "bay.baybook.forgotten-office-3-4.exchange", "--accept", "office",
              "--yes"});
    // A second time the name is taken.
    two.must({"exchange", "forget", "office", "--from", "3", "--yes"});
    CHECK(std::filesystem::exists(two.file("bay.baybook.forgotten-office-3-4-2.exchange")));
    CHECK(two.must({"prove"}).status == 0);
  }
}
