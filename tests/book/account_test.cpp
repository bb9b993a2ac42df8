// Where what a job let out of a circuit had gone by a day, followed from place to place.
#include "../support/random_shop.hpp"
#include "../support/test_book.hpp"

#include "book/account.hpp"
#include "service/build.hpp"

#include <map>
#include <tuple>

using namespace baybook;
using namespace baybook::test;

namespace {

using Sums = std::map<std::int64_t, std::tuple<std::int64_t, std::int64_t, std::int64_t>>;

// The same summed over every flow of the book.
Sums over_the_book(Book::Inside& in, const book::AccountThen& of) {
  Sums out;
  const auto add = [&](std::int64_t place, std::int64_t sign, std::int64_t low, std::int64_t best,
                       std::int64_t high) {
    auto& [l, b, h] = out[place];
    l += sign * low;
    b += sign * best;
    h += sign * high;
  };
  auto q = in.db.query(
      "SELECT f.source, f.target, f.low, f.best, f.high, f.mode, f.origin FROM flow f JOIN entry e ON e.id = f.entry WHERE abs(f.origin) = ? AND f.dimension = ? AND e.moment <= ?");
  q.bind(of.origin).bind(of.dimension).bind(of.until);
  while (q.step()) {
    const bool ordinary = q.num(5) == 0;
    if (q.num(6) > 0) add(q.num(1), 1, q.num(2), q.num(3), q.num(4));  // else summed there
    if (q.num(5) == 2)
      add(kDifference.n, -1, q.num(2), q.num(3), q.num(4));
    else if (holds(in.ledger.info(PlaceId{q.num(0)}).role))
      add(q.num(0), -1, ordinary ? q.num(4) : q.num(2), q.num(3), ordinary ? q.num(2) : q.num(4));
  }
  return out;
}

Sums followed(Book::Inside& in, const book::AccountThen& of) {
  Sums out;
  for (const book::Where& w : book::account_then(in, of).where)
    out[w.place] = {w.low, w.best, w.high};
  return out;
}

}  // namespace

TEST_SUITE("book/account") {
  TEST_CASE(
      "what is followed from place to place is what all flows of the book come to, for every job, circuit and day of a random shop") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    TestBook b("bay", seed);
    RandomShop shop(b, seed);
    for (int i = 0; i < 900; ++i) (void)shop.act();
    Book::Inside& in = b->inside();
    struct Origin {
      std::int64_t job, origin, dimension;
    };
    std::vector<Origin> origins;
    {
      // A job's number and its circuit's in the six bits above it.
      auto q = in.db.query(
          "SELECT DISTINCT f.origin & ((1 << 58) - 1), f.origin, f.dimension FROM flow f WHERE f.origin <> 0 AND (f.origin & ((1 << 58) - 1)) IN (SELECT id FROM job)");
      while (q.step()) origins.push_back({q.num(0), q.num(1), q.num(2)});
    }
    std::vector<std::int64_t> days;
    {
      auto q = in.db.query("SELECT DISTINCT moment >> 12 FROM leg ORDER BY 1");
      while (q.step()) days.push_back(q.num(0));
    }
    int compared = 0;
    for (const Origin& o : origins) {
      const auto row = service::job_row(in.db, JobId{o.job});
      REQUIRE(row.has_value());
      for (std::size_t d = 0; d < days.size(); d += 1 + days.size() / 12) {
        const book::AccountThen of{row->car, row->id, o.origin, o.dimension,
                                   log::last_moment(Day{static_cast<std::int32_t>(days[d])})};
        CAPTURE(o.job);
        CAPTURE(days[d]);
        Sums expected = over_the_book(in, of);
        CHECK(followed(in, of) == expected);
        compared += !expected.empty();
      }
    }
    CHECK(compared > 40);
  }

  TEST_CASE("a job as of a day reads no more of a book in which other jobs moved more") {
    const auto rows_with = [](int others) {
      TestBook b;
      const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
      const PlaceId drum = b.place("drum-coolant", Role::waste, "180L", {"coolant"});
      const PlaceId other_pan = b.place("pan-2", Role::hold_catch, "20L");
      const PlaceId other_drum = b.place("drum-2", Role::waste, "1000000L", {"coolant"});
      const CarId car = b.car("MARSH-07");
      const CarId other = b.car("MARSH-08");
      const JobId job = b.job(car);
      const JobId second = b.job(other);
      b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "5L", job));
      b.write(TestBook::move(MoveVerb::decant, pan, drum, "all"));
      for (int i = 0; i < others; ++i) {
        b.write(TestBook::move(MoveVerb::drain, b.coolant(other), other_pan, "5L", second));
        b.write(TestBook::move(MoveVerb::decant, other_pan, other_drum, "all"));
        // Through the same pan as well, once it was empty.
        b.write(TestBook::move(MoveVerb::drain, b.coolant(other), pan, "5L", second));
        b.write(TestBook::move(MoveVerb::decant, pan, other_drum, "all"));
      }
      const std::int64_t origin = job.n + (b.coolant(car).n >> 58 << 58);
      const auto out = book::account_then(
          b->inside(), {car, job, origin, 0, log::last_moment(day("2026-03-05"))});
      Sums where;
      for (const book::Where& w : out.where) where[w.place] = {w.low, w.best, w.high};
      CHECK(where[drum.n] == std::tuple(5 * L, 5 * L, 5 * L));
      CHECK(where[pan.n] == std::tuple<std::int64_t, std::int64_t, std::int64_t>(0, 0, 0));
      return out.rows;
    };
    const std::int64_t few = rows_with(2);
    CHECK(few <= 8);
    CHECK(rows_with(60) == few);
  }
}
