#include "support/leave.hpp"
#include "support/test_book.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <baybook/keep.hpp>

#include "store/share.hpp"

#include <csignal>
#include <fstream>
#include <functional>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/vfs.h>
#include <sys/wait.h>

using namespace baybook;
using namespace baybook::test;

namespace {

long type_of_file_system = 0;  ///< what statfs tells; 0: the truth

}  // namespace

// Stands before the C library's own in this program, so that a folder here can pass for one on a network share.
extern "C" int statfs(const char* path, struct statfs* out) noexcept {
  if (type_of_file_system == 0) return static_cast<int>(::syscall(SYS_statfs, path, out));
  *out = {};
  out->f_type = type_of_file_system;
  return 0;
}

namespace {

struct FileSystem {
  explicit FileSystem(long type) { type_of_file_system = type; }
  ~FileSystem() { type_of_file_system = 0; }
};

/// Runs `what` in a program of its own as somebody who owns nothing here; its answer is the exit status.
int as_a_stranger(const std::function<int()>& what) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    // Root may write everywhere: then as nobody.
    if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) leave(99);
    leave(what());
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

/// A folder in which nobody but root can write, and a file in it that everybody can read; both are as they were when the test ends.
struct ReadOnly {
  std::filesystem::path folder, file;
  ReadOnly(const std::string& file_) : folder(std::filesystem::path(file_).parent_path()), file(file_) {
    using std::filesystem::perms;
    std::filesystem::permissions(file, perms::owner_read | perms::group_read | perms::others_read);
    std::filesystem::permissions(folder, perms::owner_read | perms::owner_exec | perms::group_read | perms::group_exec | perms::others_read | perms::others_exec);
  }
  ~ReadOnly() {
    using std::filesystem::perms;
    std::filesystem::permissions(folder, perms::owner_all);
    std::filesystem::permissions(file, perms::owner_read | perms::owner_write);
  }
};

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
                            "ALTER TABLE entry RENAME TO old; CREATE VIEW entry AS WITH RECURSIVE x(i) AS (SELECT 1 UNION ALL SELECT i+1 FROM x) SELECT i FROM x", "DROP VIEW level_by_place",
                            "PRAGMA writable_schema=ON; UPDATE sqlite_schema SET type = 'tAble' WHERE name = 'ruling'",
                            "PRAGMA writable_schema=ON; UPDATE sqlite_schema SET name = 'ruLing' WHERE name = 'ruling'", "PRAGMA writable_schema=ON; UPDATE sqlite_schema SET tbl_name = 'entry' WHERE name = 'ruling'",
                            "PRAGMA writable_schema=ON; INSERT INTO sqlite_schema SELECT type, name, tbl_name, 0, sql FROM sqlite_schema WHERE type = 'view' LIMIT 1"}) {
      CAPTURE(sql);
      TestBook b;
      b.close();
      try {
        tamper(b.file(), sql);
      } catch (const SQLite::Exception&) {
        tamper(b.file(), "CREATE INDEX extra ON entry(moment)");  // the column of the fourth row has another name
      }
      // What the engine itself stumbles over is a damaged file; what it would read is no book.
      const Code code = opened(b.file(), Access::read).refusal().code;
      CHECK((code == Code::unreadable || code == Code::unsound));
    }
  }

  TEST_CASE("a start that was cut off stands in nobody's way") {
    Folder f;
    const std::string name = f.file("b.baybook");
    const pid_t child = ::fork();
    REQUIRE(child >= 0);
    if (child == 0) {
      // Cut off where the secret of the once-keys is drawn, and where the first entry is: before and within the making of the file.
      int drawn = 0;
      (void)Book::start(name, marsh(), kNow, [&](std::uint8_t* into, std::size_t size) {
        if (++drawn == 2) leave(3);
        return repeatable(7)(into, size);
      });
      leave(0);
    }
    int status = 0;
    REQUIRE(::waitpid(child, &status, 0) == child);
    REQUIRE(WEXITSTATUS(status) == 3);
    CHECK_FALSE(std::filesystem::exists(name));
    CHECK_FALSE(std::filesystem::is_empty(f.file("")));
    CHECK(Book::start(name, marsh(), kNow, repeatable(1)).ok());
    CHECK(opened(name).ok());
  }

  TEST_CASE("a file that is cut within its header is refused, and the write-ahead log beside it is kept") {
    TestBook b;
    NewPlace p;
    p.code = "pan-1";
    b.write(p);
    const std::string log = bytes_of(b.file() + "-wal");
    REQUIRE(log.size() > 4096);
    Folder f;
    for (const std::size_t size : {1UL, 16UL, 99UL}) {
      CAPTURE(size);
      std::ofstream(f.file("cut")) << bytes_of(b.file()).substr(0, size);
      std::ofstream(f.file("cut-wal")) << log;
      const auto r = opened(f.file("cut"));
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().code == Code::unreadable);
      CHECK(bytes_of(f.file("cut-wal")) == log);
    }
  }

  TEST_CASE("a rollback journal beside a book is not played back into it, and an empty one is in nobody's way") {
    TestBook b;
    b.close();
    std::ofstream(b.file() + "-journal", std::ios::binary) << "";
    CHECK(opened(b.file(), Access::read).ok());
    std::ofstream(b.file() + "-journal", std::ios::binary) << "not a journal, but something";
    const auto r = opened(b.file(), Access::write);
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::unreadable);
    CHECK(r.refusal().what.find("-journal lies beside it") != std::string::npos);
  }

  TEST_CASE("a book in a folder that may not be looked into says that, and not that there is none") {
    TestBook b;
    const std::string file = b.file();
    b.close();
    const auto says = [&] {
      const auto r = opened(file, Access::read);
      return !r.ok() && r.refusal().code == Code::unreadable && r.refusal().what.find("no permission") != std::string::npos ? 0 : 1;
    };
    std::filesystem::permissions(b.folder().file(""), std::filesystem::perms::owner_all);
    CHECK(as_a_stranger(says) == 0);
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

  TEST_CASE("a book in a folder that cannot be written to is read, if nothing newer lies beside it") {
    for (const char* name : {"book.baybook", "a?vfs=unix-none&mode=rwc#%41 b.baybook"}) {
      CAPTURE(name);
      TestBook b;
      b.car("MARSH-07");
      const std::string seal = b->seal();
      b.close();
      tamper(b.file(), "PRAGMA wal_checkpoint(TRUNCATE)");
      std::filesystem::create_directory(b.folder().file("disc"));
      const std::string file = b.folder().file(std::string("disc/") + name);
      std::filesystem::copy_file(b.file(), file);
      const std::filesystem::perms old = std::filesystem::status(b.folder().file("")).permissions();
      std::filesystem::permissions(b.folder().file(""), old | std::filesystem::perms::others_exec | std::filesystem::perms::group_exec);
      const ReadOnly disc(file);
      CHECK(as_a_stranger([&] {
              const auto r = opened(file, Access::read);
              if (!r.ok()) return 2;
              return r->seal() == seal && r->find_car("MARSH-07").ok() && prove(*r)->findings.empty() ? 0 : 3;
            }) == 0);
      CHECK(as_a_stranger([&] {
              const auto w = opened(file, Access::write);
              return !w.ok() && w.refusal().code == Code::unwritable ? 0 : 1;
            }) == 0);
    }
  }

  TEST_CASE("a book in a folder that cannot be written to is refused when newer entries lie beside it") {
    TestBook b;
    b.car("DUNE-42");
    b.reopen();
    b.car("MARSH-07");  // after all before it was folded into the file: its pages wait beside it while the book is open
    std::filesystem::create_directory(b.folder().file("disc"));
    const std::string file = b.folder().file("disc/book.baybook");
    std::filesystem::copy_file(b.file(), file);
    std::filesystem::copy_file(b.file() + "-wal", file + "-wal");
    b.close();
    REQUIRE(std::filesystem::file_size(file + "-wal") > 0);
    std::filesystem::permissions(b.folder().file(""), std::filesystem::perms::owner_all | std::filesystem::perms::others_exec | std::filesystem::perms::group_exec);
    std::filesystem::permissions(file + "-wal", std::filesystem::perms::others_read | std::filesystem::perms::owner_all);
    const ReadOnly disc(file);
    CHECK(as_a_stranger([&] {
            const auto r = opened(file, Access::read);
            if (r.ok() || r.refusal().code != Code::unreadable) return 1;
            return r.refusal().what.find("newer entries in the file beside it") != std::string::npos ? 0 : 2;
          }) == 0);
  }

  TEST_CASE("who may read a book and not write in it makes nothing beside it, and its writers leave the file alone meanwhile") {
    TestBook b;
    b.car("MARSH-07");
    b.close();
    using std::filesystem::perms;
    std::filesystem::permissions(b.folder().file(""), perms::all);
    std::filesystem::permissions(b.file(), perms::owner_read | perms::owner_write | perms::others_read);
    const std::string before = bytes_of(b.file());
    int ready[2];
    int go[2];
    REQUIRE(::pipe(ready) == 0);
    REQUIRE(::pipe(go) == 0);
    const pid_t stranger = ::fork();
    REQUIRE(stranger >= 0);
    if (stranger == 0) {
      if (::geteuid() == 0 && (::setgid(65534) != 0 || ::setuid(65534) != 0)) leave(99);
      const auto r = opened(b.file(), Access::read);
      char c = r.ok() ? 'y' : 'n';
      if (::write(ready[1], &c, 1) != 1 || ::read(go[0], &c, 1) != 1) leave(98);
      leave(r.ok() && r->find_car("MARSH-07").ok() && !r->find_car("DUNE-42").ok() && prove(*r)->findings.empty() ? 0 : 1);
    }
    char c = 0;
    REQUIRE(::read(ready[0], &c, 1) == 1);
    CHECK(c == 'y');
    CHECK_FALSE(std::filesystem::exists(b.file() + "-wal"));
    CHECK_FALSE(std::filesystem::exists(b.file() + "-shm"));
    {
      auto writer = opened(b.file());
      REQUIRE_MESSAGE(writer.ok(), why(writer));
      NewCar car;
      car.plate = "DUNE-42";
      CHECK(writer->append(car, b.stamp()).ok());
    }
    // The one who reads the file alone still does: the log waits beside it.
    CHECK(bytes_of(b.file()) == before);
    CHECK(std::filesystem::exists(b.file() + "-wal"));
    REQUIRE(::write(go[1], &c, 1) == 1);
    int status = 0;
    REQUIRE(::waitpid(stranger, &status, 0) == stranger);
    CHECK(WEXITSTATUS(status) == 0);
    CHECK(opened(b.file(), Access::read)->find_car("DUNE-42").ok());
    CHECK_FALSE(std::filesystem::exists(b.file() + "-wal"));
    for (const int fd : {ready[0], ready[1], go[0], go[1]}) ::close(fd);
  }

  TEST_CASE("a backup in a folder that cannot be written to opens like any other") {
    TestBook b;
    b.car("MARSH-07");
    std::filesystem::create_directory(b.folder().file("disc"));
    const std::string file = b.folder().file("disc/b.baybook");
    BackupOptions o;
    o.now = b.now;
    REQUIRE(backup(b.book(), file, o).ok());
    std::filesystem::permissions(b.folder().file(""), std::filesystem::perms::owner_all | std::filesystem::perms::others_exec | std::filesystem::perms::group_exec);
    const ReadOnly disc(file);
    CHECK(as_a_stranger([&] {
            const auto r = opened(file, Access::read);
            return r.ok() && r->backup() && prove(*r)->findings.empty() ? 0 : 1;
          }) == 0);
  }

  TEST_CASE("no book is begun on a network share unless somebody insists, and one that is there says so") {
    Folder f;
    TestBook b;
    {
      const FileSystem nfs(0x6969);
      const auto refused = Book::start(f.file("b.baybook"), marsh(), kNow, repeatable(1));
      REQUIRE_FALSE(refused.ok());
      CHECK(refused.refusal().code == Code::unwritable);
      CHECK(refused.refusal().what.find("network share") != std::string::npos);
      CHECK_FALSE(std::filesystem::exists(f.file("b.baybook")));
      CHECK(network_share(b.file()) == Share::network);
      CHECK(opened(b.file()).ok());
      Making insist;
      insist.network_share = true;
      CHECK(Book::start(f.file("c.baybook"), marsh(), kNow, repeatable(1), insist).ok());
    }
    CHECK(network_share(b.file()) == Share::none);
    const FileSystem fuse(0x65735546);
    CHECK(network_share(b.file()) == Share::unsure);
    CHECK(Book::start(f.file("d.baybook"), marsh(), kNow, repeatable(1)).ok());
  }

  TEST_CASE("a book for a group can be read and written by the group, and its side files too") {
    Folder f;
    Making group;
    group.group = true;
    const mode_t old = ::umask(077);
    const auto b = Book::start(f.file("b.baybook"), marsh(), kNow, repeatable(1), group);
    ::umask(old);
    REQUIRE_MESSAGE(b.ok(), why(b));
    for (const char* suffix : {"", "-wal", "-shm"}) {
      CAPTURE(suffix);
      struct stat st {};
      REQUIRE(::stat((f.file("b.baybook") + suffix).c_str(), &st) == 0);
      CHECK((st.st_mode & 0777) == 0660);
    }
  }

  TEST_CASE("a book that cannot be begun for lack of room leaves no file") {
    Folder f;
    for (const rlim_t most : {rlim_t{0}, rlim_t{4096}, rlim_t{40'000}}) {
      CAPTURE(most);
      const pid_t child = ::fork();
      REQUIRE(child >= 0);
      if (child == 0) {
        std::signal(SIGXFSZ, SIG_IGN);
        const rlimit limit{most, most};
        ::setrlimit(RLIMIT_FSIZE, &limit);
        bool refused = false;
        {
          const auto b = Book::start(f.file("b.baybook"), marsh(), kNow, repeatable(1));
          refused = !b.ok() && (b.refusal().code == Code::unwritable || b.refusal().code == Code::unreadable || b.refusal().code == Code::unknown_outcome);
        }
        leave(refused ? 0 : 1);
      }
      int status = 0;
      REQUIRE(::waitpid(child, &status, 0) == child);
      CHECK(WEXITSTATUS(status) == 0);
      CHECK(std::filesystem::is_empty(f.file("")));
    }
  }
}
