#include "support/random_shop.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

using namespace baybook;
using namespace baybook::test;

namespace {

void tamper(const std::string& path, const std::string& sql) {
  SQLite::Database db(path, SQLite::OPEN_READWRITE);
  db.exec(sql);
}

std::string findings(const Proof& p) {
  std::string out;
  for (const Finding& f : p.findings) out += f.what + "\n";
  return out;
}

struct Shop : TestBook {
  Shop() {
    RandomShop shop(*this, 4);
    for (int i = 0; i < 120; ++i) shop.act();
  }
};

}  // namespace

TEST_SUITE("book/prove") {
  TEST_CASE("a book that nobody touched is sound, with a seal for each installation") {
    Shop s;
    const auto p = prove(s.book(), s->seal());
    REQUIRE_MESSAGE(p.ok(), why(p));
    CHECK(findings(*p) == "");
    CHECK(p->good == p->entries);
    CHECK(p->seals == std::vector<std::string>{s->seal()});
    CHECK(p->tables_compared);
    CHECK(p->seal_checked);
  }

  TEST_CASE("every column of an entry changed by hand is found, and the first bad entry is named") {
    const char* changes[] = {"recorded = recorded + 1", "moment = moment + 1", "kind = CASE kind WHEN 15 THEN 16 ELSE 15 END", "who = 5", "body = replace(body, 'format\":1', 'format\":2')", "body = body || ' '",
                             "digest = zeroblob(32)", "digest = zeroblob(8)"};
    for (const char* change : changes) {
      CAPTURE(change);
      Shop s;
      s.close();
      tamper(s.file(), "UPDATE entry SET " + std::string(change) + " WHERE (id & 1099511627775) = 20");
      const auto b = Book::open(s.file(), Access::read, repeatable(1));
      REQUIRE(b.ok());
      const auto p = prove(*b);
      REQUIRE_MESSAGE(p.ok(), why(p));
      REQUIRE_FALSE(p->findings.empty());
      CHECK(p->findings.front().what.find("entry 20@bay") != std::string::npos);
      CHECK(p->good == 19);
    }
  }

  TEST_CASE("an entry taken out, two entries swapped, a private text changed are found") {
    struct Row {
      const char* sql;
      const char* says;
    };
    for (const Row& row : {Row{"DELETE FROM entry WHERE (id & 1099511627775) = 20", "entries 20 to 20 are missing"},
                           Row{"UPDATE entry SET id = id + 100000 WHERE (id & 1099511627775) = 20; UPDATE entry SET id = id - 1 WHERE (id & 1099511627775) = 21; UPDATE entry SET id = id - 99999 WHERE (id & 1099511627775) = 100020", "entry 20@bay"},
                           Row{"UPDATE private SET value = 'DUNE-99' WHERE field = 'plate'", "the private text \"plate\""}, Row{"UPDATE private SET salt = zeroblob(32) WHERE field = 'plate'", "the private text \"plate\""}}) {
      CAPTURE(row.sql);
      Shop s;
      s.close();
      tamper(s.file(), row.sql);
      const auto b = Book::open(s.file(), Access::read, repeatable(1));
      REQUIRE(b.ok());
      const auto p = prove(*b);
      REQUIRE_MESSAGE(p.ok(), why(p));
      CHECK(findings(*p).find(row.says) != std::string::npos);
    }
  }

  TEST_CASE("a derived table that was changed by hand differs from the log, and rebuild puts it right") {
    for (const char* sql : {"UPDATE balance SET best = best + 1", "DELETE FROM tally", "UPDATE car SET plate = 'DUNE-99'", "DELETE FROM history", "UPDATE job SET closed = 7", "DELETE FROM leg", "INSERT INTO part VALUES('X', '', 1)",
                            "UPDATE filling SET moment = 0", "UPDATE flow SET best = best - 1", "UPDATE reading SET metres = 5"}) {
      CAPTURE(sql);
      Shop s;
      s.close();
      tamper(s.file(), sql);
      auto b = Book::open(s.file(), Access::write, repeatable(1));
      REQUIRE(b.ok());
      const auto p = prove(*b);
      REQUIRE_MESSAGE(p.ok(), why(p));
      CHECK(findings(*p).find("differs from what the log says") != std::string::npos);
      REQUIRE(b->rebuild().ok());
      CHECK(findings(*prove(*b)) == "");
    }
  }

  TEST_CASE("a tail that was cut off is sound by itself, and a printed seal shows it") {
    Shop s;
    const std::string printed = s->seal();
    s.close();
    tamper(s.file(), "DELETE FROM entry WHERE id = (SELECT max(id) FROM entry); DELETE FROM private WHERE entry NOT IN (SELECT id FROM entry)");
    auto b = Book::open(s.file(), Access::write, repeatable(1));
    REQUIRE(b.ok());
    REQUIRE(b->rebuild().ok());
    CHECK(findings(*prove(*b)) == "");
    CHECK(findings(*prove(*b, printed)).find("the end of the log was cut off") != std::string::npos);
  }

  TEST_CASE("a seal of another book, or of a rewritten one, is not this book's") {
    Shop s;
    CHECK(findings(*prove(s.book(), "bay:5:0123456789abcdef")).find("another digest than the seal") != std::string::npos);
    CHECK(findings(*prove(s.book(), "office:5:0123456789abcdef")).find("does not have") != std::string::npos);
    CHECK(prove(s.book(), "nonsense").refusal().code == Code::unclear);
  }

  TEST_CASE("proving writes nothing") {
    Shop s;
    const std::string before = s.dump();
    REQUIRE(prove(s.book()).ok());
    CHECK(difference(before, s.dump()) == "");
  }
}
