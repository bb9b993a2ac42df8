#include "attack/whole_shop.hpp"
#include "support/random_shop.hpp"

#include <SQLiteCpp/SQLiteCpp.h>

#include <fstream>

using namespace baybook;
using namespace baybook::test;

namespace {

const std::string kGolden = std::string(BAYBOOK_SOURCE) + "/tests/golden/";

std::string read_file(const std::string& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

// Both books of the shop that has every kind of entry and a row in every table, row by row.
std::string whole_shop() {
  WholeShop shop(1);
  shop.bay.reopen();
  shop.office.reopen();
  return shop.bay.dump() + shop.office.dump();
}

// Makes tests/golden/v1.* anew. Only before the first release of the format; a released book is never made again.
void make_golden() {
  TestBook b("bay", 20260305, "2026-10-20T09:40:00.000Z");  // the nine days have the hour that comes twice in them
  RandomShop shop(b, 20260305);
  for (int i = 0; i < 420; ++i) shop.act();
  const std::string derived = b.dump(true);
  const std::string seal = b->seal();
  b.close();
  std::filesystem::remove(kGolden + "v1.baybook");
  SQLite::Database db(b.file(), SQLite::OPEN_READWRITE);
  db.exec("VACUUM INTO '" + kGolden + "v1.baybook'");
  std::ofstream(kGolden + "v1.derived.txt", std::ios::binary) << derived;
  std::ofstream(kGolden + "v1.seal.txt", std::ios::binary) << seal << "\n";
}

}  // namespace

TEST_SUITE("book/golden") {
  TEST_CASE("the golden book of format 1 opens, agrees with its printed seal, and says what it said when it was made") {
    if (std::getenv("BAYBOOK_MAKE_GOLDEN") != nullptr) make_golden();
    Folder f;
    std::filesystem::copy_file(kGolden + "v1.baybook", f.file("v1.baybook"));
    const auto b = Book::open(f.file("v1.baybook"), Access::write, repeatable(1));
    REQUIRE_MESSAGE(b.ok(), why(b));
    std::string seal = read_file(kGolden + "v1.seal.txt");
    REQUIRE_FALSE(seal.empty());
    seal.pop_back();
    const auto proof = prove(*b, seal);
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    for (const Finding& finding : proof->findings) MESSAGE(finding.what);
    CHECK(proof->findings.empty());
    CHECK(proof->entries > 150);
    CHECK(difference(read_file(kGolden + "v1.derived.txt"), dump(b->inside().db, true)) == "");
  }

  TEST_CASE("the same acts are written in the same bytes and fold to the same rows as when format 1 was settled") {
    const std::string now = whole_shop();
    if (std::getenv("BAYBOOK_MAKE_WHOLE") != nullptr) std::ofstream(kGolden + "whole.txt", std::ios::binary) << now;
    const std::string then = read_file(kGolden + "whole.txt");
    REQUIRE_FALSE(then.empty());
    CHECK(difference(then, now) == "");
  }

  TEST_CASE("the tables of format 1 are word for word those of the golden book") {
    SQLite::Database db(kGolden + "v1.baybook", SQLite::OPEN_READONLY);
    SQLite::Statement q(db, "SELECT group_concat(sql, char(10)) FROM (SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name)");
    REQUIRE(q.executeStep());
    const std::string golden = q.getColumn(0).getString();
    TestBook fresh;
    SQLite::Database now(fresh.file(), SQLite::OPEN_READONLY);
    SQLite::Statement n(now, "SELECT group_concat(sql, char(10)) FROM (SELECT sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name)");
    REQUIRE(n.executeStep());
    CHECK(n.getColumn(0).getString() == golden);
  }
}
