// Four weeks with a book in the bay and one in the office, each laying its file in one folder in
// the evening: what two people do without knowing of each other is listed the same in both, settled
// in one of them, and both answer the same every evening.
#include <doctest/doctest.h>

#include <filesystem>
#include <functional>
#include <map>
#include <regex>
#include <string>
#include <vector>

#include "support/has.hpp"
#include "tools/run_program.hpp"

using namespace baybook::test;

namespace {

using Words = std::vector<std::string>;

std::string replaced(const std::string& text, const std::string& pattern, const std::string& by) {
  return std::regex_replace(text, std::regex(pattern), by);
}

// The first place where two texts differ, with what stands around it; "" where they do not.
std::string difference(const std::string& a, const std::string& b) {
  if (a == b) return "";
  std::size_t at = 0;
  while (at < a.size() && at < b.size() && a[at] == b[at]) ++at;
  const std::size_t from = at < 120 ? 0 : at - 120;
  return "..." + a.substr(from, 240) + "\n..." + b.substr(from, 240);
}

// What both say in one way: an entry, a job and a seal are named by their own book without its tag.
std::string told_alike(std::string text, const std::string& own) {
  text = replaced(text, R"re("(seal|seals)":("[^"]*"|\[[^\]]*\]))re", "\"seal\":\"\"");
  // While a name is given twice, each book calls its own by the name alone.
  text = replaced(text, R"re("(drum-oil|MARSH-44)@[a-z]+")re", "\"$1\"");
  text = replaced(text, R"re("(job|entry|number)":"([0-9]+)")re", "\"$1\":\"$2@" + own + "\"");
  text = replaced(text, R"re(",([0-9]+),([0-9]{4}-[0-9]{2}-[0-9]{2}),)re", "\",$1@" + own + ",$2,");
  text = replaced(text, R"re(\b(job|entry|entries|recheck) ([0-9]+)(?![0-9@/]))re", "$1 $2@" + own);
  text = replaced(text, R"re(\b(pickup confirm|settle keep|correct) ([0-9]+)(?![0-9@/]))re",
                  "$1 $2@" + own);
  return text;
}

class Weeks : public Shop {
 public:
  Weeks() {
    std::filesystem::create_directory(file("shared"));
    at(2, 8);
    must("bay", {"start", "bay.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay",
                 "--zone", "Europe/Lisbon", "--rules", "us-federal"});
    must("bay", {"person", "add", "Tam"});
    must("bay", {"place", "add", "pan-1", "--role", "catch", "--size", "40L"});
    must("bay",
         {"place", "add", "can-1", "--role", "stock", "--takes", "coolant", "--size", "60L"});
    must("bay", {"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size",
                 "200L"});
    must("bay",
         {"fluid", "add", "oat-violet", "--class", "coolant", "--product", "Violet OAT premix"});
    must("bay", {"receive", "oat-violet", "50L", "--into", "can-1", "--doc", "5531"});
    for (const char* plate : {"MARSH-07", "MARSH-21", "MARSH-35"})
      must("bay", {"car", "add", plate, "--make", "Corvane", "--circuit", "coolant=6.8L"});
    must("bay", {"firm", "add", "quill-tarn", "Quill & Tarn Recovery", "--carries", "--receives"});
    must("bay", {"backup", "--continue", "office.baybook", "--tag", "office"});
  }

  void at(int day, int hour, int minute = 0) {
    const auto two = [](int n) { return (n < 10 ? "0" : "") + std::to_string(n); };
    now = "2026-03-" + two(day) + "T" + two(hour) + ":" + two(minute) + ":00.000Z";
  }
  Answer in(const std::string& tag, const Words& words) {
    variables = {{"BAYBOOK_BOOK", tag + ".baybook"}, {"BAYBOOK_BY", ""}};
    // The office types ten minutes after the bay, so that nothing hangs on which identity is drawn.
    const std::string bay = now;
    if (tag == "office" && !slow)
      now.replace(14, 2, std::to_string(10 + std::stoi(now.substr(14, 2))));
    Answer a = run(words);
    now = bay;
    return a;
  }
  bool slow = false;  ///< the office's clock shows what it is told

  Answer must(const std::string& tag, const Words& words) {
    Answer a = in(tag, words);
    std::string line;
    for (const std::string& w : words) line += " " + w;
    INFO(tag << ":" << line << "\n" << a.out << a.err);
    REQUIRE(a.status == 0);
    return a;
  }

  // A job from opening to closing, as on any day.
  void job(const std::string& tag, const std::string& car, const std::string& litres) {
    must(tag, {"job", "open", car, "--for", "runs hot"});
    must(tag, {"drain", car, "coolant", litres, "--into", "pan-1"});
    must(tag, {"fill", car, "coolant", litres, "--from", "can-1"});
    must(tag, {"decant", "pan-1", "all", "--into", "drum-coolant"});
    must(tag, {"job", "close", car, "--result", "holds its temperature"});
  }

  // Two commands: one in each book. The bay, whose file the office has then, learns the next
  // evening what the office wrote today, or at once with a third.
  void evening(int day) {
    at(day, 18);
    for (const char* tag : {"bay", "office", "bay"}) {
      const Answer a = in(tag, {"exchange", "with", "shared"});
      INFO(a.out << a.err);
      REQUIRE(a.status == 0);
    }
    at(day, 18, 30);
    same(day);
  }

  void same(int day) {
    CAPTURE(day);
    const std::vector<Words> asked = {
        {"totals", "2026-03", "--json"},          {"levels", "--circuits", "--json"},
        {"register", "2026-q1", "--form", "csv"}, {"limits", "--json"},
        {"due", "--within", "8w", "--json"},      {"settle", "list", "--json"},
    };
    for (const Words& words : asked) {
      CAPTURE(words.front());
      const std::string bay = told_alike(must("bay", words).out, "bay");
      const std::string office = told_alike(must("office", words).out, "office");
      CHECK(difference(comparable(words.front(), bay), comparable(words.front(), office)) == "");
    }
    CHECK(seals("bay") == seals("office"));
    CHECK(in("bay", {"prove"}).status == in("office", {"prove"}).status);
  }

  std::vector<std::string> listed(const std::string& tag) {
    const std::string list = must(tag, {"settle", "list", "--json"}).out;
    std::vector<std::string> out;
    const std::regex what(R"re("what":"([a-z_]+)")re");
    for (std::sregex_iterator i(list.begin(), list.end(), what), none; i != none; ++i)
      out.push_back((*i)[1]);
    std::sort(out.begin(), out.end());
    return out;
  }

  // What is listed, in both books.
  void lists(const std::vector<std::string>& want) {
    for (const char* tag : {"bay", "office"}) {
      CAPTURE(tag);
      INFO(must(tag, {"settle", "list"}).out);
      CHECK(listed(tag) == want);
    }
  }

  std::string last_entry(const std::string& tag) {
    const std::string out = must(tag, {"entries", "--newest", "1", "--json"}).out;
    const std::regex number(R"re("number":([0-9]+))re");
    std::smatch found;
    REQUIRE(std::regex_search(out, found, number));
    return found[1].str() + "@" + tag;
  }

 private:
  // The lists of what is to be settled name things by the own book first: what and how many.
  std::string comparable(const std::string& verb, const std::string& text) {
    if (verb != "settle") return text;
    return std::to_string(std::count(text.begin(), text.end(), '{')) +
           replaced(text,
                    R"re("(text|said|instead|entries|choices)":("([^"\\]|\\.)*"|\[[^\]]*\]),?)re",
                    "");
  }
  std::string seals(const std::string& tag) {
    const std::string out = in(tag, {"prove"}).out;
    std::vector<std::string> all;
    const std::regex seal(R"(seal ([a-z0-9-]+:[0-9]+:[0-9a-f]+))");
    for (std::sregex_iterator i(out.begin(), out.end(), seal), none; i != none; ++i)
      all.push_back((*i)[1]);
    std::sort(all.begin(), all.end());
    std::string text;
    for (const std::string& s : all) text += s + "\n";
    return text;
  }
};

}  // namespace

TEST_SUITE("two/four weeks") {
  TEST_CASE(
      "four weeks with a book in the bay and one in the office are the same in both, conflict by "
      "conflict") {
    Weeks w;
    w.at(2, 9);
    w.job("bay", "MARSH-07", "5L");
    w.evening(2);
    w.lists({});

    // One car entered by both, and a drum.
    w.at(3, 9);
    w.must("bay", {"car", "add", "MARSH-44", "--circuit", "coolant=5L"});
    w.must("bay", {"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil", "--size",
                   "60L"});
    w.must("office", {"car", "add", "MARSH-44", "--circuit", "coolant=5L"});
    w.must("office", {"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil",
                      "--size", "60L"});
    w.evening(3);
    w.lists({"car", "place"});
    w.at(4, 9);
    {
      const std::string list = flat(w.must("office", {"settle", "list"}).out);
      const std::regex join(R"re(baybook settle join ([0-9@a-z]+) ([0-9@a-z]+))re");
      for (std::sregex_iterator i(list.begin(), list.end(), join), none; i != none; ++i)
        w.must("office", {"settle", "join", (*i)[1], (*i)[2], "--why", "the same"});
    }
    w.evening(4);
    w.lists({});

    // One entry corrected by both: which one holds is chosen, on one side.
    w.at(5, 9);
    w.job("bay", "MARSH-21", "4L");
    w.must("bay", {"discard", "coolant", "20L", "--into", "drum-coolant"});
    const std::string brought = w.last_entry("bay");
    w.evening(5);
    w.at(6, 9);
    w.must("bay", {"correct", brought, "--amount", "21L", "--why", "read again"});
    const std::string of_bay = w.last_entry("bay");
    w.at(6, 10);
    w.must("office", {"correct", brought, "--amount", "22L", "--why", "by the paper"});
    w.evening(6);
    w.lists({"correction"});
    w.at(7, 9);
    w.must("office", {"settle", "keep", of_bay, "--why", "the jug counts"});
    w.evening(7);
    w.lists({});
    CHECK(has(w.must("office", {"levels"}).out, "30 L"));  // 5 + 4 + 21

    // Both settle, and otherwise: listed again, and one decides.
    w.at(9, 9);
    w.must("bay", {"discard", "coolant", "10L", "--into", "drum-coolant"});
    const std::string ten = w.last_entry("bay");
    w.evening(9);
    w.at(10, 9);
    w.must("bay", {"correct", ten, "--amount", "11L", "--why", "read again"});
    const std::string eleven = w.last_entry("bay");
    w.must("office", {"correct", ten, "--amount", "12L", "--why", "by the paper"});
    const std::string twelve = w.last_entry("office");
    w.evening(10);
    w.at(11, 9);
    w.must("bay", {"settle", "keep", eleven, "--why", "the jug"});
    w.must("office", {"settle", "keep", twelve, "--why", "the paper"});
    w.evening(11);
    w.lists({"choice"});
    w.at(12, 9);
    w.must("bay", {"settle", "keep", twelve, "--why", "the paper it is"});
    w.evening(12);
    w.lists({});

    // Both decanted the same five litres, and both took in one delivery: one of the two goes.
    w.at(13, 9);
    w.must("bay", {"job", "open", "MARSH-35", "--for", "leak"});
    w.must("bay", {"drain", "MARSH-35", "coolant", "5L", "--into", "pan-1"});
    w.evening(13);
    w.at(14, 9);
    std::vector<std::string> second;
    for (const char* tag : {"bay", "office"}) {
      w.must(tag, {"decant", "pan-1", "5L", "--into", "drum-coolant"});
      if (std::string(tag) == "office") second.push_back(w.last_entry(tag));
      w.must(tag, {"receive", "oat-violet", "5L", "--into", "can-1", "--doc", "5532"});
      if (std::string(tag) == "office") second.push_back(w.last_entry(tag));
    }
    w.evening(14);
    w.lists({"twin", "twin"});
    w.at(16, 9);
    // The second of each is the one to go, as both books say first.
    const std::string twins = flat(w.must("bay", {"settle", "list"}).out);
    for (const std::string& entry : second)
      CHECK(has(twins, "type: baybook correct " + entry + " --withdraw"));
    for (const std::string& entry : second)
      w.must("bay", {"correct", entry, "--withdraw", "--why", "entered twice"});
    w.evening(16);
    w.lists({});

    // A stream judged in two ways, a job closed twice, a car scrapped and worked on.
    w.at(17, 9);
    w.must("bay", {"determine", "waste-coolant", "--not-hazardous", "--why", "by knowledge"});
    w.must("office",
           {"determine", "waste-coolant", "--hazardous", "--why", "lead above the limit"});
    w.must("bay", {"job", "close", "MARSH-35", "--as-is", "left dry", "--result", "for the bench"});
    w.must("office", {"job", "close", "MARSH-35", "--as-is", "left dry", "--result", "handed out"});
    w.must("office", {"car", "change", "MARSH-21", "--scrapped"});
    w.at(17, 10);
    w.must("bay", {"job", "open", "MARSH-21", "--for", "comes back"});
    w.evening(17);
    const std::vector<std::string> open = w.listed("office");
    for (const char* what : {"determination", "job", "scrapped"}) {
      CAPTURE(what);
      CHECK(std::count(open.begin(), open.end(), what) == 1);
    }
    w.at(18, 9);
    {
      const std::string list = flat(w.must("office", {"settle", "list"}).out);
      INFO(list);
      const std::regex keep(R"re(type: baybook settle keep ([0-9@a-z]+))re");
      for (std::sregex_iterator i(list.begin(), list.end(), keep), none; i != none; ++i)
        w.must("office", {"settle", "keep", (*i)[1], "--why", "looked at both"});
    }
    w.evening(18);

    // The office's clock is 20 minutes slow, and what is typed knowingly takes effect.
    w.at(19, 12);
    w.must("bay", {"discard", "coolant", "7L", "--into", "drum-coolant"});
    const std::string seven = w.last_entry("bay");
    w.must("bay", {"correct", seven, "--amount", "8L", "--why", "read again"});
    w.must("bay", {"exchange", "with", "shared"});
    w.at(19, 11, 40);
    w.slow = true;
    w.must("office", {"exchange", "with", "shared"});
    const Answer back = w.must("office", {"correct", seven, "--withdraw", "--why", "never came"});
    CHECK(has(back.out, "withdrew"));
    CHECK(has(w.must("office", {"entry", seven}).out, "withdrawn"));
    w.slow = false;
    w.evening(19);

    // A place withdrawn by one and used by the other; a paper's number on two pick-ups.
    w.at(20, 9);
    w.must("bay", {"place", "add", "tray-9", "--role", "catch", "--size", "9L"});
    const std::string tray = w.last_entry("bay");
    w.evening(20);
    w.at(21, 9);
    w.must("bay", {"correct", tray, "--withdraw", "--why", "never bought"});
    w.must("office", {"job", "open", "MARSH-07", "--for", "drips"});
    w.must("office", {"drain", "MARSH-07", "coolant", "1L", "--into", "tray-9"});
    for (const char* tag : {"bay", "office"})
      w.must(tag, {"pickup", "--carrier", "quill-tarn", "--doc", "0041233", "--from",
                   std::string("drum-coolant=") + (std::string(tag) == "bay" ? "3L" : "30L"),
                   "--fate", "recycle"});
    w.evening(21);
    const std::vector<std::string> last = w.listed("bay");
    CHECK(std::count(last.begin(), last.end(), "withdrawn") == 1);
    CHECK(std::count(last.begin(), last.end(), "twin") == 1);  // by the paper's number
    w.at(23, 9);
    w.must("office", {"discard", "coolant", "1L", "--into", "drum-coolant"});
    w.evening(23);

    // Any file once more, and in any order, changes nothing.
    const std::string before = w.must("bay", {"levels", "--json"}).out;
    for (int n = 0; n < 3; ++n) {
      for (const auto& e : std::filesystem::directory_iterator(w.file("shared")))
        CHECK(has(flat(w.must("bay", {"exchange", "in", e.path().string()}).out), "nothing new"));
    }
    CHECK(w.must("bay", {"levels", "--json"}).out == before);
    w.at(27, 9);
    w.job("office", "MARSH-44", "2L");
    w.evening(27);
  }
}
