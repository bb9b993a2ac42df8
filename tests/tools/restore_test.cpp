// A backup in the place of a book that is lost or damaged, and what was erased after it was made.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <set>
#include <string>

using namespace baybook::test;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// A backup of the evening, and an entry the next morning.
struct Evening : OpenShop {
  std::string stick;
  Evening() {
    must({"car", "add", "QX-SECRET-1", "--keeper", "Ygritte Hakonsson", "--contact", "+351 21 555 0199", "--circuit", "coolant=6L"});
    std::filesystem::create_directory(file("stick"));
    must({"backup", "--into", "stick", "--keep", "9"});
    for (const auto& e : std::filesystem::directory_iterator(file("stick"))) stick = "stick/" + e.path().filename().string();
    must({"place", "add", "pan-morning", "--role", "catch"});
  }
  [[nodiscard]] std::set<std::string> files() const {
    std::set<std::string> out;
    for (const auto& e : std::filesystem::directory_iterator(folder())) out.insert(e.path().filename());
    return out;
  }
};

}  // namespace

TEST_SUITE("tools/restore") {
  TEST_CASE("a backup takes the place of a book that is gone and goes on as an installation of its own") {
    const Evening s;
    std::filesystem::remove(s.file("m.baybook"));
    const Answer a = s.must({"backup", "restore", s.stick});
    CHECK(has(a.out, "book m.baybook goes on from seal bay:13:"));
    CHECK(has(a.out, "its own begin with seal bay-2:1:"));
    CHECK(s.files() == std::set<std::string>{"m.baybook", "stick"});
    s.must({"place", "add", "pan-again", "--role", "catch"});
    const Answer p = s.must({"prove"});
    CHECK(has(p.out, "sound: 15 entries"));
    CHECK(has(p.out, "seal bay-2:2:"));
  }

  TEST_CASE("a damaged book is put aside with its log, not written over, and the papers that lie beside it stay") {
    const Evening s;
    std::ofstream(s.file("scan.pdf")) << "signed";
    s.must({"paper", "add", "1", "scan.pdf"});
    const std::string whole = bytes_of(s.file("m.baybook"));
    std::ofstream(s.file("m.baybook"), std::ios::binary) << whole.substr(0, 4096) + std::string(whole.size() - 4096, 'x');
    std::ofstream(s.file("m.baybook-wal"), std::ios::binary) << "what a killed program left";
    const Answer a = s.must({"backup", "restore", s.stick, "--tag", "van"});
    CHECK(has(flat(a.out), "what lay there before is m.baybook.aside now, which does not open"));
    CHECK(bytes_of(s.file("m.baybook.aside-wal")) == "what a killed program left");
    CHECK(bytes_of(s.file("m.baybook.aside")).size() == whole.size());
    std::string all;
    for (const std::string& name : s.files()) all += name + " ";
    CHECK(all == "m.baybook m.baybook.aside m.baybook.aside-shm m.baybook.aside-wal m.baybook.papers scan.pdf stick ");
    CHECK(has(s.must({"prove"}).out, "seal van:1:"));
    // Again: the second time another name is found.
    std::ofstream(s.file("m.baybook"), std::ios::binary) << std::string(8192, 'x');
    CHECK(has(flat(s.must({"backup", "restore", s.stick, "--tag", "van-3"}).out), "m.baybook.aside-2 now"));
  }

  TEST_CASE("a backup is not put in the place of another book's log or papers") {
    const Evening s;
    s.must({"start", "van.baybook", "--site", "Van", "--tag", "van"});
    std::ofstream(s.file("van.baybook-wal"), std::ios::binary) << "what a killed program left";
    std::filesystem::create_directory(s.file("van.baybook.papers"));
    for (const char* place : {"van.baybook-wal", "van.baybook-shm", "van.baybook.papers/m.baybook"}) {
      const Answer no = s.run({"backup", "restore", s.stick, "--book", place});
      CAPTURE(place);
      CHECK(no.status == 1);
      CHECK(has(flat(no.err), "the place where the book was"));
    }
    CHECK(bytes_of(s.file("van.baybook-wal")) == "what a killed program left");
    CHECK(std::filesystem::is_empty(s.file("van.baybook.papers")));
  }

  TEST_CASE("a book that opens and is ahead of the backup is not put aside unless that is said, and what only it has can be brought in") {
    const Evening s;
    const std::string before = bytes_of(s.file("m.baybook"));
    const Answer no = s.run({"backup", "restore", s.stick});
    CHECK(no.status == 1);
    CHECK(has(flat(no.err), "m.baybook opens and has 1 entry that the backup does not have"));
    CHECK(bytes_of(s.file("m.baybook")) == before);
    CHECK(s.files() == std::set<std::string>{"m.baybook", "stick"});
    const Answer yes = s.must({"backup", "restore", s.stick, "--over-newer"});
    CHECK(has(flat(yes.out), "1 entry is only there, and can be brought in"));
    CHECK_FALSE(has(s.must({"levels"}).out, "pan-morning"));
    // The lines that it prints.
    s.must({"exchange", "out", "aside.exchange", "--book", "m.baybook.aside"});
    s.must({"exchange", "in", "aside.exchange", "--book", "m.baybook"});
    CHECK(has(s.must({"levels"}).out, "pan-morning"));
  }

  TEST_CASE("a file that cannot be proved because it cannot be read is not told to be proved once more") {
    const Evening s;
    const std::string whole = bytes_of(s.file("m.baybook"));
    int unreadable = 0;
    for (std::size_t page = 1; page < 12; ++page) {
      CAPTURE(page);
      std::string damaged = whole;
      damaged.replace(page * 4096, 4096, std::string(4096, '\xff'));
      std::ofstream(s.file("m.baybook"), std::ios::binary) << damaged;
      const Answer a = s.run({"prove"});
      if (a.status != 3) continue;
      ++unreadable;
      CHECK_FALSE(has(a.err, "type: baybook prove"));
      if (has(a.err, "damaged")) CHECK(has(flat(a.err), "type: baybook backup restore THE-NEWEST-BACKUP --book m.baybook"));
    }
    CHECK(unreadable > 0);
  }

  TEST_CASE("a backup is not restored over itself, nor over what is no file, and a wrong one leaves all as it was") {
    const Evening s;
    const std::string stick = bytes_of(s.file(s.stick));
    for (const std::vector<std::string>& line : {std::vector<std::string>{"backup", "restore", s.stick, "--book", s.stick}, {"backup", "restore", s.stick, "--book", "stick"}, {"backup", "restore", "nothing.baybook"},
                                                 {"backup", "restore", s.stick, "--over-newer", "--tag", "bay"}, {"backup", "restore", s.stick, "--over-newer", "--tag", "a tag that is none"}}) {
      CAPTURE(line.back());
      CHECK(s.run(line).status != 0);
      CHECK(s.files() == std::set<std::string>{"m.baybook", "stick"});
    }
    CHECK(bytes_of(s.file(s.stick)) == stick);
    CHECK(has(s.must({"prove"}).out, "sound: "));
  }

  TEST_CASE("what was erased after a backup was made is named when that backup goes on, from the list beside it or the book aside, and can be erased again as it says") {
    Evening s;
    const std::string old = s.stick;
    const Answer erased = s.must({"erase", "car", "QX-SECRET-1", "--yes"});
    CHECK(has(flat(erased.out), "erased: entry 13 keeper, keeper-contact"));
    SUBCASE("from the book aside") {
      const Answer a = s.run({"backup", "restore", old, "--over-newer"});
      CHECK(a.status == 1);
      CHECK(has(flat(a.err), "there again: entry 13@bay keeper, keeper-contact"));
    }
    SUBCASE("from the list that the next backup left") {
      s.now = "2026-03-06T09:40:00.000Z";
      s.must({"backup", "--into", "stick", "--keep", "9"});
      CHECK(std::filesystem::exists(s.file("stick/baybook-erasures.jsonl")));
      CHECK_FALSE(has(bytes_of(s.file("stick/baybook-erasures.jsonl")), "Ygritte"));
      std::filesystem::remove(s.file("m.baybook"));
      const Answer json = s.run({"backup", "--continue", "x.baybook", "--tag", "x", "--json", "--book", old});
      CHECK(json.status == 1);
      CHECK(has(json.out, R"("unknown_erasures":[{"erasure":"15@bay","day":"2026-03-05","texts":[{"entry":"13@bay","field":"keeper"},{"entry":"13@bay","field":"keeper-contact"}]}])"));
      const Answer a = s.run({"backup", "restore", old});
      CHECK(a.status == 1);
      CHECK(has(flat(a.err), "erased on 2026-03-05 by entry 15@bay, which this copy does not know, and there again: entry 13@bay keeper, keeper-contact"));
      CHECK(has(flat(a.err), "type: baybook erase entry 13@bay keeper type: baybook erase entry 13@bay keeper-contact"));
      CHECK(has(s.must({"car", "show", "QX-SECRET-1"}).out, "Ygritte"));
      s.must({"erase", "entry", "13@bay", "keeper", "--yes"});
      s.must({"erase", "entry", "13@bay", "keeper-contact", "--yes"});
      CHECK_FALSE(has(bytes_of(s.file("m.baybook")), "Ygritte"));
    }
    SUBCASE("and a backup that knows it says nothing") {
      s.now = "2026-03-06T09:40:00.000Z";
      s.must({"backup", "new.baybook"});
      CHECK(std::filesystem::exists(s.file("baybook-erasures.jsonl")));
      std::filesystem::remove(s.file("m.baybook"));
      const Answer a = s.must({"backup", "restore", "new.baybook"});
      CHECK(a.err.find("erased on") == std::string::npos);
    }
  }

  TEST_CASE("a list of erasures that is none is left as it is, and said") {
    const Evening s;
    s.must({"erase", "car", "QX-SECRET-1", "--yes"});
    std::ofstream(s.file("stick/baybook-erasures.jsonl")) << "dear sir\n";
    const Answer a = s.run({"backup", "--into", "stick"});
    CHECK(a.status == 1);
    CHECK(has(flat(a.out), "stick/baybook-erasures.jsonl is no list of erasures"));
    CHECK(bytes_of(s.file("stick/baybook-erasures.jsonl")) == "dear sir\n");
  }
}
