// A clock that does not go with the book, at a terminal and without one.
#include "run_program.hpp"

#include "support/has.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>
#include <vector>

using baybook::test::Answer;
using baybook::test::flat;
using baybook::test::has;
using baybook::test::OpenShop;

TEST_SUITE("tools/clock") {
  TEST_CASE(
      "at a terminal a clock far ahead or behind is asked about before anything is written, and only a yes writes") {
    for (const char* wrong : {"2039-01-01T00:00:00.000Z", "2025-03-05T09:40:00.000Z"}) {
      CAPTURE(wrong);
      OpenShop shop;
      const std::string before = shop.dump();
      shop.now = wrong;
      const Answer no = shop.run_at_terminal({"person", "add", "Wren"}, "y\n");
      CHECK(no.status == 1);
      CHECK(
          has(flat(no.out), "the clock of this machine says " + std::string(wrong).substr(0, 10)));
      CHECK(has(flat(no.out), "nothing was written"));
      shop.now = "2026-03-05T09:40:00.000Z";
      CHECK(shop.dump() == before);
      shop.now = wrong;
      const Answer yes = shop.run_at_terminal({"person", "add", "Wren"}, "yes\n");
      CHECK(yes.status == 0);
      // Nobody is asked twice about the same.
      const Answer again = shop.run_at_terminal({"person", "add", "Oona"}, "no\n");
      CHECK(again.status == 0);
      CHECK_FALSE(has(flat(again.out), "type yes"));
    }
  }

  TEST_CASE(
      "the question has an option, is not put for a dry run, and never where nobody can answer") {
    OpenShop shop;
    shop.now = "2039-01-01T00:00:00.000Z";
    const Answer dry = shop.run_at_terminal({"work", "1", "pump off", "--dry-run"}, "no\n");
    CHECK(dry.status == 0);
    CHECK(has(flat(dry.out), "4684 days ago"));
    const Answer option =
        shop.run_at_terminal({"work", "1", "pump off", "--clock-is-right"}, "no\n");
    CHECK(option.status == 0);
    CHECK_FALSE(has(flat(option.out), "type yes"));
    OpenShop script;
    script.now = shop.now;
    const Answer a = script.run({"work", "1", "pump off", "--json"});
    CHECK(a.status == 0);
    CHECK(has(a.out, "\"clock\":{\"is\":\"ahead\",\"now\":\"2039-01-01T00:00:00.000Z\""));
    CHECK(has(a.out, "--withdraw --why"));
  }

  TEST_CASE(
      "what the answer says to type after a leap takes the entry back and lists what is dated after today") {
    OpenShop shop;
    const std::string right = shop.now;
    shop.now = "2039-01-01T00:00:00.000Z";
    const Answer leapt = shop.must({"receive", "oat-violet", "2L", "--into", "can-1"});
    const std::string said = flat(leapt.err);
    const std::size_t at = said.find("baybook correct ");
    REQUIRE(at != std::string::npos);
    const std::string number = said.substr(at + 16, said.find(' ', at + 16) - at - 16);
    shop.now = right;
    CHECK(has(flat(shop.must({"work", "1", "pump off"}).err), "baybook entries --from 2026-03-06"));
    const std::string listed = shop.must({"entries", "--from", "2026-03-06"}).out;
    CHECK(has(listed, number + "  2039-01-01"));
    shop.must({"correct", number, "--withdraw", "--why", "the clock was ahead"});
    const Answer rewritten = shop.must({"receive", "oat-violet", "2L", "--into", "can-1"});
    CHECK(has(rewritten.out, "can-1  22 of 25 L"));
    CHECK_FALSE(has(flat(rewritten.err), "entries --from"));
  }

  TEST_CASE(
      "a clock in a year that cannot be is refused by what asks it for the day, and a day that is typed needs none") {
    OpenShop shop;
    shop.now = "1970-01-01T00:00:00.000Z";
    for (const std::vector<std::string>& verb :
         std::vector<std::vector<std::string>>{{"work", "1", "pump off"},
                                               {"work", "1", "pump off", "--on", "2026-03-05"},
                                               {"due"},
                                               {"limits"},
                                               {"totals"}}) {
      CAPTURE(verb.front());
      const Answer a = shop.run(verb);
      CHECK(a.status == 1);
      CHECK(has(flat(a.err), "the clock of this machine says 1970-01-01, and that cannot be"));
    }
    for (const std::vector<std::string>& verb :
         std::vector<std::vector<std::string>>{{"due", "--as-of", "2026-03-05"},
                                               {"limits", "--as-of", "2026-03-05"},
                                               {"levels"},
                                               {"prove"},
                                               {"totals", "2026-03", "--as-of", "2026-03-05"}}) {
      CAPTURE(verb.front());
      CHECK(shop.run(verb).status == 0);
    }
  }

  TEST_CASE(
      "a report of today says when the clock it is told by does not go with the book, and one as of a day does not look") {
    OpenShop shop;
    shop.now = "2039-01-01T00:00:00.000Z";
    CHECK(has(flat(shop.must({"due"}).err), "the clock of this machine says 2039-01-01"));
    CHECK(shop.must({"due", "--as-of", "2026-03-05"}).err.empty());
  }

  TEST_CASE(
      "totals of a book without rules say on the screen that a month is not over or ahead, and as of a day by that day") {
    OpenShop shop;
    CHECK(has(flat(shop.must({"totals", "2026-03"}).out),
              "2026-03 is not over: its figures are so far, up to 2026-03-05."));
    CHECK(has(flat(shop.must({"totals", "2026-04"}).out), "2026-04 lies ahead of 2026-03-05"));
    shop.now = "2026-04-02T09:40:00.000Z";
    CHECK_FALSE(has(flat(shop.must({"totals", "2026-03"}).out), "is not over"));
    CHECK(has(flat(shop.must({"totals", "2026-03", "--as-of", "2026-03-20"}).out),
              "so far, up to 2026-03-20."));
  }

  TEST_CASE("the register says in JSON, as on paper, that a closed month has changed") {
    OpenShop shop;
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    shop.now = "2026-04-02T09:40:00.000Z";
    CHECK(has(shop.must({"register", "2026-03", "--json"}).out, "\"closed\":[],\"amended\":false"));
    shop.must({"close", "2026-03"});
    CHECK(has(shop.must({"register", "2026-03", "--json"}).out, "\"amended\":false"));
    shop.must({"discard", "coolant", "1L", "--into", "drum-coolant", "--on", "2026-03-20"});
    const std::string out = shop.must({"register", "2026-03", "--json"}).out;
    CHECK(baybook::test::is_json(out));
    CHECK(out.ends_with("\"amended\":true}\n"));
  }

  TEST_CASE(
      "a schedule for a model that nobody has is refused at its line, with one that somebody has as it is typed in the file") {
    OpenShop shop;
    std::ofstream(shop.folder() / "s.toml")
        << "name = \"merlin\"\n\n[[interval]]\nmake = \"Corvane\"\nmodel = \"Tarn\"\ntask = \"coolant\"\ncircuit = \"coolant\"\nmonths = 48\nsource = \"booklet\"\n";
    const Answer a = shop.run({"schedule", "load", "s.toml"});
    CHECK(a.status == 1);
    CHECK(has(a.err, "s.toml:3:1: no car in the book is a Corvane Tarn"));
    const std::size_t type = a.err.find("type: ");
    REQUIRE(type != std::string::npos);
    CHECK(has(a.err.substr(type), "make = \"CORVANE\", model = \"TERN\""));
  }
}
