#include "out.hpp"

#include <cerrno>
#include <csignal>
#include <fcntl.h>
#include <unistd.h>

namespace baybook::tool {

bool Out::flush() {
  if (error_ != 0) return false;
  std::size_t done = 0;
  while (done < held_.size()) {
    const ssize_t n = ::write(fd_, held_.data() + done, held_.size() - done);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) {
      error_ = n < 0 ? errno : EIO;
      return false;
    }
    done += static_cast<std::size_t>(n);
  }
  held_.clear();
  return true;
}

bool Out::reader_gone() const { return error_ == EPIPE; }

void write_at_once(int fd, const char* text, std::size_t size) noexcept {
  while (size > 0) {
    const ssize_t n = ::write(fd, text, size);
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) return;
    text += n;
    size -= static_cast<std::size_t>(n);
  }
}

void prepare_streams() {
  for (int fd = 0; fd <= 2; ++fd) {
    if (::fcntl(fd, F_GETFD) == -1 && errno == EBADF) {
      // Opened the wrong way round on purpose: what is written there fails and is noticed, instead of landing in a book.
      const int got = ::open("/dev/null", fd == 0 ? O_WRONLY : O_RDONLY);
      if (got != fd && got >= 0) ::close(got);
    }
  }
  std::signal(SIGPIPE, SIG_IGN);
  std::signal(SIGXFSZ, SIG_IGN);
}

}  // namespace baybook::tool
