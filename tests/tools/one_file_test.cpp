// A book at rest is one file with everything in it: docs/decisions/0020.
#include "run_program.hpp"

#include <baybook/book.hpp>

#include <doctest/doctest.h>

#include <algorithm>
#include <csignal>
#include <ctime>
#include <random>
#include <set>

using namespace baybook::test;

namespace {

std::set<std::string> files_of(const Shop& s) {
  std::set<std::string> out;
  for (const auto& e : std::filesystem::directory_iterator(s.folder())) out.insert(e.path().filename());
  return out;
}

const std::set<std::string> kOneFile = {"m.baybook"};

/// The book of that shop, held open by this program.
baybook::Book held_open(const Shop& s, baybook::Access access) {
  auto b = baybook::Book::open(s.file("m.baybook"), access, [](std::uint8_t* bytes, std::size_t size) {
      std::fill_n(bytes, size, std::uint8_t{7});
      return true;
    });
  REQUIRE(b.ok());
  return std::move(b).value();
}

void write_one(baybook::Book& b, const std::string& code) {
  baybook::NewPlace p;
  p.code = code;
  p.role = baybook::Role::hold_catch;
  baybook::Stamp s;
  s.now = *baybook::read_instant("2026-03-05T09:50:00.000Z");
  REQUIRE(b.append(p, s).ok());
}

#if defined(__SANITIZE_ADDRESS__)
constexpr int kRounds = 100;  // the same, where each command takes ten times as long
#else
constexpr int kRounds = 1000;
#endif

}  // namespace

TEST_SUITE("tools/one_file") {
  TEST_CASE("after every command, a writing, a reading, a refused one, the book is one file, and a copy of it is the book") {
    const OpenShop s;
    CHECK(files_of(s) == kOneFile);
    for (const std::vector<std::string>& line : {std::vector<std::string>{"levels"}, {"decant", "pan-1", "1L", "--into", "drum-coolant"}, {"decant", "pan-1", "100L", "--into", "drum-coolant"}, {"prove"}, {"nothing"}, {"prove", "--rebuild"},
                                                 {"exchange", "out", "-"}, {"place", "add", "pan-9", "--role", "catch", "--dry-run"}}) {
      CAPTURE(line.front());
      (void)s.run(line);
      CHECK(files_of(s) == kOneFile);
    }
    std::filesystem::copy_file(s.file("m.baybook"), s.file("copy"));
    const Answer copied = s.must({"prove", "--book", "copy", "--json"});
    CHECK(copied.out == s.must({"prove", "--json"}).out);
    CHECK(s.must({"levels", "--book", "copy"}).out == s.must({"levels"}).out);
    CHECK(files_of(s) == std::set<std::string>{"m.baybook", "copy"});
  }

  TEST_CASE("commands that end together, writers, readers and killed ones, leave one file") {
    OpenShop s;
    std::mt19937 random(17);
    int more_than_one = 0;
    int refused = 0;
    int killed = 0;
    int written = 0;
    for (int round = 0; round < kRounds; ++round) {
      const auto write = [&](const char* hand) { return std::vector<std::string>{"work", "1", std::string(hand) + " " + std::to_string(round)}; };
      std::vector<std::vector<std::string>> lines = {{"levels"}, {"totals", "2026-03"}, {"entries", "--newest", "3"}};
      std::shuffle(lines.begin(), lines.end(), random);
      lines.resize(random() % 3);
      if (lines.empty() || random() % 3 != 0) lines.push_back(write("left"));
      if (lines.size() < 2) lines.push_back(write("right"));
      std::vector<pid_t> running;
      for (const auto& line : lines) running.push_back(s.begin(line));
      const bool kill = random() % 4 == 0;
      if (kill) {
        const timespec nap{0, static_cast<long>(random() % 5'000'000)};
        ::nanosleep(&nap, nullptr);
        ::kill(running.front(), SIGKILL);
      }
      for (std::size_t i = 0; i < running.size(); ++i) {
        const int status = Shop::end(running[i]);
        if (status == 128 + SIGKILL) ++killed;
        else if (status != 0) ++refused;
        else if (lines[i].front() == "work") ++written;
      }
      // Who was killed leaves what it had; the next command takes it in.
      if (kill && files_of(s) != kOneFile) CHECK(s.run({"levels"}).status == 0);
      if (files_of(s) != kOneFile) ++more_than_one;
    }
    MESSAGE(kRounds << " rounds, " << written << " entries, " << killed << " killed");
    CHECK(more_than_one == 0);
    CHECK(refused == 0);
    CHECK(killed > 0);
    CHECK(s.must({"prove"}).out.find("sound: ") == 0);
    const std::string story = s.must({"entries", "--json", "--newest", "100000"}).out;
    int found = 0;
    for (std::size_t at = 0; (at = story.find("\"kind\":\"work\"", at)) != std::string::npos; ++at) ++found;
    CHECK(found >= written);
  }

  TEST_CASE("while a program keeps the book open its log stays beside, prove and backup say so, and its end takes it in") {
    const OpenShop s;
    {
      baybook::Book held = held_open(s, baybook::Access::write);
      write_one(held, "pan-50");
      CHECK(files_of(s) == std::set<std::string>{"m.baybook", "m.baybook-wal", "m.baybook-shm"});
      for (const std::vector<std::string>& line : {std::vector<std::string>{"prove"}, {"backup", "copy.baybook"}}) {
        const Answer a = s.must(line);
        CHECK(flat(a.err).find("another program has this book open: the newest entries may lie in m.baybook-wal") != std::string::npos);
        CHECK(flat(a.err).find("baybook backup") != std::string::npos);
      }
      CHECK(s.must({"prove", "--json"}).out.find("\"log_beside\":true") != std::string::npos);
      CHECK(s.must({"levels", "--book", "copy.baybook"}).out.find("pan-50") != std::string::npos);
      s.must({"place", "add", "pan-51", "--role", "catch"});
      write_one(held, "pan-52");
    }
    CHECK(files_of(s) == std::set<std::string>{"m.baybook", "copy.baybook"});
    const Answer a = s.must({"prove", "--json"});
    CHECK(a.err.empty());
    CHECK(a.out.find("\"log_beside\":false") != std::string::npos);
    for (const char* code : {"pan-50", "pan-51", "pan-52"}) CHECK(s.must({"levels"}).out.find(code) != std::string::npos);
  }

  TEST_CASE("a book under two names is read and not written, with the way out, which ends it") {
    const OpenShop s;
    std::filesystem::create_hard_link(s.file("m.baybook"), s.file("snapshot.baybook"));
    const std::string before = bytes_of(s.file("m.baybook"));
    const Answer a = s.run({"decant", "pan-1", "1L", "--into", "drum-coolant"});
    CHECK(a.status == 3);
    CHECK(flat(a.err).find("2 names (hard links)") != std::string::npos);
    CHECK(flat(a.err).find("type: cp m.baybook m.baybook.copy && mv m.baybook.copy m.baybook") != std::string::npos);
    CHECK(s.must({"levels"}).out.find("pan-1") != std::string::npos);
    CHECK(s.must({"levels", "--book", "snapshot.baybook"}).out == s.must({"levels"}).out);
    CHECK(files_of(s) == std::set<std::string>{"m.baybook", "snapshot.baybook"});
    CHECK(bytes_of(s.file("m.baybook")) == before);
    const std::string line = "cd " + s.folder().string() + " && cp m.baybook m.baybook.copy && mv m.baybook.copy m.baybook";
    REQUIRE(std::system(line.c_str()) == 0);
    s.must({"decant", "pan-1", "1L", "--into", "drum-coolant"});
    CHECK(bytes_of(s.file("snapshot.baybook")) == before);
    CHECK(s.must({"prove"}).status == 0);
    CHECK(files_of(s) == std::set<std::string>{"m.baybook", "snapshot.baybook"});
  }

  TEST_CASE("a second name given to the file while a program keeps it open stops that program's writing") {
    const OpenShop s;
    baybook::Book held = held_open(s, baybook::Access::write);
    write_one(held, "pan-50");
    std::filesystem::create_hard_link(s.file("m.baybook"), s.file("snapshot.baybook"));
    baybook::NewPlace p;
    p.code = "pan-51";
    baybook::Stamp stamp;
    stamp.now = *baybook::read_instant("2026-03-05T09:51:00.000Z");
    const auto refused = held.append(p, stamp);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().code == baybook::Code::unwritable);
    std::filesystem::remove(s.file("snapshot.baybook"));
    CHECK(held.append(p, stamp).ok());
  }

  TEST_CASE("a file that was replaced while a program keeps it open is not written into the void") {
    const OpenShop s;
    baybook::Book held = held_open(s, baybook::Access::write);
    std::filesystem::copy_file(s.file("m.baybook"), s.file("other"));
    std::filesystem::rename(s.file("other"), s.file("m.baybook"));
    baybook::NewPlace p;
    p.code = "pan-51";
    baybook::Stamp stamp;
    stamp.now = *baybook::read_instant("2026-03-05T09:51:00.000Z");
    const auto refused = held.append(p, stamp);
    REQUIRE_FALSE(refused.ok());
    CHECK(refused.refusal().what.find("was moved, removed or replaced") != std::string::npos);
  }

  TEST_CASE("a log that does not go on from the file beside it is not mixed into it, whatever made it so") {
    const OpenShop s;
    s.must({"backup", "copy.baybook"});
    std::filesystem::copy_file(s.file("m.baybook"), s.file("older"));
    s.must({"decant", "pan-1", "1L", "--into", "drum-coolant"});
    std::filesystem::copy_file(s.file("m.baybook"), s.file("newer"));
    std::string log;
    {
      baybook::Book held = held_open(s, baybook::Access::write);
      for (int i = 0; i < 30; ++i) write_one(held, "pan-" + std::to_string(50 + i));
      log = bytes_of(s.file("m.baybook-wal"));
    }
    REQUIRE(log.size() > 4096);
    std::filesystem::copy_file(s.file("m.baybook"), s.file("newest"));
    {
      baybook::Book held = held_open(s, baybook::Access::write);
      for (int i = 0; i < 30; ++i) write_one(held, "tray-" + std::to_string(50 + i));
    }
    std::filesystem::rename(s.file("m.baybook"), s.file("ahead"));
    for (const char* lies : {"copy.baybook", "older", "ahead"}) {
      CAPTURE(lies);
      std::filesystem::copy_file(s.file(lies), s.file("m.baybook"));
      const std::string file = bytes_of(s.file("m.baybook"));
      std::ofstream(s.file("m.baybook-wal"), std::ios::binary) << log;
      for (const std::vector<std::string>& line : {std::vector<std::string>{"levels"}, {"prove"}, {"place", "add", "pan-99", "--role", "catch"}, {"backup", "b.baybook"}}) {
        CAPTURE(line.front());
        const Answer a = s.run(line);
        CHECK(a.status == 3);
        CHECK(flat(a.err).find("m.baybook-wal lies beside it and does not go on from this file") != std::string::npos);
        CHECK(flat(a.err).find("type: mv m.baybook-wal m.baybook-wal.aside") != std::string::npos);
      }
      CHECK(bytes_of(s.file("m.baybook")) == file);
      CHECK(bytes_of(s.file("m.baybook-wal")) == log);
      // What it says to type ends it: the file is the book.
      std::filesystem::rename(s.file("m.baybook-wal"), s.file("m.baybook-wal.aside"));
      CHECK(s.must({"prove"}).out.find("sound: ") == 0);
      for (const char* name : {"m.baybook", "m.baybook-wal.aside"}) std::filesystem::remove(s.file(name));
      std::filesystem::remove(s.file("m.baybook-shm"));
    }
    // One that does go on from it is taken in.
    for (const char* lies : {"newer", "newest"}) {
      CAPTURE(lies);
      std::filesystem::copy_file(s.file(lies), s.file("m.baybook"));
      std::ofstream(s.file("m.baybook-wal"), std::ios::binary) << log;
      CHECK(s.must({"prove"}).out.find("sound: ") == 0);
      CHECK(s.must({"levels"}).out.find("pan-79") != std::string::npos);
      CHECK_FALSE(std::filesystem::exists(s.file("m.baybook-wal")));
      std::filesystem::remove(s.file("m.baybook"));
    }
  }
}
