// Spills, shares, own loads and the rules that are shown, at the command.
#include "run_program.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

namespace {

class Yard : public OpenShop {
 public:
  Yard() {
    must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    must({"place", "add", "drum-solvent", "--role", "waste", "--takes", "solvent"});
    must({"place", "add", "drum-back", "--role", "waste", "--takes", "solvent"});
    must({"discard", "solvent", "100lb", "--into", "drum-solvent", "--on", "2026-03-04"});
  }
};

bool has(const std::string& text, const std::string& part) {
  return flat(text).find(part) != std::string::npos;
}

}  // namespace

TEST_SUITE("tools/spill") {
  TEST_CASE(
      "what was picked up is a part of what is compared, and the comparison can be read again "
      "everywhere") {
    const Yard shop;
    const Answer a = shop.must({"spill", "drum-solvent", "12lb", "--picked-up", "4lb", "--into",
                                "drum-back", "--at", "08:00"});
    CHECK_MESSAGE(has(a.err,
                      "spill: benzene: 12lb of solvent got out, 5.443 kg (12 lb): AT OR OVER 10 lb "
                      "within any 24-hour period"),
                  a.err);
    CHECK(has(a.err, "an unknown mixture with the lowest quantity first"));
    CHECK(!has(a.err, "1000 lb"));
    CHECK(
        has(shop.must({"entry", "last"}).out, "beside the rules benzene: 12lb of solvent got out"));
    CHECK(has(shop.must({"entry", "last", "--json"}).out,
              "\"comparisons\":[{\"substance\":\"benzene\""));
    CHECK(has(shop.must({"entries", "--newest", "1"}).out, "AT OR OVER 10 lb"));
    CHECK(has(shop.must({"limits"}).out, "OVER spill: of 2026-03-05, benzene"));
    CHECK(has(shop.must({"due", "--for", "papers"}).out, "spill: of 2026-03-05, benzene"));
    CHECK(has(shop.must({"totals", "2026-03"}).out, "spill of 2026-03-05, entry"));
    CHECK(has(shop.must({"totals", "2026-03", "--json"}).out, "spill of 2026-03-05, entry"));
  }

  TEST_CASE("a share is said of a product, changed, and said of one spill") {
    const Yard shop;
    shop.must({"fluid", "add", "brake-clean", "--class", "solvent", "--share", "toluene=20..30%"});
    shop.must({"place", "add", "shelf-1", "--role", "stock"});
    shop.must({"receive", "brake-clean", "20L", "--into", "shelf-1"});
    const Answer small = shop.must({"spill", "shelf-1", "1L"});
    CHECK_MESSAGE(!has(small.err, "spill: "), small.err);
    CHECK(has(shop.must({"entry", "last"}).out, "toluene: 1L of brake-clean got out"));
    shop.must({"fluid", "change", "brake-clean", "--share", "benzene=90%"});
    CHECK(has(shop.must({"entry", "last"}).out, "benzene"));
    const Answer other = shop.must({"spill", "shelf-1", "10L", "--share", "benzene=70%"});
    CHECK_MESSAGE(has(other.err, "70% of the mass, said with the spill"), other.err);
    const Answer wrong = shop.run({"spill", "shelf-1", "1L", "--share", "bensene=70%"});
    CHECK(has(wrong.err, "--share \"benzene=70%\""));
    CHECK(shop.run({"fluid", "change", "coolant", "--share", "x=1%"}).status != 0);
    CHECK(shop.run({"spill", "shelf-1", "1L", "--share", "benzene"}).status != 0);
  }

  TEST_CASE(
      "a load in the own vehicle names the shop as its carrier and says what does not agree, and "
      "firms are told of") {
    const Yard shop;
    shop.must({"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil"});
    shop.must({"discard", "engine-oil", "300L", "--into", "drum-oil"});
    shop.must({"firm", "add", "fen-works", "Fen Works", "--receives", "--distance", "210mi"});
    const Answer a = shop.must({"pickup", "--own-vehicle", "--receiver", "fen-works", "--doc",
                                "C-1", "--from", "drum-oil=250L"});
    CHECK(has(
        a.err,
        "check: 250 L of used oil is more than 55 usgal at any time in the shop's own vehicle"));
    CHECK(has(shop.must({"pickup", "list"}).out, "C-1"));
    shop.must(
        {"firm", "change", "fen-works", "--receives-as", "collection-centre", "--for", "coolant"});
    const std::string firms = shop.must({"firm", "list"}).out;
    CHECK_MESSAGE(has(firms, "collection-centre, for coolant"), firms);
    CHECK(has(shop.must({"firm", "list", "--json"}).out,
              "\"distance_m\":\"337962\",\"receives_as\":\"collection-centre\",\"streams\":["
              "\"coolant\"],\"registered\":null"));
    CHECK(shop.run({"firm", "change", "fen-works"}).status != 0);
    CHECK(shop.run({"firm", "change", "fen-works", "--receives-as", "shop"}).status != 0);
  }

  TEST_CASE(
      "rules show prints the value that holds, under it what it replaced, and what only informs") {
    const OpenShop shop;
    const std::string text = shop.must({"rules", "show", "us-california", "--json"}).out;
    const std::size_t holds = text.find("\"key\":\"renewal.small.first-year\",\"is\":\"2024\"");
    const std::size_t was = text.find("\"key\":\"renewal.small.first-year\",\"is\":\"2021\"");
    REQUIRE(holds != std::string::npos);
    REQUIRE(was != std::string::npos);
    CHECK(holds < was);
    CHECK(text.substr(was, 300).find("\"state\":\"replaced\",\"file\":\"us-federal.toml\"") !=
          std::string::npos);
    CHECK(text.find("\"key\":\"renewal.small.first-year\"", was + 10) == std::string::npos);
    const std::string page = flat(shop.must({"rules", "show", "us-california"}).out);
    CHECK(page.find("in place of") != std::string::npos);
    CHECK(page.find("replaced, by us-california.toml") != std::string::npos);
    CHECK(page.find("information") != std::string::npos);
    CHECK(page.find("ethylene glycol") != std::string::npos);
  }
}
