#include "store/queue.hpp"
#include "support/leave.hpp"
#include "support/test_book.hpp"

#include <atomic>
#include <fstream>
#include <new>
#include <sys/mman.h>
#include <sys/wait.h>

using namespace baybook::store;
using namespace baybook::test;

namespace {

using Turn = Queue::Turn;

struct Books : Folder {
  Books() {
    for (const char* name : {"a.baybook", "b.baybook"}) std::ofstream(file(name)) << "a file to stand in for a book";
  }
};

/// What forked children share.
template <class T>
class Shared {
 public:
  Shared() : at_(new (::mmap(nullptr, sizeof(T), PROT_READ | PROT_WRITE, MAP_SHARED | MAP_ANONYMOUS, -1, 0)) T{}) {}
  ~Shared() { ::munmap(at_, sizeof(T)); }
  Shared(const Shared&) = delete;
  Shared& operator=(const Shared&) = delete;
  T* operator->() { return at_; }

 private:
  T* at_;
};

}  // namespace

TEST_SUITE("store/queue") {
  TEST_CASE("one works at a time, and who only wants to bring the log in does not wait behind a writer") {
    Books f;
    Queue a;
    Queue b;
    a.open(f.file("a.baybook"));
    b.open(f.file("a.baybook"));
    CHECK(a.wait_to_write() == Turn::mine);
    CHECK(b.somebody_writes());
    CHECK_FALSE(a.somebody_writes());
    CHECK(b.wait_to_settle() == Turn::with_writer);
    CHECK(b.wait_long_to_settle() == Turn::with_writer);
    a.leave();
    CHECK_FALSE(b.somebody_writes());
    CHECK(b.wait_to_settle() == Turn::mine);
    CHECK_FALSE(a.somebody_writes());
    b.leave();
    CHECK(a.wait_to_write() == Turn::mine);
  }

  TEST_CASE("the books of one folder do not wait for each other") {
    Books f;
    Queue a;
    Queue b;
    a.open(f.file("a.baybook"));
    b.open(f.file("b.baybook"));
    CHECK(a.wait_to_write() == Turn::mine);
    CHECK_FALSE(b.somebody_writes());
    CHECK(b.wait_to_write() == Turn::mine);
  }

  TEST_CASE("a book under another spelling of its name has the same queue") {
    Books f;
    std::filesystem::create_directory(f.file("in"));
    Queue a;
    Queue b;
    a.open(f.file("a.baybook"));
    b.open(f.file("in/../a.baybook"));
    CHECK(a.wait_to_write() == Turn::mine);
    CHECK(b.somebody_writes());
  }

  TEST_CASE("while somebody reads the file alone, that is known, and it ends with the reader") {
    Books f;
    Queue a;
    a.open(f.file("a.baybook"));
    {
      Queue reader;
      reader.open(f.file("a.baybook"));
      CHECK(reader.read_file_alone());
      CHECK(a.file_is_read_alone());
      CHECK_FALSE(reader.file_is_read_alone());
      CHECK(a.wait_to_write() == Turn::mine);  // writing changes the log, not the file
      Queue late;
      late.open(f.file("a.baybook"));
      CHECK_FALSE(late.read_file_alone());
      a.leave();
    }
    CHECK_FALSE(a.file_is_read_alone());
  }

  TEST_CASE("where there is no folder to lock there is no queue, and nobody is kept waiting") {
    Queue q;
    q.open("/nowhere/at/all.baybook");
    CHECK(q.wait_to_write() == Turn::none);
    CHECK(q.wait_to_settle() == Turn::none);
    CHECK_FALSE(q.somebody_writes());
    q.leave();
  }

  TEST_CASE("who was killed in the middle of the work is in nobody's way") {
    Books f;
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      Queue q;
      q.open(f.file("a.baybook"));
      leave(q.wait_to_write() == Turn::mine ? 0 : 1);  // without giving the turn back
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    REQUIRE(WEXITSTATUS(status) == 0);
    Queue q;
    q.open(f.file("a.baybook"));
    CHECK(q.wait_to_write() == Turn::mine);
  }

  TEST_CASE("of eight who write without a pause nobody is at work beside another, and nobody is passed over again and again") {
    Books f;
    struct Board {
      std::atomic<int> inside{0}, together{0}, turns{0}, most_between{0}, started{0}, refused{0};
    };
    Shared<Board> board;
    constexpr int kWriters = 8;
    constexpr int kTurns = 60;
    std::vector<pid_t> children;
    for (int w = 0; w < kWriters; ++w) {
      const pid_t child = ::fork();
      REQUIRE(child >= 0);
      if (child == 0) {
        ++board->started;
        while (board->started < kWriters) ::usleep(100);
        for (int n = 0; n < kTurns; ++n) {
          Queue q;
          q.open(f.file("a.baybook"));
          const int before = board->turns;
          if (q.wait_to_write() != Turn::mine) ++board->refused;
          if (++board->inside > 1) ++board->together;
          const int between = board->turns++ - before;
          for (int most = board->most_between; between > most && !board->most_between.compare_exchange_weak(most, between);) {
          }
          ::usleep(300);
          --board->inside;
          q.leave();
        }
        leave(0);
      }
      children.push_back(child);
    }
    for (const pid_t child : children) {
      int status = 0;
      CHECK(::waitpid(child, &status, 0) == child);
    }
    CHECK(board->refused == 0);
    CHECK(board->together == 0);
    CHECK(board->turns == kWriters * kTurns);
    // Seven stand before the last one; who is late to take a place lets some more by.
    CHECK(board->most_between < 4 * kWriters);
  }
}
