// How a book that is there is opened: what is looked at before SQLite sees it, and what lies beside it.
#include "store/db.hpp"
#include "log/chain.hpp"
#include "store/paths.hpp"

#include <baybook/text.hpp>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cstring>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace baybook::store {

namespace {

constexpr int kMostLooks = 100;

// SQLite plays a rollback journal that lies beside a file back into it, whatever it holds, before a word of the file can be looked at. A
// book is kept in WAL mode and leaves none.
void refuse_journal(const std::string& path, const std::string& file) {
  struct stat st {};
  // A pipe there would be waited for until somebody writes into it.
  for (const char* suffix : {"-wal", "-shm", "-journal"}) {
    if (::stat((file + suffix).c_str(), &st) == 0 && !S_ISREG(st.st_mode))
      throw Failure(Code::unreadable,
                    path + suffix + " lies beside it and is no file; left untouched",
                    "move it elsewhere, then baybook prove --book " + as_typed(path));
  }
  if (::stat((file + "-journal").c_str(), &st) != 0 || st.st_size == 0) return;
  throw Failure(Code::unreadable,
                path + "-journal lies beside it: no book leaves one, and reading the book with it "
                       "would change it; left untouched",
                "move that file elsewhere, then baybook prove --book " + as_typed(path));
}

// Two names of one file have a log each: what is written under one is not seen under the other.
Failure two_names(const std::string& path, unsigned long names) {
  return Failure(Code::unwritable,
                 path + ": the file has " + std::to_string(names) +
                     " names (hard links); written under two of them it would become two books in one file. Nothing was written",
                 "cp " + as_typed(path) + " " + as_typed(path + ".copy") + " && mv " + as_typed(path + ".copy") + " " + as_typed(path));
}

// The names of the log before this one and of this one, as the book says: they stand in `beside` under "log".
std::pair<std::string, std::string> log_names(Db& db) {
  auto q = db.query("SELECT value FROM beside WHERE name = 'log'");
  if (!q.step()) return {};
  const std::string both = q.blob(0);
  const std::size_t blank = std::min(both.find(' '), both.size());
  return {both.substr(0, blank), both.substr(std::min(blank + 1, both.size()))};
}

// What the file itself holds last, without what lies beside it; none when that cannot be told, as after
// a program was stopped while it brought the log in.
std::optional<LastEntry> last_of_file_alone(const std::string& path) {
  try {
    Db alone(path, Db::Mode::alone);
    const std::int64_t origin = alone.query("SELECT origin FROM installation WHERE own = 1").step_num();
    auto q = alone.query("SELECT id, digest, body FROM entry WHERE id < ? ORDER BY id DESC LIMIT 2");
    q.bind((origin + 1) << 40);
    if (origin == 0 || !q.step() || q.num(0) >> 40 != origin) return std::nullopt;
    const LastEntry last{q.num(0), q.blob(1), log_names(alone).second};
    const std::string body = q.text(2);
    // A page that was being written when a program was stopped may be half of one and half of the
    // other: only an entry that follows from the one before says what the file holds.
    log::Digest previous = log::genesis;
    if (q.step() && q.num(0) >> 40 == origin) {
      const std::string before = q.blob(1);
      if (before.size() != previous.size()) return std::nullopt;
      std::copy(before.begin(), before.end(), previous.begin());
    }
    if (log::hex(log::chain_digest(previous, body)) != log::hex_of(last.digest)) return std::nullopt;
    if (alone.integrity() != "ok") return std::nullopt;
    return last;
  } catch (const Failure&) {
    return std::nullopt;
  }
}

Failure foreign_log(const std::string& path) {
  return Failure(Code::unreadable,
                 path + "-wal lies beside it and does not go on from this file: it was left by another book, or by this one before a copy was "
                        "put over it. Read together they would be mixed; both are left untouched",
                 "mv " + as_typed(path + "-wal") + " " + as_typed(path + "-wal.aside"));
}

}  // namespace

void Db::look_at_file(const std::string& file) {
  const std::string& path = path_;
  struct stat st {};
  if (::stat(file.c_str(), &st) != 0) {
    if (errno == EACCES) throw Failure(Code::unreadable, path + ": no permission to read it", "ask its owner");
    // Where a book was, an empty one of its name would take its place: its log, and its papers,
    // would be taken for the new one's.
    const bool was = has_content(file + "-wal") || ::stat((file + ".papers").c_str(), &st) == 0;
    throw Failure(Code::unreadable,
                  path + ": there is no such book" +
                      (was ? "; what lay beside one of that name is still there" : ""),
                  was ? "the book back in its place, or a backup of it"
                      : "the path of the book; a new one is made by baybook start " +
                            as_typed(path) + " --site \"...\" --tag bay");
  }
  if (S_ISDIR(st.st_mode)) throw Failure(Code::unreadable, path + ": is a folder, not a book", "the path of the book in it");
  if (!S_ISREG(st.st_mode)) throw Failure(Code::unreadable, path + ": is no file, so not a book", "the path of a book made by baybook start");
  if (st.st_size == 0) throw Failure(Code::unreadable, path + ": is empty, not a book", "the path of a book made by baybook start");
  // Of a file that ends within its first header SQLite would take the write-ahead log for another's and delete it: the newest entries.
  if (st.st_size < 100) {
    const bool log = has_content(file + "-wal");
    throw Failure(Code::unreadable, path + ": is not a book, it ends after " + std::to_string(st.st_size) + (st.st_size == 1 ? " byte" : " bytes") + (log ? "; the newest entries of one may be in " + path + "-wal: keep it" : ""),
                  log ? "a backup of the book" : "the path of a book made by baybook start");
  }
  refuse_journal(path, file);
  if (mode_ != Mode::write) return;
  if (::access(file.c_str(), W_OK) != 0) throw Failure(Code::unwritable, path + ": cannot be written (" + std::strerror(errno) + ")", "a book you may write to");
  if (st.st_nlink > 1) throw two_names(path, st.st_nlink);
}

void Db::open_existing(const std::string& file) {
  if (mode_ == Mode::alone) return open_there(true);
  queue_.open(file);
  // Nearly never: a book at rest has no log beside it.
  auto last = has_content(file + "-wal") ? last_of_file_alone(path_) : std::nullopt;
  for (int again = 0; !open_beside_log(file, last); ++again) {
    // Other programs may have brought their logs in since the file was looked at. Only one that is
    // as it was then says that the log is not its own.
    auto now = last_of_file_alone(path_);
    if (now == last) throw foreign_log(path_);
    if (again == kMostLooks) throw CannotRead(Code::busy, path_ + ": is written by other programs without a pause", "the same again in a moment");
    last = std::move(now);
  }
}

// False when what is seen through the log does not go on from the file as it was.
bool Db::open_beside_log(const std::string& file, const std::optional<LastEntry>& last) {
  try {
    open_as_it_lies(file);
    if (!last || continues(*last)) return true;
  } catch (const CannotRead&) {
    throw;
  } catch (const Failure& f) {
    if (!last || (f.code != Code::unsound && f.code != Code::unreadable)) throw;
  }
  kept_.clear();
  db_.reset();
  reading_ = false;
  return false;
}

void Db::open_as_it_lies(const std::string& file) {
  struct stat st {};
  const bool may_settle = ::access(file.c_str(), W_OK) == 0 && ::stat(file.c_str(), &st) == 0 && st.st_nlink == 1;
  const auto log = [&] { return has_content(file + "-wal") || has_content(file + "-journal"); };
  // Who may not write in the file makes nothing beside it. Others wait until it was read before they change it.
  if (mode_ == Mode::read && !may_settle && !log() && queue_.read_file_alone()) {
    if (!log()) return open_there(true);
    queue_.stop_reading_alone();
  }
  try {
    open_there(false);
  } catch (const Failure& f) {
    kept_.clear();
    db_.reset();
    reading_ = false;
    if (mode_ != Mode::read || f.code != Code::unwritable) throw;
    // SQLite cannot make its index beside a book on read-only media. Nobody can write there either, so the file alone is the book,
    // unless newer entries lie beside it.
    if (::access(folder_of(file).c_str(), W_OK) == 0) throw CannotRead(Code::unreadable, path_ + ": cannot be opened here", "a copy of it in another folder");
    if (log()) {
      throw CannotRead(Code::unreadable, path_ + ": has newer entries in the file beside it, and this folder cannot be written to", "copy it with its -wal file to a folder you may write to, or read a backup");
    }
    (void)queue_.read_file_alone();
    open_there(true);
  }
}

// Whether the next commit is the first of a log. A file in rollback mode has none.
bool Db::log_begins() const {
  struct stat st {};
  return part_.empty() && (log_is_in_ || (::stat((file_ + "-wal").c_str(), &st) == 0 && st.st_size == 0));
}

// Each log says after which one it comes: an older or a newer file is not taken for the one it was written beside.
void Db::name_log() {
  const std::string before = log_names(*this).second;
  std::int64_t count = 0;
  (void)std::from_chars(before.data(), before.data() + before.size(), count);
  std::string digest;
  {
    auto q = query("SELECT lower(hex(substr(digest, 1, 8))) FROM entry WHERE id < ((SELECT origin FROM installation WHERE own = 1) + 1) << 40 ORDER BY id DESC LIMIT 1");
    if (q.step()) digest = q.text(0);
  }
  const std::string both = before + " " + std::to_string(std::max<std::int64_t>(count, 0) % 1'000'000'000'000 + 1) + ":" + digest;
  auto q = query("INSERT OR REPLACE INTO beside(name, value) VALUES('log', ?)");
  q.bind_blob(both.data(), both.size()).run();
  log_is_in_ = false;
}

void Db::forget_log() { query("INSERT OR REPLACE INTO beside(name, value) VALUES('log', CAST(' 0:copy' AS BLOB))").run(); }

// Whether what is seen through the log goes on from the file as it is by itself.
bool Db::continues(const LastEntry& of_file) {
  // One snapshot: what others add meanwhile is no gap.
  const bool own = !reading_;
  begin_read();
  const bool whole = continues_here(of_file);
  if (own) end_read();
  return whole;
}

bool Db::continues_here(const LastEntry& of_file) {
  const auto [before, now] = log_names(*this);
  if (!now.empty() && of_file.log != before && of_file.log != now) return false;
  {
    auto q = query("SELECT digest FROM entry WHERE id = ?");
    q.bind(of_file.id);
    if (!q.step() || q.blob(0) != of_file.digest) return false;
  }
  const std::int64_t none = of_file.id >> 40 << 40;  // the number 0 of that installation
  const auto without_gap = [&](std::int64_t from) {
    auto q = query("SELECT count(*), max(id) FROM entry WHERE id >= ?1 AND id < ?2");
    q.bind(from).bind(none + (std::int64_t{1} << 40));
    return q.step() && q.num(0) == q.num(1) - from + 1 ? q.num(1) : 0;
  };
  const std::int64_t last = without_gap(of_file.id);
  // A log that brings no entry may be older than the file: then its pages hide some that came before.
  return last > of_file.id || (last == of_file.id && without_gap(none + 1) == last);
}

void Db::note_file(bool may_write) {
  const char* name = sqlite3_db_filename(db_->getHandle(), "main");
  file_ = name == nullptr ? absolute(path_) : name;
  struct stat st {};
  if (::stat(file_.c_str(), &st) != 0) st = {};
  device_ = st.st_dev;
  inode_ = st.st_ino;
  may_settle_ = may_write && st.st_nlink == 1;
}

bool Db::same_file() const noexcept {
  struct stat st {};
  return ::stat(file_.c_str(), &st) == 0 && st.st_dev == device_ && st.st_ino == inode_;
}

void Db::must_be_there(bool to_write) const {
  if (alone_ || file_.empty()) return;
  if (!same_file()) throw Failure(Code::unreadable, path_ + ": was moved, removed or replaced while this program had it open; nothing was written", "open it again");
  struct stat st {};
  if (to_write && ::stat(file_.c_str(), &st) == 0 && st.st_nlink > 1) throw two_names(path_, st.st_nlink);
}

}  // namespace baybook::store
