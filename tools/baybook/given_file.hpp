// A file that somebody named, to be read: a list, a rule file, an exchange file, a paper, the
// settings.
#pragma once

#include <baybook/result.hpp>

#include <string>
#include <string_view>
#include <utility>

namespace baybook::tool {

class GivenFile {
 public:
  /// Opens it, or refuses at once: what is no file (a folder, a pipe, a device, which would be
  /// waited for), what is not there or may not be read, and the book with what lies beside it: to
  /// close another descriptor of those would drop the locks that SQLite holds on them.
  /// "-" is standard input where `or_input` says so. `book` may be empty.
  [[nodiscard]] static Result<GivenFile> open(const std::string& path, const std::string& book,
                                              bool or_input = false);
  GivenFile(GivenFile&& other) noexcept;
  GivenFile& operator=(GivenFile&&) = delete;
  GivenFile(const GivenFile&) = delete;
  GivenFile& operator=(const GivenFile&) = delete;
  ~GivenFile();

  /// The next bytes, at most 64 KiB; none at the end. Refuses when the disk does not give them.
  [[nodiscard]] Result<std::string> next();
  /// The first and the last bytes of it, at most so many; of a short file they overlap. What
  /// next() gives is not moved.
  [[nodiscard]] Result<std::pair<std::string, std::string>> ends(std::size_t bytes) const;
  [[nodiscard]] const std::string& path() const { return path_; }

 private:
  GivenFile(std::string path, int fd) : path_(std::move(path)), fd_(fd) {}
  std::string path_;
  int fd_;
};

}  // namespace baybook::tool
