// The SQLite file behind a narrow door: prepared statements that are kept, rows that are checked.
//
// Only this folder includes SQLiteCpp, and SQLite's own header for the rows: SQLiteCpp makes an object with a shared pointer for every
// value that is read, which was 39 % of a month's totals. Everything here throws store::Failure; Book turns it into a Refusal.
#pragma once

#include <baybook/result.hpp>

#include <cstdint>
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

/// What went wrong, already in the words of a refusal.
struct Failure : std::runtime_error {
  Failure(Code c, const std::string& text, std::string instead_ = {}) : std::runtime_error(text), code(c), instead(std::move(instead_)) {}
  Code code;
  std::string instead;
};

/// One prepared statement in use. Resets itself when it goes out of scope; the statement stays prepared in the Db.
class Query {
 public:
  Query(sqlite3_stmt* statement, std::string_view file) : s_(statement), file_(file) {}
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
  int next_ = 1;
};

class Db {
 public:
  enum class Mode { create, write, read };
  /// Opens and checks: path, application id, version, schema text (docs/format.md, Opening).
  Db(const std::string& path, Mode mode);
  Db(const Db&) = delete;
  Db& operator=(const Db&) = delete;
  ~Db();

  /// `sql` must be a string literal: its address is the key of the kept statement.
  [[nodiscard]] Query query(const char* sql);
  void exec(const char* sql);

  void begin();     ///< BEGIN IMMEDIATE, waits 5 s, then Failure(busy)
  void commit();    ///< Failure(unknown_outcome) when it fails
  void rollback() noexcept;
  void begin_read();  ///< one snapshot for a report of several queries
  void end_read() noexcept;
  [[nodiscard]] bool writing() const noexcept { return writing_; }
  /// Stay open for many writes: keep the write-ahead log and fold it in when it is long.
  void resident();
  /// A rise of the page cache for imports and rebuilds, in KiB.
  void cache(int kib);

  /// What settlements made one: an id, and the id it goes by. Read once in a transaction or snapshot; nearly always empty.
  [[nodiscard]] const std::unordered_map<std::int64_t, std::int64_t>& settled();
  /// After the table was written.
  void settled_changed() noexcept { settled_.reset(); }

  [[nodiscard]] const std::string& path() const noexcept { return path_; }
  [[nodiscard]] std::string integrity();  ///< "ok" or SQLite's own first words

 private:
  void check_identity();
  void prepare_connection();
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
  int checkpoint_at_ = 0;
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
