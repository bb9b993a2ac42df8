// What is missing and what went to the ground, as the command prints them.
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;

namespace {

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

// 5.4 L drained and 0.5 L spilled, 6.8 L filled: 0.9 L more in than out.
struct Over : OpenShop {
  Over() {
    must({"spill", "1", "coolant", "0.5L"});
    must({"fill", "1", "coolant", "6.8L", "--from", "can-1"});
  }
};

}  // namespace

TEST_SUITE("tools/closing") {
  TEST_CASE(
      "--lost is --missing in another spelling, and the account, the month, its sheets and last "
      "tell missing and the ground apart") {
    for (const char* spelling : {"--missing", "--lost"}) {
      const Over shop;
      const Answer closed = shop.must({"job", "close", "1", spelling});
      CHECK(has(flat(closed.out), "job closed, 0.9 L coolant missing"));
      CHECK(has(flat(closed.out), "gone to the ground 0.50 missing 0.90 lost, together 1.40 into"));
      CHECK(has(closed.out, "the circuit is as it was"));
      CHECK(!has(closed.out, "stop it, contain it"));
      const std::string json = shop.must({"job", "show", "1", "--json"}).out;
      CHECK(is_json(json));
      CHECK(has(json, "\"gone\":{\"nl\":\"500000000\""));
      CHECK(has(json, "\"missing\":{\"nl\":\"900000000\""));
      CHECK(has(json, "\"lost\":{\"nl\":\"1400000000\""));
      CHECK(has(json, "\"was_low\":false"));
      const std::string month = shop.must({"totals", "2026-03"}).out;
      CHECK(has(flat(month), "lost of it of it"));
      CHECK(has(flat(month), "from cars to ground missing"));
      CHECK(has(flat(month), "coolant 1.40 0.50 0.90"));
      const std::string figures = shop.must({"totals", "2026-03", "--json"}).out;
      CHECK(has(figures, "\"lost_from_cars\":{\"nl\":\"1400000000\""));
      CHECK(has(figures, "\"ground_from_cars\":{\"nl\":\"500000000\""));
      CHECK(has(figures, "\"missing_from_cars\":{\"nl\":\"900000000\""));
      const std::string csv = shop.must({"totals", "2026-03", "--form", "csv"}).out;
      CHECK(has(csv, "lost_from_cars"));
      CHECK(has(csv, "ground_from_cars"));
      CHECK(has(csv, "missing_from_cars"));
      CHECK(has(shop.must({"totals", "2026-03", "--form", "html"}).out, "of it missing"));
      const std::string split =
          shop.must({"totals", "2026-03", "--split", "car", "--form", "csv"}).out;
      CHECK(has(split, "to_ground"));
      CHECK(has(split, "missing"));
      CHECK(has(flat(shop.must({"last", "MARSH-07"}).out), "5.4 L 6.8 L 1.4 L 0.9 L"));
      CHECK(has(shop.must({"prove"}).out, "sound: "));
    }
  }

  TEST_CASE("where nothing is missing the month has no column for it, and what was low says so") {
    const Over shop;
    const Answer closed = shop.must({"job", "close", "1", "--was-low"});
    CHECK(has(flat(closed.out), "job closed, coolant was low when it came"));
    CHECK(has(flat(closed.out), "it was low when it came by 0.90"));
    CHECK(has(shop.must({"job", "show", "1", "--json"}).out, "\"was_low\":true"));
    CHECK(!has(shop.must({"totals", "2026-03"}).out, "missing"));
    CHECK(!has(shop.must({"totals", "2026-03", "--form", "csv"}).out, "missing"));
    CHECK(!has(shop.must({"last", "MARSH-07"}).out, "missing"));
  }

  TEST_CASE(
      "a job cannot both have been low and have something missing, and each hint of a refusal can "
      "be typed") {
    const Over shop;
    const std::string before = shop.dump();
    CHECK(shop.run({"job", "close", "1", "--was-low", "--lost"}).status == 2);
    const Answer a = shop.run({"job", "close", "1"});
    CHECK(a.status == 1);
    CHECK(shop.dump() == before);
    const std::string said = flat(a.err);
    CHECK(has(said, "0.9 L more in than out"));
    CHECK(has(said, "type: baybook job close 1 --was-low # if it was low or empty when it came or: baybook job close 1 --missing # if it left unseen"));
    shop.must({"job", "close", "1", "--was-low", "--dry-run"});
    shop.must({"job", "close", "1", "--missing", "--dry-run"});
    shop.must({"job", "close", "1", "--as-is", "towed in dry", "--dry-run"});
    shop.must({"spill", "1", "coolant", "0.9L"});
    shop.must({"job", "close", "1"});
  }
}
