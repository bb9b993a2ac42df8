// A tank that is never quite emptied: what it costs to write does not grow with the jobs that ran
// into it, and nothing is lost of what it says.
#include "support/carry.hpp"
#include "support/random_shop.hpp"

#include "fluids/told_apart.hpp"

#include <sqlite3.h>

using namespace baybook;
using namespace baybook::test;

namespace {

// What every connection made from here on does: the steps of its statements, and the rows that they
// change.
struct Work {
  std::int64_t steps = 0;
  static Work*& counting() {
    static Work* now = nullptr;
    return now;
  }
  static int on_statement(unsigned, void*, void* statement, void*) {
    const int steps =
        sqlite3_stmt_status(static_cast<sqlite3_stmt*>(statement), SQLITE_STMTSTATUS_VM_STEP, 1);
    if (counting() != nullptr) counting()->steps += steps;
    return 0;
  }
  static int on_open(sqlite3* db, char**, const sqlite3_api_routines*) {
    return sqlite3_trace_v2(db, SQLITE_TRACE_PROFILE, on_statement, nullptr);
  }
};

class Watched {
 public:
  Watched() {
    REQUIRE(sqlite3_auto_extension(reinterpret_cast<void (*)()>(Work::on_open)) == SQLITE_OK);
  }
  Watched(const Watched&) = delete;
  Watched& operator=(const Watched&) = delete;
  ~Watched() { sqlite3_cancel_auto_extension(reinterpret_cast<void (*)()>(Work::on_open)); }
};

std::int64_t number(store::Db& db, const char* sql) {
  auto q = db.query(sql);
  return q.step_num();
}

void tell_apart(TestBook& b, std::string_view jobs) {
  store::Db& db = b->inside().db;
  store::Transaction t(db);
  b->inside().ledger.forget();
  {
    auto q = db.query("INSERT OR REPLACE INTO beside(name, value) VALUES('told-apart', ?)");
    q.bind_blob(jobs.data(), jobs.size()).run();
  }
  t.commit();
}

// Folds all anew with every job told apart everywhere: how a book was kept before there was a
// number.
void tell_all_apart(TestBook& b) {
  store::Db& db = b->inside().db;
  store::Transaction t(db);
  db.query("DELETE FROM beside WHERE name = 'told-apart'").run();
  book::rebuild_all(b->inside());
  t.commit();
}

// A catch, a reuse and a waste tank, none of them ever empty, and a car in each job that runs into
// all three.
class Tanks : public TestBook {
 public:
  explicit Tanks(const char* coolant = "OAT")
      : catch_(place("sump", Role::hold_catch)),
        keep(place("keep-1", Role::reuse)),
        waste(place("drum-1", Role::waste, {}, {"coolant"})),
        beside(place("drum-2", Role::waste, {}, {"coolant"})) {
    for (int i = 0; i < 6; ++i)
      cars.push_back(car_asking_for("MARSH-" + std::to_string(10 + i), coolant));
  }
  CarId car_asking_for(const std::string& plate, const std::string& specification) {
    NewCar c;
    c.plate = plate;
    c.make = "Corvane";
    c.model = "Tern";
    c.circuits = {{"coolant", litres("6L"), specification}};
    return CarId{write(c).entry.id.n};
  }
  JobId run_job(int n, const std::string& amount = "5L") {
    const CarId c = cars[static_cast<std::size_t>(n) % cars.size()];
    const JobId j = job(c);
    for (const PlaceId tank : {catch_, keep, waste})
      write(move(MoveVerb::drain, coolant(c), tank, amount, j));
    return j;
  }
  void run_and_take(int n) {
    const JobId j = run_job(n);
    write(move(MoveVerb::decant, catch_, beside, n < 30 ? "3L" : "4.999L"));
    write(move(MoveVerb::fill, keep, coolant(cars[static_cast<std::size_t>(n) % cars.size()]),
               n < 30 ? "3L" : "4.999L", j));
    write(move(MoveVerb::pickup, waste, kReceiver, n < 30 ? "3L" : "4.999L"));
    jobs.push_back(j);
  }
  // Many at once, in one transaction, as a list is taken in.
  void run_many(int until) {
    Book::Inside& in = book().inside();
    store::Transaction t(in.db);
    in.in_batch = true;
    in.ledger.forget();
    for (int n = static_cast<int>(jobs.size()); n < until; ++n) {
      run_and_take(n);
      if (n % 200 == 199) in.ledger.flush();
    }
    in.ledger.flush();
    book::refresh_due(in);
    t.commit();
    in.in_batch = false;
    in.ledger.forget();
  }

  PlaceId catch_, keep, waste, beside;
  std::vector<CarId> cars;
  std::vector<JobId> jobs;

  // Pick-ups have a paper each.
  static Movement move(MoveVerb verb, PlaceId from, PlaceId to, const std::string& amount,
                       JobId job = {}) {
    Movement m = TestBook::move(verb, from, to, amount, job);
    static int paper = 0;
    if (verb == MoveVerb::pickup) m.document = std::to_string(++paper);
    return m;
  }
};

// One of each thing that is done with a tank; each leaves the tank about as it was.
struct Cost {
  std::string what;
  std::int64_t steps = 0, rows = 0;
};
std::vector<Cost> costs(Tanks& t) {
  std::vector<Cost> out;
  const CarId car = t.cars.front();
  const JobId j = t.job(car);
  const auto one = [&](const std::string& what, const Draft& draft) {
    Work work;
    const std::int64_t before = number(t->inside().db, "SELECT total_changes()");
    Work::counting() = &work;
    t.write(draft);
    Work::counting() = nullptr;
    out.push_back({what, work.steps, number(t->inside().db, "SELECT total_changes()") - before});
  };
  const auto level = [&](PlaceId p, const char* litres_there) {
    Gauge g;
    g.place = p;
    g.level = parse_level(litres_there, Units{}).value();
    g.reason = "read off";
    return g;
  };
  for (const PlaceId tank : {t.catch_, t.keep, t.waste}) {
    const std::string name = tank == t.catch_ ? "catch" : tank == t.keep ? "reuse" : "waste";
    one("drain into " + name, Tanks::move(MoveVerb::drain, t.coolant(car), tank, "2L", j));
    one("spill out of " + name, Tanks::move(MoveVerb::spill, tank, kGround, "0.2L"));
    one("spill of about so much out of " + name,
        Tanks::move(MoveVerb::spill, tank, kGround, "0.1..0.3L"));
    one("gauge of " + name, level(tank, "61L"));
  }
  one("decant", Tanks::move(MoveVerb::decant, t.catch_, t.beside, "1L"));
  one("filter", Tanks::move(MoveVerb::filter, t.catch_, t.keep, "1L"));
  one("fill", Tanks::move(MoveVerb::fill, t.keep, t.coolant(car), "1L", j));
  one("pick-up", Tanks::move(MoveVerb::pickup, t.waste, kReceiver, "1L"));
  one("decant of all", Tanks::move(MoveVerb::decant, t.catch_, t.beside, "all"));
  one("all of it kept elsewhere", Tanks::move(MoveVerb::decant, t.keep, t.beside, "all"));
  one("pick-up of all", Tanks::move(MoveVerb::pickup, t.waste, kReceiver, "all"));
  return out;
}

struct Told {
  std::int64_t low = 0, best = 0, high = 0;
};
std::map<std::string, Told> told(const JobAccount& a) {
  const auto one = [](const JobAccount::Figure& f) { return Told{f.low, f.best, f.high}; };
  return {{"back", one(a.put_back)},        {"kept", one(a.kept)},
          {"undecided", one(a.undecided)},  {"waste", one(a.to_waste)},
          {"shipped", one(a.shipped)},      {"gone", one(a.gone)},
          {"missing", one(a.missing)},      {"difference", one(a.difference)}};
}
std::vector<JobId> jobs_in(Book& book) {
  std::vector<JobId> out;
  auto q = book.inside().db.query("SELECT id FROM job WHERE closed <> -1 ORDER BY id");
  while (q.step()) out.push_back(JobId{q.num(0)});
  return out;
}

// The sums that all of three orders of arrival come to; the same in each.
std::int64_t summed_in_any_order(std::uint64_t seed) {
  CAPTURE(seed);
  TestBook bay("bay", seed);
  TestBook office("office", seed + 1000);
  RandomShop one(bay, seed + 1, "b");
  for (int i = 0; i < 60; ++i) one.act();
  const std::vector<Carried> shared = carry_out(bay->inside());
  {
    store::Transaction t(office->inside().db);
    for (const Carried& e : shared) bring_in(office->inside(), e);
    t.commit();
  }
  RandomShop two(office, seed + 2, one);
  for (int i = 0; i < 200; ++i) {
    one.act();
    two.act();
  }
  const std::vector<Carried> mine = carry_out(bay->inside());
  std::vector<Carried> theirs = carry_out(office->inside());
  std::erase_if(theirs, [](const Carried& e) { return e.installation.tag != "office"; });
  std::string first;
  std::int64_t sums = 0;
  for (int round = 0; round < 3; ++round) {
    CAPTURE(round);
    TestBook third("third", 5);
    tell_apart(third, "1");
    std::mt19937_64 rng(seed + static_cast<std::uint64_t>(round));
    {
      store::Transaction t(third->inside().db);
      for (std::size_t i = 0, j = 0; i < mine.size() || j < theirs.size();) {
        const bool next =
            j == theirs.size() || i < shared.size() || (i < mine.size() && rng() % 3 != 0);
        bring_in(third->inside(), next ? mine[i++] : theirs[j++]);
      }
      t.commit();
    }
    if (first.empty()) first = third.dump(true);
    REQUIRE(difference(first, third.dump(true)) == "");
    sums = number(third->inside().db, "SELECT count(*) FROM flow WHERE origin < 0");
    store::Transaction t(third->inside().db);
    book::rebuild_all(third->inside());
    t.commit();
    REQUIRE(difference(first, third.dump(true)) == "");
  }
  return sums;
}

}  // namespace

TEST_SUITE("book/tank") {
  TEST_CASE("what an entry on a tank reads and writes is the same after 3000 jobs as after 100") {
    const Watched watched;
    std::vector<std::vector<Cost>> at;
    for (const int jobs : {100, 3000}) {
      Tanks t;
      t.run_many(jobs);
      at.push_back(costs(t));
    }
    REQUIRE(at[0].size() == at[1].size());
    for (std::size_t i = 0; i < at[0].size(); ++i) {
      CAPTURE(at[0][i].what);
      CHECK(at[0][i].steps > 100);
      CHECK(at[1][i].steps <= at[0][i].steps + at[0][i].steps / 4 + 400);
      CHECK(at[1][i].rows <= at[0][i].rows + 12);
    }
  }

  TEST_CASE("the rows that tanks leave behind grow with the movements, not with their square") {
    Tanks t;
    t.run_many(200);
    const auto rows = [&] {
      return number(t->inside().db,
                    "SELECT (SELECT count(*) FROM flow) + (SELECT count(*) FROM balance) + (SELECT "
                    "count(*) FROM account)");
    };
    const std::int64_t first = rows();
    t.run_many(400);
    const std::int64_t second = rows() - first;
    t.run_many(600);
    CHECK(rows() - first - second <= second + 60);
    CHECK(
        number(
            t->inside().db,
            "SELECT count(*) FROM balance WHERE place IN (SELECT id FROM place WHERE role <> 0)") <=
        4 * (fluids::kToldApart + 3));
  }

  TEST_CASE("a summed job is followed through tanks and its account holds to the last nanolitre") {
    Tanks t;
    t.run_many(60);
    t.write(Tanks::move(MoveVerb::decant, t.catch_, t.waste, "7L"));
    t.write(Tanks::move(MoveVerb::filter, t.catch_, t.keep, "5L"));
    t.write(Tanks::move(MoveVerb::pickup, t.waste, kReceiver, "11L"));
    std::map<std::string, std::int64_t> sums;
    for (const JobId j : jobs_in(t.book())) {
      const JobAccount a = job(t.book(), j)->accounts.front();
      std::int64_t found = 0;
      for (const auto& [where, f] : told(a)) {
        found += f.best;
        sums[where] += f.best;
      }
      CHECK(found == 15 * L);
      CHECK(a.left.best == 15 * L);
    }
    // Each share is rounded by itself, so all jobs together may miss what is there by a unit for
    // each movement and job.
    const auto about = [&](const char* where, std::int64_t there) {
      CHECK(std::abs(sums[where] - there) < 60 * 200);
    };
    about("undecided", t.level(t.catch_));
    about("kept", t.level(t.keep));
    about("waste", t.level(t.waste) + t.level(t.beside));
    about("shipped", t.level(kReceiver));
    about("gone", 0);
    // The last one was summed, and all that it brought is about as much of the tank as went in with
    // it.
    REQUIRE(number(t->inside().db, "SELECT count(*) FROM account WHERE origin < 0") > 60);
    CHECK(job(t.book(), t.jobs.back())->accounts.front().undecided.best > L / 100);
  }

  TEST_CASE("accounts and levels say the same as if every job were told apart in every tank") {
    const std::uint64_t seed = seed_of_run();
    MESSAGE("BAYBOOK_SEED=" << seed);
    int summed = 0;
    for (const char* jobs : {"1", "2", "3"}) {
      CAPTURE(seed);
      CAPTURE(jobs);
      TestBook b("bay", seed);
      tell_apart(b, jobs);
      RandomShop shop(b, seed + static_cast<std::uint64_t>(*jobs));
      for (int i = 0; i < 700; ++i) shop.act();
      const std::string live = b.dump(true);
      {
        store::Transaction t(b->inside().db);
        book::rebuild_all(b->inside());
        t.commit();
      }
      REQUIRE(difference(live, b.dump(true)) == "");
      REQUIRE(number(b->inside().db,
                     "SELECT count(*) FROM (SELECT sum(best) AS s FROM balance GROUP BY dimension, "
                     "fluid) WHERE s <> 0") == 0);
      summed +=
          static_cast<int>(number(b->inside().db, "SELECT count(*) FROM flow WHERE origin < -2"));
      const Day today = b.book().today(b.now).value();
      const auto accounts = [&] {
        std::map<std::string, Told> out;
        for (const JobId j : jobs_in(b.book())) {
          for (const AsOf as_of : {AsOf{}, AsOf{today}, AsOf{Day{today.n - 3}}}) {
            const auto view = job(b.book(), j, as_of);
            if (!view.ok()) continue;
            for (const JobAccount& a : view->accounts) {
              std::int64_t found = 0;
              for (const auto& [where, f] : told(a)) {
                found += f.best;
                out[std::to_string(j.n) + a.circuit +
                    std::to_string(static_cast<int>(a.dimension)) +
                    (as_of ? to_string(*as_of) : "now") + where] = f;
              }
              CHECK(found == a.left.best);
            }
          }
        }
        return out;
      };
      const auto levels_now = [&] {
        std::map<std::string, std::int64_t> out;
        const auto rows = levels(b.book(), {}, true);
        REQUIRE(rows.ok());
        for (const LevelRow& row : *rows)
          out[row.level.name + std::to_string(static_cast<int>(row.level.dimension))] +=
              row.level.best;
        return out;
      };
      const auto now = accounts();
      const auto held = levels_now();
      tell_all_apart(b);
      CHECK(levels_now() == held);
      const auto apart = accounts();
      REQUIRE(now.size() == apart.size());
      for (const auto& one : apart) {
        const std::string& where = one.first;
        const Told& f = one.second;
        CAPTURE(where);
        const Told mine = now.at(where);
        // A share is rounded to a unit at each movement; a litre has a thousand million of them.
        CHECK(std::abs(mine.best - f.best) < 5000);
        CHECK(std::abs(mine.low - f.low) < 5000);
        CHECK(std::abs(mine.high - f.high) < 5000);
      }
    }
    CHECK(summed > 20);
  }

  TEST_CASE("whatever order the entries of two books arrive in, the same jobs are summed") {
    // A shop of chance may mix nothing in a tank: then another one is asked.
    std::int64_t sums = 0;
    for (std::uint64_t shop = 0; shop < 5 && sums == 0; ++shop)
      sums = summed_in_any_order(seed_of_run() + 10'000 * shop);
    CHECK(sums > 0);
  }

  TEST_CASE("of all that leaves a sum what was measured is told from what was estimated") {
    TestBook b;
    const PlaceId drum = b.place("drum-1", Role::waste, {}, {"coolant"});
    const CarId car = b.car("MARSH-07");
    for (int i = 0; i < 40; ++i)
      b.write(TestBook::move(MoveVerb::drain, b.coolant(car), drum, i % 4 == 3 ? "~2L" : "3L",
                             b.job(car)));
    Movement away = TestBook::move(MoveVerb::pickup, drum, kReceiver, "all");
    away.lines.front().fate = Fate::recycled;
    b.write(away);
    const auto shipped = [&] {
      return totals(b.book(), day("2026-03-01"), day("2026-03-31"), false, {})
          ->rows.front()
          .recycled;
    };
    CHECK(shipped().measured == 90 * L);
    CHECK(shipped().estimated == 20 * L);
    const Sum before = shipped();
    tell_all_apart(b);
    CHECK(shipped().low == before.low);
    CHECK(shipped().high == before.high);
    CHECK(shipped().measured == before.measured);
  }

  TEST_CASE("a pan in which many jobs were summed still belongs to the open one alone in it") {
    TestBook b;
    const PlaceId pan = b.place("pan-1", Role::hold_catch);
    const PlaceId drum = b.place("drum-1", Role::waste, {}, {"coolant"});
    const CarId car = b.car("MARSH-07");
    // Estimates leave their bounds behind, so that after many of them everything is summed.
    JobId last;
    for (int i = 0; i < 80; ++i) {
      last = b.job(car);
      b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "~2L", last));
      CHECK(b.write(TestBook::move(MoveVerb::decant, pan, drum, "2L")).job_number == i + 1);
    }
    CHECK(number(b->inside().db, "SELECT count(*) FROM flow WHERE origin < 0") > 0);
    // Two jobs' fluid is nobody's.
    b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "~2L", last));
    const CarId other = b.car("DUNE-01");
    b.write(TestBook::move(MoveVerb::drain, b.coolant(other), pan, "~2L", b.job(other)));
    CHECK(b.write(TestBook::move(MoveVerb::decant, pan, drum, "1L")).job_number == 0);
  }

  TEST_CASE("another maker's coolant is seen in a tank of many jobs, through a second one too") {
    Tanks t;
    for (int i = 0; i < 30; ++i) t.run_job(i);
    const auto warned = [](const Receipt& r, const char* text) {
      return std::any_of(r.warnings.begin(), r.warnings.end(),
                         [&](const std::string& w) { return w.find(text) != std::string::npos; });
    };
    const JobId same = t.job(t.cars.front());
    CHECK_FALSE(
        warned(t.write(Tanks::move(MoveVerb::drain, t.coolant(t.cars.front()), t.keep, "2L", same)),
               "goes in with it"));
    const CarId other = t.car_asking_for("REED-04", "LL 4");
    const JobId j = t.job(other);
    CHECK(warned(t.write(Tanks::move(MoveVerb::drain, t.coolant(other), t.keep, "2L", j)),
                 "coolant of REED-04 (LL 4) goes in with it"));
    const CarId next = t.car_asking_for("REED-03", "OAT");
    CHECK(warned(t.write(Tanks::move(MoveVerb::drain, t.coolant(next), t.keep, "2L", t.job(next))),
                 "keep-1 holds coolant of REED-04 (LL 4)"));
    // Out of the tank into another one it is the same fluid.
    const PlaceId keep2 = t.place("keep-2", Role::reuse);
    t.write(Tanks::move(MoveVerb::decant, t.keep, keep2, "3L"));
    const CarId third = t.car_asking_for("REED-05", "OAT");
    CHECK(warned(t.write(Tanks::move(MoveVerb::drain, t.coolant(third), keep2, "1L", t.job(third))),
                 "coolant of REED-05 (OAT) goes in with it"));
  }

  TEST_CASE("a book from before jobs were summed stays sound, and a rebuild makes it anew") {
    Tanks t;
    t.run_many(40);
    tell_all_apart(t);
    const auto sound = [&] {
      const auto proof = prove(t.book());
      REQUIRE_MESSAGE(proof.ok(), why(proof));
      for (const Finding& f : proof->findings) MESSAGE(f.what);
      return proof->findings.empty();
    };
    CHECK(sound());
    const std::int64_t parts =
        number(t->inside().db, "SELECT count(*) FROM balance WHERE origin > 0");
    CHECK(parts > 60);
    const JobAccount before = job(t.book(), t.jobs[30])->accounts.front();
    t.run_and_take(41);
    CHECK(number(t->inside().db, "SELECT count(*) FROM flow WHERE origin < 0") == 0);
    CHECK(sound());
    REQUIRE(t.book().rebuild().ok());
    CHECK(number(t->inside().db, "SELECT count(*) FROM balance WHERE origin > 0") <=
          4 * fluids::kToldApart);
    CHECK(sound());
    t.run_and_take(42);
    CHECK(sound());
    const JobAccount after = job(t.book(), t.jobs[30])->accounts.front();
    CHECK(after.left.best == before.left.best);
    CHECK(std::abs(after.shipped.best - before.shipped.best) < L / 2);
  }

  TEST_CASE("a number of jobs that is none is found, and a rebuild puts it right") {
    for (const std::string wrong : {"", "0", "-3", "many", "16 ", "016", "99999999999999999999"}) {
      CAPTURE(wrong);
      Tanks t;
      t.run_many(3);
      tell_apart(t, wrong);
      const JobId next = t.job(t.cars.front());
      const Movement drain =
          Tanks::move(MoveVerb::drain, t.coolant(t.cars.front()), t.keep, "1L", next);
      const auto refused = t.try_write(drain);
      REQUIRE_FALSE(refused.ok());
      CHECK(refused.refusal().code == Code::unsound);
      const auto proof = prove(t.book());
      REQUIRE(proof.ok());
      REQUIRE(proof->findings.size() == 1);
      CHECK(proof->findings.front().what == "how many jobs a place tells apart is no number");
      CHECK(proof->findings.front().instead == "baybook prove --rebuild makes it anew");
      REQUIRE(t.book().rebuild().ok());
      CHECK(prove(t.book())->findings.empty());
      CHECK(t.try_write(drain).ok());
    }
  }
}
