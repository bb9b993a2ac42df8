// Keeping a book: copies of it, and whether the place it lies in is fit for it.
#pragma once

#include <baybook/reports.hpp>

BAYBOOK_API_BEGIN
namespace baybook {

/// Where a file lies, as far as SQLite's locks are concerned.
enum class Share : std::uint8_t {
  none,     ///< a disk of this machine
  unsure,   ///< a file system of a program (FUSE): a stick or a share
  network,  ///< NFS, SMB, 9P and their like: two programs would not see each other's locks
};
/// Of the folder in which `path` is or would be.
[[nodiscard]] Share network_share(const std::string& path);

struct BackupOptions {
  Instant now{};            ///< goes into the mark
  bool force = false;       ///< over a file of that name, unless it is a book that somebody writes in
  bool papers = true;       ///< the papers beside the book too, into the folder beside the copy
  Progress progress{};
};
struct Backup {
  std::string path;
  std::string seal;                    ///< of the book's own installation, as the copy has it: to be noted outside
  std::vector<std::string> seals{};    ///< of every installation in it
  std::int64_t entries = 0;
  std::int64_t bytes = 0;
  std::int64_t papers = 0;             ///< copied, or there already, and read again
  std::vector<Finding> findings{};     ///< what is missing from it: papers that are not what was put on record
  bool was_there = false;              ///< backup_into: nothing new was in the book, the copy of that name was read again
};
/// Makes one file that holds the book as it is at one moment, while others may be writing: rollback journal, mode 0600, marked as a backup
/// so that nothing is ever written to it. It is read again from end to end before it gets its name. Refuses: already_there,
/// not_allowed (over a book), unsound (the book itself is not sound), unwritable; then all is as it was before.
[[nodiscard]] Result<Backup> backup(const Book& book, const std::string& path, const BackupOptions& options);

/// Makes a copy that goes on by itself, as a new installation with a tag of its own: of a backup, when the book is lost, or of a book, for another
/// machine. It begins with an opening that names the last entry and digest of the installation it was. Refuses also: unclear (the tag),
/// already_there (the tag is that of an installation in the book).
[[nodiscard]] Result<Backup> continue_as(const Book& book, const std::string& path, const std::string& tag, const BackupOptions& options);

struct Rotation {
  Backup made;
  std::vector<std::string> kept{};      ///< backups of this installation in the folder, the newest first, this one too
  std::vector<std::string> removed{};   ///< the oldest ones beyond `keep`
  std::vector<Finding> findings{};      ///< why none was removed
};
/// backup() into a folder under a name made of tag, day, number and digest; then removes the oldest beyond `keep` (0: none). Only a file of
/// such a name that is a backup of this very installation is counted or removed, and none when one of them holds what this book does not.
[[nodiscard]] Result<Rotation> backup_into(const Book& book, const std::string& folder, int keep, const BackupOptions& options);

}  // namespace baybook
BAYBOOK_API_END
