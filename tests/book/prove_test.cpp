#include "support/carry.hpp"
#include "support/brought_in.hpp"
#include "support/random_shop.hpp"

#include <baybook/exchange.hpp>
#include <baybook/keep.hpp>

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

  TEST_CASE("what lies beside the log under a name that no book has is named") {
    TestBook b;
    b.place("pan-1", Role::hold_catch, "20L");
    b.close();
    {
      SQLite::Database db(b.file(), SQLite::OPEN_READWRITE);
      db.exec("UPDATE beside SET name = 'zone-windov' WHERE name = 'zone-window'");
    }
    b.reopen();
    const auto p = prove(b.book());
    REQUIRE_MESSAGE(p.ok(), why(p));
    REQUIRE(p->findings.size() == 1);
    CHECK(p->findings.front().what == "beside the log lies \"zone-windov\", which no book has");
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

  TEST_CASE("what is good before the first bad entry is said with the seal of its last entry") {
    Shop s;
    std::string seal;
    {
      auto q = s->inside().db.query("SELECT lower(hex(digest)) FROM entry WHERE (id & 1099511627775) = 19");
      REQUIRE(q.step());
      seal = "bay:19:" + q.text(0).substr(0, 16);
    }
    s.close();
    tamper(s.file(), "UPDATE entry SET digest = zeroblob(32) WHERE (id & 1099511627775) IN (20, 24)");
    const auto b = Book::open(s.file(), Access::read, repeatable(1));
    REQUIRE(b.ok());
    const auto p = prove(*b);
    REQUIRE(p.ok());
    CHECK(p->good_seals == std::vector<std::string>{seal});
    CHECK(p->found == 4);  // the entry after each does not follow either
    CHECK_FALSE(p->tables_compared);
  }

  TEST_CASE("all findings are counted, though only the first are listed") {
    Shop s;
    s.close();
    tamper(s.file(), "UPDATE entry SET recorded = recorded + 1 WHERE (id & 1099511627775) > 10");
    const auto b = Book::open(s.file(), Access::read, repeatable(1));
    REQUIRE(b.ok());
    const auto p = prove(*b);
    REQUIRE(p.ok());
    CHECK(p->findings.size() == 20);
    CHECK(p->found == p->entries - 10);
  }

  TEST_CASE("proving tells how far it is, and never of more than there is") {
    Shop s;
    std::vector<std::string> steps;
    bool more_than_all = false;
    const auto p = prove(s.book(), {}, [&](std::string_view doing, std::int64_t done, std::int64_t of) {
      if (steps.empty() || steps.back() != doing) steps.emplace_back(doing);
      more_than_all = more_than_all || (of > 0 && done > of);
    });
    REQUIRE(p.ok());
    CHECK_FALSE(more_than_all);
    CHECK(steps == std::vector<std::string>{"the file", "entries", "derived rows", "movements", "tables", ""});
  }

  TEST_CASE("a month that was closed is listed, with what came to it afterwards") {
    BroughtIn b;
    const auto before = prove(b.bay.book());
    REQUIRE_MESSAGE(before.ok(), why(before));
    REQUIRE(before->months.size() == 1);
    CHECK(to_string(before->months[0].month) == "2026-01");
    CHECK(to_string(before->months[0].closed_on) == "2026-02-03");
    CHECK(before->months[0].differences == 0);
    CHECK(before->months[0].causes.empty());
    b.bring();
    const auto after = prove(b.bay.book());
    REQUIRE_MESSAGE(after.ok(), why(after));
    REQUIRE(after->months.size() == 1);
    CHECK(after->months[0].differences > 0);
    CHECK(after->months[0].causes.size() == 2);
    CHECK(findings(*after) == "");
  }

  TEST_CASE(
      "a place from which two benches took the same is to be settled and sound, in the proof and in "
      "a backup") {
    TestBook bay("bay", 7);
    TestBook office("office", 8);
    const PlaceId pan = bay.place("pan-1", Role::hold_catch, "20L");
    const PlaceId other = bay.place("pan-2", Role::hold_catch, "20L");
    const CarId car = bay.car("MARSH-07");
    bay.write(TestBook::move(MoveVerb::drain, bay.coolant(car), pan, "5L", bay.job(car)));
    const auto carry = [](TestBook& from, TestBook& to, const std::string& tag) {
      store::Transaction t(to->inside().db);
      for (const Carried& e : carry_out(from->inside())) {
        if (e.installation.tag == tag) bring_in(to->inside(), e);
      }
      t.commit();
    };
    carry(bay, office, "bay");
    bay.write(TestBook::move(MoveVerb::decant, pan, other, "4L"));
    office.now = bay.now;
    const Receipt late = office.write(TestBook::move(MoveVerb::decant, pan, other, "3L"));
    carry(office, bay, "office");
    const auto p = prove(bay.book());
    REQUIRE_MESSAGE(p.ok(), why(p));
    // It is to be settled, and no damage: a backup says the same as the proof.
    CHECK(findings(*p) == "");
    CHECK(p->tables_compared);
    CHECK(p->conflicts == 1);
    const auto open = conflicts(bay.book());
    REQUIRE_MESSAGE(open.ok(), why(open));
    REQUIRE(open->size() == 1);
    CHECK(open->front().text == "entry " + std::to_string(late.entry.number()) + "@office took 2 L more from pan-1 than it held");
    const auto copy = backup(bay.book(), bay.folder().file("copy.baybook"), BackupOptions{bay.now});
    REQUIRE_MESSAGE(copy.ok(), why(copy));
    CHECK(copy->conflicts == 1);
  }
}
