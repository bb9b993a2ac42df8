// A shelf of cans at the command: what is asked, what is printed, what completes.
#include "run_program.hpp"
#include "support/hints.hpp"

#include <doctest/doctest.h>

using namespace baybook::test;

namespace {

class Shelf : public OpenShop {
 public:
  Shelf() {
    must({"place", "add", "shelf-1", "--role", "stock"});
    for (const char* oil : {"oil-5w30", "oil-10w40"}) {
      must({"fluid", "add", oil, "--class", "engine-oil"});
      must({"receive", oil, "20L", "--into", "shelf-1"});
    }
    must({"fluid", "add", "atf-red", "--class", "transmission-fluid"});
    must({"receive", "atf-red", "12L", "--into", "shelf-1"});
  }
};

}  // namespace

TEST_SUITE("tools/shelf") {
  TEST_CASE("a fill from a shelf with two engine oils asks which, and the line it names writes the right one") {
    const Shelf shop;
    const Answer asked = shop.run({"fill", "1", "engine-oil", "4L", "--from", "shelf-1"});
    CHECK(asked.status != 0);
    CHECK(flat(asked.err).find("shelf-1 holds 2 products that it could be: oil-5w30 20 L, oil-10w40 20 L") != std::string::npos);
    const std::vector<std::string> hints = hints_in(asked.err);
    REQUIRE(hints.size() == 1);
    CHECK(harm_of(hints[0]) == "");
    CHECK(flat(asked.err).find("baybook fill 1 engine-oil 4L --from shelf-1 --fluid PRODUCT # one of oil-5w30, oil-10w40") != std::string::npos);
    CHECK(shop.must({"fill", "1", "engine-oil", "4L", "--from", "shelf-1", "--fluid", "oil-5w30"}).out.find("filled new 4 L oil-5w30 from shelf-1") != std::string::npos);
    const std::string levels = flat(shop.must({"levels"}).out);
    CHECK_MESSAGE(levels.find("oil-10w40 20 L, oil-5w30 16 L, atf-red 12 L") != std::string::npos, levels);
    const std::string last = shop.must({"last", "MARSH-07"}).out;
    CHECK_MESSAGE(last.find("oil-5w30") != std::string::npos, last);
    CHECK_MESSAGE(last.find("atf-red") == std::string::npos, last);
    CHECK(shop.run({"fill", "1", "coolant", "1L", "--from", "new:oat-violet", "--fluid", "oat-violet"}).err.find("says what it is already") != std::string::npos);
    CHECK(flat(shop.must({"correct", "last", "--fluid", "oil-10w40", "--why", "the other can"}).out).find("filled new 4 L oil-10w40 from shelf-1") != std::string::npos);
    CHECK(shop.must({"spill", "shelf-1", "0.5L", "--fluid", "atf-red"}).out.find("spilled 0.5 L atf-red from shelf-1") != std::string::npos);
    CHECK(shop.must({"gauge", "shelf-1", "11L", "--fluid", "atf-red", "--reason", "read off"}).out.find("gauged shelf-1: 11 L atf-red") != std::string::npos);
  }

  TEST_CASE("a bulk tank is named one when it is added or later, and is shown as one mix") {
    const Shelf shop;
    CHECK(shop.must({"place", "add", "tank-1", "--role", "stock", "--bulk", "--size", "400L"}).out.find("place tank-1, stock, bulk tank, 400 L") != std::string::npos);
    shop.must({"receive", "oil-5w30", "30L", "--into", "tank-1"});
    shop.must({"receive", "oil-10w40", "10L", "--into", "tank-1"});
    CHECK(flat(shop.must({"fill", "1", "engine-oil", "4L", "--from", "tank-1"}).out).find("filled new 4 L oil-5w30 + oil-10w40 from tank-1") != std::string::npos);
    const std::string levels = flat(shop.must({"levels"}).out);
    CHECK_MESSAGE(levels.find("one mix of oil-5w30 27 L and oil-10w40 9 L, bulk tank") != std::string::npos, levels);
    CHECK(shop.must({"levels", "--json"}).out.find("\"bulk\":true") != std::string::npos);
    CHECK(flat(shop.must({"place", "shelf", "tank-1"}).out).find("tank-1 is a shelf from now on") != std::string::npos);
    CHECK(shop.run({"fill", "1", "engine-oil", "1L", "--from", "tank-1"}).status != 0);
    CHECK(flat(shop.must({"place", "bulk", "tank-1"}).out).find("tank-1 is a bulk tank from now on") != std::string::npos);
  }

  TEST_CASE("a drum for absorbent sized in litres has one row, its weight, and says that fullness is by eye") {
    const OpenShop shop;
    const Answer added = shop.must({"place", "add", "drum-rags", "--role", "waste", "--takes", "absorbent", "--size", "200L"});
    CHECK(flat(added.err).find("drum-rags is sized by volume, and what it takes is weighed or counted") != std::string::npos);
    CHECK(shop.must({"place", "add", "drum-2", "--role", "waste", "--takes", "absorbent", "--size", "60kg"}).err.empty());
    const std::string told = shop.must({"discard", "absorbent", "2kg", "--into", "drum-rags"}).out;
    CHECK_MESSAGE(told.find("0 of 200 L") == std::string::npos, told);
    const std::string levels = shop.must({"levels"}).out;
    std::size_t rows = 0;
    for (std::size_t at = levels.find("\n  drum-rags"); at != std::string::npos; at = levels.find("\n  drum-rags", at + 1)) ++rows;
    CHECK_MESSAGE(rows == 1, levels);
    CHECK_MESSAGE(flat(levels).find("drum-rags 2 kg 200 L by eye") != std::string::npos, levels);
    CHECK_MESSAGE(flat(levels).find("the book cannot tell how full it is") != std::string::npos, levels);
    CHECK(shop.must({"levels", "--json"}).out.find(R"("other_size":{"nl":"200000000000"})") != std::string::npos);
  }
}
