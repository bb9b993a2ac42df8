#include "support/random_shop.hpp"

#include "support/carry.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

// For every product and dimension, all places and ends of the world together hold nothing: what one gained, another gave.
std::string not_conserved(store::Db& db) {
  std::string out;
  auto q = db.query("SELECT dimension, fluid, sum(best) FROM balance GROUP BY dimension, fluid HAVING sum(best) <> 0");
  while (q.step()) out += std::to_string(q.num(1)) + " in dimension " + std::to_string(q.num(0)) + ": " + std::to_string(q.num(2)) + "; ";
  return out;
}

std::int64_t count(store::Db& db, const char* sql) {
  auto q = db.query(sql);
  REQUIRE(q.step());
  return q.num(0);
}

}  // namespace

TEST_SUITE("book/rebuild") {
  TEST_CASE("derived tables dropped and folded anew from the log are the same after thousands of random operations") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    int taken = 0;
    std::int64_t corrections = 0;
    std::int64_t erasures = 0;
    for (std::uint64_t run = 0; run < 4; ++run) {
      CAPTURE(seed);
      CAPTURE(run);
      TestBook b("bay", seed + run);
      RandomShop shop(b, seed + run);
      for (int i = 0; i < 900; ++i) {
        const bool watch = i % 37 == 0;
        const std::string before = watch ? b.dump() : std::string();
        if (shop.act()) ++taken;
        else if (watch) CHECK(difference(before, b.dump()) == "");
        if (i % 150 == 149) {
          const std::string live = b.dump(true);
          REQUIRE(b.book().rebuild().ok());
          REQUIRE(difference(live, b.dump(true)) == "");
          REQUIRE(not_conserved(b->inside().db) == "");
        }
      }
      for (const Code c : shop.refused()) {
        CAPTURE(name_of(c));
        CHECK(c != Code::unsound);
      }
      const auto proof = prove(b.book());
      REQUIRE_MESSAGE(proof.ok(), why(proof));
      for (const Finding& f : proof->findings) MESSAGE(f.what);
      CHECK(proof->findings.empty());
      corrections += count(b->inside().db, "SELECT count(*) FROM correction");
      erasures += count(b->inside().db, "SELECT count(*) FROM entry WHERE kind = 33");
    }
    MESSAGE(taken << " operations taken, " << corrections << " of them corrections, " << erasures << " erasures");
    CHECK(taken > 1000);
    CHECK(corrections > 40);
    CHECK(erasures > 4);
  }

  TEST_CASE("no place of the shop falls below nothing or rises over its size at any moment, late entries and corrections included") {
    const std::uint64_t seed = seed_of_run();
    CAPTURE(seed);
    TestBook b("bay", seed);
    RandomShop shop(b, seed + 77);
    for (int i = 0; i < 800; ++i) shop.act();
    CHECK(count(b->inside().db, "SELECT count(*) FROM breach") == 0);
    // Levels summed along effect order straight from the flows, by SQL alone.
    CHECK(count(b->inside().db,
                "WITH step AS (SELECT p.id AS place, p.size AS size, l.moment, l.recorded, l.entry, (SELECT coalesce(sum(CASE WHEN f.target = p.id THEN f.best ELSE 0 END - CASE WHEN f.source = p.id THEN f.best ELSE 0 END), 0) "
                "FROM flow f WHERE f.entry = l.entry AND f.dimension = 0) AS d FROM place p JOIN leg l ON l.place = p.id WHERE p.role <> 0), "
                "run AS (SELECT size, sum(d) OVER (PARTITION BY place ORDER BY moment, recorded, entry) AS level FROM step) SELECT count(*) FROM run WHERE level < 0 OR level > size") == 0);
  }

  TEST_CASE("the same entries of two installations give the same derived state in whatever order they arrive") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    TestBook bay("bay", seed);
    TestBook office("office", seed + 1000);
    // The office takes in what the bay wrote so far, and from then on both work on the same places, cars and jobs.
    RandomShop one(bay, seed + 1, "b");
    for (int i = 0; i < 60; ++i) one.act();
    const std::vector<Carried> shared = carry_out(bay->inside());
    {
      store::Transaction t(office->inside().db);
      for (const Carried& e : shared) bring_in(office->inside(), e);
      t.commit();
    }
    RandomShop two(office, seed + 2, one);
    int both = 0;
    for (int i = 0; i < 250; ++i) {
      both += one.act() ? 1 : 0;
      both += two.act() ? 1 : 0;
    }
    CHECK(both > 120);
    const std::vector<Carried> all_of_bay = carry_out(bay->inside());
    const std::vector<Carried> from_bay(all_of_bay.begin() + static_cast<std::ptrdiff_t>(shared.size()), all_of_bay.end());
    std::vector<Carried> from_office;
    for (Carried& e : carry_out(office->inside())) {
      if (e.installation.tag == "office") from_office.push_back(std::move(e));
    }
    std::string first;
    std::mt19937_64 rng(seed);
    for (int round = 0; round < 4; ++round) {
      CAPTURE(round);
      TestBook third("third", 5);
      std::size_t i = 0;
      std::size_t j = 0;
      {
        store::Transaction t(third->inside().db);
        for (const Carried& e : shared) bring_in(third->inside(), e);
        while (i < from_bay.size() || j < from_office.size()) {
          const bool bay_next = j == from_office.size() || (i < from_bay.size() && (round == 0 || (round == 2 ? rng() % 10 == 0 : rng() % 2 == 0)));
          bring_in(third->inside(), bay_next ? from_bay[i++] : from_office[j++]);
        }
        t.commit();
      }
      const std::string state = third.dump(true);
      if (first.empty()) first = state;
      REQUIRE(difference(first, state) == "");
      REQUIRE(third.book().rebuild().ok());
      REQUIRE(difference(first, third.dump(true)) == "");
      CHECK(not_conserved(third->inside().db) == "");
    }
  }
}
