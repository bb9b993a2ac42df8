// What a file may ask of the engine: no more than a book needs (docs/format.md, Opening).
#include "support/test_book.hpp"

#include <deque>

using namespace baybook;
using namespace baybook::test;

namespace {

// Kept for the whole run: a statement is kept by the address of its text.
const char* kept(std::string sql) {
  static std::deque<std::string> all;
  return all.emplace_back(std::move(sql)).c_str();
}

std::string many(const std::string& one, int n, const std::string& between) {
  std::string out = one;
  for (int i = 1; i < n; ++i) out += between + one;
  return out;
}

bool runs(store::Db& db, const std::string& sql) {
  try {
    auto q = db.query(kept(sql));
    while (q.step()) {
    }
    return true;
  } catch (const store::Failure&) {
    return false;
  }
}

}  // namespace

TEST_SUITE("book/harden") {
  TEST_CASE("a statement may be as large as a book needs and no larger") {
    TestBook b;
    store::Db& db = b.book().inside().db;
    struct Limit {
      const char* what;
      std::string fits, too_much;
    };
    const Limit limits[] = {
        {"columns", "SELECT " + many("1", 100, ","), "SELECT " + many("1", 101, ",")},
        {"depth of an expression", "SELECT " + many("1", 200, "+"), "SELECT " + many("1", 201, "+")},
        {"parts of a compound", many("SELECT 1", 100, " UNION ALL "), many("SELECT 1", 101, " UNION ALL ")},
        {"bytes of a statement", "SELECT 1 --" + std::string(100'000, '-'), "SELECT 1 --" + std::string(300'000, '-')},
        {"bytes of a value", "SELECT zeroblob(4 * 1024 * 1024)", "SELECT zeroblob(4 * 1024 * 1024 + 1)"},
        {"arguments of a function", "SELECT max(" + many("1", 16, ",") + ")", "SELECT max(" + many("1", 17, ",") + ")"},
        {"bytes of a pattern", "SELECT 'x' LIKE '" + std::string(1000, 'y') + "'", "SELECT 'x' LIKE '" + std::string(1001, 'y') + "'"},
        {"places for values", "SELECT ?100", "SELECT ?101"},
        {"files", "ATTACH ':memory:' AS one", "ATTACH ':memory:' AS two"},
    };
    for (const Limit& l : limits) {
      CAPTURE(std::string(l.what));
      CHECK(runs(db, l.fits));
      CHECK_FALSE(runs(db, l.too_much));
    }
  }

  TEST_CASE("a statement that leads in circles is stopped after a bounded number of steps") {
    TestBook b;
    store::Db& db = b.book().inside().db;
    std::int64_t looks = 0;
    db.while_running([&] { ++looks; });
    CHECK_FALSE(runs(db, "WITH RECURSIVE x(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM x) SELECT count(*) FROM x"));
    // A look comes every 100,000 steps; a young book has 200 million, and some for its pages.
    CHECK(looks >= 2'000);
    CHECK(looks < 3'000);
    db.while_running({});
    CHECK(runs(db, "SELECT count(*) FROM entry"));
  }

  TEST_CASE("neither the schema's own functions nor its defences can be turned back on by what a file says") {
    TestBook b;
    store::Db& db = b.book().inside().db;
    // Defensive: the schema cannot be written by hand, and trusted_schema stays off for this connection.
    CHECK_FALSE(runs(db, "UPDATE sqlite_schema SET sql = '' WHERE name = 'place_code'"));
    CHECK(db.query(kept("PRAGMA trusted_schema")).step_num() == 0);
    CHECK(db.query(kept("PRAGMA cell_size_check")).step_num() == 1);
    CHECK(db.query(kept("PRAGMA synchronous")).step_num() == 2);
    CHECK(db.query(kept("PRAGMA secure_delete")).step_num() == 1);
    CHECK(db.query(kept("PRAGMA mmap_size")).step_num() == 0);
    CHECK_FALSE(runs(db, "SELECT load_extension('nothing')"));
  }
}
