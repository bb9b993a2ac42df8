#include "store/db.hpp"

#include "store/schema.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <map>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::store {

namespace {

// SQLite's result codes in the words of a refusal. What is not listed is a damaged or unreadable file.
[[noreturn]] void fail(const SQLite::Exception& e, const std::string& file, bool in_commit = false) {
  const int primary = e.getErrorCode() & 0xff;
  if (primary == SQLITE_NOMEM) throw std::bad_alloc();
  if (in_commit && primary != SQLITE_BUSY) {
    throw Failure(Code::unknown_outcome, file + ": the entry may or may not be stored (the commit failed)",
                  "look at the last entries, then repeat with the same --once key");
  }
  switch (primary) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
      throw Failure(Code::busy, file + ": another program is writing; nothing was written", "the same again in a moment");
    case SQLITE_FULL:
      throw Failure(Code::unwritable, file + ": the disk or the quota is full; nothing was written", "make room, then the same again");
    case SQLITE_READONLY:
    case SQLITE_PERM:
    case SQLITE_CANTOPEN:
      throw Failure(Code::unwritable, file + ": cannot be written (folder or file is read-only); nothing was written",
                    "a book in a folder you may write to");
    case SQLITE_NOTADB:
      throw Failure(Code::unreadable, file + ": is not a book", "the path of a book made by baybook start");
    case SQLITE_CORRUPT:
      throw Failure(Code::unsound, file + ": the file is damaged (" + e.what() + ")", "baybook prove --book " + file);
    case SQLITE_IOERR:
      throw Failure(Code::unreadable, file + ": reading or writing the disk failed", "check the disk, then baybook prove --book " + file);
    default:
      throw Failure(Code::unsound, file + ": " + e.what(), "baybook prove --book " + file);
  }
}

std::string absolute(const std::string& path) {
  // SQLite must never see a name that it could take for a URI (file:...?vfs=unix-none opens without locks).
  if (!path.empty() && path.front() == '/') return path;
  return "./" + path;
}

int on_wal(void* frames, sqlite3*, const char*, int pages) {
  *static_cast<int*>(frames) = pages;
  return SQLITE_OK;
}

}  // namespace

Query::~Query() {
  s_->tryReset();
  s_->clearBindings();
}

Query& Query::bind(std::int64_t value) {
  s_->bind(next_++, static_cast<int64_t>(value));
  return *this;
}

Query& Query::bind(std::string_view text) {
  s_->bind(next_++, std::string(text));
  return *this;
}

Query& Query::bind_blob(const void* data, std::size_t size) {
  s_->bindNoCopy(next_++, data, static_cast<int>(size));
  return *this;
}

bool Query::step() {
  try {
    return s_->executeStep();
  } catch (const SQLite::Exception& e) {
    fail(e, std::string(file_));
  }
}

void Query::run() {
  try {
    s_->exec();
  } catch (const SQLite::Exception& e) {
    fail(e, std::string(file_));
  }
}

int Query::changed() {
  try {
    return s_->exec();
  } catch (const SQLite::Exception& e) {
    fail(e, std::string(file_));
  }
}

std::int64_t Query::num(int column) const {
  const SQLite::Column c = s_->getColumn(column);
  if (c.getType() != SQLITE_INTEGER) {
    throw Failure(Code::unsound, std::string(file_) + ": a number is missing where one must be (damaged file)", "baybook prove");
  }
  return c.getInt64();
}

std::string Query::text(int column) const {
  const SQLite::Column c = s_->getColumn(column);
  if (c.getType() != SQLITE_TEXT) {
    throw Failure(Code::unsound, std::string(file_) + ": a text is missing where one must be (damaged file)", "baybook prove");
  }
  // Text first, bytes second: a text may hold a NUL, so its length never comes from strlen.
  const char* data = c.getText();
  return std::string(data, static_cast<std::size_t>(c.getBytes()));
}

std::string Query::blob(int column) const {
  const SQLite::Column c = s_->getColumn(column);
  if (c.getType() != SQLITE_BLOB) {
    throw Failure(Code::unsound, std::string(file_) + ": bytes are missing where they must be (damaged file)", "baybook prove");
  }
  const void* data = c.getBlob();
  const auto size = static_cast<std::size_t>(c.getBytes());
  return size == 0 ? std::string() : std::string(static_cast<const char*>(data), size);
}

Db::Db(const std::string& path, Mode mode) : path_(path), mode_(mode) {
  const std::string file = absolute(path);
  struct stat st {};
  const bool there = ::stat(file.c_str(), &st) == 0;
  const int why = errno;
  if (mode == Mode::create) {
    if (there) throw Failure(Code::already_there, path + ": there is a file of that name already", "another name");
    // Made here, not by SQLite, so that it is 0600 whatever the umask and never through a link.
    const int fd = ::open(file.c_str(), O_RDWR | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
    if (fd < 0) {
      const int e = errno;
      if (e == ENOENT) throw Failure(Code::unwritable, path + ": there is no such folder", "mkdir the folder first");
      throw Failure(Code::unwritable, path + ": cannot be made here (" + std::strerror(e) + ")", "a name in a folder you may write to");
    }
    ::close(fd);
  } else {
    if (!there) {
      if (why == EACCES) throw Failure(Code::unreadable, path + ": no permission to read it", "ask its owner");
      throw Failure(Code::unreadable, path + ": there is no such book", "baybook start " + path + " --site \"...\" --tag bay");
    }
    if (S_ISDIR(st.st_mode)) throw Failure(Code::unreadable, path + ": is a folder, not a book", "the path of the book in it");
    if (st.st_size == 0) throw Failure(Code::unreadable, path + ": is empty, not a book", "the path of a book made by baybook start");
    if (mode == Mode::write && ::access(file.c_str(), W_OK) != 0) {
      throw Failure(Code::unwritable, path + ": cannot be written (" + std::strerror(errno) + ")", "a book you may write to");
    }
  }
  try {
    const int flags = (mode == Mode::read && ::access(file.c_str(), W_OK) != 0) ? SQLite::OPEN_READONLY : SQLite::OPEN_READWRITE;
    db_ = std::make_unique<SQLite::Database>(file, flags, 5000);
    if (mode == Mode::create) {
      db_->exec("PRAGMA page_size=4096");
      db_->exec("PRAGMA application_id=" + std::to_string(kApplicationId));
      db_->exec("PRAGMA journal_mode=WAL");
      prepare_connection();
      begin();
      db_->exec(kLogTables);
      db_->exec(kDerivedTables);
      db_->exec(kViews);
      db_->exec("PRAGMA user_version=" + std::to_string(kVersion));
    } else {
      check_identity();
      prepare_connection();
    }
  } catch (const SQLite::Exception& e) {
    if ((e.getErrorCode() & 0xff) == SQLITE_CANTOPEN && mode == Mode::read) {
      throw Failure(Code::unreadable, path + ": cannot be opened here (a read-only folder without its side files)", "copy the book with its -wal file to a folder you may write to");
    }
    fail(e, path_);
  }
}

Db::~Db() {
  if (!db_) return;
  if (writing_) rollback();
  kept_.clear();
  // Lazy close: folding the write-ahead log into the file costs more than a whole short command; it is done when 64 pages
  // have come together, so that the next start has little to read (docs/decisions/0002).
  if (mode_ != Mode::read && wal_frames_ >= 64) sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr);
}

void Db::prepare_connection() {
  sqlite3* raw = db_->getHandle();
  sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  int on = 1;
  sqlite3_file_control(raw, "main", SQLITE_FCNTL_PERSIST_WAL, &on);
  sqlite3_wal_hook(raw, on_wal, &wal_frames_);  // replaces the automatic checkpoint; see resident() and the destructor
  sqlite3_limit(raw, SQLITE_LIMIT_LENGTH, 64 * 1024 * 1024);
  db_->exec("PRAGMA synchronous=FULL; PRAGMA cell_size_check=1; PRAGMA mmap_size=0; PRAGMA foreign_keys=0");
}

void Db::check_identity() {
  const auto pragma = [&](const char* sql) { return db_->execAndGet(sql).getInt(); };
  int app = 0;
  int version = 0;
  try {
    app = pragma("PRAGMA application_id");
    version = pragma("PRAGMA user_version");
  } catch (const SQLite::Exception& e) {
    fail(e, path_);
  }
  if (app != kApplicationId) throw Failure(Code::unreadable, path_ + ": is not a book", "the path of a book made by baybook start");
  if (version > kVersion) {
    throw Failure(Code::unreadable, path_ + ": was written by a newer baybook (format " + std::to_string(version) + ", this one knows " + std::to_string(kVersion) + "); left untouched",
                  "a newer baybook");
  }
  // The tables must be word for word the known ones: a view in place of the log, or a trigger on it, could hide or swallow entries.
  static const std::map<std::string, std::string> known = [] {
    std::map<std::string, std::string> out;
    for (const char* part : {kLogTables, kDerivedTables, kViews}) {
      std::string text(part);
      std::size_t at = 0;
      while ((at = text.find("CREATE ", at)) != std::string::npos) {
        const std::size_t end = text.find(";\n", at);
        std::string sql = text.substr(at, end - at);
        const std::size_t name_at = sql.find(' ', 7) + 1;
        const std::size_t name_end = sql.find_first_of("( ", name_at);
        out[sql.substr(name_at, name_end - name_at)] = sql;
        at = end;
      }
    }
    return out;
  }();
  SQLite::Statement rows(*db_, "SELECT name, sql FROM sqlite_schema WHERE name NOT LIKE 'sqlite_autoindex_%'");
  std::size_t seen = 0;
  while (rows.executeStep()) {
    const std::string name = rows.getColumn(0).getString();
    const auto it = known.find(name);
    if (it == known.end() || rows.getColumn(1).isNull() || it->second != rows.getColumn(1).getString()) {
      throw Failure(Code::unreadable, path_ + ": holds a table that no book has (" + name + "); left untouched", "a backup of the book");
    }
    ++seen;
  }
  if (seen != known.size()) throw Failure(Code::unreadable, path_ + ": tables of a book are missing; left untouched", "a backup of the book");
}

Query Db::query(const char* sql) {
  auto& slot = kept_[sql];
  if (!slot) {
    try {
      slot = std::make_unique<SQLite::Statement>(*db_, sql);
    } catch (const SQLite::Exception& e) {
      fail(e, path_);
    }
  }
  return Query(*slot, path_);
}

void Db::exec(const char* sql) {
  try {
    db_->exec(sql);
  } catch (const SQLite::Exception& e) {
    fail(e, path_);
  }
}

void Db::begin() {
  exec("BEGIN IMMEDIATE");
  writing_ = true;
}

void Db::commit() {
  try {
    db_->exec("COMMIT");
    writing_ = false;
  } catch (const SQLite::Exception& e) {
    rollback();
    fail(e, path_, true);
  }
  if (checkpoint_at_ > 0 && wal_frames_ >= checkpoint_at_) {
    sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_PASSIVE, nullptr, nullptr);
  }
}

void Db::rollback() noexcept {
  writing_ = false;
  try {
    db_->exec("ROLLBACK");
  } catch (...) {
    // SQLite has rolled back by itself already.
  }
}

void Db::begin_read() {
  if (writing_ || reading_) return;
  exec("BEGIN");
  reading_ = true;
}

void Db::end_read() noexcept {
  if (!reading_) return;
  reading_ = false;
  try {
    db_->exec("COMMIT");
  } catch (...) {
  }
}

void Db::resident() { checkpoint_at_ = 4000; }

void Db::cache(int kib) { exec(("PRAGMA cache_size=-" + std::to_string(kib)).c_str()); }

std::string Db::integrity() {
  try {
    SQLite::Statement check(*db_, "PRAGMA integrity_check(1)");
    return check.executeStep() ? check.getColumn(0).getString() : "no answer";
  } catch (const SQLite::Exception& e) {
    return e.what();
  }
}

}  // namespace baybook::store
