// What a refusal, a conflict or a line of what is due says to type is typed here, as it stands.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <filesystem>

using namespace baybook::test;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

/// Two books that know each other, each with what the other does not expect.
class Two : public Shop {
 public:
  Two() {
    now = "2026-03-03T09:40:00.000Z";
    for (const char* tag : {"bay", "office"}) {
      use(tag);
      must({"start", std::string(tag) + ".baybook", "--site", "Saltmarsh Motor Works", "--tag", tag,
            "--zone", "Europe/Lisbon"});
      must({"person", "add", "Tam"});
    }
    use("bay");
    must({"place", "add", "pan-1", "--role", "catch", "--size", "20L"});
    must({"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil", "--size", "60L"});
    must({"car", "add", "MARSH-01", "--circuit", "engine-oil=4.2L"});
    must({"job", "open", "MARSH-01", "--for", "oil"});
    must({"drain", "1", "engine-oil", "4L", "--into", "pan-1"});
    both();
    now = "2026-03-05T09:40:00.000Z";
  }
  void use(const std::string& tag) { variables = {{"BAYBOOK_BOOK", tag + ".baybook"}}; }
  Answer must(const Words& words) const {
    Answer a = run(words);
    INFO(words.front() << " " << (words.size() > 1 ? words[1] : "") << ": " << a.err);
    REQUIRE(a.status == 0);
    return a;
  }
  // Each takes what the other has, and accepts it.
  void both() {
    for (const std::string from : {"bay", "office"}) {
      const std::string file = from + std::to_string(++files_) + ".exchange";
      use(from);
      must({"exchange", "out", file});
      use(from == "bay" ? "office" : "bay");
      must({"exchange", "in", file});
      (void)run({"exchange", "accept", from});
    }
  }

 private:
  int files_ = 0;
};

struct Listed {
  std::string text;
  std::vector<std::string> hints;
};

// The blocks of settle list: a sentence, what each entry says, what can be typed.
std::vector<Listed> listed(const std::string& out) {
  std::vector<Listed> all;
  for (std::size_t at = 0; at < out.size();) {
    const std::size_t end = std::min(out.find("\n\n", at), out.size());
    const std::string block = out.substr(at, end - at);
    at = end + 2;
    if (hints_in(block).empty()) continue;
    all.push_back({block.substr(0, block.find("\n  ")), hints_in(block)});
  }
  return all;
}

// The words of a hint with what only somebody who was there knows put in.
Words typed(const std::string& hint) {
  Words words = words_of_hint(hint);
  const std::string amount = words.front() == "gauge" ? "5.5L" : "1L";
  for (std::string& w : words) {
    if (w == "NAME") w = "renamed";
    if (w == "NUMBER") w = "99-7";
    if (w == "AMOUNT") w = amount;
    if (w == "DATE") w = "2026-03-04";
    if (w == "PLACE") w = "drum-coolant@bay";
  }
  return words;
}

}  // namespace

TEST_SUITE("tools/hints") {
  TEST_CASE("what a conflict says to type is taken and ends the conflict, each of its ways out") {
    Two two;
    const std::vector<Words> each = {
        {"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size", "60L"},
        {"fluid", "add", "oat-violet", "--class", "coolant", "--product", "Violet OAT premix"},
        {"firm", "add", "quill", "Quill & Tarn Recovery", "--carries", "--receives"},
        {"deadline", "add", "bund", "2026-06-01"},
        {"car", "add", "MARSH-07", "--circuit", "coolant=6.8L"},
    };
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      for (const Words& words : each) two.must(words);
    }
    // Both took all that there was, each by its own book.
    two.use("bay");
    two.must({"decant", "pan-1", "3L", "--into", "drum-oil"});
    two.use("office");
    two.must({"decant", "pan-1", "2.5L", "--into", "drum-oil"});
    two.both();
    two.use("office");
    const std::vector<Listed> all = listed(two.must({"settle", "list"}).out);
    std::string told;
    for (const Listed& l : all) told += l.text + "\n";
    CAPTURE(told);
    REQUIRE(all.size() == 7);
    std::filesystem::copy(two.folder(), two.file("kept"), std::filesystem::copy_options::none);
    const auto kept = [&] {
      for (const auto& f : std::filesystem::directory_iterator(two.file("kept")))
        std::filesystem::copy_file(f.path(), two.file(f.path().filename()),
                                   std::filesystem::copy_options::overwrite_existing);
      for (const char* side : {"office.baybook-wal", "office.baybook-shm"}) {
        if (!std::filesystem::exists(two.file("kept") / side))
          std::filesystem::remove(two.file(side));
      }
    };
    for (const Listed& l : all) {
      CHECK(l.hints.size() >= 2);
      for (const std::string& hint : l.hints) {
        CAPTURE(l.text);
        CAPTURE(hint);
        REQUIRE(hint.starts_with("baybook "));
        kept();
        const Answer a = two.run(typed(hint));
        CAPTURE(a.err);
        CHECK(a.status == 0);
        const std::vector<Listed> left = listed(two.must({"settle", "list"}).out);
        CHECK(left.size() < all.size());
        for (const Listed& still : left) CHECK(still.text != l.text);
      }
    }
  }

  TEST_CASE("two people of one name stop nobody: in each book its own is meant, until they are joined") {
    Two two;
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      two.variables.emplace_back("BAYBOOK_BY", "Tam");
      two.must({"person", "add", std::string("Sal ") + tag});
      const Answer mine = two.must({"entry", "last", "--json"});
      CHECK(holds(mine.out, "\"by\":\"Tam\""));
    }
    two.use("office");
    CHECK(holds(two.must({"settle", "list"}).out, "Tam is the name of two people"));
    two.must({"person", "add", "Ines", "--by", "Tam@bay"});
    two.must({"settle", "join", "2", "2@bay", "--by", "Tam"});
    two.must({"person", "add", "Ada", "--by", "Tam"});
    CHECK(holds(two.must({"entry", "last", "--json"}).out, "\"by\":\"Tam\""));
  }

  TEST_CASE("a remark behind a command is left alone, and a # that is said stays") {
    const OpenShop shop;
    CHECK(holds(shop.must({"levels", "#", "for", "one", "that", "holds", "something"}).out, "pan-1"));
    shop.must({"work", "1", "#"});
    CHECK(holds(shop.must({"entries", "--newest", "1"}).out, "#"));
  }

  TEST_CASE("a name that two books gave is refused with one that can be typed in its place") {
    Two two;
    for (const char* tag : {"bay", "office"}) {
      two.use(tag);
      two.must({"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size",
                "60L"});
      two.must({"car", "add", "MARSH-07", "--circuit", "coolant=6.8L"});
      two.must({"job", "open", "MARSH-07", "--for", "leak"});
    }
    two.both();
    two.use("office");
    const Answer drum = two.run({"place", "seal", "drum-coolant"});
    REQUIRE(hints_in(drum.err).size() == 1);
    two.must({"place", "retire", hints_in(drum.err)[0], "--dry-run"});
    const Answer car = two.run({"last", "MARSH-07"});
    REQUIRE(hints_in(car.err).size() == 1);
    two.must({"last", hints_in(car.err)[0]});
    // One car with a job of each book, of the same number.
    for (const Listed& l : listed(two.must({"settle", "list"}).out)) {
      if (holds(l.text, "MARSH-07 is the plate of two cars")) two.must(typed(l.hints.front()));
    }
    const Answer job = two.run({"job", "show", "MARSH-07"});
    CAPTURE(job.err);
    REQUIRE(job.status == 1);
    CHECK(holds(job.err, "2 open jobs: 1, 2@bay"));
    two.must({"job", "show", hints_in(job.err).at(0)});
  }
}
