#include "store/paths.hpp"

#include "store/db.hpp"

#include <cerrno>
#include <climits>
#include <cstdio>
#include <cstring>
#include <fcntl.h>
#include <new>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::store {

std::string absolute(const std::string& path) {
  if (!path.empty() && path.front() == '/') return path;
  return "./" + path;
}

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
}

std::string immutable_uri(const std::string& path) {
  constexpr char digits[] = "0123456789ABCDEF";
  std::string out = "file:";
  // An authority would begin with two slashes; a path that does so has them as one.
  std::string name = absolute(path);
  while (name.size() > 1 && name[0] == '/' && name[1] == '/') name.erase(0, 1);
  for (const char c : name) {
    const auto u = static_cast<unsigned char>(c);
    if ((u >= 'a' && u <= 'z') || (u >= 'A' && u <= 'Z') || (u >= '0' && u <= '9') || u == '/' || u == '.' || u == '-' || u == '_') {
      out += c;
    } else {
      out += '%';
      out += digits[u >> 4];
      out += digits[u & 15];
    }
  }
  return out + "?immutable=1";
}

void make_new(const std::string& path, unsigned mode) {
  const int fd = ::open(absolute(path).c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, static_cast<mode_t>(mode));
  if (fd < 0) {
    const int e = errno;
    if (e == EEXIST) throw Failure(Code::already_there, path + ": there is a file of that name already", "another name");
    if (e == ENOENT) throw Failure(Code::unwritable, path + ": there is no such folder", "mkdir the folder first");
    throw Failure(Code::unwritable, path + ": cannot be made here (" + std::strerror(e) + ")", "a name in a folder you may write to");
  }
  // The umask may have taken away more than it should; SQLite gives its side files the same mode.
  (void)::fchmod(fd, static_cast<mode_t>(mode));
  ::close(fd);
}

bool sync_path(const std::string& path, bool folder) {
  const int fd = ::open(path.c_str(), O_RDONLY | O_CLOEXEC | (folder ? O_DIRECTORY : 0));
  // A folder that may be written and not read cannot be synced, some file systems cannot do it at all: no error of what was written.
  if (fd < 0) return folder && errno == EACCES;
  const bool done = ::fsync(fd) == 0 || (folder && (errno == EINVAL || errno == ENOTSUP));
  ::close(fd);
  return done;
}

bool has_content(const std::string& path) {
  struct stat st {};
  return ::stat(path.c_str(), &st) == 0 && st.st_size > 0;
}

std::string make_beside(const std::string& path, unsigned mode) {
  // A number may come again, and a file of its last owner still be there.
  for (int n = 0;; ++n) {
    const std::string part = path + ".part-" + std::to_string(::getpid()) + (n == 0 ? "" : "-" + std::to_string(n));
    struct stat st {};
    if (::lstat(absolute(part).c_str(), &st) == 0 && n < 1000) continue;
    make_new(part, mode);
    return part;
  }
}

bool name_it(const std::string& part, const std::string& path) noexcept {
  try {
    const std::string from = absolute(part);
    const std::string to = absolute(path);
    if (::renameat2(AT_FDCWD, from.c_str(), AT_FDCWD, to.c_str(), RENAME_NOREPLACE) == 0) return true;
    if (errno != EINVAL && errno != ENOSYS) return false;
    // A file system or a kernel without that: a link fails as well where a file is.
    if (::link(from.c_str(), to.c_str()) == 0) {
      ::unlink(from.c_str());
      return true;
    }
    if (errno == EEXIST) return false;
    struct stat st {};
    if (::lstat(to.c_str(), &st) == 0) {
      errno = EEXIST;
      return false;
    }
    return ::rename(from.c_str(), to.c_str()) == 0;
  } catch (const std::bad_alloc&) {
    errno = ENOMEM;
    return false;
  }
}

int open_folder_of(const std::string& file) noexcept {
  try {
    return ::open(folder_of(file).c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  } catch (const std::bad_alloc&) {
    return -1;
  }
}

void remove_with_side_files(const std::string& path) noexcept {
  // Called where memory may be what is missing: nothing is allocated. A longer path names no file.
  char name[PATH_MAX + 16];
  if (path.size() >= PATH_MAX) return;
  for (const char* suffix : {"", "-wal", "-shm", "-journal"}) {
    std::memcpy(name, path.data(), path.size());
    std::strcpy(name + path.size(), suffix);
    ::unlink(name);
  }
}

std::string system_words(int error) { return std::strerror(error); }

}  // namespace baybook::store
