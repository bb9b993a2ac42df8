// One job through the real program, worked to zero by hand.
//
// Out of the circuit: 5.4 L drained + 0.85 L spilled (0.5 to 1.2) = 6.25 L (5.9 to 6.6).
// Where that is: 4.2 L filtered and put back, 1.2 L to the drum, 0.85 L gone: 4.2 + 1.2 + 0.85 = 6.25.
// Into the circuit: 4.2 L put back + 1.9 L new = 6.1 L; short by 0.15 L.
// The month: 0 + 5.4 drained + 20 received = 19.3 at the end + 4.2 put back + 1.9 new; 19.3 = 18.1 new + 1.2 waste.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <string>
#include <vector>

using baybook::test::Answer;
using baybook::test::flat;
using baybook::test::OpenShop;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

void finish_the_job(const OpenShop& shop) {
  shop.must({"code", "1", "P0217"});
  shop.must({"filter", "pan-1", "4.2L", "--into", "keep-1", "--through", "10 um paper"});
  shop.must({"spill", "1", "coolant", "0.5..1.2L", "--picked-up", "granules 1.5kg", "--into", "drum-absorb"});
  shop.must({"fill", "1", "coolant", "4.2L", "--from", "keep-1"});
  shop.must({"fill", "1", "coolant", "1.9L", "--from", "can-1"});
  shop.must({"fit", "1", "WP-4471", "--what", "water pump", "--lot", "L22", "--warranty", "24mo", "--warranty", "20000km", "--old", "core"});
  shop.must({"torque", "1", "pump bolts", "22Nm"});
  shop.must({"work", "1", "water pump replaced", "--by", "Tam"});
  shop.must({"code", "1", "P0217", "--cleared"});
  shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
}

}  // namespace

TEST_SUITE("tools/job") {
  TEST_CASE("what soaked up a spill by the kilogram leaves the litres of the circuit litres, and why an account was left is told") {
    const OpenShop shop;
    shop.must({"spill", "1", "coolant", "0.5L", "--picked-up", "granules 1kg", "--into", "drum-absorb"});
    const std::string last = shop.must({"last", "MARSH-07"}).out;
    CHECK(last.find(" kg") == std::string::npos);
    CHECK(last.find("0.5 L") != std::string::npos);
    shop.must({"job", "close", "1", "--as-is", "towed away unfilled"});
    CHECK(flat(shop.must({"history", "MARSH-07"}).out).find("left as it is: towed away unfilled") != std::string::npos);
    CHECK(flat(shop.must({"job", "show", "1"}).out).find("towed away unfilled") != std::string::npos);
  }

  TEST_CASE("a gauge that names a fluid where the book knows one says that it stays what it was") {
    const OpenShop shop;
    shop.must({"gauge", "keep-1", "1L", "--reason", "found standing there"});
    const Answer a = shop.must({"gauge", "keep-1", "1L", "--fluid", "coolant", "--reason", "looked at"});
    CHECK(flat(a.err).find("keep-1 held 1 L by the book, which stays what it was") != std::string::npos);
    CHECK(flat(shop.run({"gauge", "keep-1", "4L"}).err).find("what came in and was not written down") != std::string::npos);
    CHECK(flat(shop.run({"gauge", "keep-1", "0.4L"}).err).find("evaporation") != std::string::npos);
    shop.must({"gauge", "keep-1", "0L", "--reason", "was coolant"});
    CHECK(flat(shop.must({"gauge", "keep-1", "1L", "--fluid", "coolant", "--reason", "looked at"}).err).find("stays what it was") == std::string::npos);
  }

  TEST_CASE("--lost is not offered where one account is short and another over") {
    const OpenShop shop;
    shop.must({"car", "change", "MARSH-07", "--circuit", "engine-oil=4.5L"});
    shop.must({"place", "add", "can-9", "--role", "stock", "--takes", "engine-oil", "--size", "20L"});
    shop.must({"receive", "engine-oil", "5L", "--into", "can-9"});
    shop.must({"drain", "1", "engine-oil", "0.5L", "--into", "pan-1", "--mixing-reason", "only pan"});
    shop.must({"fill", "1", "engine-oil", "1L", "--from", "can-9"});
    const Answer a = shop.run({"job", "close", "1"});
    CHECK(a.status == 1);
    CHECK(a.err.find("short") != std::string::npos);
    CHECK(a.err.find("--lost (") == std::string::npos);
  }

  TEST_CASE("a job closes with its accounts as a form that adds up by hand") {
    const OpenShop shop;
    finish_the_job(shop);
    const Answer a = shop.must({"job", "close", "1", "--result", "tight, no leak", "--recheck", "coolant level", "--after", "3d", "--after", "200km"});
    CHECK(has(a.out, "out of the circuit       6.25  5.90 to 6.60\n"));
    CHECK(has(a.out, "put back into a car    4.20\n"));
    CHECK(has(a.out, "to waste               1.20\n"));
    CHECK(has(a.out, "gone to the ground     0.85  0.50 to 1.20\n"));
    CHECK(has(a.out, "into the circuit         6.10\n"));
    CHECK(has(a.out, "the circuit is short by  0.15  0.50 short to 0.20 over\n"));
    const Answer json = shop.must({"job", "show", "1", "--json"});
    CHECK(has(json.out, "\"left\":{\"nl\":\"6250000000\",\"low\":{\"nl\":\"5900000000\"},\"best\":{\"nl\":\"6250000000\"},\"high\":{\"nl\":\"6600000000\"}}"));
    CHECK(has(json.out, "\"change\":{\"nl\":\"-150000000\""));
  }

  TEST_CASE("a reading of today joins the job the car is in for, and a retry by plate finds its job after it was closed") {
    const OpenShop shop;
    finish_the_job(shop);
    CHECK(has(shop.must({"odo", "MARSH-07", "88215km", "--once", "reading-1"}).out, "odometer 88215 km, job 1"));
    shop.must({"fill", "MARSH-07", "coolant", "0.1L", "--from", "can-1", "--once", "topped-up"});
    shop.must({"job", "close", "1", "--result", "tight"});
    for (const std::vector<std::string>& retry : {std::vector<std::string>{"fill", "MARSH-07", "coolant", "0.1L", "--from", "can-1", "--once", "topped-up"}, {"odo", "MARSH-07", "88215km", "--once", "reading-1"}}) {
      const Answer again = shop.must(retry);
      CHECK(has(again.out, "written before under this --once key; nothing new was written"));
    }
    // With other details it is another request, and without a key the job is closed.
    CHECK(shop.run({"fill", "MARSH-07", "coolant", "0.2L", "--from", "can-1", "--once", "topped-up"}).status == 1);
    CHECK(shop.run({"fill", "MARSH-07", "coolant", "0.1L", "--from", "can-1"}).status == 1);
  }

  TEST_CASE("a span of the totals may name months as well as days") {
    const OpenShop shop;
    const std::string days = shop.must({"totals", "2026-02-01..2026-03-31", "--json"}).out;
    CHECK(shop.must({"totals", "2026-02..2026-03", "--json"}).out == days);
    CHECK(shop.must({"totals", "2026-02-01..this-month", "--json"}).out == days);
    CHECK(shop.run({"totals", "2026-03..2026-02"}).status == 1);
    CHECK(shop.run({"totals", "2026-13..2026-14"}).status == 1);
  }

  TEST_CASE("a circuit typed before the job is told where it belongs") {
    const OpenShop shop;
    const Answer a = shop.run({"drain", "coolant", "MARSH-07", "5.4L", "--into", "pan-1"});
    CHECK(a.status == 1);
    CHECK(has(a.err, "coolant is a circuit; the job or its car comes first"));
    CHECK(has(a.err, "type: the job's number or the plate, then coolant"));
  }

  TEST_CASE("last answers what was done, when, at what reading, by whom, with what, and what is left to watch") {
    const OpenShop shop;
    finish_the_job(shop);
    shop.must({"job", "close", "1", "--result", "tight, no leak", "--recheck", "coolant level", "--after", "3d"});
    const std::string out = shop.must({"last", "MARSH-07"}).out;
    for (const char* part : {"MARSH-07  Corvane Tern 2014  88210 km on 2026-03-05", "last job 1", "came for  water pump weeping", "done      water pump replaced", "result    tight, no leak",
                             "P0217 read, cleared", "WP-4471, lot L22", "5.4 L", "4.2 L", "1.9 L", "0.85 L", "oat-violet", "by Tam", "watch  coolant level, after 3 days: from 2026-03-08"}) {
      CAPTURE(part);
      CHECK(has(out, part));
    }
    std::size_t lines = 0;
    for (const char c : out) lines += c == '\n' ? 1 : 0;
    CHECK(lines <= 24);  // one screen
    const std::string coolant = shop.must({"last", "MARSH-07", "coolant"}).out;
    CHECK(has(coolant, "drained 5.4 L coolant into pan-1"));
    CHECK_FALSE(has(coolant, "engine-oil"));
    // A fragment finds the car, and so does one slip, which is said.
    CHECK(shop.must({"last", "07"}).out == out);
    const Answer slip = shop.must({"last", "MARSH-17"});
    CHECK(slip.out == out);
    CHECK(has(slip.err, "there is no car named MARSH-17; this is MARSH-07"));
    CHECK(has(shop.must({"fitted", "WP-4471", "--lot", "L22"}).out, "MARSH-07"));
    CHECK(has(shop.must({"fitted", "WP-4471", "--lot", "L23"}).out, "no car carries part WP-4471, lot L23"));
  }

  TEST_CASE("the month's totals show in and out, and opening + in = closing + out for each fluid") {
    const OpenShop shop;
    finish_the_job(shop);
    shop.must({"job", "close", "1"});
    const std::string out = shop.must({"totals", "2026-03"}).out;
    const std::string form = flat(out);
    CHECK(has(form, "coolant: 0 L at the start + 5.4 L drained + 20 L received = 19.3 L at the end + 4.2 L put back + 1.9 L new used"));
    CHECK(has(form, "18.1 L new in stock, 1.2 L waste"));
    CHECK(has(form, "lost from cars 0.5 L to 1.2 L"));
    CHECK(has(form, "absorbent: 0 kg at the start + 1.5 kg brought in = 1.5 kg at the end"));
    CHECK(has(form, "seal bay:"));
    CHECK(has(form, "local codes and the authority"));
    CHECK(has(shop.must({"totals", "2026-02"}).out, "from 2026-02-01 to 2026-02-28"));
    CHECK(shop.must({"totals", "2026-03-01..2026-03-31"}).out == out);
    CHECK(shop.must({"totals"}).out == out);
    CHECK(shop.run({"totals", "2026-13"}).status == 1);
    CHECK(shop.run({"totals", "2026-03-31..2026-03-01"}).status == 1);
  }

  TEST_CASE("what is picked up of a spill is counted once") {
    const OpenShop shop;
    const Answer a = shop.must({"spill", "pan-1", "0.4L", "--picked-up", "0.3L", "--into", "drum-coolant", "--where", "bay 2"});
    CHECK(has(a.out, "pan-1         5 of 20 L\n"));
    CHECK(has(a.out, "drum-coolant  0.3 of 180 L\n"));
    const Answer all = shop.must({"spill", "pan-1", "0.2L", "--picked-up", "0.2L", "--into", "drum-coolant"});
    CHECK_FALSE(has(all.out, "spilled"));
    // A place for each: the fluid into one, what soaked up the rest into another.
    const Answer both = shop.must({"spill", "pan-1", "1L", "--picked-up", "0.6L", "--into", "drum-coolant", "--picked-up", "granules 2kg", "--into", "drum-absorb"});
    CHECK(has(both.out, "pan-1         3.8 of 20 L\n"));
    CHECK(has(both.out, "drum-coolant  1.1 of 180 L\n"));
    CHECK(has(both.out, "drum-absorb   2 of 60 kg\n"));
    CHECK(has(shop.must({"prove"}).out, "sound: 15 entries"));
  }

  TEST_CASE("a pick-up takes several loads, each with its own fate") {
    const OpenShop shop;
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    shop.must({"discard", "absorbent", "3kg", "--into", "drum-absorb"});
    const Answer a = shop.must({"pickup", "--carrier", "Quill & Tarn Recovery", "--doc", "0041233", "--from", "drum-coolant=5L", "--fate", "recycle", "--from", "drum-absorb=all", "--fate", "dispose"});
    CHECK(has(a.out, "drum-coolant  0.4 of 180 L\n"));
    CHECK(has(a.out, "drum-absorb   0 of 60 kg\n"));
    const std::string json = shop.must({"entry", "last", "--json"}).out;
    CHECK(has(json, "\"carrier\":\"Quill & Tarn Recovery\""));
    CHECK_FALSE(has(json.substr(json.find("\"body\""), json.find("\"private\":{\"carrier\"") - json.find("\"body\"")), "Quill"));
    const std::string totals = shop.must({"totals", "--json"}).out;
    CHECK(has(totals, "\"recycled\":{\"nl\":\"5000000000\""));
    CHECK(has(totals, "\"disposed\":{\"ug\":\"3000000000\""));
  }

  TEST_CASE("a gauge by weight needs a density with its source, and its difference a reason") {
    const OpenShop shop;
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    CHECK(shop.run({"gauge", "drum-coolant", "5L"}).status != 0);
    CHECK(shop.run({"gauge", "drum-coolant", "5L", "--gross", "20kg", "--tare", "10kg"}).status == 2);
    CHECK(shop.run({"gauge", "drum-coolant"}).status == 2);
    CHECK(shop.run({"gauge", "drum-coolant", "--gross", "20kg", "--tare", "10kg", "--reason", "weighed"}).status == 1);
    // 10.7 kg at 1.07 kg/L is 10 L.
    const Answer a = shop.must({"gauge", "drum-coolant", "--gross", "27.7kg", "--tare", "17kg", "--density", "1.07kg/L", "--source", "data sheet", "--reason", "weighed"});
    CHECK(has(a.out, "drum-coolant  10 of 180 L\n"));
  }

  TEST_CASE("a circuit that nobody has touched is not called empty") {
    const OpenShop shop;
    shop.must({"car", "add", "BRISK-9", "--circuit", "coolant=6L", "--circuit", "engine-oil=4L"});
    shop.must({"job", "open", "BRISK-9", "--odo", "1000km", "--for", "leak"});
    shop.must({"drain", "BRISK-9", "coolant", "5L", "--into", "pan-1"});
    const std::string told = flat(shop.must({"levels", "--circuits"}).out);
    CHECK_MESSAGE(has(told, "BRISK-9 coolant 0 L 6 L 0 % empty by the book"), told);
    CHECK_MESSAGE(has(told, "BRISK-9 engine-oil 4 L nothing is booked of it"), told);
  }

  TEST_CASE("a warranty or a recheck of years and weeks below nothing is refused") {
    const OpenShop shop;
    // In 32 bits these are four months and one day.
    CHECK(has(flat(shop.run({"fit", "1", "WP-4471", "--what", "water pump", "--warranty", "-357913941y", "--old", "core"}).err), "a warranty of -357913941y is not likely"));
    CHECK(has(flat(shop.run({"job", "close", "1", "--result", "tight", "--recheck", "coolant level", "--after", "-1227133513w"}).err), "a recheck after no time is not a recheck"));
  }
}
