// The SQLite file behind a narrow door: prepared statements that are kept, rows that are checked.
//
// Only this folder includes SQLiteCpp, and SQLite's own header for the rows: SQLiteCpp makes an object with a shared pointer for every
// value that is read, which was 39 % of a month's totals. Everything here throws store::Failure; Book turns it into a Refusal.
#pragma once

#include "store/queue.hpp"

#include <baybook/book.hpp>
#include <baybook/text.hpp>

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <unordered_map>

namespace SQLite {
class Database;
}  // namespace SQLite
struct sqlite3_stmt;

namespace baybook::store {

/// What went wrong, already in the words of a refusal, and safe for a terminal whatever name of a
/// file is in them.
struct Failure : std::runtime_error {
  Failure(Code c, const std::string& text, const std::string& instead_ = {})
      : std::runtime_error(visible(text)), code(c), instead(visible(instead_)) {}
  Code code;
  std::string instead;
};

/// It could not be read: that says nothing of what is in it.
struct CannotRead : Failure {
  using Failure::Failure;
};

/// One prepared statement in use. Resets itself when it goes out of scope; the statement stays prepared in the Db.
class Query {
 public:
  Query(sqlite3_stmt* statement, std::string_view file, int& in_use) : s_(statement), file_(file), in_use_(in_use) { ++in_use_; }
  Query(const Query&) = delete;
  Query& operator=(const Query&) = delete;
  ~Query();

  Query& bind(std::int64_t value);            ///< next parameter
  Query& bind(std::string_view text);         ///< copied
  Query& bind_blob(const void* data, std::size_t size);
  bool step();                                ///< true: a row is there
  void run();                                 ///< a statement without rows
  void commit();                              ///< runs it; a failure is Failure(unknown_outcome)
  int changed();                              ///< runs it and says how many rows changed

  // Columns from 0. A NULL or another type than asked for means a damaged file: Failure(unsound).
  [[nodiscard]] std::int64_t num(int column) const;
  [[nodiscard]] std::string text(int column) const;
  [[nodiscard]] std::string blob(int column) const;
  /// Empty when it is no text; the view holds until the next step.
  [[nodiscard]] std::string_view text_or_nothing(int column) const;
  /// The first column of the first row.
  [[nodiscard]] std::int64_t step_num() { return step() ? num(0) : 0; }

 private:
  void bound(int result) const;
  void missing(const char* what) const;
  sqlite3_stmt* s_;
  std::string_view file_;
  int& in_use_;
  int next_ = 1;
};

/// The last entry of the book's own installation.
struct LastEntry {
  std::int64_t id = 0;
  std::string digest;
  std::string log;  ///< the name of the log that was brought in last, "" when none had one
  bool operator==(const LastEntry&) const = default;
};

class Db {
 public:
  /// `alone`: the file as it is, whatever lies beside it; nothing is made there.
  enum class Mode { create, write, read, alone };
  /// Opens and checks: path, application id, version, schema text (docs/format.md, Opening). A new file is made under a passing name and gets
  /// its own at the first commit: a book that was never whole stands in nobody's way. The end brings the log into the file unless somebody
  /// else has the book open: then that one does (docs/decisions/0020).
  Db(const std::string& path, Mode mode, const Making& making = {});
  Db(const Db&) = delete;
  Db& operator=(const Db&) = delete;
  ~Db();

  /// `sql` must be a string literal: its address is the key of the kept statement.
  [[nodiscard]] Query query(const char* sql);
  void exec(const char* sql);

  void begin();     ///< waits for its turn (store/queue.hpp), 5 s, then Failure(busy)
  void commit();    ///< Failure(unknown_outcome) when it fails: see book/outcome.hpp
  void rollback() noexcept;
  /// Closes the file and opens it again for writing, as after a start: what a failed commit left is read from the disk. Every Query is over.
  /// When that fails the book stays closed: whatever is asked of it afterwards is Failure(unreadable).
  void reopen();
  /// Brings the write-ahead log into the file, syncs it and empties the log; false when that did not succeed to the end.
  [[nodiscard]] bool settle();
  void begin_read();  ///< one snapshot for a report of several queries
  void end_read() noexcept;
  [[nodiscard]] bool writing() const noexcept { return writing_; }
  /// Refuses when a deleted row would leave its bytes in the file.
  void must_overwrite_deleted();
  /// Writes the whole file anew without what was deleted and empties the write-ahead log. False: another program still reads the log, so
  /// that it could not be emptied. Outside of any transaction.
  [[nodiscard]] bool rewrite();
  /// A rise of the page cache for imports and rebuilds, in KiB.
  void cache(int kib);

  /// What settlements made one: an id, and the id it goes by. Read once in a transaction or snapshot; nearly always empty.
  [[nodiscard]] const std::unordered_map<std::int64_t, std::int64_t>& settled();
  /// After the table was written.
  void settled_changed() noexcept { settled_.reset(); }

  /// Writes the book as it is now into the empty file `path`: one snapshot, whoever else writes, without a byte of what was deleted.
  void copy_into(const std::string& path);
  /// Of a copy: it was written anew, so no log of the book goes on from it.
  void forget_log();
  /// Of a copy: the write-ahead log is how a book that goes on is written.
  void use_write_ahead();

  /// Called now and then while a statement runs long.
  void while_running(std::function<void()> tick) { tick_ = std::move(tick); }

  [[nodiscard]] const std::string& path() const noexcept { return path_; }
  /// Steps of SQLite's machine that the kept statements have taken so far: what a call costs, on
  /// any machine.
  [[nodiscard]] std::int64_t steps() const noexcept;
  [[nodiscard]] std::string integrity();  ///< "ok" or SQLite's own first words

 private:
  void look_at_file(const std::string& file);
  void open_existing(const std::string& file);
  [[nodiscard]] bool open_beside_log(const std::string& file, const std::optional<LastEntry>& last);
  void open_as_it_lies(const std::string& file);
  [[nodiscard]] bool continues(const LastEntry& of_file);
  [[nodiscard]] bool continues_here(const LastEntry& of_file);
  void check_identity();
  void create();
  void name_made();
  void open_there(bool immutable);
  void note_file(bool may_write);
  [[nodiscard]] bool log_begins() const;
  void name_log();
  void must_be_there(bool to_write) const;
  void close() noexcept;
  void let_settle() noexcept;
  void settle_after_writer();
  [[nodiscard]] bool same_file() const noexcept;
  SQLite::Database& file();
  void harden();
  void prepare_connection();
  [[nodiscard]] std::int64_t most_steps() const;
  static int on_steps(void* self);
  std::string path_;
  std::unique_ptr<SQLite::Database> db_;
  struct Finalize {
    void operator()(sqlite3_stmt* statement) const noexcept;
  };
  std::unordered_map<const char*, std::unique_ptr<sqlite3_stmt, Finalize>> kept_;
  std::optional<std::unordered_map<std::int64_t, std::int64_t>> settled_;
  Mode mode_;
  bool writing_ = false;
  bool reading_ = false;
  int wal_frames_ = 0;
  bool log_is_in_ = false;  ///< all of the log was brought in, and the next write begins it anew
  Queue queue_;
  std::string file_;          ///< the whole name of the file that is open
  std::uint64_t device_ = 0, inode_ = 0;
  bool alone_ = false;        ///< the file is read as it lies, without a log or locks
  bool may_settle_ = false;   ///< at the end the log may be brought into the file
  std::string part_;     ///< the passing name of a new file that has not come to its first commit
  bool failed_ = false;  ///< a commit failed: the file is left as it is
  // A damaged file can lead a statement in circles: it gets as many steps as a file of its size may need (most_steps).
  int in_use_ = 0;
  std::int64_t steps_ = 0;
  std::function<void()> tick_;
};

/// BEGIN IMMEDIATE ... commit, or roll back on the way out.
class Transaction {
 public:
  explicit Transaction(Db& db) : db_(db) { db_.begin(); }
  Transaction(const Transaction&) = delete;
  Transaction& operator=(const Transaction&) = delete;
  ~Transaction() { if (db_.writing()) db_.rollback(); }
  void commit() { db_.commit(); }

 private:
  Db& db_;
};

/// A read transaction: every query of a report sees the same book.
class Snapshot {
 public:
  explicit Snapshot(Db& db) : db_(db) { db_.begin_read(); }
  Snapshot(const Snapshot&) = delete;
  Snapshot& operator=(const Snapshot&) = delete;
  ~Snapshot() { db_.end_read(); }

 private:
  Db& db_;
};

}  // namespace baybook::store
