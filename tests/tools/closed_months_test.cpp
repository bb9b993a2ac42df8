// Closed months through the real program: what is written into one is told, and a reprint says that
// it is one before any figure.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

namespace {

// The shop of March, decided, and closed in April; job 1 is open all the time.
struct ClosedShop : OpenShop {
  ClosedShop() {
    must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    now = "2026-04-02T08:00:00.000Z";
    closing = must({"close", "2026-03"});
  }
  Answer closing;
};

constexpr const char* kAmends =
    "2026-03 is closed (entry 14): this changes its figures, and what is printed of it from now on "
    "says AMENDED";

std::string line(const std::string& text, int n) {
  std::size_t at = 0;
  for (; n > 1; --n) at = text.find('\n', at) + 1;
  return text.substr(at, text.find('\n', at) - at);
}

}  // namespace

TEST_SUITE("tools/closed_months") {
  TEST_CASE(
      "a correction in a closed month and a day in one are told on the screen and in JSON, "
      "whatever the verb") {
    const ClosedShop shop;
    CHECK(has(flat(shop.closing.err),
              "check: a job is still open since 2026-03 or before: 1 (MARSH-07, since 2026-03-05); "
              "what is written on it with a day in 2026-03 amends its print"));
    for (const std::vector<std::string>& typed :
         {std::vector<std::string>{"correct", "13", "--amount", "5L", "--why", "misread"},
          {"drain", "1", "coolant", "0.2L", "--into", "drum-coolant", "--on", "2026-03-20"},
          {"fill", "1", "coolant", "0.2L", "--from", "can-1", "--on", "2026-03-20"},
          {"spill", "can-1", "0.2L", "--on", "2026-03-20"},
          {"decant", "can-1", "0.2L", "--into", "drum-coolant", "--mixing-reason", "old", "--on",
           "2026-03-20"},
          {"receive", "oat-violet", "1L", "--into", "can-1", "--on", "2026-03-20"},
          {"discard", "absorbent", "1kg", "--into", "drum-absorb", "--on", "2026-03-20"},
          {"gauge", "drum-coolant", "5L", "--reason", "dip", "--on", "2026-03-20"},
          {"pickup", "--carrier", "Quill & Tarn Recovery", "--doc", "A-1", "--from",
           "drum-coolant=1L", "--on", "2026-03-20"},
          {"rules", "set", "us-federal", "--from", "2026-03-01"}}) {
      CAPTURE(typed.front());
      std::vector<std::string> dry = typed;
      dry.emplace_back("--dry-run");
      const Answer a = shop.must(dry);
      CHECK(has(flat(a.err), "check: " + std::string(kAmends)));
      dry.emplace_back("--json");
      const Answer j = shop.must(dry);
      CHECK(is_json(j.out));
      CHECK(has(j.out,
                "\"closed_months\":[{\"month\":\"2026-03\",\"entry\":{\"number\":14,\"tag\":"
                "\"bay\"},\"changes\":true,\"amended\":true}]"));
      CHECK(has(j.out, kAmends));
      // Said even where the answer itself is not wanted.
      dry.back() = "--quiet";
      CHECK(has(flat(shop.must(dry).err), kAmends));
    }
    for (const std::vector<std::string>& typed :
         {std::vector<std::string>{"work", "1", "looked again", "--on", "2026-03-20"},
          {"odo", "MARSH-07", "88300km", "--on", "2026-03-20"},
          {"correct", "11", "--text", "pump whines", "--why", "heard again"}}) {
      CAPTURE(typed.front());
      CHECK(has(flat(shop.must(typed).err),
                "2026-03 is closed (entry 14): this changes none of its figures"));
    }
    CHECK(has(shop.must({"close", "2026-02", "--json"}).out, "\"open_jobs\":[]"));
    CHECK(has(flat(shop.must({"totals", "2026-03"}).out), "AMENDED") == false);
  }

  TEST_CASE(
      "an amended month says so in the first lines of totals, register and split, on the screen "
      "and in every form") {
    const ClosedShop shop;
    shop.must({"correct", "13", "--amount", "5L", "--why", "misread"});
    const std::string totals = shop.must({"totals", "2026-03"}).out;
    CHECK(has(line(totals, 1), "fluids from 2026-03-01 to 2026-03-31"));
    CHECK(line(totals, 2).starts_with("AMENDED: 2026-03 was closed by entry 14 on 2026-04-02; "));
    CHECK(has(flat(totals), "; 1 figure differs now. What changed stands at the end."));
    CHECK(has(shop.must({"totals", "2026-03", "--json"}).out, "\"amended\":true}"));
    CHECK(has(line(shop.must({"register", "2026-03"}).out, 1), "(AMENDED)"));
    CHECK(has(line(shop.must({"totals", "2026-03", "--split", "car"}).out, 1), "(AMENDED)"));
    CHECK(has(line(shop.must({"totals", "2026-03", "--form", "text"}).out, 1), "(AMENDED)"));
    for (const char* what : {"totals", "register"}) {
      CAPTURE(what);
      const std::string page = shop.must({what, "2026-03", "--form", "html"}).out;
      CHECK(has(page.substr(0, page.find("</h1>")), "(AMENDED)"));
      CHECK(has(shop.must({what, "2026-03", "--form", "csv"}).out, "(AMENDED)"));
      CHECK(has(shop.must({what, "2026-03", "--form", "json"}).out, "\"amended\":true"));
    }
    // A quarter with the month in it is amended too; the month after it is not closed.
    CHECK(has(line(shop.must({"totals", "2026-q1"}).out, 2), "AMENDED: 2026-03"));
    CHECK_FALSE(has(shop.must({"totals", "2026-04"}).out, "AMENDED"));
    CHECK(has(shop.must({"totals", "2026-04", "--json"}).out, "\"amended\":false}"));
  }

  TEST_CASE("a file that is taken in says which closed months it changes") {
    const ClosedShop bay;
    Shop office;
    office.now = "2026-04-03T08:00:00.000Z";
    office.variables = {{"BAYBOOK_BOOK", "o.baybook"}};
    bay.must({"exchange", "out", "bay.exchange"});
    std::filesystem::copy_file(bay.file("bay.exchange"), office.file("bay.exchange"));
    REQUIRE(office
                .run({"start", "o.baybook", "--site", "Saltmarsh Motor Works", "--tag", "office",
                      "--zone", "Europe/Lisbon"})
                .status == 0);
    REQUIRE(office.run({"exchange", "in", "bay.exchange"}).status == 0);
    REQUIRE(office.run({"discard", "coolant", "2L", "--into", "drum-coolant", "--on", "2026-03-21"})
                .status == 0);
    REQUIRE(office.run({"exchange", "out", "office.exchange"}).status == 0);
    std::filesystem::copy_file(office.file("office.exchange"), bay.file("office.exchange"));
    const Answer dry = bay.must({"exchange", "in", "office.exchange", "--dry-run", "--json"});
    CHECK(has(dry.out, "\"closed_months\":[{\"month\":\"2026-03\""));
    CHECK(has(flat(bay.must({"exchange", "in", "office.exchange"}).err),
              "check: " + std::string(kAmends)));
    CHECK(has(line(bay.must({"totals", "2026-03"}).out, 2), "AMENDED: 2026-03"));
  }
}
