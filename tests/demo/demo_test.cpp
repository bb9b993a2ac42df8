// The demonstration's book, kept by demo_fleet/run.sh with the built program, holds what it says it holds.
#include "support/test_book.hpp"

#include <baybook/due.hpp>

#include <doctest/doctest.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <map>
#include <set>
#include <sys/wait.h>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Kept {
  Folder folder;
  int status = -1;
  std::string screen;
  [[nodiscard]] std::string book() const { return folder.file("out/saltmarsh.baybook"); }
  void run() {
    const std::string command = "env -u BAYBOOK_BOOK -u BAYBOOK_BY BAYBOOK_PROGRAM='" BAYBOOK_PROGRAM "' DEMO_OUT='" + folder.file("out") + "' bash '" BAYBOOK_SOURCE "/demo_fleet/run.sh' >'" + folder.file("screen") + "' 2>&1 </dev/null";
    const int s = std::system(command.c_str());
    status = WIFEXITED(s) ? WEXITSTATUS(s) : 128;
    std::ifstream in(folder.file("screen"), std::ios::binary);
    screen.assign(std::istreambuf_iterator<char>(in), {});
  }
};

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

/// opening + in - out, to be compared with closing.
std::int64_t opening_and_moves(const TotalsRow& r) {
  return r.opening.best + r.drained.best + r.received.best + r.brought_in.best + r.gauge.best - r.put_back.best - r.new_used.best - r.lost_here.best - r.recycled.best - r.disposed.best - r.shipped_other.best - r.used_up.best;
}

}  // namespace

TEST_SUITE("demo") {
  TEST_CASE("the demonstration keeps three months, adds up, is sound, and a second run starts clean") {
    Kept kept;
    kept.run();
    REQUIRE_MESSAGE(kept.status == 0, kept.screen);
    for (const char* part : {"== The office: the month", "== The owner: what stands where", "== The technician: a car rolls in", "== Water pumps of lot L22", "history SERIES-A", "history SERIES-B", "history SERIES-C", "sound: ", "occurs: 0\n", "== The office prints the quarter", "== A second book, by the US federal rules", "small quantity generator (SQG)", "print/: ", "== April begins: what is due", "== What is due there"}) {
      CAPTURE(part);
      CHECK(has(kept.screen, part));
    }

    auto opened = Book::open(kept.book(), Access::read, repeatable(1));
    REQUIRE_MESSAGE(opened.ok(), why(opened));
    const Book& book = *opened;
    const auto all_cars = cars(book);
    REQUIRE(all_cars.ok());
    std::set<std::string> makes;
    std::size_t scrapped = 0;
    std::size_t replated = 0;
    for (const CarView& c : *all_cars) {
      if (!c.make.empty()) makes.insert(c.make);
      scrapped += c.scrapped ? 1U : 0U;
      replated += c.earlier_plates.empty() ? 0U : 1U;
    }
    CHECK(all_cars->size() >= 17);
    CHECK(makes.size() >= 4);
    CHECK(scrapped == 1);
    CHECK(replated == 1);
    const auto all_jobs = jobs(book, false);
    REQUIRE(all_jobs.ok());
    CHECK(all_jobs->size() >= 60);

    // Every fluid of every month, and each month opens as the one before closed.
    std::map<std::string, std::int64_t> closed;
    for (const auto& span : {std::pair{"2026-01-01", "2026-01-31"}, {"2026-02-01", "2026-02-28"}, {"2026-03-01", "2026-03-31"}}) {
      const std::string from = span.first;
      const auto month = totals(book, day(from), day(span.second));
      REQUIRE(month.ok());
      CHECK(month->rows.size() >= 8);
      for (const TotalsRow& r : month->rows) {
        CAPTURE(from);
        CAPTURE(r.fluid);
        CHECK(opening_and_moves(r) == r.closing.best);
        CHECK(r.closing.measured + r.closing.estimated == r.closing.best);
        CHECK(r.closing_undecided + r.closing_kept + r.closing_stock + r.closing_waste == r.closing.best);
        if (const auto before = closed.find(r.fluid); before != closed.end()) CHECK(before->second == r.opening.best);
        closed[r.fluid] = r.closing.best;
      }
    }

    const auto proof = prove(book);
    REQUIRE(proof.ok());
    CHECK(proof->findings.empty());
    CHECK(proof->tables_compared);

    // No plate, name or free text in any body: everything in table `private` is looked for in all of them.
    std::vector<std::string> secrets;
    {
      auto q = book.inside().db.query("SELECT DISTINCT value FROM private WHERE value <> ''");
      while (q.step()) secrets.push_back(q.text(0));
    }
    CHECK(secrets.size() > 100);
    std::size_t bodies = 0;
    auto q = book.inside().db.query("SELECT body FROM entry");
    while (q.step()) {
      const std::string body = q.text(0);
      ++bodies;
      for (const std::string& s : secrets) {
        if (has(body, s)) FAIL_CHECK("\"" << s << "\" stands in " << body);
      }
    }
    CHECK(bodies > 300);

    // Every kind of line of what is due: by time, by readings, by engine hours, put off, without a day; rechecks; containers; papers.
    DueFilter far;
    far.within = 400;
    const auto list = due_list(book, day("2026-04-01"), far);
    REQUIRE_MESSAGE(list.ok(), why(list));
    std::set<DueGroup> groups;
    for (const DueLine& d : list->lines) groups.insert(d.group);
    CHECK(groups.size() == 4);
    CHECK(list->over >= 4);
    CHECK(list->no_day == 1);
    const auto some = [&](const auto& like) { return std::any_of(list->lines.begin(), list->lines.end(), like); };
    CHECK(some([](const DueLine& d) { return d.group == DueGroup::car && !d.projected && d.day.has_value(); }));
    CHECK(some([](const DueLine& d) { return d.group == DueGroup::car && d.projected && has(d.figures, " km"); }));
    CHECK(some([](const DueLine& d) { return d.group == DueGroup::car && d.projected && has(d.figures, " h, due "); }));
    CHECK(some([](const DueLine& d) { return has(d.note, "put off until"); }));
    CHECK(some([](const DueLine& d) { return d.group == DueGroup::recheck && d.projected; }));
    for (const char* part : {"pan: pan-1", "filtered batch", "fills up", "inspection: ", "deadline: tank-test"}) {
      CAPTURE(part);
      CHECK(some([&](const DueLine& d) { return has(d.what, part); }));
    }
    const std::string calendar = [&] {
      std::ifstream in(kept.folder.file("out/print/due.ics"), std::ios::binary);
      return std::string(std::istreambuf_iterator<char>(in), {});
    }();
    CHECK(has(calendar, "BEGIN:VEVENT\r\n"));
    for (const std::string& s : secrets) {
      if (s.size() > 4 && has(calendar, s)) FAIL_CHECK("\"" << s << "\" stands in the calendar");
    }

    // The real series, as published: the first and the last reading of the first one.
    const auto series = book.find_car("SERIES-A");
    REQUIRE(series.ok());
    const auto story = history(book, *series);
    REQUIRE(story.ok());
    CHECK(story->size() == 21);
    const auto car_a = car(book, *series);
    REQUIRE(car_a.ok());
    CHECK(car_a->odometer_metres == 230'491'857);  // 143221 mi of 1609.344 m

    // A second run starts clean: as many entries as before.
    kept.run();
    REQUIRE_MESSAGE(kept.status == 0, kept.screen);
    auto again = Book::open(kept.book(), Access::read, repeatable(1));
    REQUIRE_MESSAGE(again.ok(), why(again));
    const auto second = prove(*again);
    REQUIRE(second.ok());
    CHECK(second->entries == static_cast<std::int64_t>(bodies));
  }
}
