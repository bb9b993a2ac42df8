// exchange with: one folder that the books of a workshop share.
#include <doctest/doctest.h>

#include <algorithm>
#include <csignal>
#include <filesystem>
#include <set>
#include <string>
#include <vector>

#include "run_program.hpp"
#include "support/has.hpp"

using namespace baybook::test;

namespace {

using Words = std::vector<std::string>;

// A bay and an office of one workshop, and a folder that both reach.
class Two : public Shop {
 public:
  explicit Two(const std::string& office_site = "Saltmarsh Motor Works") {
    std::filesystem::create_directory(file("shared"));
    for (const char* tag : {"bay", "office"}) {
      use(tag);
      must({"start", std::string(tag) + ".baybook", "--site",
            std::string(tag) == "bay" ? "Saltmarsh Motor Works" : office_site, "--tag", tag,
            "--zone", "Europe/Lisbon"});
      must({"place", "add", std::string("pan-") + tag, "--role", "catch", "--size", "20L"});
    }
  }
  void use(const std::string& tag) { variables = {{"BAYBOOK_BOOK", tag + ".baybook"}}; }
  Answer must(const Words& words) const {
    Answer a = run(words);
    INFO(a.err);
    REQUIRE(a.status == 0);
    return a;
  }
  /// exchange with, in the book of that tag.
  Answer with(const std::string& tag, Words more = {}) {
    use(tag);
    more.insert(more.begin(), {"exchange", "with", "shared"});
    return run(more);
  }
  /// Both have met and accepted each other.
  void know_each_other() {
    REQUIRE(with("bay").status == 0);
    REQUIRE(with("office", {"--accept", "bay"}).status == 0);
    REQUIRE(with("bay", {"--accept", "office"}).status == 0);
    REQUIRE(with("office").status == 0);
  }
  /// The files of the folder whose names begin so.
  [[nodiscard]] std::vector<std::string> lying(const std::string& begin = "") const {
    std::vector<std::string> out;
    for (const auto& e : std::filesystem::directory_iterator(file("shared"))) {
      const std::string name = e.path().filename();
      if (name.starts_with(begin)) out.push_back(name);
    }
    std::sort(out.begin(), out.end());
    return out;
  }
  [[nodiscard]] std::filesystem::path of(const std::string& tag) const {
    const auto all = lying(tag + "-");
    REQUIRE(all.size() == 1);
    return file("shared") / all.front();
  }
  void put(const std::filesystem::path& path, const std::string& bytes) const {
    std::ofstream(path, std::ios::binary) << bytes;
  }
  std::string seals(const std::string& tag) {
    use(tag);
    const std::string out = must({"prove"}).out;
    const std::size_t at = out.find("seal ");
    std::string all = out.substr(at, out.find("Without") - at);
    // Each book's own comes first.
    std::vector<std::string> lines;
    for (std::size_t n = 0; n < all.size(); n = all.find('\n', n) + 1)
      lines.push_back(all.substr(n, all.find('\n', n) - n));
    std::sort(lines.begin(), lines.end());
    all.clear();
    for (const std::string& l : lines) all += l + "\n";
    return all;
  }
};

}  // namespace

TEST_SUITE("tools/exchange with") {
  TEST_CASE(
      "in a folder of a group the group may read what lies there, and elsewhere its owner alone") {
    using std::filesystem::perms;
    for (const bool of_group : {false, true}) {
      CAPTURE(of_group);
      Two two;
      std::filesystem::permissions(two.file("shared"),
                                   of_group ? perms::owner_all | perms::group_all : perms::owner_all);
      REQUIRE(two.with("bay").status == 0);
      const auto all = two.lying("bay-");
      REQUIRE(all.size() == 1);
      const perms is = std::filesystem::status(two.file("shared/" + all[0])).permissions();
      CHECK(is == (of_group ? perms::owner_read | perms::owner_write | perms::group_read
                            : perms::owner_read | perms::owner_write));
    }
  }

  TEST_CASE(
      "two books in one folder hold the same after a command each, and a second finds nothing to "
      "do") {
    Two two;
    const Answer first = two.with("bay");
    CHECK(has(first.out, "no other book has a file in shared yet"));
    CHECK(has(flat(first.out), "wrote shared/bay-"));
    two.know_each_other();
    two.use("bay");
    two.now = "2026-03-05T17:42:00.000Z";
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    two.now = "2026-03-05T18:00:00.000Z";
    const Answer in = two.with("office");
    CHECK(has(in.out, "bay: newest 17:42 today, 1 new"));
    CHECK(has(in.out, "wrote shared/office-"));
    CHECK(two.seals("bay") == two.seals("office"));
    const std::string lay = bytes_of(two.of("office"));
    const auto written = std::filesystem::last_write_time(two.of("office"));
    const Answer again = two.with("office");
    CHECK(again.status == 0);
    CHECK(has(again.out, "bay: newest 17:42 today, nothing new"));
    CHECK(has(flat(again.out), "is as it was"));
    CHECK(std::filesystem::last_write_time(two.of("office")) == written);
    CHECK(bytes_of(two.of("office")) == lay);
    two.now = "2026-03-09T18:00:00.000Z";
    CHECK(has(two.with("office").out, "bay: nothing for 4 days, newest Thursday 17:42"));
    CHECK(two.lying().size() == 2);
  }

  TEST_CASE(
      "what is whole in a folder goes in beside what is empty, cut off, damaged or none, and that "
      "is named") {
    Two two;
    two.know_each_other();
    two.use("bay");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    const std::string whole = bytes_of(two.of("bay"));
    two.put(two.file("shared/empty.exchange"), "");
    two.put(two.file("shared/torn.exchange"), whole.substr(0, whole.size() / 2));
    two.put(two.file("shared/letter.exchange"), "dear sir\n");
    two.put(two.file("shared/letter.txt"), "dear sir\n");
    two.put(two.file("shared/bay-1.exchange.part-1"), whole.substr(0, 90));
    std::string bent = whole;
    bent.at(bent.find("pan-9") + 4) = '8';
    bent.at(bent.rfind("\"}") - 1) = bent.at(bent.rfind("\"}") - 1) == '0' ? '1' : '0';
    two.put(two.file("shared/bent.exchange"), bent);
    std::filesystem::copy_file(two.file("office.baybook"), two.file("shared/lying.baybook"));
    std::filesystem::create_directory(two.file("shared/folder.exchange"));
    const Answer in = two.with("office");
    CHECK(in.status == 1);
    CHECK(has(in.out, "1 new"));
    const std::string err = flat(in.err);
    CHECK(has(err, "shared/empty.exchange is empty"));
    CHECK(has(err, "shared/torn.exchange: its last line is missing"));
    CHECK(has(err, "shared/letter.exchange"));
    CHECK(has(err, "shared/bent.exchange"));
    CHECK_FALSE(has(err, "letter.txt"));
    CHECK_FALSE(has(err, "part-1"));
    CHECK_FALSE(has(err, "folder.exchange"));
    CHECK(has(flat(in.out), "lying.baybook is a book, left alone"));
    CHECK(two.seals("bay") == two.seals("office"));
    for (const char* name : {"empty", "torn", "letter", "bent"})
      CHECK(std::filesystem::exists(two.file("shared/" + std::string(name) + ".exchange")));
  }

  TEST_CASE("a file that was cut off on its way goes in the next time, when it is whole") {
    Two two;
    two.know_each_other();
    two.use("bay");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    const std::string whole = bytes_of(two.of("bay"));
    for (const std::size_t n :
         {std::size_t{0}, std::size_t{20}, whole.size() / 3, whole.size() - 1}) {
      CAPTURE(n);
      two.put(two.of("bay"), whole.substr(0, n));
      const Answer torn = two.with("office");
      CHECK(torn.status == 1);
      CHECK_FALSE(has(torn.out, "1 new"));
    }
    two.put(two.of("bay"), whole);
    CHECK(has(two.with("office").out, "1 new"));
  }

  TEST_CASE("a copy of this book's own file under another name is neither taken nor written over") {
    Two two;
    two.know_each_other();
    const std::string old = bytes_of(two.of("bay"));
    two.put(two.file("shared/bay (1).exchange"), old);
    two.use("bay");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    const Answer own = two.with("bay");
    CHECK(own.status == 0);
    CHECK_FALSE(has(own.out, "NOT TAKEN"));
    CHECK(bytes_of(two.file("shared/bay (1).exchange")) == old);
    CHECK(bytes_of(two.of("bay")) != old);
    // For the other book it is an older file of the bay's, said so, and harmless.
    const Answer in = two.with("office");
    CHECK(in.status == 0);
    CHECK(has(in.out, "1 new"));
    CHECK(two.seals("bay") == two.seals("office"));
  }

  TEST_CASE(
      "whose file it is says the file, and one of another book under this book's name stays") {
    Two two;
    two.know_each_other();
    const auto name = two.of("bay");
    const std::string theirs = bytes_of(two.of("office"));
    std::filesystem::remove(name);
    two.put(name, theirs);
    two.use("bay");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    CHECK(bytes_of(name) == theirs);
    CHECK(two.lying("bay-").size() == 2);
    const Answer in = two.with("office");
    CHECK(has(in.out, "1 new"));
    CHECK(two.seals("bay") == two.seals("office"));
    // What has this book's name and is a letter stays as well.
    std::filesystem::remove(name);
    two.put(name, "dear sir");
    two.use("bay");
    two.must({"place", "add", "pan-10", "--role", "catch"});
    CHECK(two.with("bay").status == 1);
    CHECK(bytes_of(name) == "dear sir");
  }

  TEST_CASE("a file that was taken whole is not read again until it is another") {
    Two two;
    two.know_each_other();
    const auto office = two.of("office");
    REQUIRE(two.with("bay").status == 0);
    const std::string whole = bytes_of(office);
    // Bent in the middle: whoever reads it through would say so.
    std::string bent = whole;
    bent.at(bent.find("pan-office")) = 'q';
    two.put(office, bent);
    CHECK(two.with("bay").status == 0);
    // An acceptance reads it, for it may be about what is in it.
    CHECK(two.with("bay", {"--accept", "office"}).status == 1);
    // What was thrown out is looked at again.
    two.put(office, whole);
    two.use("bay");
    two.must({"exchange", "forget", "office", "--yes"});
    const Answer again = two.with("bay");
    CHECK(again.status == 1);
    CHECK(has(flat(again.out), "thrown out"));
  }

  TEST_CASE("entries of another site are taken in when somebody says so, and never by rounds") {
    Two two("Fen Road Works");
    REQUIRE(two.with("office").status == 0);
    const Answer no = two.with("bay");
    CHECK(no.status == 1);
    CHECK(has(flat(no.err), "office (Fen Road Works) is new here and of another site"));
    CHECK(has(flat(no.err), "type: baybook exchange with shared --meet office --dry-run"));
    CHECK_FALSE(has(two.seals("bay"), "office"));
    const Answer dry = two.with("bay", {"--meet", "office", "--dry-run"});
    CHECK(has(dry.out, "office is new here: Fen Road Works"));
    CHECK_FALSE(has(two.seals("bay"), "office"));
    // At a terminal somebody is asked.
    two.use("bay");
    const Answer asked = two.run_at_terminal({"exchange", "with", "shared"}, "no\n");
    CHECK(asked.status == 1);
    CHECK(has(asked.out, "take in what they wrote? type yes:"));
    CHECK_FALSE(has(two.seals("bay"), "office"));
    const Answer round = two.run({"exchange", "in", two.of("office").string()});
    CHECK(round.status == 1);
    CHECK(has(flat(round.err), "--meet office --dry-run"));
    CHECK(two.run_at_terminal({"exchange", "with", "shared"}, "yes\n").status == 0);
    CHECK(has(two.seals("bay"), "office"));
    // Known from then on.
    two.use("office");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("office", {"--meet", "bay"}).status == 0);
    CHECK(has(two.with("bay").out, "2 new"));
    // What is to be said by somebody does not go with rounds that nobody looks at.
    for (const char* option : {"--accept", "--meet"})
      CHECK(two.with("bay", {"--every", "1s", option, "office"}).status == 2);
  }

  TEST_CASE("a full disk leaves this book's old file as it was, and what came in stays in") {
    Two two;
    two.know_each_other();
    two.use("office");
    std::string cars = "plate,make\r\n";
    for (int n = 100; n < 400; ++n) cars += "MARSH-" + std::to_string(n) + ",Corvane\r\n";
    two.put(two.file("cars.csv"), cars);
    two.must({"import", "cars", "cars.csv"});
    REQUIRE(two.with("office").status == 0);
    two.use("bay");
    two.must({"exchange", "in", two.of("office").string()});
    const std::string before = bytes_of(two.of("bay"));
    // No file may become longer than this: the book is not written, its own file would be longer.
    REQUIRE(std::filesystem::file_size(two.of("office")) > 70'000);
    const std::string script = "cd '" + two.folder().string() +
                               "' && ulimit -f 64 && BAYBOOK_NOW=" + two.now +
                               " '" BAYBOOK_PROGRAM
                               "' exchange with shared --book bay.baybook "
                               ">out 2>err";
    const int status = std::system(("bash -c \"" + script + "\"").c_str());
    INFO(bytes_of(two.file("err")));
    CHECK(WEXITSTATUS(status) == 3);
    CHECK(has(flat(bytes_of(two.file("err"))), "it could not be written to the end"));
    CHECK(bytes_of(two.of("bay")) == before);
    CHECK(two.lying().size() == 2);
    CHECK(two.with("bay").status == 0);
    CHECK(two.seals("bay") == two.seals("office"));
  }

  TEST_CASE(
      "what a stopped run left beside its file goes, and what another book is writing stays") {
    Two two;
    two.know_each_other();
    const std::string own = two.of("bay").string() + ".part-999999999";
    const std::string theirs = two.of("office").string() + ".part-999999999";
    two.put(own, "{");
    two.put(theirs, "{");
    REQUIRE(two.with("bay").status == 0);
    CHECK_FALSE(std::filesystem::exists(own));
    CHECK(std::filesystem::exists(theirs));
  }

  TEST_CASE(
      "a book that was put back to an older copy does not write over what it lost, and takes it "
      "back") {
    Two two;
    two.know_each_other();
    std::filesystem::copy_file(two.file("bay.baybook"), two.file("old.baybook"));
    two.use("bay");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    const std::string lost = bytes_of(two.of("bay"));
    const std::string seals = two.seals("bay");
    std::filesystem::rename(two.file("old.baybook"), two.file("bay.baybook"));
    const Answer no = two.with("bay");
    CHECK(no.status == 1);
    CHECK(has(flat(no.err), "goes to its entry 4, and the book ends at 3"));
    CHECK(has(flat(no.err), "type: baybook exchange in shared/bay-"));
    CHECK(bytes_of(two.of("bay")) == lost);
    const Answer out = two.run({"exchange", "out", two.of("bay").string()});
    CHECK(out.status == 1);
    CHECK(bytes_of(two.of("bay")) == lost);
    REQUIRE(two.with("bay", {"--accept", "bay"}).status == 0);
    CHECK(two.seals("bay") == seals);
    two.use("bay");
    two.must({"place", "add", "pan-10", "--role", "catch"});
    REQUIRE(two.with("bay").status == 0);
    const Answer in = two.with("office");
    CHECK(in.status == 0);
    CHECK(has(in.out, "2 new"));
    CHECK(two.seals("bay") == two.seals("office"));
  }

  TEST_CASE(
      "a folder that is not there is refused, and rounds wait for it and end when they are told "
      "to") {
    Two two;
    two.use("bay");
    std::filesystem::remove(two.file("shared"));
    const Answer no = two.run({"exchange", "with", "shared"});
    CHECK(no.status == 3);
    CHECK(has(no.err, "shared is not a folder that can be read"));
    for (const char* time : {"0s", "25h", "ten", "5", "-1m"})
      CHECK(two.run({"exchange", "with", "shared", "--every", time}).status == 2);
    for (const int signal : {SIGTERM, SIGINT}) {
      std::filesystem::remove_all(two.file("shared"));
      const pid_t child = two.begin({"exchange", "with", "shared", "--every", "1s"});
      std::filesystem::create_directory(two.file("shared"));
      for (int n = 0; n < 600 && two.lying().empty(); ++n) ::usleep(50'000);
      CHECK(two.lying("bay-").size() == 1);
      // Nobody is kept from the book between two rounds.
      two.must({"place", "add", "pan-" + std::to_string(signal), "--role", "catch"});
      ::kill(child, signal);
      CHECK(Shop::end(child) == 0);
    }
  }

  TEST_CASE("a dry run says what would come in and changes neither the book nor the folder") {
    Two two;
    two.know_each_other();
    two.use("office");
    two.must({"place", "add", "pan-9", "--role", "catch"});
    REQUIRE(two.with("office").status == 0);
    const std::string seals = two.seals("bay");
    const std::string lay = bytes_of(two.of("bay"));
    const Answer dry = two.with("bay", {"--dry-run"});
    CHECK(has(dry.out, "1 would be new"));
    CHECK(has(dry.out, "nothing was written"));
    CHECK(two.seals("bay") == seals);
    CHECK(bytes_of(two.of("bay")) == lay);
    CHECK(has(two.with("bay").out, "1 new"));
  }

  TEST_CASE("a book's own exchange file is written over by exchange out, and no other file is") {
    Two two;
    two.use("bay");
    two.must({"exchange", "out", "evening.exchange"});
    two.must({"place", "add", "pan-9", "--role", "catch"});
    CHECK(has(two.must({"exchange", "out", "evening.exchange"}).out, "3 entries written"));
    two.use("office");
    const std::string theirs = bytes_of(two.file("evening.exchange"));
    const Answer no = two.run({"exchange", "out", "evening.exchange"});
    CHECK(no.status == 1);
    CHECK(has(no.err, "evening.exchange is there already"));
    CHECK(bytes_of(two.file("evening.exchange")) == theirs);
    // What was thrown out and kept beside the book is no file of the book's.
    two.must({"exchange", "in", "evening.exchange"});
    two.must({"exchange", "forget", "bay", "--yes"});
    const Answer kept = two.run({"exchange", "out", "office.baybook.forgotten-bay-1-3.exchange"});
    CHECK(kept.status == 1);
  }

  TEST_CASE("yesterday's file is said to be yesterday's, with how far this book has come since") {
    Two two;
    two.now = "2026-03-09T17:40:00.000Z";
    two.use("bay");
    two.must({"place", "add", "pan-8", "--role", "catch"});
    two.must({"exchange", "out", "monday.exchange"});
    two.now = "2026-03-10T18:02:00.000Z";
    two.must({"place", "add", "pan-9", "--role", "catch"});
    two.must({"exchange", "out", "tuesday.exchange"});
    two.now = "2026-03-12T19:00:00.000Z";
    two.use("office");
    two.must({"exchange", "in", "tuesday.exchange"});
    const std::string old = flat(two.must({"exchange", "in", "monday.exchange"}).out);
    CHECK(has(old,
              "nothing new: this file of bay is of Monday 17:40, what is here of it goes to "
              "Tuesday 18:02"));
    const std::string same = flat(two.must({"exchange", "in", "tuesday.exchange"}).out);
    CHECK(
        has(same,
            "nothing new: this file of bay goes to Tuesday 18:02, and so does what is here of it"));
    CHECK_FALSE(has(same + old, "0 entries"));
  }
}
