#include "store/db.hpp"

#include <baybook/book.hpp>

#include "store/paths.hpp"
#include "store/schema.hpp"
#include "store/share.hpp"

#include <SQLiteCpp/SQLiteCpp.h>
#include <sqlite3.h>

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <exception>
#include <sys/stat.h>
#include <unistd.h>
#include <utility>

namespace baybook::store {

namespace {

// What somebody who looked on threw while a statement ran (Db::on_steps). A book belongs to one
// thread, and so does what happens in it.
std::exception_ptr& thrown_in_tick() {
  thread_local std::exception_ptr thrown;
  return thrown;
}

// SQLite's result codes in the words of a refusal. What is not listed is a damaged or unreadable file.
[[noreturn]] void fail(int code, const char* words, const std::string& file, bool in_commit = false) {
  const int primary = code & 0xff;
  if (primary == SQLITE_NOMEM) throw std::bad_alloc();
  if (in_commit && primary != SQLITE_BUSY) {
    throw Failure(Code::unknown_outcome, file + ": whether it was stored is not known (" + (primary == SQLITE_FULL ? "the disk or the quota is full" : "the disk reported an error at the end of the write") + ")",
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
    case SQLITE_TOOBIG:
      throw Failure(Code::unsound, file + ": holds a value longer than 4 MiB, which no book does", "a backup of the book");
    case SQLITE_CORRUPT:
      throw Failure(Code::unsound, file + ": the file is damaged (" + words + ")",
                    "baybook prove --book " + as_typed(file));
    case SQLITE_INTERRUPT:
      if (thrown_in_tick()) std::rethrow_exception(std::exchange(thrown_in_tick(), nullptr));
      throw Failure(Code::unsound, file + ": the file is damaged (reading it leads in circles)",
                    "baybook prove --book " + as_typed(file));
    case SQLITE_IOERR:
      throw CannotRead(Code::unreadable, file + ": reading or writing the disk failed", "check the disk, then baybook prove --book " + file);
    default:
      throw Failure(Code::unsound, file + ": " + words, "baybook prove --book " + as_typed(file));
  }
}

[[noreturn]] void fail(const SQLite::Exception& e, const std::string& file, bool in_commit = false) { fail(e.getErrorCode(), e.what(), file, in_commit); }

[[noreturn]] void fail(sqlite3_stmt* statement, int code, std::string_view file, bool in_commit = false) {
  fail(code, sqlite3_errmsg(sqlite3_db_handle(statement)), std::string(file), in_commit);
}

constexpr int kStepsBetweenLooks = 100'000;

// How long SQLite waits for a lock that another program holds, in milliseconds.
constexpr int kWait = 5000;

// Pages in the write-ahead log at which a book that stays open brings them into the file, so that the log begins anew: 16 MiB.
constexpr int kLongLog = 4000;

int on_wal(void* frames, sqlite3*, const char*, int pages) {
  *static_cast<int*>(frames) = pages;
  return SQLITE_OK;
}

}  // namespace

Query::~Query() {
  sqlite3_reset(s_);
  sqlite3_clear_bindings(s_);
  --in_use_;
}

void Query::bound(int result) const {
  if (result != SQLITE_OK) fail(s_, result, file_);
}

Query& Query::bind(std::int64_t value) {
  bound(sqlite3_bind_int64(s_, next_++, value));
  return *this;
}

Query& Query::bind(std::string_view text) {
  // An empty view may have no address, and a null pointer would bind NULL.
  bound(sqlite3_bind_text64(s_, next_++, text.empty() ? "" : text.data(), text.size(), SQLITE_TRANSIENT, SQLITE_UTF8));
  return *this;
}

Query& Query::bind_blob(const void* data, std::size_t size) {
  bound(sqlite3_bind_blob64(s_, next_++, size == 0 ? "" : data, size, SQLITE_STATIC));
  return *this;
}

bool Query::step() {
  const int result = sqlite3_step(s_);
  if (result == SQLITE_ROW) return true;
  if (result != SQLITE_DONE) fail(s_, result, file_);
  return false;
}

void Query::run() {
  const int result = sqlite3_step(s_);
  if (result != SQLITE_DONE) fail(s_, result == SQLITE_ROW ? SQLITE_MISUSE : result, file_);
}

void Query::commit() {
  const int result = sqlite3_step(s_);
  if (result != SQLITE_DONE) fail(s_, result, file_, true);
}

int Query::changed() {
  run();
  return sqlite3_changes(sqlite3_db_handle(s_));
}

void Query::missing(const char* what) const {
  throw Failure(Code::unsound, std::string(file_) + ": " + what + " missing where one must be (damaged file)", "baybook prove");
}

std::int64_t Query::num(int column) const {
  if (sqlite3_column_type(s_, column) != SQLITE_INTEGER) missing("a number is");
  return sqlite3_column_int64(s_, column);
}

std::string Query::text(int column) const {
  if (sqlite3_column_type(s_, column) != SQLITE_TEXT) missing("a text is");
  // Text first, bytes second: a text may hold a NUL, so its length never comes from strlen.
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(s_, column));
  if (data == nullptr) throw std::bad_alloc();
  return std::string(data, static_cast<std::size_t>(sqlite3_column_bytes(s_, column)));
}

std::string Query::blob(int column) const {
  if (sqlite3_column_type(s_, column) != SQLITE_BLOB) missing("a string of bytes is");
  const void* data = sqlite3_column_blob(s_, column);
  const auto size = static_cast<std::size_t>(sqlite3_column_bytes(s_, column));
  return size == 0 ? std::string() : std::string(static_cast<const char*>(data), size);
}

std::string_view Query::text_or_nothing(int column) const {
  if (sqlite3_column_type(s_, column) != SQLITE_TEXT) return {};
  const auto* data = reinterpret_cast<const char*>(sqlite3_column_text(s_, column));
  return data == nullptr ? std::string_view() : std::string_view(data, static_cast<std::size_t>(sqlite3_column_bytes(s_, column)));
}

void Db::Finalize::operator()(sqlite3_stmt* statement) const noexcept { sqlite3_finalize(statement); }

Db::Db(const std::string& path, Mode mode, const Making& making) : path_(path), mode_(mode) {
  const std::string file = absolute(path);
  if (mode == Mode::create) {
    if (share_of(path) == Share::network && !making.network_share) {
      throw Failure(Code::unwritable, path + ": is on a network share; two programs would not see each other's locks there, and entries could be lost", "a disk of this machine; against this advice: --network-share");
    }
    struct stat st {};
    if (::lstat(file.c_str(), &st) == 0) throw Failure(Code::already_there, path + ": there is a file of that name already", "another name");
    // Left by a book that was lost or moved away, they would be taken for this one's.
    for (const char* suffix : {"-wal", "-journal"}) {
      if (has_content(file + suffix)) throw Failure(Code::already_there, path + suffix + " is there already, left by another book of that name", "another name");
    }
    // Made here, not by SQLite, so that its mode is right whatever the umask and it is never made through a link.
    part_ = make_beside(path, making.group ? 0660 : 0600);
  } else {
    look_at_file(file);
  }
  const auto forget = [&] {
    kept_.clear();
    db_.reset();
    reading_ = false;
  };
  try {
    if (mode == Mode::create) create();
    else open_existing(file);
  } catch (...) {
    forget();
    if (!part_.empty()) remove_with_side_files(part_);
    throw;
  }
}

void Db::create() {
  try {
    // A book belongs to one thread: SQLite need not take a lock at every call.
    db_ = std::make_unique<SQLite::Database>(absolute(part_), SQLite::OPEN_READWRITE | SQLite::OPEN_NOMUTEX, kWait);
    harden();
    db_->exec("PRAGMA page_size=4096");
    db_->exec("PRAGMA application_id=" + std::to_string(kApplicationId));
    db_->exec("PRAGMA journal_mode=WAL");
    prepare_connection();
    begin();
    db_->exec(kLogTables);
    db_->exec(kDerivedTables);
    db_->exec(kViews);
    db_->exec("PRAGMA user_version=" + std::to_string(kVersion));
  } catch (const SQLite::Exception& e) {
    fail(e, path_);
  }
}

void Db::open_there(bool immutable) {
  const std::string file = absolute(path_);
  const bool may_write = !immutable && (mode_ == Mode::write || ::access(file.c_str(), W_OK) == 0);
  alone_ = immutable;
  try {
    db_ = std::make_unique<SQLite::Database>(immutable ? immutable_uri(path_) : file,
                                             (may_write ? SQLite::OPEN_READWRITE : SQLite::OPEN_READONLY) | (immutable ? SQLite::OPEN_URI : 0) | SQLite::OPEN_NOMUTEX, kWait);
    harden();
    note_file(may_write);
    // One snapshot from the first look on; a reader keeps it until Book::open has read the opening.
    begin_read();
    check_identity();
    if (mode_ == Mode::write) end_read();
    prepare_connection();
  } catch (const SQLite::Exception& e) {
    fail(e, path_);
  }
}

void Db::reopen() {
  kept_.clear();
  db_.reset();
  reading_ = writing_ = failed_ = false;
  wal_frames_ = 0;
  mode_ = Mode::write;
  try {
    open_there(false);
  } catch (...) {
    // A file that was not looked at to the end is not read either.
    kept_.clear();
    db_.reset();
    reading_ = false;
    throw;
  }
}

SQLite::Database& Db::file() {
  if (!db_) throw Failure(Code::unreadable, path_ + ": could not be opened again after a write that failed", "look at the disk; then the same again");
  return *db_;
}

bool Db::settle() { return db_ && !queue_.file_is_read_alone() && sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr) == SQLITE_OK; }

void Db::copy_into(const std::string& path) {
  query("VACUUM INTO ?").bind(absolute(path)).run();
}

void Db::use_write_ahead() { exec("PRAGMA journal_mode=WAL"); }

Db::~Db() {
  if (db_ && writing_) rollback();
  kept_.clear();
  if (!part_.empty()) {
    db_.reset();
    remove_with_side_files(part_);
    return;
  }
  if (db_) close();
}

// Before the first byte of the file is looked at: what a hostile or damaged file may ask of this program.
void Db::harden() {
  sqlite3* raw = db_->getHandle();
  sqlite3_db_config(raw, SQLITE_DBCONFIG_DEFENSIVE, 1, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_TRUSTED_SCHEMA, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_LOAD_EXTENSION, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_ENABLE_FKEY, 0, nullptr);
  sqlite3_db_config(raw, SQLITE_DBCONFIG_NO_CKPT_ON_CLOSE, 1, nullptr);
  sqlite3_int64 nothing_mapped = 0;
  sqlite3_file_control(raw, "main", SQLITE_FCNTL_MMAP_SIZE, &nothing_mapped);
  // A body has at most 1 MiB, a rule file lies in one; the widest table has 24 columns; prove compares all tables in one statement, and a
  // backup attaches one file.
  sqlite3_limit(raw, SQLITE_LIMIT_LENGTH, 4 * 1024 * 1024);
  sqlite3_limit(raw, SQLITE_LIMIT_SQL_LENGTH, 256 * 1024);
  sqlite3_limit(raw, SQLITE_LIMIT_COLUMN, 100);
  sqlite3_limit(raw, SQLITE_LIMIT_EXPR_DEPTH, 200);
  sqlite3_limit(raw, SQLITE_LIMIT_COMPOUND_SELECT, 100);
  sqlite3_limit(raw, SQLITE_LIMIT_VDBE_OP, 100'000);
  sqlite3_limit(raw, SQLITE_LIMIT_FUNCTION_ARG, 16);
  sqlite3_limit(raw, SQLITE_LIMIT_ATTACHED, 1);
  sqlite3_limit(raw, SQLITE_LIMIT_LIKE_PATTERN_LENGTH, 1000);
  sqlite3_limit(raw, SQLITE_LIMIT_VARIABLE_NUMBER, 100);
  sqlite3_limit(raw, SQLITE_LIMIT_TRIGGER_DEPTH, 1);
  sqlite3_limit(raw, SQLITE_LIMIT_WORKER_THREADS, 0);
  sqlite3_progress_handler(raw, kStepsBetweenLooks, &Db::on_steps, this);
  steps_ = 0;
}

// Far more than any statement of this program needs on a file of that size, and few enough that a file that leads in circles is let go
// of after seconds: a page holds at most some hundred rows, and no statement asks thousands of steps of a row.
std::int64_t Db::most_steps() const {
  struct stat st {};
  std::int64_t bytes = 0;
  for (const char* suffix : {"", "-wal"}) {
    if (::stat((absolute(path_) + suffix).c_str(), &st) == 0) bytes += st.st_size;
  }
  return 200'000'000 + bytes / 4096 * 50'000;
}

int Db::on_steps(void* self) {
  Db& db = *static_cast<Db*>(self);
  db.steps_ += kStepsBetweenLooks;
  try {
    if (db.tick_) db.tick_();
  } catch (...) {
    // Not through SQLite, which is no C++: it stops, and fail() goes on with this.
    thrown_in_tick() = std::current_exception();
    return 1;
  }
  return db.steps_ > 200'000'000 && db.steps_ > db.most_steps() ? 1 : 0;
}

void Db::prepare_connection() {
  sqlite3* raw = db_->getHandle();
  int on = 1;
  sqlite3_file_control(raw, "main", SQLITE_FCNTL_PERSIST_WAL, &on);
  sqlite3_wal_hook(raw, on_wal, &wal_frames_);  // replaces the automatic checkpoint; see commit() and the destructor
  // A statement costs a short command as much as reading ten entries: only what has no other way is one.
  db_->exec(mode_ == Mode::read || mode_ == Mode::alone ? "PRAGMA cell_size_check=1" : "PRAGMA cell_size_check=1; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON");
}

namespace {

// The statements that made the tables, as they stand in schema.cpp; SQLite keeps their text, and beside it what it read in it.
struct Made {
  std::string_view sql, type, name, table;
};
struct Known {
  static constexpr std::size_t most = 64;
  Made made[most];
  std::size_t count = 0;
};

// "CREATE UNIQUE INDEX n ON t(...", "CREATE TABLE t(...", "CREATE VIEW v AS ..."
Made read_statement(std::string_view sql) {
  std::string_view rest = sql;
  const auto word = [&rest] {
    const std::size_t end = std::min(rest.find_first_of(" ("), rest.size());
    const std::string_view w = rest.substr(0, end);
    rest.remove_prefix(std::min(end + 1, rest.size()));
    return w;
  };
  (void)word();
  std::string_view type = word();
  if (type == "UNIQUE") type = word();
  const std::string_view name = word();
  if (type != "INDEX") return {sql, type == "VIEW" ? "view" : "table", name, name};
  (void)word();
  return {sql, "index", name, word()};
}

Known known_schema() {
  Known out;
  for (const std::string_view part : {std::string_view(kLogTables), std::string_view(kDerivedTables), std::string_view(kViews)}) {
    std::size_t at = 0;
    while ((at = part.find("CREATE ", at)) != std::string_view::npos) {
      const std::size_t end = part.find(";\n", at);
      if (out.count == Known::most) throw std::logic_error("more tables than the check has room for");
      out.made[out.count++] = read_statement(part.substr(at, end - at));
      at = end;
    }
  }
  return out;
}

}  // namespace

void Db::check_identity() {
  const auto pragma = [&](const char* sql) { return query(sql).step_num(); };
  const std::int64_t app = pragma("PRAGMA application_id");
  const std::int64_t version = pragma("PRAGMA user_version");
  if (app != kApplicationId) throw Failure(Code::unreadable, path_ + ": is not a book", "the path of a book made by baybook start");
  if (version > kVersion) {
    throw Failure(Code::unreadable, path_ + ": was written by a newer baybook (format " + std::to_string(version) + ", this one knows " + std::to_string(kVersion) + "); left untouched",
                  "a newer baybook");
  }
  if (version < 1) throw Failure(Code::unreadable, path_ + ": says that it is of version " + std::to_string(version) + ", which no book is; left untouched", "a backup of the book");
  // The tables must be word for word the known ones: a view in place of the log, or a trigger on it, could hide or swallow entries.
  const Known known = known_schema();
  std::uint64_t seen = 0;
  std::size_t next = 0;  // a book lists them as they were made, unless it was vacuumed
  auto rows = query("SELECT name, sql, type, tbl_name FROM sqlite_schema");
  while (rows.step()) {
    const std::string_view sql = rows.text_or_nothing(1);
    std::size_t i = next;
    if (i >= known.count || known.made[i].sql != sql) {
      for (i = 0; i < known.count && known.made[i].sql != sql; ++i) {
      }
    }
    // The engine goes by the statement alone; what stands beside it is compared too, so that no byte of it may be another.
    if (i == known.count || (seen >> i & 1) != 0 || rows.text_or_nothing(0) != known.made[i].name || rows.text_or_nothing(2) != known.made[i].type || rows.text_or_nothing(3) != known.made[i].table) {
      throw Failure(Code::unreadable, path_ + ": holds a table that no book has (" + std::string(rows.text_or_nothing(0)) + "); left untouched", "a backup of the book");
    }
    seen |= std::uint64_t{1} << i;
    next = i + 1;
  }
  if (seen != (known.count == 64 ? ~std::uint64_t{0} : (std::uint64_t{1} << known.count) - 1)) {
    throw Failure(Code::unreadable, path_ + ": tables of a book are missing; left untouched", "a backup of the book");
  }
}

Query Db::query(const char* sql) {
  auto& slot = kept_[sql];
  if (!slot) {
    sqlite3* raw = file().getHandle();
    sqlite3_stmt* made = nullptr;
    const int result = sqlite3_prepare_v3(raw, sql, -1, SQLITE_PREPARE_PERSISTENT, &made, nullptr);
    if (result != SQLITE_OK) fail(result, sqlite3_errmsg(raw), path_);
    slot.reset(made);
  }
  if (in_use_ == 0) steps_ = 0;
  return Query(slot.get(), path_, in_use_);
}

std::int64_t Db::steps() const noexcept {
  std::int64_t all = 0;
  for (const auto& [sql, statement] : kept_)
    all += sqlite3_stmt_status(statement.get(), SQLITE_STMTSTATUS_VM_STEP, 0);
  return all;
}

void Db::exec(const char* sql) {
  if (in_use_ == 0) steps_ = 0;
  try {
    file().exec(sql);
  } catch (const SQLite::Exception& e) {
    fail(e, path_);
  }
}

const std::unordered_map<std::int64_t, std::int64_t>& Db::settled() {
  if (!settled_) {
    std::unordered_map<std::int64_t, std::int64_t> all;
    auto q = query("SELECT id, goes_by FROM settled");
    while (q.step()) all.emplace(q.num(0), q.num(1));
    settled_ = std::move(all);
  }
  return *settled_;
}

void Db::begin() {
  settled_.reset();
  if (mode_ == Mode::read || mode_ == Mode::alone) throw Failure(Code::unwritable, path_ + ": was opened for reading; nothing was written", "a book that is opened for writing");
  // A new book stands under a name that nobody knows yet.
  const Queue::Turn turn = part_.empty() ? queue_.wait_to_write() : Queue::Turn::none;
  try {
    if (part_.empty()) must_be_there(true);
    // Who waited in vain has waited long enough; against programs that know no queue SQLite waits.
    sqlite3_busy_timeout(file().getHandle(), turn == Queue::Turn::in_vain ? 0 : kWait);
    query("BEGIN IMMEDIATE").run();
  } catch (...) {
    queue_.leave();
    throw;
  }
  writing_ = true;
  if (!log_begins()) return;
  try {
    name_log();
  } catch (...) {
    rollback();
    throw;
  }
}

void Db::commit() {
  try {
    query("COMMIT").commit();
  } catch (const Failure& f) {
    if (!part_.empty()) throw Failure(f.code == Code::unknown_outcome ? Code::unwritable : f.code, path_ + ": the book could not be written to the end; nothing is left of it", "make room, or another disk");
    failed_ = f.code == Code::unknown_outcome;
    rollback();
    throw;
  }
  writing_ = false;
  if (!part_.empty()) name_made();
  if (wal_frames_ >= kLongLog && !queue_.file_is_read_alone()) {
    int frames = 0;
    int brought = 0;
    log_is_in_ = sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_PASSIVE, &frames, &brought) == SQLITE_OK && frames == brought;
  }
  queue_.leave();
}

// The file is whole and on the disk before its name says that there is a book.
void Db::name_made() {
  // Whatever is thrown before it has its name, the destructor takes it away.
  const bool whole = settle();
  kept_.clear();
  db_.reset();
  for (const char* suffix : {"-wal", "-shm"}) ::unlink((absolute(part_) + suffix).c_str());
  if (!whole || !sync_path(absolute(part_), false)) {
    throw Failure(Code::unwritable, path_ + ": the book could not be written to the end; nothing is left of it", "make room, or another disk");
  }
  if (!name_it(part_, path_)) {
    const int e = errno;
    if (e == EEXIST) throw Failure(Code::already_there, path_ + ": there is a file of that name already", "another name");
    throw Failure(Code::unwritable, path_ + ": cannot be made here (" + system_words(e) + ")", "a name in a folder you may write to");
  }
  part_.clear();
  if (!sync_path(folder_of(absolute(path_)), true)) throw Failure(Code::unwritable, path_ + ": is there, but the folder could not be made safe on disk", "look at the disk; then baybook prove --book " + path_);
  wal_frames_ = 0;
  mode_ = Mode::write;
  try {
    open_there(false);
  } catch (const Failure&) {
    // What went wrong would be told as if nothing had been made.
    throw Failure(Code::unwritable, path_ + ": the book was made and is whole, but could not be opened again", "look at the disk; then baybook prove --book " + path_);
  }
}

void Db::rollback() noexcept {
  writing_ = false;
  settled_.reset();
  if (db_) {
    try {
      db_->exec("ROLLBACK");
    } catch (...) {
      // SQLite has rolled back by itself already.
    }
  }
  queue_.leave();
}

void Db::begin_read() {
  if (writing_ || reading_) return;
  settled_.reset();
  must_be_there(false);
  query("BEGIN").run();
  reading_ = true;
}

void Db::end_read() noexcept {
  if (!reading_) return;
  reading_ = false;
  try {
    query("COMMIT").run();
  } catch (...) {
  }
}

void Db::must_overwrite_deleted() {
  if (query("PRAGMA secure_delete").step_num() != 1) throw Failure(Code::unwritable, path_ + ": deleted bytes would stay in the file (secure_delete is off); nothing was written", "another build of SQLite");
}

bool Db::rewrite() {
  if (writing_ || reading_) throw std::logic_error("a book is not rewritten within a transaction");
  // Overwriting is not enough: when rows move between pages an older copy of them may stay in a page's free middle.
  exec("VACUUM");
  if (queue_.file_is_read_alone()) return false;
  const int result = sqlite3_wal_checkpoint_v2(db_->getHandle(), nullptr, SQLITE_CHECKPOINT_TRUNCATE, nullptr, nullptr);
  if (result == SQLITE_OK) {
    wal_frames_ = 0;
    return true;
  }
  if ((result & 0xff) == SQLITE_BUSY || (result & 0xff) == SQLITE_LOCKED) return false;
  fail(result, sqlite3_errmsg(db_->getHandle()), path_);
}

void Db::cache(int kib) { exec(("PRAGMA cache_size=-" + std::to_string(kib)).c_str()); }

std::string Db::integrity() {
  if (in_use_ == 0) steps_ = 0;
  try {
    SQLite::Statement check(file(), "PRAGMA integrity_check(1)");
    return check.executeStep() ? check.getColumn(0).getString() : "no answer";
  } catch (const SQLite::Exception& e) {
    if (thrown_in_tick()) std::rethrow_exception(std::exchange(thrown_in_tick(), nullptr));
    return e.what();
  }
}

}  // namespace baybook::store

namespace baybook {

std::string engine_version() { return sqlite3_libversion(); }

}  // namespace baybook
