// A file that may be a book, looked at by its first bytes.
#include "store/glance.hpp"

#include "support/leave.hpp"
#include "support/test_book.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <fcntl.h>
#include <fstream>
#include <sys/wait.h>

using namespace baybook;
using namespace baybook::test;
using store::Looks;

namespace {

Looks looks(const std::string& path) {
  const auto g = store::glance(path, 512 * 1024);
  REQUIRE(g.has_value());
  return store::looks_of(g->head);
}

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

// Whether another process sees a lock of this one on the bytes that SQLite's readers lock
// (sqlite.org/src, os.h: 0x40000000 + 2, 510 bytes).
bool is_locked(const std::string& path) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    const int fd = ::open(path.c_str(), O_RDWR);
    struct flock wanted {};
    wanted.l_type = F_WRLCK;
    wanted.l_start = 0x40000002;
    wanted.l_len = 510;
    const bool asked = fd >= 0 && ::fcntl(fd, F_GETLK, &wanted) == 0;
    leave(!asked ? 9 : wanted.l_type == F_UNLCK ? 0 : 1);
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  REQUIRE(WEXITSTATUS(status) < 9);
  return WEXITSTATUS(status) == 1;
}

}  // namespace

TEST_SUITE("store/glance") {
  TEST_CASE(
      "a file says by its first bytes whether it is a book, a database, a log of one or what is "
      "left of a book") {
    TestBook b;
    b.place("pan-1", Role::hold_catch, "20L");
    b->inside().db.exec("BEGIN");
    CHECK(looks(b.file() + "-wal") == Looks::log);
    b->inside().db.exec("COMMIT");
    (void)b->inside().db.settle();
    b.close();
    CHECK(looks(b.file()) == Looks::book);
    const std::string other = b.folder().file("other.db");
    SQLite::Database(other, SQLite::OPEN_READWRITE | SQLite::OPEN_CREATE).exec("CREATE TABLE t(x)");
    CHECK(looks(other) == Looks::database);
    std::ofstream(b.folder().file("text")) << std::string(5000, 'x');
    CHECK(looks(b.folder().file("text")) == Looks::other);
    // The first sector is gone.
    std::string torn = bytes_of(b.file());
    torn.replace(0, 512, std::string(512, '\0'));
    std::ofstream(b.folder().file("torn"), std::ios::binary) << torn;
    CHECK(looks(b.folder().file("torn")) == Looks::part_book);
    CHECK_FALSE(store::glance(b.folder().file("none"), 100).has_value());
    const auto whole = store::glance(b.folder().file("text"), 10);
    REQUIRE(whole.has_value());
    CHECK(whole->size == 5000);
    CHECK(whole->head == std::string(10, 'x'));
    CHECK(whole->tail == std::string(10, 'x'));
  }

  TEST_CASE("who has the book open keeps the locks of it when its first bytes are looked at") {
    TestBook b;
    b.place("pan-1", Role::hold_catch, "20L");
    REQUIRE(is_locked(b.file()));
    CHECK(looks(b.file()) == Looks::book);
    CHECK(is_locked(b.file()));
  }
}
