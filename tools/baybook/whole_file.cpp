#include "whole_file.hpp"

#include "context.hpp"

#include <baybook/text.hpp>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::tool {

namespace {

std::uint64_t add(std::uint64_t hash, std::string_view bytes) {
  for (const char c : bytes) hash = (hash ^ static_cast<std::uint8_t>(c)) * 1099511628211U;
  return hash;
}

std::string folder_of(const std::string& path) {
  const std::size_t slash = path.rfind('/');
  return slash == std::string::npos ? "." : slash == 0 ? "/" : path.substr(0, slash);
}

}  // namespace

void WholeFile::cannot(const char* what) const {
  const int error = errno;
  refuse(Code::unwritable, visible(path_) + ": " + what + " (" + std::strerror(error) + ")",
         "nothing was left half written", how_.another);
}

WholeFile::WholeFile(std::string path, Placing how) : path_(std::move(path)), how_(std::move(how)) {
  (void)need(may_take_name(path_, how_));
  beside_ = path_ + ".part-" + std::to_string(::getpid());
  fd_ = ::open(beside_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
  if (fd_ < 0) {
    beside_.clear();
    cannot("it cannot be written");
  }
}

WholeFile::~WholeFile() {
  if (fd_ >= 0) ::close(fd_);
  if (!beside_.empty()) ::unlink(beside_.c_str());
}

void WholeFile::share_as_the_folder() const {
  struct stat folder {};
  if (::stat(folder_of(path_).c_str(), &folder) != 0 || (folder.st_mode & S_IWGRP) == 0) return;
  // Of the folder's own group, or of nobody's: not of whatever group this user happens to have.
  struct stat own {};
  if (::fstat(fd_, &own) != 0) return;
  if (own.st_gid != folder.st_gid && ::fchown(fd_, static_cast<uid_t>(-1), folder.st_gid) != 0) return;
  // A file system without modes (a stick) has none to change.
  (void)::fchmod(fd_, 0640);
}

void WholeFile::write(std::string_view bytes) {
  written_ = add(written_, bytes);
  bytes_ += static_cast<std::int64_t>(bytes.size());
  while (!bytes.empty()) {
    const ssize_t n = ::write(fd_, bytes.data(), bytes.size());
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) cannot("it could not be written to the end");
    bytes.remove_prefix(static_cast<std::size_t>(n));
  }
}

void WholeFile::finish() {
  if (::fsync(fd_) != 0) cannot("it could not be made safe on disk");
  // Read again before anybody is told that it is there.
  std::uint64_t read = 14695981039346656037U;
  char piece[65536];
  for (std::int64_t at = 0; at < bytes_;) {
    const ssize_t n = ::pread(fd_, piece, sizeof piece, static_cast<off_t>(at));
    if (n < 0 && errno == EINTR) continue;
    if (n <= 0) cannot("it could not be read again");
    read = add(read, {piece, static_cast<std::size_t>(n)});
    at += n;
  }
  if (read != written_) refuse(Code::unwritable, visible(path_) + " reads otherwise than it was written", "", "another disk");
  (void)need(take_name(beside_, path_, how_));
  beside_.clear();
  if (!sync_folder_of(path_)) refuse(Code::unwritable, visible(path_) + " is there, but its folder could not be made safe on disk (" + std::strerror(errno) + ")", "after a power cut it may be gone", "another disk");
}

bool sync_folder_of(const std::string& path) {
  const std::string folder = folder_of(path);
  const int dir = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  // A folder that may be written and not read cannot be synced, some file systems cannot do it at all: no error of what was written.
  if (dir < 0) return errno == EACCES;
  const bool done = ::fsync(dir) == 0 || errno == EINVAL || errno == ENOTSUP;
  const int e = errno;
  ::close(dir);
  errno = e;
  return done;
}

}  // namespace baybook::tool
