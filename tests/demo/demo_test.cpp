// The demo fleet's script run from end to end with the program under test; it checks itself, and this looks at the book it made.
#include "support/test_book.hpp"

#include <sys/wait.h>

using namespace baybook;
using namespace baybook::test;

namespace {

int run(const std::string& command, std::string& out) {
  FILE* pipe = ::popen((command + " 2>&1").c_str(), "r");
  REQUIRE(pipe != nullptr);
  char buffer[4096];
  for (std::size_t n = 0; (n = std::fread(buffer, 1, sizeof buffer, pipe)) > 0;) out.append(buffer, n);
  const int status = ::pclose(pipe);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128;
}

}  // namespace

TEST_SUITE("demo") {
  TEST_CASE("the demo keeps three months of an invented workshop and every month adds up, twice over") {
    const Folder folder;
    const std::string command = "BAYBOOK_PROGRAM='" BAYBOOK_PROGRAM "' DEMO_OUT='" + folder.file("out") + "' bash '" BAYBOOK_SOURCE "/demo_fleet/run.sh'";
    for (int round = 0; round < 2; ++round) {  // the second run starts clean
      CAPTURE(round);
      std::string out;
      const int status = run(command, out);
      CAPTURE(out);
      REQUIRE(status == 0);
      CHECK(out.find("2026-03: ") != std::string::npos);
    }
    const auto b = Book::open(folder.file("out/saltmarsh.baybook"), Access::read, repeatable(1));
    REQUIRE_MESSAGE(b.ok(), why(b));
    const auto all_cars = cars(*b);
    REQUIRE(all_cars.ok());
    CHECK(all_cars->size() >= 14 + 3);
    const auto all_jobs = jobs(*b, false);
    REQUIRE(all_jobs.ok());
    CHECK(all_jobs->size() >= 60);
    const auto proof = prove(*b, b->seal());
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    for (const Finding& f : proof->findings) MESSAGE(f.what);
    CHECK(proof->findings.empty());

    for (int month = 1; month <= 3; ++month) {
      const Day first = day("2026-0" + std::to_string(month) + "-01");
      const auto t = totals(*b, first, last_of(month_of(first)));
      REQUIRE_MESSAGE(t.ok(), why(t));
      CHECK(t->rows.size() >= 5);
      for (const TotalsRow& r : t->rows) {
        CAPTURE(r.fluid);
        const std::int64_t in = r.opening.best + r.drained.best + r.received.best + r.brought_in.best + r.gauge.best;
        const std::int64_t out = r.put_back.best + r.new_used.best + r.lost_here.best + r.recycled.best + r.disposed.best + r.shipped_other.best + r.used_up.best;
        CHECK(in - out == r.closing.best);
        CHECK(r.closing_undecided + r.closing_kept + r.closing_stock + r.closing_waste == r.closing.best);
        CHECK(r.closing.measured + r.closing.estimated == r.closing.best);
        CHECK(r.closing.low <= r.closing.best);
        CHECK(r.closing.best <= r.closing.high);
      }
    }
    // What the month says is on hand is what the places hold, fluid by fluid.
    const auto rows = totals(*b, day("2026-03-01"), day("2026-03-31"));
    const auto places = levels(*b);
    REQUIRE(places.ok());
    std::int64_t held = 0;
    for (const LevelRow& r : *places) held += r.level.dimension == Dimension::volume ? r.level.best : 0;
    std::int64_t closing = 0;
    for (const TotalsRow& r : rows->rows) closing += r.dimension == Dimension::volume ? r.closing.best : 0;
    CHECK(held == closing);

    // Nothing private in any body: every private value of the book, looked for in all of them.
    std::string bodies;
    auto q = b->inside().db.query("SELECT body FROM entry");
    while (q.step()) bodies += q.text(0) + "\n";
    auto p = b->inside().db.query("SELECT DISTINCT value FROM private");
    int looked_for = 0;
    while (p.step()) {
      const std::string value = p.text(0);
      CAPTURE(value);
      CHECK(bodies.find(value) == std::string::npos);
      ++looked_for;
    }
    CHECK(looked_for > 100);
  }
}
