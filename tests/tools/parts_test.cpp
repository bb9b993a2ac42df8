// Parts that come off again, through the real program.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

namespace {

// The pump of job 1 in the book, which is then closed; job 2 is open on the same car.
struct Pump : OpenShop {
  Pump() {
    must({"fit", "1", "WP-4471", "--what", "water pump", "--lot", "L22"});
    must({"job", "close", "1", "--as-is", "waits for fluid"});
    must({"job", "open", "MARSH-07", "--for", "pump whines"});
  }
};

}  // namespace

TEST_SUITE("tools/parts") {
  TEST_CASE(
      "a part that came off is named by its number or by its entry, and fitted and last tell it") {
    for (const char* named : {"WP-4471", "13"}) {
      CAPTURE(named);
      const Pump shop;
      CHECK(has(shop.must({"fitted", "WP-4471"}).out, "   13  MARSH-07  WP-4471"));
      const Answer off = shop.must({"work", "2", "pump off, warranty claim", "--takes-out", named});
      CHECK(has(flat(off.out), "work done, took out WP-4471 (entry 13): pump off, warranty claim"));
      const std::string list = shop.must({"fitted", "WP-4471"}).out;
      CHECK(list.starts_with(
          "no car carries part WP-4471 any more by this book\n\ntaken out again\n"));
      CHECK(has(flat(list), "water pump; OUT by entry 16 on 2026-03-05"));
      const std::string last = flat(shop.must({"last", "MARSH-07"}).out);
      CHECK(has(last, "done pump off, warranty claim, took out WP-4471 (entry 13)"));
      CHECK(has(flat(shop.must({"job", "show", "1"}).out),
                "fitted 1 pc WP-4471, lot L22: water pump [taken out by entry 16 on 2026-03-05]"));
      CHECK(has(flat(shop.must({"history", "MARSH-07"}).out),
                "[taken out by entry 16 on 2026-03-05]"));
      CHECK(has(shop.must({"history", "MARSH-07", "--form", "csv"}).out,
                "taken out by entry 16 on 2026-03-05"));
      const std::string json = shop.must({"fitted", "WP-4471", "--json"}).out;
      CHECK(is_json(json));
      CHECK(has(json,
                "\"state\":\"out\",\"left\":{\"pcs\":\"0\"},\"came_off\":[{\"entry\":{\"number\":"
                "16,\"tag\":\"bay\"},\"day\":\"2026-03-05\",\"job\":\"2\",\"quantity\":\"1 "
                "pc\"}],\"fitted_again\":null,\"scrapped\":false"));
      CHECK(has(shop.must({"entry", "13", "--json"}).out,
                "\"came_off\":\"taken out by entry 16 on 2026-03-05\""));
      shop.must({"prove"});
    }
  }

  TEST_CASE(
      "fitted says what it does not know: a part fitted again, a scrapped car, and what was done "
      "elsewhere") {
    const Pump shop;
    const Answer again = shop.must({"fit", "2", "WP-4471"});
    CHECK(has(flat(again.err),
              "check: WP-4471 was fitted to this car by entry 13 on 2026-03-05 too, and nothing "
              "says that it came off; if it did: baybook correct 16 --takes-out 13 --why \"...\""));
    const std::string list = flat(shop.must({"fitted", "WP-4471"}).out);
    CHECK(has(list, "may be out: fitted again by entry 16 on 2026-03-05"));
    CHECK(has(list,
              "what came off elsewhere, or for a part of another number, is still in the list"));
    CHECK(has(flat(shop.must({"last", "MARSH-07", "coolant"}).out),
              "fitted water pump: 1 pc WP-4471, lot L22 - may be out: fitted again by entry 16 on "
              "2026-03-05"));
    // What the check says to type, typed.
    const Answer said =
        shop.must({"correct", "16", "--takes-out", "13", "--why", "the old one came off"});
    CHECK(has(flat(said.out), "now fitted 1 pc WP-4471, took out WP-4471 (entry 13)"));
    CHECK(has(flat(shop.must({"fitted", "WP-4471"}).out), "taken out again"));
    shop.must({"job", "close", "2"});
    shop.must({"car", "change", "MARSH-07", "--scrapped"});
    CHECK(has(flat(shop.must({"fitted", "WP-4471"}).out), "car scrapped"));
  }

  TEST_CASE(
      "some of several pieces come off with =, and what is not there is refused with where to "
      "look") {
    const Pump shop;
    shop.must({"fit", "2", "SP-8", "--qty", "4"});
    CHECK(has(flat(shop.must({"work", "2", "one cracked", "--takes-out", "SP-8=1"}).out),
              "took out 1 pc of SP-8 (entry 16)"));
    CHECK(has(flat(shop.must({"fitted", "SP-8"}).out), "1 pc OUT by entry 17 on 2026-03-05"));
    for (const auto& [named, words] :
         {std::pair<const char*, const char*>{"XX-1", "no part XX-1 is in MARSH-07 by the book"},
          {"12", "there is no such fitted part"},
          {"SP-8=9", "3 pcs of it are in"},
          {"SP-8=2kg", "fitted as 4 pcs"},
          {"999", "999"}}) {
      CAPTURE(named);
      const std::string before = shop.dump();
      const Answer a = shop.run({"work", "2", "off", "--takes-out", named});
      CHECK(a.status == 1);
      CHECK(has(flat(a.err), words));
      CHECK(has(a.err, "type:"));
      CHECK(shop.dump() == before);
    }
    shop.must({"fit", "2", "SP-8", "--qty", "2"});
    CHECK(has(flat(shop.run({"work", "2", "off", "--takes-out", "SP-8"}).err),
              "more than once: entries 16, 18"));
  }
}
