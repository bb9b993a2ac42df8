// A chain that parted stays on the list until a file goes on from what is here, or one of the two
// is thrown out.
#include "support/two_books.hpp"

#include <baybook/peers.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

// A bay, and a copy of it that somebody wrote in: the same installation, parted at entry 2.
struct Parted {
  TestBook bay{"bay", 81}, copy{"bay", 81}, office{"office", 82};
  Parted() {
    bay.place("pan-1", Role::hold_catch, "25L");
    copy.place("tray-9", Role::hold_catch, "9L");
    (void)taken(office, file_of(bay.book()));
    (void)taken(office, file_of(copy.book()));
  }
};

}  // namespace

TEST_SUITE("book/forks") {
  TEST_CASE("a chain that parted is listed with both digests, in the next session too") {
    Parted s;
    for (const bool again : {false, true}) {
      if (again) s.office.reopen();
      const auto all = listed(s.office, Conflict::What::fork);
      REQUIRE(all.size() == 1);
      CHECK_MESSAGE(all[0].text.find("the chain of bay parted: entry 2@bay has digest ") == 0,
                    all[0].text);
      CHECK(all[0].instead.back() == "baybook exchange forget bay --from 2 --dry-run");
      CHECK(all[0].entries.size() == 1);
    }
    reads_well(s.office);
  }

  TEST_CASE("it goes from the list when a file goes on from what is here") {
    Parted s;
    s.bay.place("pan-2", Role::hold_catch, "25L");
    (void)taken(s.office, file_of(s.bay.book()));
    CHECK(listed(s.office, Conflict::What::fork).empty());
    // The other one once more.
    const ExchangeIn in = taken(s.office, file_of(s.copy.book()));
    CHECK(in.left == 1);
    CHECK(listed(s.office, Conflict::What::fork).size() == 1);
  }

  TEST_CASE("it goes from the list when what is here is thrown out, and the other comes in") {
    Parted s;
    const auto plan = plan_forget(s.office.book(), "bay", 2);
    REQUIRE_MESSAGE(plan.ok(), why(plan));
    REQUIRE(forget_installation(s.office.book(), *plan, s.office.stamp()).ok());
    CHECK(listed(s.office, Conflict::What::fork).empty());
    CHECK(taken(s.office, file_of(s.copy.book())).taken == 1);
    CHECK(s.office.book().find_place("tray-9").ok());
    CHECK(listed(s.office, Conflict::What::fork).empty());
    reads_well(s.office);
  }

  TEST_CASE("a dry run remembers nothing of a chain that parted") {
    TestBook bay("bay", 81), copy("bay", 81), office("office", 82);
    bay.place("pan-1", Role::hold_catch, "25L");
    copy.place("tray-9", Role::hold_catch, "9L");
    (void)taken(office, file_of(bay.book()));
    const auto tried = take_in(office, file_of(copy.book()), {}, true);
    REQUIRE_MESSAGE(tried.ok(), why(tried));
    CHECK(listed(office, Conflict::What::fork).empty());
  }
}
