#include "terminal.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>
#include <sys/ioctl.h>
#include <sys/wait.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

constexpr std::string_view kBold = "\x1b[1m";
constexpr std::string_view kRed = "\x1b[1;31m";
constexpr std::string_view kYellow = "\x1b[33m";
constexpr std::string_view kPlain = "\x1b[0m";

// Marks that stand out wherever they occur in an answer.
constexpr std::string_view kLoud[] = {"CAME BACK", "WITHDRAWN", "[withdrawn]", "NOT SOUND", "SEALED", "RETIRED", "SCRAPPED", "may be over"};

}  // namespace

bool colour_for(int fd, Colour wanted) {
  if (wanted == Colour::never) return false;
  if (wanted == Colour::always) return true;
  const char* no = std::getenv("NO_COLOR");
  if (no != nullptr && *no != '\0') return false;
  const char* term = std::getenv("TERM");
  if (term == nullptr || *term == '\0' || std::strcmp(term, "dumb") == 0) return false;
  return ::isatty(fd) == 1;
}

std::string coloured(std::string_view text, bool is_error) {
  std::string out;
  out.reserve(text.size() + 64);
  bool first = true;
  std::string_view going_on;  // a line that goes on below an error's prefix keeps its weight
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    std::string_view style;
    if (is_error) {
      if (line.starts_with("type: ")) style = kBold;
      else if (line.starts_with("baybook: ")) style = kRed;
      else if (line.starts_with("check: ")) style = kYellow;
      else if (line.starts_with(" ")) style = going_on;
      going_on = style;
    } else if (first && !line.empty() && line.front() != ' ' && line.front() != '{') {
      style = kBold;
    }
    first = false;
    if (!style.empty()) {
      out.append(style).append(line).append(kPlain);
    } else {
      while (!line.empty()) {
        std::size_t at = std::string_view::npos;
        std::string_view word;
        for (const std::string_view loud : kLoud) {
          const std::size_t here = line.find(loud);
          if (here < at) {
            at = here;
            word = loud;
          }
        }
        out.append(line.substr(0, at));
        if (at == std::string_view::npos) break;
        out.append(kBold).append(word).append(kPlain);
        line.remove_prefix(at + word.size());
      }
    }
    out += '\n';
  }
  return out;
}

bool paged(const std::string& text, const std::string& pager) {
  if (pager.empty() || pager == "cat" || ::isatty(1) != 1) return false;
  winsize size{};
  if (::ioctl(1, TIOCGWINSZ, &size) != 0 || size.ws_row == 0) return false;
  if (std::count(text.begin(), text.end(), '\n') < size.ws_row) return false;
  int ends[2];
  if (::pipe(ends) != 0) return false;
  const pid_t child = ::fork();
  if (child < 0) {
    ::close(ends[0]);
    ::close(ends[1]);
    return false;
  }
  if (child == 0) {
    std::signal(SIGPIPE, SIG_DFL);
    ::dup2(ends[0], 0);
    ::close(ends[0]);
    ::close(ends[1]);
    ::execl("/bin/sh", "sh", "-c", pager.c_str(), static_cast<char*>(nullptr));
    ::_exit(127);
  }
  ::close(ends[0]);
  std::size_t done = 0;
  while (done < text.size()) {
    const ssize_t n = ::write(ends[1], text.data() + done, text.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) break;  // the reader left early: it has seen enough
    done += static_cast<std::size_t>(n);
  }
  ::close(ends[1]);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  // 126 and 127: there is no such pager, and nothing was shown.
  return !(WIFEXITED(status) && (WEXITSTATUS(status) == 126 || WEXITSTATUS(status) == 127));
}

bool can_ask() { return ::isatty(0) == 1 && ::isatty(2) == 1; }

std::string typed_line() {
  std::string out;
  for (char ch = 0; out.size() < 64;) {
    const ssize_t n = ::read(0, &ch, 1);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0 || ch == '\n') break;
    if (ch != '\r') out += ch;
  }
  return out;
}

}  // namespace baybook::tool
