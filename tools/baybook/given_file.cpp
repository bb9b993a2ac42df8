#include "given_file.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

Refusal cannot_be_read(const std::string& path, const std::string& why) {
  return Refusal{Code::unreadable,
                 visible(path) + " is not a file that can be read",
                 why,
                 "the path of the file",
                 {}};
}

const char* kind_of(mode_t mode) {
  if (S_ISDIR(mode)) return "it is a folder";
  if (S_ISFIFO(mode)) return "it is a pipe, and nothing waits for one";
  return "it is a device or a socket";
}

bool is_of(const struct stat& st, const std::string& book) {
  for (const char* suffix : {"", "-wal", "-shm", "-journal", ".lock"}) {
    struct stat b {};
    if (!book.empty() && ::stat((book + suffix).c_str(), &b) == 0 && b.st_dev == st.st_dev &&
        b.st_ino == st.st_ino)
      return true;
  }
  return false;
}

}  // namespace

Result<GivenFile> GivenFile::open(const std::string& path, const std::string& book, bool or_input) {
  if (or_input && path == "-") return GivenFile(path, 0);
  struct stat st {};
  // Looked at before it is opened: opening a device can do something, and closing the book's own
  // file does.
  if (::stat(path.c_str(), &st) != 0) return cannot_be_read(path, std::strerror(errno));
  if (!S_ISREG(st.st_mode)) return cannot_be_read(path, kind_of(st.st_mode));
  if (is_of(st, book)) return cannot_be_read(path, "it is the book that is open, or belongs to it");
  const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
  if (fd < 0) return cannot_be_read(path, std::strerror(errno));
  if (::fstat(fd, &st) != 0 || !S_ISREG(st.st_mode)) {
    ::close(fd);
    return cannot_be_read(path, kind_of(st.st_mode));
  }
  return GivenFile(path, fd);
}

GivenFile::GivenFile(GivenFile&& other) noexcept : path_(std::move(other.path_)), fd_(other.fd_) {
  other.fd_ = 0;
}

GivenFile::~GivenFile() {
  if (fd_ > 0) ::close(fd_);
}

Result<std::pair<std::string, std::string>> GivenFile::ends(std::size_t bytes) const {
  struct stat st {};
  if (::fstat(fd_, &st) != 0) return cannot_be_read(path_, std::strerror(errno));
  std::pair<std::string, std::string> out;
  const auto piece = [&](std::string& into, off_t from) {
    into.resize(std::min(bytes, static_cast<std::size_t>(st.st_size)));
    for (std::size_t done = 0; done < into.size();) {
      const ssize_t n = ::pread(fd_, into.data() + done, into.size() - done,
                                from + static_cast<off_t>(done));
      if (n < 0 && errno == EINTR) continue;
      if (n < 0) return false;
      if (n == 0) into.resize(done);  // it has become shorter since
      done += static_cast<std::size_t>(n);
    }
    return true;
  };
  const off_t last = std::max<off_t>(0, st.st_size - static_cast<off_t>(bytes));
  if (!piece(out.first, 0) || !piece(out.second, last))
    return cannot_be_read(path_, std::strerror(errno));
  return out;
}

Result<std::string> GivenFile::next() {
  std::string piece(std::size_t{1} << 16, '\0');
  ssize_t n = 0;
  do {
    n = ::read(fd_, piece.data(), piece.size());
  } while (n < 0 && errno == EINTR);
  if (n < 0)
    return Refusal{
        Code::unreadable,
        visible(path_) + ": it could not be read to the end (" + std::strerror(errno) + ")",
        "",
        "the file again",
        {}};
  piece.resize(static_cast<std::size_t>(n));
  return piece;
}

}  // namespace baybook::tool
