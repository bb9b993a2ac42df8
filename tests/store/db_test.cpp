// The one place that speaks to SQLite: what it answers to what cannot be, and when it brings the write-ahead log into the file.
#include "store/db.hpp"
#include "support/test_book.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <fstream>

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("store/db") {
  TEST_CASE("a value of another type than the one asked for is a damaged file, and nothing is nothing") {
    TestBook b;
    store::Db& db = b->inside().db;
    auto q = db.query("SELECT 1, 'one', x'01', NULL, x''");
    REQUIRE(q.step());
    CHECK(q.num(0) == 1);
    CHECK(q.text(1) == "one");
    CHECK(q.blob(2) == "\x01");
    CHECK(q.blob(4).empty());
    for (const int wrong : {1, 2, 3}) CHECK_THROWS_AS((void)q.num(wrong), store::Failure);
    for (const int wrong : {0, 2, 3}) CHECK_THROWS_AS((void)q.text(wrong), store::Failure);
    for (const int wrong : {0, 1, 3}) CHECK_THROWS_AS((void)q.blob(wrong), store::Failure);
    CHECK(q.text_or_nothing(1) == "one");
    for (const int other : {0, 2, 3}) CHECK(q.text_or_nothing(other).empty());
    CHECK_FALSE(q.step());
  }

  TEST_CASE("what is bound comes back byte for byte, nothing and NUL included") {
    TestBook b;
    auto q = b->inside().db.query("SELECT ?, ?, ?, typeof(?)");
    const std::string odd("a\0b", 3);
    q.bind(std::string_view()).bind(odd).bind_blob(odd.data(), 0).bind_blob(nullptr, 0);
    REQUIRE(q.step());
    CHECK(q.text(0).empty());
    CHECK(q.text(1) == odd);
    CHECK(q.blob(2).empty());
    CHECK(q.text(3) == "blob");
  }

  TEST_CASE("a value too many, and rows where none are expected, are told and not passed over") {
    TestBook b;
    store::Db& db = b->inside().db;
    {
      auto q = db.query("SELECT ?");
      q.bind(std::int64_t{1});
      CHECK_THROWS_AS(q.bind(std::int64_t{2}), store::Failure);
    }
    {
      auto q = db.query("SELECT 2");
      CHECK_THROWS_AS(q.run(), store::Failure);
    }
    // The statements are as good as before.
    auto q = db.query("SELECT ?");
    q.bind(std::int64_t{7});
    REQUIRE(q.step());
    CHECK(q.num(0) == 7);
  }

  TEST_CASE("a book is not rewritten while it is written or read") {
    TestBook b;
    store::Db& db = b->inside().db;
    db.begin();
    CHECK_THROWS_AS((void)db.rewrite(), std::logic_error);
    db.rollback();
    db.begin_read();
    CHECK_THROWS_AS((void)db.rewrite(), std::logic_error);
    db.end_read();
    CHECK(db.rewrite());
  }

  TEST_CASE("a book that another program reads is not rewritten to its end, and is once that one is done") {
    TestBook b;
    store::Db& db = b->inside().db;
    store::Db other(b.file(), store::Db::Mode::read);
    other.begin_read();
    {
      auto q = other.query("SELECT count(*) FROM entry");
      REQUIRE(q.step());
    }
    CHECK_FALSE(db.rewrite());
    other.end_read();
    CHECK(db.rewrite());
  }

  TEST_CASE("what a statement may cost is counted for each by itself, and one that leads in circles is let go of") {
    TestBook b;
    store::Db& db = b->inside().db;
    // Some 110 million steps of SQLite each, of 200 million that one may take in a small file.
    const std::string long_one = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 9000000) SELECT count(*) FROM n";
    CHECK_NOTHROW(db.exec(long_one.c_str()));
    CHECK(db.query(long_one.c_str()).step_num() == 9'000'000);
    CHECK_NOTHROW(db.exec(long_one.c_str()));
    CHECK_THROWS_AS(db.exec("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n) SELECT count(*) FROM n"), store::Failure);
  }

  TEST_CASE("a book that was opened for reading is not written") {
    TestBook b;
    b.close();
    store::Db db(b.file(), store::Db::Mode::read);
    CHECK_THROWS_AS(db.begin(), store::Failure);
  }

  TEST_CASE("a book that is thrown away in the middle of a write is as it was before") {
    TestBook b;
    const std::string before = b.dump();
    b.close();
    {
      store::Db db(b.file(), store::Db::Mode::write);
      db.begin();
      db.exec("DELETE FROM entry");
    }
    b.reopen();
    CHECK(b.dump() == before);
  }

  TEST_CASE("a book that stays open brings its write-ahead log into the file again and again: the log does not grow with what is written") {
    TestBook b;
    store::Db& db = b->inside().db;
    // 50 values of 200 kB are some 2,500 pages, at each of eight commits.
    for (int round = 0; round < 8; ++round) {
      db.begin();
      db.exec("DELETE FROM once");
      db.exec("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 50) INSERT INTO once(key, request, entry) SELECT randomblob(200000), zeroblob(32), i FROM n");
      db.commit();
    }
    CHECK(std::filesystem::file_size(b.file() + "-wal") < 32U << 20U);
  }
}
