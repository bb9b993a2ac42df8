#include "support/test_book.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <fstream>
#include <sys/stat.h>

using namespace baybook;
using namespace baybook::test;

namespace {

Result<Book> opened(const std::string& path, Access access = Access::write) { return Book::open(path, access, repeatable(3)); }

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// A change with the engine's own means, as an insider would make it.
void tamper(const std::string& path, const std::string& sql) {
  SQLite::Database db(path, SQLite::OPEN_READWRITE);
  db.exec(sql);
}

Settings marsh() {
  Settings s;
  s.site = "Saltmarsh Motor Works";
  s.tag = "bay";
  s.zone = "Europe/Lisbon";
  return s;
}

const Instant kNow = Instant{1'772'704'800'000};  // 2026-03-05T10:00:00Z

}  // namespace

TEST_SUITE("book/opening") {
  TEST_CASE("a new book can be read by its owner alone, whatever the umask") {
    Folder f;
    const mode_t old = ::umask(0);
    const auto b = Book::start(f.file("b.baybook"), marsh(), kNow, repeatable(1));
    ::umask(old);
    REQUIRE_MESSAGE(b.ok(), why(b));
    struct stat st {};
    REQUIRE(::stat(f.file("b.baybook").c_str(), &st) == 0);
    CHECK((st.st_mode & 0777) == 0600);
    REQUIRE(::stat(f.file("b.baybook-wal").c_str(), &st) == 0);
    CHECK((st.st_mode & 0777) == 0600);
  }

  TEST_CASE("a name that is taken is refused and what stands there is left as it is") {
    Folder f;
    std::ofstream(f.file("letter.txt")) << "dear sir";
    const auto b = Book::start(f.file("letter.txt"), marsh(), kNow, repeatable(1));
    REQUIRE_FALSE(b.ok());
    CHECK(b.refusal().code == Code::already_there);
    CHECK(bytes_of(f.file("letter.txt")) == "dear sir");
  }

  TEST_CASE("a missing folder, a folder that cannot be written and an unknown zone are refused and nothing is made") {
    Folder f;
    CHECK(Book::start(f.file("none/b.baybook"), marsh(), kNow, repeatable(1)).refusal().code == Code::unwritable);
    CHECK(Book::start("/proc/b.baybook", marsh(), kNow, repeatable(1)).refusal().code == Code::unwritable);
    Settings s = marsh();
    s.zone = "Europe/Saltmarsh";
    CHECK(Book::start(f.file("b.baybook"), s, kNow, repeatable(1)).refusal().code == Code::not_found);
    CHECK_FALSE(std::filesystem::exists(f.file("b.baybook")));
  }

  TEST_CASE("what is not a book is refused and left untouched") {
    Folder f;
    CHECK(opened(f.file("none.baybook")).refusal().code == Code::unreadable);
    std::ofstream(f.file("text")) << std::string(5000, 'x');
    CHECK(opened(f.file("text")).refusal().code == Code::unreadable);
    CHECK(bytes_of(f.file("text")) == std::string(5000, 'x'));
    std::ofstream(f.file("empty")).close();
    CHECK(opened(f.file("empty")).refusal().code == Code::unreadable);
    CHECK(opened(f.file("")).refusal().code == Code::unreadable);
    tamper((std::ofstream(f.file("other.db")), f.file("other.db")), "CREATE TABLE entry(id INTEGER)");
    const std::string before = bytes_of(f.file("other.db"));
    CHECK(opened(f.file("other.db")).refusal().code == Code::unreadable);
    CHECK(bytes_of(f.file("other.db")) == before);
  }

  TEST_CASE("a book of a newer version is refused untouched") {
    TestBook b;
    b.close();
    tamper(b.file(), "PRAGMA user_version=2");
    const std::string before = bytes_of(b.file());
    const auto r = opened(b.file());
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::unreadable);
    CHECK(r.refusal().what.find("newer") != std::string::npos);
    CHECK(bytes_of(b.file()) == before);
  }

  TEST_CASE("a table, view or trigger that no book has is refused before anything else is read") {
    for (const char* sql : {"CREATE TRIGGER t BEFORE INSERT ON entry BEGIN SELECT raise(ignore); END", "CREATE TABLE extra(x)", "CREATE VIEW extra AS SELECT 1", "CREATE INDEX extra ON entry(day)",
                            "ALTER TABLE entry RENAME TO old; CREATE VIEW entry AS WITH RECURSIVE x(i) AS (SELECT 1 UNION ALL SELECT i+1 FROM x) SELECT i FROM x", "DROP VIEW level_by_place"}) {
      CAPTURE(sql);
      TestBook b;
      b.close();
      try {
        tamper(b.file(), sql);
      } catch (const SQLite::Exception&) {
        tamper(b.file(), "CREATE INDEX extra ON entry(moment)");  // the column of the fourth row has another name
      }
      CHECK(opened(b.file(), Access::read).refusal().code == Code::unreadable);
    }
  }

  TEST_CASE("a name that looks like a URI is a file name and nothing else") {
    Folder f;
    const std::string odd = f.file("file:b.baybook?vfs=unix-none");
    const auto b = Book::start(odd, marsh(), kNow, repeatable(1));
    REQUIRE_MESSAGE(b.ok(), why(b));
    CHECK(std::filesystem::exists(odd));
  }

  TEST_CASE("what was written is there after the book is closed and opened again, by another program too") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const std::string before = b.dump();
    b.reopen();
    CHECK(difference(before, b.dump()) == "");
    const auto reader = opened(b.file(), Access::read);
    REQUIRE(reader.ok());
    CHECK(reader->plate_of(car) == "MARSH-07");
  }

  TEST_CASE("while another program writes, a writer is told so after waiting and nothing is written") {
    TestBook b;
    SQLite::Database other(b.file(), SQLite::OPEN_READWRITE);
    other.exec("BEGIN IMMEDIATE");
    NewPlace p;
    p.code = "pan-1";
    const auto r = b.try_write(p);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::busy);
    other.exec("ROLLBACK");
    CHECK(b.try_write(p).ok());
  }
}
