// backup, prove and start as typed.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <set>
#include <sys/stat.h>

using namespace baybook::test;

namespace {

std::set<std::string> names_in(const std::filesystem::path& folder) {
  std::set<std::string> out;
  for (const auto& e : std::filesystem::directory_iterator(folder)) out.insert(e.path().filename().string());
  return out;
}

struct BackupShop : OpenShop {
  BackupShop() { std::filesystem::create_directory(file("stick")); }
};

}  // namespace

TEST_SUITE("tools/backup") {
  TEST_CASE("a backup says what it holds and its seal, and opens like the book") {
    const BackupShop s;
    const Answer a = s.must({"backup", "stick/m.baybook"});
    CHECK(a.err.empty());
    CHECK(a.out.find("backup stick/m.baybook\n  12 entries, ") == 0);
    CHECK(flat(a.out).find("read again from the first entry to the last, and sound seal bay:12:") != std::string::npos);
    const Answer read = s.must({"levels", "--book", "stick/m.baybook"});
    CHECK(read.out == s.must({"levels"}).out);
    CHECK(flat(read.err).find("check: this is a backup, made 2026-03-05 09:40 UTC at seal bay:12:") == 0);
    CHECK(s.must({"levels", "--book", "stick/m.baybook", "--quiet"}).err.empty());
    const std::string seal = a.out.substr(a.out.find("bay:12:"), 23);
    CHECK(s.run({"prove", "--book", "stick/m.baybook", "--seal", seal}).status == 0);
    CHECK(names_in(s.file("stick")) == std::set<std::string>{"m.baybook"});
  }

  TEST_CASE("every write to a backup is refused with what to type, a rebuild too, and changes no byte") {
    const BackupShop s;
    s.must({"backup", "stick/m.baybook"});
    const std::string before = bytes_of(s.file("stick/m.baybook"));
    for (const std::vector<std::string>& args : {std::vector<std::string>{"place", "add", "pan-9", "--role", "catch"}, {"place", "add", "pan-9", "--role", "catch", "--dry-run"}, {"prove", "--rebuild"}, {"work", "1", "hoses flushed"}}) {
      CAPTURE(args.front());
      std::vector<std::string> with = args;
      with.insert(with.end(), {"--book", "stick/m.baybook"});
      const Answer a = s.run(with);
      CHECK(a.status == 1);
      CHECK(a.out.empty());
      CHECK(a.err.find("baybook: stick/m.baybook is a backup made 2026-03-05 09:40 UTC at seal bay:12:") == 0);
      CHECK(a.err.find("type: baybook backup --continue NEW.baybook --tag NEW-TAG --book stick/m.baybook\n") != std::string::npos);
    }
    CHECK(bytes_of(s.file("stick/m.baybook")) == before);
    CHECK(names_in(s.file("stick")) == std::set<std::string>{"m.baybook"});
  }

  TEST_CASE("backup answers programs with one document, refusals too") {
    const BackupShop s;
    const Answer a = s.must({"backup", "stick/m.baybook", "--json"});
    CHECK(is_json(a.out));
    for (const char* member : {"\"backup\":\"stick/m.baybook\"", "\"seal\":\"bay:12:", "\"entries\":12", "\"papers\":0", "\"was_there\":false", "\"findings\":[]"}) {
      CAPTURE(member);
      CHECK(a.out.find(member) != std::string::npos);
    }
    const Answer again = s.run({"backup", "stick/m.baybook", "--json"});
    CHECK(again.status == 1);
    CHECK(is_json(again.out));
    CHECK(again.out.find("\"code\":\"already_there\"") != std::string::npos);
    const Answer into = s.must({"backup", "--into", "stick", "--keep", "2", "--json"});
    CHECK(is_json(into.out));
    CHECK(into.out.find("\"removed\":[]") != std::string::npos);
  }

  TEST_CASE("a backup that goes nowhere, or to two places, is wrong usage") {
    const BackupShop s;
    for (const std::vector<std::string>& args : {std::vector<std::string>{"backup", "--force"}, {"backup", "a", "--into", "stick"}, {"backup", "a", "--keep", "3"}, {"backup", "--into", "stick", "--keep", "0"}, {"backup", "--into", "stick", "--keep", "-1"},
                                                 {"backup", "--into", "stick", "--keep", "many"}, {"backup", "a", "--as-of", "yesterday"}, {"backup", ""}, {"backup", "--into", ""}}) {
      CAPTURE(args.back());
      CHECK(s.run(args).status == 2);
    }
    CHECK(s.run({"backup", "stick"}).status == 1);
    CHECK(s.run({"backup", "none/m.baybook"}).status == 3);
    CHECK(s.run({"backup", "--into", "none"}).status == 3);
    CHECK(names_in(s.file("stick")).empty());
  }

  TEST_CASE("a folder of backups keeps as many as asked for, and says which went") {
    BackupShop s;
    for (int i = 1; i <= 3; ++i) {
      s.must({"work", "1", "hose " + std::to_string(i)});
      s.now = "2026-03-0" + std::to_string(5 + i) + "T09:40:00.000Z";
      const Answer a = s.must({"backup", "--into", "stick", "--keep", "2"});
      CHECK((a.out.find("removed stick/bay-2026-03-06-000013-") != std::string::npos) == (i == 3));
    }
    CHECK(names_in(s.file("stick")).size() == 2);
    const Answer a = s.must({"backup", "--into", "stick", "--keep", "2"});
    CHECK(a.out.find("nothing new since backup stick/bay-2026-03-08-000015-") == 0);
  }

  TEST_CASE("a paper that was damaged is put right by the same one again") {
    const BackupShop s;
    std::ofstream(s.file("scan.pdf")) << "signed";
    s.must({"paper", "add", "last", "scan.pdf"});
    for (const auto& kept : std::filesystem::directory_iterator(s.file("m.baybook.papers"))) std::ofstream(kept.path(), std::ios::app) << "x";
    CHECK(s.run({"prove"}).status == 1);
    s.must({"paper", "add", "1", "scan.pdf"});
    CHECK(s.run({"prove"}).status == 0);
  }

  TEST_CASE("a paper that is gone makes the backup a problem, and the backup is there") {
    const BackupShop s;
    std::ofstream(s.file("scan.pdf")) << "signed";
    s.must({"paper", "add", "last", "scan.pdf"});
    std::filesystem::remove_all(s.file("m.baybook.papers"));
    const Answer a = s.run({"backup", "stick/m.baybook"});
    CHECK(a.status == 1);
    CHECK(flat(a.out).find("of entry 13@bay is not in the folder of papers") != std::string::npos);
    CHECK(s.run({"prove", "--book", "stick/m.baybook"}).status == 1);
    CHECK(s.run({"entries", "--book", "stick/m.baybook"}).status == 0);
  }

  TEST_CASE("a book for the group is 0660, its papers too, and a backup is for its owner alone") {
    const Shop s;
    REQUIRE(s.run({"start", "g.baybook", "--site", "Saltmarsh", "--tag", "bay", "--group"}).status == 0);
    std::ofstream(s.file("scan.pdf")) << "signed";
    REQUIRE(s.run({"paper", "add", "1", "scan.pdf", "--book", "g.baybook"}).status == 0);
    REQUIRE(s.run({"backup", "copy.baybook", "--book", "g.baybook"}).status == 0);
    const auto mode = [&](const std::string& name) {
      struct stat st {};
      REQUIRE(::stat(s.file(name).c_str(), &st) == 0);
      return st.st_mode & 0777;
    };
    CHECK(mode("g.baybook") == 0660);
    CHECK(mode("g.baybook.papers") == 0770);
    CHECK(mode("copy.baybook") == 0600);
    CHECK(mode("copy.baybook.papers") == 0700);
  }

  TEST_CASE("a book for the group says when its folder does not let the group in") {
    const Shop s;
    const std::vector<std::string> line = {"--site", "Saltmarsh", "--tag", "bay", "--group"};
    const auto start = [&](const char* book) {
      std::vector<std::string> all = {"start", book};
      all.insert(all.end(), line.begin(), line.end());
      Answer a = s.run(all);
      REQUIRE(a.status == 0);
      return a;
    };
    CHECK(flat(start("g.baybook").err).find("type: chmod g+ws .") != std::string::npos);
    std::filesystem::create_directory(s.file("ours"));
    REQUIRE(::chmod(s.file("ours").c_str(), 02770) == 0);
    CHECK(start("ours/g.baybook").err.find("chmod") == std::string::npos);
    REQUIRE(::chmod(s.file("ours").c_str(), 0770) == 0);
    CHECK(flat(start("ours/h.baybook").err).find("chmod g+ws ours") != std::string::npos);
  }

  TEST_CASE("prove lists the closed months, and says what it cannot see without a seal") {
    BackupShop s;
    s.must({"filter", "pan-1", "all", "--into", "keep-1"});
    s.must({"fill", "1", "coolant", "5.4L", "--from", "keep-1"});
    s.must({"job", "close", "1", "--result", "tight"});
    s.now = "2026-04-02T09:40:00.000Z";
    s.must({"close", "2026-03"});
    const Answer sound = s.must({"prove"});
    CHECK(flat(sound.out).find("month 2026-03 closed on 2026-04-02 by entry 16, unchanged since") != std::string::npos);
    CHECK(flat(sound.out).find("Without a printed seal this does not show a cut end, nor a log written anew from its first entry") != std::string::npos);
    s.must({"receive", "oat-violet", "2L", "--into", "can-1", "--on", "2026-03-20"});
    const Answer amended = s.must({"prove"});
    CHECK(flat(amended.out).find("month 2026-03 closed on 2026-04-02 by entry 16, amended: ") != std::string::npos);
    CHECK(flat(amended.out).find("later entry 17") != std::string::npos);
    const Answer json = s.must({"prove", "--json"});
    CHECK(is_json(json.out));
    CHECK(json.out.find("\"closed_months\":[{\"month\":\"2026-03\"") != std::string::npos);
  }
}
