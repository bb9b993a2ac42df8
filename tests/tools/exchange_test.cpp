// exchange and settle through the real program.
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::Shop;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// Two books of one workshop, in which the same car and drum were entered before they ever met.
class Two : public Shop {
 public:
  Two() {
    for (const char* tag : {"bay", "office"}) {
      use(tag);
      must({"start", std::string(tag) + ".baybook", "--site", "Saltmarsh Motor Works", "--tag", tag, "--zone", "Europe/Lisbon"});
      must({"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size", "60L"});
      must({"car", "add", "MARSH-07", "--circuit", "coolant=6.8L"});
      must({"job", "open", "MARSH-07", "--for", "warm"});
      must({"drain", "1", "coolant", "5L", "--into", "drum-coolant"});
    }
  }
  void use(const std::string& tag) { variables = {{"BAYBOOK_BOOK", tag + ".baybook"}}; }
  Answer must(const Words& words) const {
    Answer a = run(words);
    INFO(a.err);
    REQUIRE(a.status == 0);
    return a;
  }
};

}  // namespace

TEST_SUITE("tools/exchange") {
  TEST_CASE("what one book wrote is in the other, the doubled drum is listed, joined, and holds what both put in") {
    Two two;
    two.use("bay");
    const Answer out = two.must({"exchange", "out", "evening.exchange"});
    CHECK(holds(out.out, "5 entries written to evening.exchange"));
    CHECK(holds(out.out, "as far as seal bay:5:"));
    two.use("office");
    const Answer in = two.must({"exchange", "in", "evening.exchange"});
    CHECK(holds(in.out, "took 5 entries"));
    CHECK(holds(in.out, "2 things to be settled: baybook settle list"));
    const std::string list = flat(two.must({"settle", "list"}).out);
    CHECK(holds(list, "drum-coolant is the name of two places"));
    CHECK(holds(list, "MARSH-07 is the plate of two cars"));
    const Answer unclear = two.run({"decant", "drum-coolant", "1L", "--into", "drum-coolant"});
    CHECK(unclear.status == 1);
    CHECK(holds(flat(unclear.err), "drum-coolant is the name of 2 places: drum-coolant@office, drum-coolant@bay"));
    two.must({"settle", "join", "2", "2@bay", "--why", "the same drum"});
    two.must({"settle", "join", "3", "3@bay"});
    CHECK(holds(two.must({"levels"}).out, "10 L"));
    // What is left are the two jobs, which are both open on the one car now.
    const std::string left = flat(two.must({"settle", "list"}).out);
    CHECK(holds(left, "1 thing to be settled"));
    CHECK_FALSE(holds(left, "is the name of two places"));
    CHECK_FALSE(holds(left, "is the plate of two cars"));
    two.must({"job", "close", "1@bay", "--as-is", "the office does it"});
    CHECK(holds(two.must({"settle", "list"}).out, "nothing has to be settled"));
    CHECK(two.must({"prove"}).status == 0);
    // And back: the bay learns of both from the office.
    two.must({"exchange", "out", "back.exchange"});
    two.use("bay");
    two.must({"exchange", "in", "back.exchange"});
    CHECK_FALSE(holds(two.must({"levels"}).out, "10 L"));
    two.must({"exchange", "accept", "office"});
    CHECK(holds(two.must({"levels"}).out, "10 L"));
    CHECK(two.must({"prove"}).status == 0);
  }

  TEST_CASE("what two books named alike is listed and named as it can be typed, for people, fluids, drums and cars") {
    Two two;
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      two.must({"fluid", "add", "violet", "--class", "coolant"});
      two.must({"person", "add", "Oona Reed"});
    }
    two.must({"exchange", "out", "o.exchange"});
    two.use("bay");
    two.must({"drain", "1", "coolant", "50L", "--into", "drum-coolant"});
    two.must({"exchange", "in", "o.exchange"});
    const std::string fluids = two.must({"fluid", "list"}).out;
    CHECK(holds(fluids, "violet@bay"));
    CHECK(holds(fluids, "violet@office"));
    CHECK(holds(two.must({"person", "list"}).out, "Oona Reed@office"));
    CHECK(holds(flat(two.must({"due", "--within", "400d"}).out), "baybook pickup --from drum-coolant@bay=all"));
    const Answer plan = two.run({"erase", "car", "MARSH-07@office", "--all", "--dry-run"});
    CHECK(holds(flat(plan.out), "MARSH-07"));
    CHECK(!holds(plan.err, "no car with the plate"));
    CHECK(holds(flat(two.must({"history", "MARSH-07@office"}).out), "job 1@office opened"));
  }

  TEST_CASE("a name with the tag of its installation is taken by what writes, and by what reads without a word") {
    Two two;
    two.must({"exchange", "out", "o.exchange"});
    two.use("bay");
    two.must({"exchange", "in", "o.exchange"});
    const Answer unclear = two.run({"odo", "MARSH-07", "1000km"});
    CHECK(holds(flat(unclear.err), "type: MARSH-07@bay"));
    CHECK(holds(two.must({"odo", "MARSH-07@bay", "1000km"}).out, "MARSH-07"));
    two.must({"car", "change", "marsh 07@office", "--keeper", "Edda Linn"});
    CHECK_FALSE(holds(two.must({"last", "MARSH-07@office"}).err, "there is no car"));
    const Answer slip = two.run({"odo", "MARSH-08@bay", "1001km"});
    CHECK(slip.status == 1);
  }

  TEST_CASE("names that differ in case or spelling alone are listed to be settled, and the lists can be read until then") {
    Two two;
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      const bool bay = std::string(tag) == "bay";
      two.must({"person", "add", bay ? "Oona Reed" : "oona reed"});
      two.must({"car", "add", bay ? "REED 09" : "REED-09"});
    }
    two.must({"exchange", "out", "o.exchange"});
    two.use("bay");
    two.must({"exchange", "in", "o.exchange"});
    const std::string people = two.must({"person", "list"}).out;
    CHECK(holds(people, "Oona Reed@bay"));
    CHECK(holds(people, "oona reed@office"));
    const std::string list = flat(two.must({"settle", "list"}).out);
    CHECK(holds(list, "is the name of two people"));
    CHECK((holds(list, "REED 09 is the plate of two cars") || holds(list, "REED-09 is the plate of two cars")));
  }

  TEST_CASE(
      "proof and backup of two books that took the same twice say sound and what is to be settled") {
    Two two;
    two.use("bay");
    two.must({"exchange", "out", "first.exchange"});
    two.use("office");
    two.must({"exchange", "in", "first.exchange"});
    two.must({"exchange", "accept", "bay"});
    // By its own book each had enough.
    two.must({"place", "add", "drum-2", "--role", "waste", "--takes", "coolant", "--size", "60L"});
    two.must({"decant", "drum-coolant@bay", "3L", "--into", "drum-2"});
    two.use("bay");
    two.must({"place", "add", "drum-3", "--role", "waste", "--takes", "coolant", "--size", "60L"});
    two.must({"decant", "drum-coolant", "4L", "--into", "drum-3"});
    two.must({"exchange", "out", "second.exchange"});
    two.use("office");
    two.must({"exchange", "in", "second.exchange"});
    CHECK(holds(two.must({"settle", "list"}).out, "2 L more from drum-coolant"));
    const std::string n = "3 things to be settled: baybook settle list";
    const std::string proof = flat(two.must({"prove"}).out);
    CHECK(holds(proof, "sound: "));
    CHECK(!holds(proof, "NOT SOUND"));
    CHECK(holds(proof, n));
    CHECK(holds(two.must({"prove", "--json"}).out, "\"conflicts\":3"));
    const std::string copied = flat(two.must({"backup", "copy.baybook"}).out);
    CHECK(holds(copied, "and sound"));
    CHECK(holds(copied, n));
    CHECK(holds(two.must({"backup", "copy-2.baybook", "--json"}).out, "\"conflicts\":3"));
  }

  TEST_CASE("a sheet of two books that were begun otherwise says in what, and one of alike books does not") {
    for (const bool alike : {true, false}) {
      Two two;
      two.use("pit");
      two.must({"start", "pit.baybook", "--site", "Saltmarsh Motor Works", "--tag", "pit", "--zone",
                alike ? "Europe/Lisbon" : "Atlantic/Azores", "--volume", alike ? "L" : "usgal"});
      two.must({"exchange", "out", "pit.exchange"});
      two.use("bay");
      two.must({"exchange", "in", "pit.exchange"});
      const std::string page = flat(two.must({"totals", "2026-03", "--form", "text"}).out);
      CHECK(holds(page, "Europe/Lisbon (bay), Atlantic/Azores (pit)") != alike);
      CHECK(holds(page, "US gallons, kilometres, newton metres (pit)") != alike);
      CHECK(holds(page, "This book is of several") != alike);
    }
  }

  TEST_CASE("two pick-ups with one paper number are confirmed by their entries, as the list of what is due says") {
    Two two;
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      two.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
      // A small generator's month: there is a day by which the signed copy has to be back.
      two.must({"place", "add", std::string("drum-") + tag, "--role", "waste", "--takes", "coolant", "--size", "300L"});
      two.must({"discard", "coolant", "190L", "--into", std::string("drum-") + tag});
      two.must({"pickup", "--doc", "A-1", "--carrier", "Fen", "--from", std::string("drum-") + tag + "=2L", "--fate", "recycle"});
    }
    two.must({"exchange", "out", "o.exchange"});
    two.use("bay");
    CHECK(holds(flat(two.must({"due", "--within", "400d"}).out), "baybook pickup confirm A-1 --signed DATE"));
    two.must({"exchange", "in", "o.exchange"});
    two.must({"settle", "apart", "9", "9@office", "--why", "one paper for two loads"});
    const std::string due = flat(two.must({"due", "--within", "400d"}).out);
    CHECK_FALSE(holds(due, "pickup confirm A-1"));
    CHECK(holds(due, "baybook pickup confirm 9 --signed DATE"));
    CHECK(holds(due, "baybook pickup confirm 9@office --signed DATE"));
    two.must({"pickup", "confirm", "9@office", "--signed", "today"});
  }

  TEST_CASE("the seal over every installation that a page prints is proved while nothing came after it, and each one's own after that") {
    Two two;
    two.must({"exchange", "out", "o.exchange"});
    two.use("bay");
    two.must({"exchange", "in", "o.exchange"});
    two.must({"totals", "--out", "page.json"});
    const std::string page = bytes_of(two.file("page.json"));
    const auto seal = [&](const char* lead) {
      const std::size_t at = page.find(lead);
      REQUIRE(at != std::string::npos);
      return page.substr(at, page.find_first_of("\" \n", at) - at);
    };
    const std::string all = seal("all:2:");
    CHECK(two.run({"prove", "--seal", all}).status == 0);
    two.must({"car", "add", "REED-09"});
    const Answer later = two.run({"prove", "--seal", all});
    CHECK(later.status == 1);
    CHECK(holds(flat(later.err), "is over all installations as they stood when it was printed"));
    CHECK(!holds(later.out, "NOT SOUND"));
    CHECK(two.run({"prove", "--seal", seal("office:5:")}).status == 0);
    CHECK(two.run({"start", "all.baybook", "--site", "Saltmarsh Motor Works", "--tag", "all"}).status == 1);
  }

  TEST_CASE("the last line of the file is the digest that sha256sum makes of the lines before it") {
    Two two;
    two.must({"exchange", "out", "all.exchange"});
    const std::string file = bytes_of(two.file("all.exchange"));
    const std::string command = "cd '" + two.folder().string() + "' && head -n -1 all.exchange | sha256sum | cut -d' ' -f1 > sum";
    REQUIRE(std::system(command.c_str()) == 0);
    std::string sum = bytes_of(two.file("sum"));
    sum.pop_back();
    CHECK(sum.size() == 64);
    CHECK(holds(file, "\"sha256\":\"" + sum + "\"}"));
  }

  TEST_CASE("every answer is there as JSON as well") {
    Two two;
    two.use("bay");
    const Answer out = two.must({"exchange", "out", "a.exchange", "--json"});
    CHECK(is_json(out.out));
    two.use("office");
    const Answer tried = two.must({"exchange", "in", "a.exchange", "--json", "--dry-run"});
    CHECK(is_json(tried.out));
    CHECK(holds(tried.out, "\"taken\":5"));
    CHECK(holds(tried.out, "\"dry_run\":true"));
    CHECK(holds(two.must({"exchange", "in", "a.exchange", "--json"}).out, "\"conflicts\":2"));
    const Answer list = two.must({"settle", "list", "--json"});
    CHECK(is_json(list.out));
    CHECK(holds(list.out, "baybook settle join"));
  }

  TEST_CASE("a file goes through standard output and input") {
    Two two;
    two.use("bay");
    const Answer out = two.must({"exchange", "out", "-"});
    CHECK(out.out.starts_with("{\"baybook-exchange\":2,\"by\":\""));
    two.must({"exchange", "out", "f.exchange"});
    CHECK(bytes_of(two.file("f.exchange")) == out.out);
  }

  TEST_CASE("a wrong file, a file that is there, a wrong seal and what makes no sense are refused in three lines, and nothing is done") {
    Two two;
    two.use("bay");
    two.must({"exchange", "out", "a.exchange"});
    std::ofstream(two.file("notes.txt"), std::ios::binary) << "oil, bread, milk\n";
    std::ofstream(two.file("other.json"), std::ios::binary) << "{\"a\":1}\n";
    std::ofstream(two.file("empty"), std::ios::binary).flush();
    std::filesystem::create_symlink("elsewhere", two.file("link"));
    std::string cut = bytes_of(two.file("a.exchange"));
    std::ofstream(two.file("cut"), std::ios::binary) << cut.substr(0, cut.size() / 2);
    std::ofstream(two.file("long"), std::ios::binary) << std::string(3 << 20, 'x');
    const std::string before = two.must({"entries", "--json"}).out;
    struct Case {
      Words words;
      int status;
      const char* says;
    };
    const std::vector<Case> cases = {
        {{"exchange", "out", "notes.txt"}, 1, "notes.txt is there already"},
        {{"exchange", "out", "link"}, 1, "is a link"},
        {{"exchange", "out", "no/such/folder"}, 3, "cannot be written"},
        {{"exchange", "out", "b", "--since", "bay:17"}, 1, "bay:17"},
        {{"exchange", "out", "b", "--since", "van:1:0123456789abcdef"}, 1, "there is no installation van"},
        {{"exchange", "out", "b", "--since", "bay:2:0123456789abcdef"}, 1, "has digest"},
        {{"exchange", "out", "b", "--since", "bay:99:0123456789abcdef"}, 1, "goes further than this book"},
        {{"exchange", "in", "notes.txt"}, 3, "notes.txt:1:1: this is no exchange file"},
        {{"exchange", "in", "other.json"}, 3, "this is no exchange file"},
        {{"exchange", "in", "empty"}, 1, "the file is empty"},
        {{"exchange", "in", "missing"}, 3, "is not a file that can be read"},
        {{"exchange", "in", "."}, 3, "is not a file that can be read"},
        {{"exchange", "in", "cut"}, 1, "cut:"},
        {{"exchange", "in", "long"}, 1, "longer than 1 MiB"},
        {{"exchange", "in", "a.exchange", "--once", "k"}, 2, "--once is not needed"},
        {{"exchange", "in", "a.exchange", "--by", "Maren"}, 2, "their own day and hand"},
        {{"exchange", "in", "a.exchange", "--call", "bay"}, 2, "--call bay is not clear"},
        {{"settle", "join", "2", "3"}, 1, "cannot be one"},
        {{"settle", "join", "2", "2"}, 2, "named twice"},
        {{"settle", "join", "2", "99"}, 1, "99"},
        {{"settle", "apart", "2", "3"}, 2, "it is not said why"},
        {{"settle", "rename", "2", "coolant"}, 1, "name of a class of fluid"},
        {{"settle", "rename", "3", "van"}, 1, "has no code"},
    };
    for (const Case& c : cases) {
      std::string typed;
      for (const std::string& w : c.words) typed += w + " ";
      CAPTURE(typed);
      const Answer a = two.run(c.words);
      CAPTURE(a.err);
      CHECK(a.status == c.status);
      CHECK(holds(flat(a.err), c.says));
      CHECK(a.out.empty());
    }
    CHECK(two.must({"entries", "--json"}).out == before);
    CHECK(!std::filesystem::exists(two.file("b")));
    CHECK(!std::filesystem::exists(two.file("elsewhere")));
  }

  TEST_CASE("a fork ends with status 1, names both digests, and takes the rest") {
    Two two;
    two.use("bay");
    for (const char* part : {"", "-wal"}) {
      const std::string from = two.file(std::string("bay.baybook") + part).string();
      if (std::filesystem::exists(from)) std::filesystem::copy_file(from, two.file(std::string("copy.baybook") + part));
    }
    two.must({"odo", "MARSH-07", "90000km"});
    two.use("copy");
    two.must({"odo", "MARSH-07", "95000km"});
    two.must({"exchange", "out", "copy.exchange"});
    two.use("bay");
    const Answer in = two.run({"exchange", "in", "copy.exchange"});
    CHECK(in.status == 1);
    CHECK(holds(flat(in.out), "1 NOT TAKEN"));
    CHECK(holds(flat(in.out), "entry 6@bay has digest"));
    CHECK(holds(flat(in.out),
                "a copy of this book went on under the same installation, or somebody else writes "
                "in its name"));
  }
}
