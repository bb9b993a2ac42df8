// Runs the real program in an empty folder of its own, as a person at a terminal or a script would.
#pragma once

#include "support/hints.hpp"

#include <cerrno>
#include <cstdio>
#include <cstdlib>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <pty.h>
#include <set>
#include <stdexcept>
#include <string>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>
#include <utility>
#include <vector>

namespace baybook::test {

struct Answer {
  int status = -1;
  std::string out, err;
};

/// The bytes of a file.
inline std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// An empty folder with the program in reach. Nothing of the caller's surroundings reaches the program: no book, no name, a clock that
/// stands still, and a zone that is neither UTC nor the site's.
class Shop {
 public:
  Shop() {
    std::string name = (std::filesystem::temp_directory_path() / "baybook-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) throw std::runtime_error("no temporary folder");
    root_ = name;
    std::filesystem::create_directory(folder());
  }
  ~Shop() {
    std::error_code ignored;
    std::filesystem::permissions(folder(), std::filesystem::perms::owner_all, ignored);
    std::filesystem::remove_all(root_, ignored);
  }
  Shop(const Shop&) = delete;
  Shop& operator=(const Shop&) = delete;

  [[nodiscard]] std::filesystem::path folder() const { return root_ / "shop"; }
  [[nodiscard]] std::filesystem::path file(const std::string& name) const { return folder() / name; }
  std::string now = "2026-03-05T09:40:00.000Z";
  std::vector<std::pair<std::string, std::string>> variables{};  ///< for the program, beside the fixed ones

  /// Runs `baybook args...`. `out_to`: a file for standard output instead of being gathered ("/dev/full").
  Answer run(const std::vector<std::string>& args, const std::string& out_to = "") const {
    const std::string out = out_to.empty() ? (root_ / "out").string() : out_to;
    const std::string err = (root_ / "err").string();
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) {
      const int o = ::open(out.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
      become(args, o, ::open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600));
    }
    Answer a;
    a.status = wait_for(child);
    if (out_to.empty()) a.out = bytes_of(out);
    a.err = bytes_of(err);
    // Every refusal that any test meets is looked at: what it says to type must be safe to type.
    for (const std::string& hint : hints_in(a.err)) {
      if (const std::string harm = harm_of(hint); !harm.empty())
        throw std::runtime_error("a hint does harm: " + hint + ": " + harm);
    }
    for (const std::string& said : {a.err, a.out}) {
      for (const std::string& hint : hints_in(said)) {
        if (const std::string wrong = not_whole(hint); !wrong.empty())
          throw std::runtime_error("a hint is no whole command: " + hint + ": " + wrong);
      }
    }
    return a;
  }

  /// Why a hint that begins with the program's name is not a command that the program takes apart
  /// without a complaint; empty: it is one, or names no command. It is typed where there is no book.
  [[nodiscard]] std::string not_whole(const std::string& hint) const {
    if (!hint.starts_with("baybook ")) return {};
    if (!whole_.insert(hint).second) return {};
    std::vector<std::string> words = words_of_hint(hint);
    if (words.empty()) return "it is no line that a shell takes";
    for (std::size_t i = 0; i < words.size(); ++i) {
      // Nothing of the shop, nor of the machine, is read or written by this.
      if (words[i].find('/') != std::string::npos) words[i] = "nothing-here";
      if (i > 0 && words[i - 1] == "--book") words[i] = "none.baybook";
    }
    const std::filesystem::path nowhere = root_ / "nowhere";
    std::filesystem::create_directory(nowhere);
    const std::string err = (root_ / "hint").string();
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) {
      if (::chdir(nowhere.c_str()) != 0) ::_exit(126);
      const int to = ::open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600);
      ::dup2(::open("/dev/null", O_RDONLY), 0);
      ::dup2(to, 1);
      ::dup2(to, 2);
      ::clearenv();
      ::setenv("BAYBOOK_NOW", now.c_str(), 1);
      ::setenv("BAYBOOK_BOOK", "none.baybook", 1);
      execute(words);
    }
    const int status = wait_for(child);
    const std::string said = bytes_of(err);
    // A verb that was typed without all that it needs, and alone, prints its help.
    const bool helps = status == 0 && words.front() != "help" && words.front() != "rules" &&
                       words.front() != "completion" && words != std::vector<std::string>{"pickup"};
    return status == 2 || helps || status > 100 ? said : std::string();
  }

  /// Starts it with its output thrown away, and does not wait for its end.
  pid_t begin(const std::vector<std::string>& args) const {
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) become(args, ::open("/dev/null", O_WRONLY), ::open("/dev/null", O_WRONLY));
    return child;
  }
  /// Its status at its end; 128 and the signal when one ended it.
  static int end(pid_t child) { return wait_for(child); }

  /// Runs it with standard output and error on a terminal of that size; what the terminal got is in `out`.
  Answer run_on_terminal(const std::vector<std::string>& args, unsigned short rows, unsigned short columns) const {
    winsize size{rows, columns, 0, 0};
    int master = -1;
    int slave = -1;
    if (::openpty(&master, &slave, nullptr, nullptr, &size) != 0) throw std::runtime_error("no terminal");
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) {
      ::close(master);
      become(args, slave, ::dup(slave));
    }
    ::close(slave);
    Answer a;
    char part[4096];
    for (ssize_t n = 0; (n = ::read(master, part, sizeof part)) > 0 || (n < 0 && errno == EINTR);) {
      if (n > 0) a.out.append(part, static_cast<std::size_t>(n));
    }
    ::close(master);
    a.status = wait_for(child);
    std::erase(a.out, '\r');
    return a;
  }

  /// Runs it with everything on a terminal, at which somebody types `typed`; what the terminal showed is in `out`.
  Answer run_at_terminal(const std::vector<std::string>& args, const std::string& typed) const {
    winsize size{40, 80, 0, 0};
    int master = -1;
    int slave = -1;
    if (::openpty(&master, &slave, nullptr, nullptr, &size) != 0) throw std::runtime_error("no terminal");
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) {
      ::close(master);
      become(args, slave, ::dup(slave), ::dup(slave));
    }
    ::close(slave);
    if (::write(master, typed.data(), typed.size()) < 0) throw std::runtime_error("nobody can type");
    Answer a;
    char part[4096];
    for (ssize_t n = 0; (n = ::read(master, part, sizeof part)) > 0 || (n < 0 && errno == EINTR);) {
      if (n > 0) a.out.append(part, static_cast<std::size_t>(n));
    }
    ::close(master);
    a.status = wait_for(child);
    std::erase(a.out, '\r');
    return a;
  }

  /// Runs it with a standard output that nobody reads any more.
  Answer run_into_closed_pipe(const std::vector<std::string>& args) const {
    int ends[2];
    if (::pipe(ends) != 0) throw std::runtime_error("no pipe");
    ::close(ends[0]);
    const std::string err = (root_ / "err").string();
    const pid_t child = ::fork();
    if (child < 0) throw std::runtime_error("no child");
    if (child == 0) become(args, ends[1], ::open(err.c_str(), O_WRONLY | O_CREAT | O_TRUNC, 0600));
    ::close(ends[1]);
    Answer a;
    a.status = wait_for(child);
    a.err = bytes_of(err);
    return a;
  }

 private:
  static int wait_for(pid_t child) {
    int status = 0;
    while (::waitpid(child, &status, 0) < 0) {
      if (errno != EINTR) throw std::runtime_error("the child was lost");
    }
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }

  [[noreturn]] void become(const std::vector<std::string>& args, int out, int err, int in = -1) const {
    if (::chdir(folder().c_str()) != 0 || out < 0 || err < 0) ::_exit(126);
    ::dup2(in >= 0 ? in : ::open("/dev/null", O_RDONLY), 0);
    ::dup2(out, 1);
    ::dup2(err, 2);
    ::clearenv();
    ::setenv("BAYBOOK_NOW", now.c_str(), 1);
    ::setenv("TZ", "Asia/Kathmandu", 1);
    ::setenv("PATH", "/usr/bin:/bin", 1);
    for (const auto& [name, value] : variables) ::setenv(name.c_str(), value.c_str(), 1);
    execute(args);
  }

  [[noreturn]] static void execute(const std::vector<std::string>& args) {
    std::vector<std::string> all = {"baybook"};
    all.insert(all.end(), args.begin(), args.end());
    std::vector<char*> pointers;
    for (std::string& a : all) pointers.push_back(a.data());
    pointers.push_back(nullptr);
    ::execv(BAYBOOK_PROGRAM, pointers.data());
    ::_exit(127);
  }

  std::filesystem::path root_;
  mutable std::set<std::string> whole_{};  ///< hints that were looked at
};

/// A shop with a book in it: places of every role, a product, a person, a car with two circuits, and an open job with 5.4 L of its coolant
/// in pan-1. Every command must go well.
class OpenShop : public Shop {
 public:
  OpenShop() {
    variables = {{"BAYBOOK_BOOK", "m.baybook"}};
    must({"start", "m.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--zone", "Europe/Lisbon"});
    must({"person", "add", "Tam"});
    must({"place", "add", "pan-1", "--role", "catch", "--size", "20L"});
    must({"place", "add", "keep-1", "--role", "reuse", "--size", "20L"});
    must({"place", "add", "drum-coolant", "--role", "waste", "--takes", "coolant", "--size", "180L"});
    must({"place", "add", "drum-absorb", "--role", "waste", "--takes", "absorbent", "--size", "60kg"});
    must({"place", "add", "can-1", "--role", "stock", "--size", "25L"});
    must({"fluid", "add", "oat-violet", "--class", "coolant", "--product", "Violet OAT premix"});
    must({"receive", "oat-violet", "20L", "--into", "can-1", "--lot", "7731"});
    must({"car", "add", "MARSH-07", "--make", "Corvane", "--model", "Tern", "--year", "2014", "--circuit", "coolant=6.8L:OAT", "--circuit", "engine-oil=4.2L"});
    must({"job", "open", "MARSH-07", "--odo", "88210km", "--for", "water pump weeping"});
    must({"drain", "1", "coolant", "5.4L", "--into", "pan-1"});
  }
  Answer must(const std::vector<std::string>& args) const {
    Answer a = run(args);
    if (a.status != 0) {
      std::string line;
      for (const std::string& s : args) line += " " + s;
      throw std::runtime_error("baybook" + line + " answered " + std::to_string(a.status) + ": " + a.err);
    }
    return a;
  }
  /// Everything that the book tells about its log, its levels and its soundness.
  [[nodiscard]] std::string dump() const { return must({"entries", "--json", "--newest", "100000"}).out + must({"levels", "--circuits", "--json"}).out + must({"prove", "--json"}).out; }
};

/// `text` with every run of blanks and line ends as one blank: lines are broken to fit the screen.
inline std::string flat(const std::string& text) {
  std::string out;
  for (const char c : text) {
    if (c != '\n' && c != ' ') out += c;
    else if (!out.empty() && out.back() != ' ') out += ' ';
  }
  return out;
}

/// Whether `text` is one JSON document and nothing else, by another program's reader.
inline bool is_json(const std::string& text) {
  std::string name = (std::filesystem::temp_directory_path() / "baybook-json-XXXXXX").string();
  const int fd = ::mkstemp(name.data());
  if (fd < 0) return false;
  const bool written = ::write(fd, text.data(), text.size()) == static_cast<ssize_t>(text.size());
  ::close(fd);
  const std::string command = "python3 -m json.tool " + name + " >/dev/null 2>&1";
  const int status = std::system(command.c_str());
  ::unlink(name.c_str());
  return written && status == 0 && !text.empty() && text.back() == '\n';
}

}  // namespace baybook::test
