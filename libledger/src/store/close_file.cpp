// The end of an open book: its log goes into the file, so that a book at rest is one file with everything
// in it (docs/decisions/0020).
//
// SQLite does it when the last connection closes; of two that close in the same moment each still sees
// the other, and both leave the log. So closing goes through the queue: the next one begins when this one
// is gone. Who writes meanwhile is not waited for: that one closes later, and does it.
#include "store/db.hpp"
#include "store/paths.hpp"

#include <baybook/keep.hpp>

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <sys/stat.h>

namespace baybook::store {

// From here on SQLite brings the log into the file as it closes, and takes away what lay beside it, if
// nobody else has the book open.
void Db::let_settle() noexcept {
  sqlite3* raw = db_->getHandle();
  sqlite3_db_config(raw, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 0, nullptr);
  int off = 0;
  sqlite3_file_control(raw, "main", SQLITE_FCNTL_PERSIST_WAL, &off);
}

void Db::close() noexcept {
  // After a failed commit nothing is moved: the next start reads what the disk has. A file that got another
  // name has another's log beside the old one.
  if (failed_ || !may_settle_ || !same_file() || queue_.file_is_read_alone()) {
    db_.reset();
    return;
  }
  if (queue_.wait_to_settle() != Queue::Turn::with_writer) {
    let_settle();
    db_.reset();
    queue_.leave();
    return;
  }
  db_.reset();
  try {
    settle_after_writer();
  } catch (...) {
    // The next command does it.
  }
}

// That writer may have been gone before this connection was: then nobody else is left to do it.
void Db::settle_after_writer() {
  struct stat st {};
  if (queue_.somebody_writes() || ::stat((file_ + "-wal").c_str(), &st) != 0) return;
  if (queue_.wait_long_to_settle() == Queue::Turn::with_writer) return;
  try {
    SQLite::Database again(file_, SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX);
    sqlite3_db_config(again.getHandle(), SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
    sqlite3_db_config(again.getHandle(), SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
    again.exec("PRAGMA schema_version");  // the log is opened with the first look at the file
  } catch (const SQLite::Exception&) {
    // The next command does it.
  }
  queue_.leave();
}

}  // namespace baybook::store

namespace baybook {

bool log_beside(const std::string& path) {
  struct stat st {};
  return ::stat((store::absolute(path) + "-wal").c_str(), &st) == 0;
}

}  // namespace baybook
