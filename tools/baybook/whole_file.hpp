// A file that is whole or not there: written beside its name, synced, read again, put in its place, the folder synced.
#pragma once

#include <baybook/keep.hpp>

#include <cstdint>
#include <string>
#include <string_view>

namespace baybook::tool {

class WholeFile {
 public:
  /// Refuses what baybook::may_take_name refuses, and a folder that cannot be written.
  WholeFile(std::string path, Placing how);
  WholeFile(const WholeFile&) = delete;
  WholeFile& operator=(const WholeFile&) = delete;
  /// Without finish() nothing is left.
  ~WholeFile();

  /// In a folder that its group may write in, whoever is of that group may read the file; else it is
  /// for its owner alone, as every file is.
  void share_as_the_folder() const;

  void write(std::string_view bytes);
  /// Puts it in its place once it reads as it was written.
  void finish();
  [[nodiscard]] std::int64_t bytes() const { return bytes_; }

 private:
  [[noreturn]] void cannot(const char* what) const;
  std::string path_, beside_;
  Placing how_;
  int fd_ = -1;
  std::int64_t bytes_ = 0;
  std::uint64_t written_ = 14695981039346656037U;  ///< FNV-1a of what was written, to compare with what is read again
};

/// Makes the names in the folder of `path` safe on disk; false, with errno, when the system reports an error.
[[nodiscard]] bool sync_folder_of(const std::string& path);

}  // namespace baybook::tool
