// What a file that a program makes may take the place of.
#include "support/has.hpp"
#include "support/leave.hpp"
#include "support/test_book.hpp"

#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

#include <SQLiteCpp/SQLiteCpp.h>

#include <csignal>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <sys/stat.h>
#include <sys/wait.h>
#include <utility>

using namespace baybook;
using namespace baybook::test;

namespace {

void write(const std::string& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

constexpr const char* kPage =
    "%PDF-1.7\n...\n<</Title (Totals) /Producer <FEFF0062006100790062006F006F006B00200030>>>\n";

// A workshop's folder with everything that must not go, beside a letter, which may.
struct Desk {
  TestBook b;
  Placing how;
  Desk() {
    b.place("pan-1", Role::hold_catch, "20L");
    how.book = b.file();
    how.force = true;
    write(file("letter.txt"), "dear sir");
  }
  [[nodiscard]] std::string file(const std::string& name) const { return b.folder().file(name); }
  // Another book, closed; its bytes.
  std::string other(const std::string& name) {
    Settings s;
    s.site = "Reedbank Garage";
    s.tag = "reed";
    REQUIRE(Book::start(file(name), s, b.now, repeatable(5)).ok());
    std::filesystem::remove(file(name) + "-wal");
    std::filesystem::remove(file(name) + "-shm");
    return bytes_of(file(name));
  }
};

// Refused with and without --force, in words that offer no --force, and not a byte is another.
void stays(const Desk& d, const std::string& path) {
  CAPTURE(path);
  const bool there = std::filesystem::exists(path);
  const std::string before = there ? bytes_of(path) : "";
  write(d.file("part"), "new");
  for (const bool force : {true, false}) {
    Placing how = d.how;
    how.force = force;
    const auto looked = may_take_name(path, how);
    const auto taken = take_name(d.file("part"), path, how);
    for (const auto* r : {&looked, &taken}) {
      REQUIRE_FALSE(r->ok());
      CAPTURE(r->refusal().what);
      CHECK((r->refusal().code == Code::not_allowed || r->refusal().code == Code::already_there));
      CHECK_FALSE(has(r->refusal().instead, "--force"));
      CHECK_FALSE(r->refusal().instead.empty());
    }
  }
  CHECK(std::filesystem::exists(path) == there);
  CHECK((there ? bytes_of(path) : "") == before);
  CHECK(bytes_of(d.file("part")) == "new");
}

}  // namespace

TEST_SUITE("book/in the way") {
  TEST_CASE(
      "no file takes the place of the open book or of what lies beside it, by whatever name it is "
      "called") {
    Desk d;
    const std::string book = d.b.file();
    for (const char* suffix : {"", "-wal", "-shm"}) stays(d, book + suffix);
    std::filesystem::create_directory_symlink(d.b.folder().file("."), d.file("door"));
    stays(d, d.file("door") + "/" + std::filesystem::path(book).filename().string());
    std::filesystem::create_hard_link(book, d.file("march.pdf"));
    stays(d, d.file("march.pdf"));
    std::filesystem::create_hard_link(book + "-wal", d.file("april.pdf"));
    stays(d, d.file("april.pdf"));
  }

  TEST_CASE("what would be taken for a part of a book is refused although nothing is there yet") {
    Desk d;
    for (const char* suffix : {"-journal", ".lock", "-JOURNAL"}) stays(d, d.b.file() + suffix);
    d.other("old.baybook");
    for (const char* suffix : {"-wal", "-shm", "-journal"})
      stays(d, d.file("old.baybook") + suffix);
    // The newest entries of a book that is not there any more.
    write(d.file("gone.baybook-wal"), "frames");
    stays(d, d.file("gone.baybook"));
    CHECK(may_take_name(d.file("tax-journal"), d.how).ok());
    // Nor is a new book begun there: SQLite would write the log of the other one over it.
    Settings s;
    s.site = "Reedbank Garage";
    s.tag = "reed";
    for (const char* suffix : {"-wal", "-journal", "-shm"}) {
      const auto begun = Book::start(d.file("old.baybook") + suffix, s, d.b.now, repeatable(6));
      REQUIRE_FALSE(begun.ok());
      CHECK(begun.refusal().code == Code::not_allowed);
      CHECK_FALSE(std::filesystem::exists(d.file("old.baybook") + suffix));
    }
  }

  TEST_CASE(
      "no file takes the place of another book, whatever its version, its damage or its name") {
    Desk d;
    const std::string bytes = d.other("old.baybook");
    stays(d, d.file("old.baybook"));
    write(d.file("copy.pdf"), bytes);
    stays(d, d.file("copy.pdf"));
    std::string newer = bytes;
    newer.replace(60, 4, std::string("\0\0\0\x09", 4));
    write(d.file("newer.csv"), newer);
    stays(d, d.file("newer.csv"));
    write(d.file("cut.csv"), bytes.substr(0, 300));
    stays(d, d.file("cut.csv"));
    std::string torn = bytes;
    torn.replace(0, 512, std::string(512, '\0'));
    write(d.file("torn.csv"), torn);
    stays(d, d.file("torn.csv"));
    write(d.file("noise.baybook"), std::string(9000, '~'));
    stays(d, d.file("noise.baybook"));
    SQLite::Database(d.file("accounts.db"), SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE)
        .exec("CREATE TABLE t(x)");
    stays(d, d.file("accounts.db"));
    const Result<Backup> b = backup(d.b.book(), d.file("b.bak"), BackupOptions{d.b.now});
    REQUIRE(b.ok());
    stays(d, d.file("b.bak"));
  }

  TEST_CASE(
      "no file takes the place of a paper, of settings, rules, intervals or a list of erasures, or "
      "of what the command goes by") {
    Desk d;
    const std::string papers = papers_folder(d.b.file());
    for (const std::string& folder : {papers, d.file("elsewhere.papers"), d.file("OTHER.PAPERS")}) {
      std::filesystem::create_directory(folder);
      write(folder + "/3f9a.pdf", kPage);
      stays(d, folder + "/3f9a.pdf");
      stays(d, folder + "/new.pdf");
    }
    std::filesystem::create_directory_symlink(papers, d.file("scans"));
    stays(d, d.file("scans") + "/3f9a.pdf");
    write(d.file("config.toml"), "book = \"x\"\n");
    write(d.file("own.rules"), "# ours\n[[value]]\nkey = \"catch.undecided-days\"\n");
    write(d.file("tern.txt"), "name = \"tern\"\n\n[[interval]]\ntask = \"brake\"\n");
    write(d.file("erased"), "{\"baybook-erasures\":1}\n");
    write(d.file("mine.txt"), "by hand");
    d.how.stays = {"", d.file("mine.txt")};
    for (const char* name : {"config.toml", "own.rules", "tern.txt", "erased", "mine.txt"})
      stays(d, d.file(name));
  }

  TEST_CASE(
      "a file that holds none of this goes when force is said, and --force is offered over a print "
      "and over nothing else") {
    Desk d;
    write(d.file("march.pdf"), kPage);
    write(d.file("due.ics"), "BEGIN:VCALENDAR\r\nPRODID:-//Baybook//Baybook 0.1.0//EN\r\n");
    write(d.file("totals.txt"), "Totals\n\nbaybook 0.1.0, seal bay:12:0123456789abcdef\n");
    write(d.file("scan.pdf"), "%PDF-1.7\nscanned\n");
    write(d.file("cars.csv"), "plate,vin\r\nMARSH-07,\r\n");
    write(d.file("for-office.exchange"), "{\"baybook-exchange\":1}\n");
    for (const auto& [name, print] : {std::pair<const char*, bool>{"march.pdf", true},
                                      {"due.ics", true},
                                      {"totals.txt", true},
                                      {"letter.txt", false},
                                      {"scan.pdf", false},
                                      {"cars.csv", false},
                                      {"for-office.exchange", false}}) {
      CAPTURE(name);
      Placing ask = d.how;
      ask.force = false;
      const auto no = may_take_name(d.file(name), ask);
      REQUIRE_FALSE(no.ok());
      CHECK(no.refusal().code == Code::already_there);
      CHECK(no.refusal().instead == (print ? "another name, or --force" : "another name"));
      write(d.file("part"), "new");
      REQUIRE(take_name(d.file("part"), d.file(name), d.how).ok());
      CHECK(bytes_of(d.file(name)) == "new");
      CHECK_FALSE(std::filesystem::exists(d.file("part")));
    }
    CHECK(may_take_name("", d.how).refusal().code == Code::wrong_usage);
    std::filesystem::create_symlink("letter.txt", d.file("link"));
    REQUIRE(::mkfifo(d.file("pipe").c_str(), 0600) == 0);
    for (const char* name : {"link", "pipe", "."})
      CHECK(may_take_name(d.file(name), d.how).refusal().code == Code::already_there);
  }

  TEST_CASE("a book that takes the place between the look and the naming is put back") {
    Desk d;
    const std::string book = d.other("old.baybook");
    const std::string at = d.file("march.pdf");
    // Somebody keeps changing the two names while files are put there.
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      for (;;)
        ::renameat2(AT_FDCWD, d.file("old.baybook").c_str(), AT_FDCWD, at.c_str(), RENAME_EXCHANGE);
    }
    int named = 0;
    int refused = 0;
    for (int n = 0; n < 3000; ++n) {
      if (n % 50 == 0 && !std::filesystem::exists(at)) write(at, kPage);
      write(d.file("part"), kPage);
      (take_name(d.file("part"), at, d.how).ok() ? named : refused)++;
    }
    ::kill(child, SIGKILL);
    REQUIRE(::waitpid(child, nullptr, 0) == child);
    CHECK(named > 0);
    CHECK(refused > 0);
    bool there = false;
    for (const auto& e : std::filesystem::directory_iterator(d.b.folder().file(".")))
      there = there || (e.is_regular_file() && bytes_of(e.path().string()) == book);
    CHECK(there);
  }
}
