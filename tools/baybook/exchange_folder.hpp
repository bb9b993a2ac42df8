// A folder that books of one workshop share: the exchange files in it, and this book's own.
#pragma once

#include <string>
#include <vector>

namespace baybook::tool {

class Context;

struct FolderFile {
  std::string name;
  std::string path;
  /// other: no exchange file, left alone. book: a book lies there, which is not exchanged by its
  /// file. own: this book wrote it. unchanged: taken in before, as it is. to_read: by another book,
  /// or by an older program that does not say whose it is. bad: named like one, and none that is
  /// whole; `why` says what it is.
  enum class Is : unsigned char { other, book, own, unchanged, to_read, bad } is = Is::other;
  std::string why{};
};

/// What lies in the folder, by name; what is hidden, a link to nowhere or no file is left out.
/// Throws Refused when it is no folder that can be read.
[[nodiscard]] std::vector<FolderFile> look_into(Context& c, const std::string& folder);

/// The path that this book's file gets there: named by tag and identity, unless another file has
/// that name.
[[nodiscard]] std::string own_path(Context& c, const std::string& folder);

/// Takes away what an interrupted run of this very book left beside that path.
void remove_leftovers(const std::string& own_path, const std::vector<FolderFile>& all);

}  // namespace baybook::tool
