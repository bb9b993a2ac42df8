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

/// Whether a log lies beside the file of a book that this program does not have open (any more): another
/// program has it open, or was stopped in the middle and nobody has opened the book since. The newest
/// entries may be in that log: the file copied alone is an older book.
[[nodiscard]] bool log_beside(const std::string& path);

/// How a file that a program makes gets its name, and what it must never take the place of.
struct Placing {
  bool force = false;  ///< over a file that is there already, if it is none of those that stay
  /// The open book, and other files that stay whatever they hold (settings, what is being read).
  /// Compared by device and inode, so that another spelling, a link or a second mount of the same
  /// folder is the same file. Empty names are passed over.
  std::string book{};
  std::vector<std::string> stays{};
  /// Without `force` too, over an exchange file that this installation wrote (32 hexadecimal
  /// digits; empty: over none), and over an empty file. The caller knows that nothing in it is lost.
  std::string own_exchange{};
  std::string another = "another name";  ///< what a refusal says to type instead
  /// A paper under the name of its digest, into the folder of papers: the only thing that may go
  /// there.
  bool paper = false;
};
/// Whether a file may get the name `path`. Refuses:
///   wrong_usage    the name is empty
///   not_allowed    with `force` or not: a name of what lies beside a book (-wal, -shm, -journal,
///   .lock), or in a folder of papers. With
///                  `force`: a book, a backup or another SQLite database is there, of whatever
///                  version and however damaged; a list of erasures; settings, rules or intervals;
///                  one of `stays`
///   already_there  a file is there and `force` is not said; a link, a folder, no file; the log of
///   a book that is gone
/// `--force` is offered only over what this program printed: no hint takes away what it does not
/// know.
[[nodiscard]] Result<Done> may_take_name(const std::string& path, const Placing& how);
/// Gives the finished file `part`, which lies in the same folder, the name `path`. What it takes
/// the place of is looked at once more, after the two have changed places: what was looked at is
/// what goes. Refuses as may_take_name, and `unwritable`; then `part` is as it was. The folder is
/// not synced.
[[nodiscard]] Result<Done> take_name(const std::string& part, const std::string& path,
                                     const Placing& how);

struct BackupOptions {
  Instant now{};            ///< goes into the mark
  bool force = false;  ///< over a file of that name: a backup of which this book has every entry,
                       ///< or what may_take_name lets go
  bool papers = true;       ///< the papers beside the book too, into the folder beside the copy
  Progress progress{};
  bool in_place_of_lost = false;  ///< of a copy that goes on: see waits_for (exchange.hpp). Of a
                                  ///< backup that goes on it is always so
};
/// An erasure that a copy does not know: the texts that it named stand in the copy.
struct UnknownErasure {
  std::string erasure{};  ///< "57@bay"; empty when its installation is not in the copy either
  Day day{};              ///< when it was erased
  /// Entry and field, as `erase entry` takes them.
  std::vector<std::pair<std::string, std::string>> texts{};
};
struct Backup {
  std::string path;
  std::string seal;                    ///< of the book's own installation, as the copy has it: to be noted outside
  std::vector<std::string> seals{};    ///< of every installation in it
  std::int64_t entries = 0;
  std::int64_t bytes = 0;
  std::int64_t papers = 0;             ///< copied, or there already, and read again
  std::vector<Finding> findings{};     ///< what is missing from it: papers that are not what was put on record
  /// Of a copy that goes on: what was erased after it was made, as far as a list beside it or the book that it
  /// replaces tells. It is to be erased again.
  std::vector<UnknownErasure> erasures{};
  /// What has to be settled in it, as `prove` counts it; 0 where its tables cannot be read.
  std::int64_t conflicts = 0;
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

struct RestoreOptions {
  Instant now{};
  std::string tag{};       ///< of the installation that goes on; empty: that of the backup with the next free number
  bool over_newer = false; ///< also over a book that opens and has entries which the backup does not have
  Progress progress{};
};
struct Restored {
  Backup made;
  std::string tag;
  std::string aside{};     ///< what lay at `path` before lies under this name now; empty when nothing did
  std::int64_t only_there = 0;  ///< entries of the book aside that the backup does not have; -1: it does not open
};
/// Puts a copy of `book` (a backup, or another book) in the place `path` and lets it go on there as an installation of its own. What lay there, the
/// file with its log, is put aside under another name: nothing is written over. Refuses: already_there (another program writes in the book there),
/// not_allowed (the book there has entries that the backup has not, without `over_newer`, or is the same file), and as continue_as; then all is as it was before.
[[nodiscard]] Result<Restored> restore(const Book& book, const std::string& path, const RestoreOptions& options);

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
