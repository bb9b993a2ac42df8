// Names of files: where they lie, how one is made, and how one gets its name without taking another's.
#include "store/paths.hpp"
#include "support/leave.hpp"
#include "support/test_book.hpp"

#include "store/db.hpp"

#include <cerrno>
#include <cstddef>
#include <fstream>
#include <functional>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

using namespace baybook;
using namespace baybook::test;

namespace {

void write_file(const std::string& path, const std::string& text) { std::ofstream(path, std::ios::binary) << text; }

std::string bytes_of(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

Code code_of(const std::function<void()>& what) {
  try {
    what();
  } catch (const store::Failure& f) {
    return f.code;
  }
  return Code::ambiguous;  // nothing here is
}

/// Runs `what` in a child in which the system call `number` answers `error`; its exit status.
int where_a_call_answers(long number, int error, const std::function<int()>& what) {
  const pid_t child = ::fork();
  REQUIRE(child >= 0);
  if (child == 0) {
    const sock_filter rules[] = {
        {BPF_LD | BPF_W | BPF_ABS, 0, 0, offsetof(seccomp_data, nr)},
        {BPF_JMP | BPF_JEQ | BPF_K, 0, 1, static_cast<unsigned>(number)},
        {BPF_RET | BPF_K, 0, 0, SECCOMP_RET_ERRNO | static_cast<unsigned>(error)},
        {BPF_RET | BPF_K, 0, 0, SECCOMP_RET_ALLOW},
    };
    sock_fprog program{};
    program.len = sizeof rules / sizeof *rules;
    program.filter = const_cast<sock_filter*>(rules);
    if (::prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) != 0 || ::prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) != 0) leave(99);
    leave(what());
  }
  int status = 0;
  REQUIRE(::waitpid(child, &status, 0) == child);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

}  // namespace

TEST_SUITE("store/paths") {
  TEST_CASE("a name that SQLite could take for an option or a URI is given with its folder") {
    CHECK(store::absolute("/a/b") == "/a/b");
    CHECK(store::absolute("b") == "./b");
    CHECK(store::absolute("file:b?mode=ro") == "./file:b?mode=ro");
    CHECK(store::absolute("") == "./");
    CHECK(store::folder_of("/a/b") == "/a");
    CHECK(store::folder_of("/a") == "/");
    CHECK(store::folder_of("a") == ".");
  }

  TEST_CASE("a path in a URI has every byte that is not unreserved as a percent sign and two digits (RFC 3986, sections 2.1 and 2.3)") {
    CHECK(store::immutable_uri("/a/B_9-z.baybook") == "file:/a/B_9-z.baybook?immutable=1");
    CHECK(store::immutable_uri("a b") == "file:./a%20b?immutable=1");
    CHECK(store::immutable_uri("///a?b#c%41") == "file:/a%3Fb%23c%2541?immutable=1");
    CHECK(store::immutable_uri("/caf\xC3\xA9{}@[`") == "file:/caf%C3%A9%7B%7D%40%5B%60?immutable=1");
    CHECK(store::immutable_uri("/") == "file:/?immutable=1");
  }

  TEST_CASE("a file is made where none is, never through a link, and only in a folder that is there") {
    Folder f;
    store::make_new(f.file("a"), 0600);
    struct stat st {};
    REQUIRE(::stat(f.file("a").c_str(), &st) == 0);
    CHECK((st.st_mode & 0777) == 0600);
    CHECK(code_of([&] { store::make_new(f.file("a"), 0600); }) == Code::already_there);
    REQUIRE(::symlink(f.file("elsewhere").c_str(), f.file("link").c_str()) == 0);
    CHECK(code_of([&] { store::make_new(f.file("link"), 0600); }) == Code::already_there);
    CHECK_FALSE(std::filesystem::exists(f.file("elsewhere")));
    CHECK(code_of([&] { store::make_new(f.file("none/a"), 0600); }) == Code::unwritable);
    CHECK(code_of([&] { store::make_new(f.file("a/b"), 0600); }) == Code::unwritable);
    // A folder that is a link to itself: nothing of that name is there.
    REQUIRE(::symlink(f.file("round").c_str(), f.file("round").c_str()) == 0);
    CHECK(code_of([&] { store::make_new(f.file("round/a"), 0600); }) == Code::unwritable);
  }

  TEST_CASE("a passing name is one that nobody has, and after a thousand tries the folder is full of them") {
    Folder f;
    const std::string first = store::make_beside(f.file("b"), 0600);
    CHECK(first == f.file("b") + ".part-" + std::to_string(::getpid()));
    CHECK(store::make_beside(f.file("b"), 0600) == first + "-1");
    for (int n = 2; n <= 1000; ++n) write_file(first + "-" + std::to_string(n), "");
    CHECK(code_of([&] { (void)store::make_beside(f.file("b"), 0600); }) == Code::already_there);
  }

  TEST_CASE("a file gets its name where nothing has it, and keeps its passing name otherwise") {
    Folder f;
    write_file(f.file("part"), "new");
    write_file(f.file("there"), "old");
    CHECK_FALSE(store::name_it(f.file("part"), f.file("there")));
    CHECK(errno == EEXIST);
    CHECK(bytes_of(f.file("there")) == "old");
    CHECK_FALSE(store::name_it(f.file("part"), f.file("none/b")));
    CHECK(errno == ENOENT);
    CHECK(store::name_it(f.file("part"), f.file("b")));
    CHECK(bytes_of(f.file("b")) == "new");
    CHECK_FALSE(std::filesystem::exists(f.file("part")));
  }

  TEST_CASE("the same holds where a rename cannot refuse to replace: then by a link, and where there are none by looking first") {
    Folder f;
    for (const int error : {EINVAL, ENOSYS}) {
      CAPTURE(error);
      write_file(f.file("part"), "new");
      write_file(f.file("there"), "old");
      std::filesystem::remove(f.file("b"));
      CHECK(where_a_call_answers(SYS_renameat2, error, [&] { return store::name_it(f.file("part"), f.file("there")) ? 1 : errno == EEXIST ? 0 : 2; }) == 0);
      CHECK(bytes_of(f.file("there")) == "old");
      CHECK(where_a_call_answers(SYS_renameat2, error, [&] { return store::name_it(f.file("part"), f.file("b")) ? 0 : 1; }) == 0);
      CHECK(bytes_of(f.file("b")) == "new");
      CHECK_FALSE(std::filesystem::exists(f.file("part")));
    }
    // Neither: a folder cannot be linked.
    std::filesystem::create_directory(f.file("folder"));
    std::filesystem::create_directory(f.file("taken"));
    CHECK(where_a_call_answers(SYS_renameat2, EINVAL, [&] { return store::name_it(f.file("folder"), f.file("moved")) ? 0 : 1; }) == 0);
    CHECK(std::filesystem::exists(f.file("moved")));
    write_file(f.file("a"), "x");
    CHECK(where_a_call_answers(SYS_renameat2, EINVAL, [&] { return store::name_it(f.file("none"), f.file("c")) ? 1 : 0; }) == 0);
    CHECK_FALSE(std::filesystem::exists(f.file("c")));
  }

  TEST_CASE("where a folder cannot be synced that is no fault of the file in it, a file that cannot be synced is a fault") {
    Folder f;
    write_file(f.file("a"), "x");
    CHECK(store::sync_path(f.file("a"), false));
    CHECK(store::sync_path(f.file(""), true));
    CHECK_FALSE(store::sync_path(f.file("none"), false));
    CHECK_FALSE(store::sync_path(f.file("none"), true));
    CHECK_FALSE(store::sync_path(f.file("a"), true));  // no folder
    for (const int error : {EINVAL, ENOTSUP, EIO}) {
      CAPTURE(error);
      CHECK(where_a_call_answers(SYS_fsync, error, [&] { return store::sync_path(f.file("a"), false) ? 1 : 0; }) == 0);
      CHECK(where_a_call_answers(SYS_fsync, error, [&] { return store::sync_path(f.file(""), true) == (error != EIO) ? 0 : 1; }) == 0);
    }
    // A folder that may be written and not read.
    CHECK(where_a_call_answers(SYS_openat, EACCES, [&] { return store::sync_path(f.file(""), true) && !store::sync_path(f.file("a"), false) ? 0 : 1; }) == 0);
  }

  TEST_CASE("a file has content when it is there and not empty") {
    Folder f;
    write_file(f.file("a"), "");
    write_file(f.file("b"), "x");
    CHECK_FALSE(store::has_content(f.file("none")));
    CHECK_FALSE(store::has_content(f.file("a")));
    CHECK(store::has_content(f.file("b")));
  }
}
