// Filings, events, holds and extensions through the real program: what `limits` asks for is typed as it
// says, and goes.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <string>

using baybook::test::Answer;
using baybook::test::flat;
using baybook::test::OpenShop;

namespace {

bool has(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

void with_petrol(const OpenShop& shop) {
  shop.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
  shop.must({"place", "add", "drum-petrol", "--role", "waste", "--takes", "petrol", "--size", "900L", "--area", "yard"});
  shop.must({"place", "add", "drum-event", "--role", "waste", "--takes", "petrol", "--size", "9000L", "--area", "yard"});
  shop.must({"discard", "petrol", "200kg", "--into", "drum-petrol"});
}

}  // namespace

TEST_SUITE("tools/duties") {
  TEST_CASE("a notice that limits asks for is gone when it was typed as limits says, and is listed") {
    const OpenShop shop;
    with_petrol(shop);
    const std::string asked = flat(shop.must({"limits"}).out);
    CHECK(has(asked, "renewal: re-notification of a small quantity generator, for 2029"));
    CHECK(has(asked, "type: baybook filing add re-notification --period 2029 --filed DATE"));
    const Answer slip = shop.run({"filing", "add", "re-notificaton", "--period", "2029", "--filed", "today"});
    CHECK(slip.status == 1);
    CHECK(has(flat(slip.err), "type: re-notification"));
    CHECK(has(flat(shop.must({"filing", "add", "re-notification", "--period", "2029", "--filed", "today"}).out), "re-notification 2029 filed on 2026-03-05"));
    CHECK_FALSE(has(flat(shop.must({"limits"}).out), "re-notification"));
    CHECK(has(shop.must({"filing", "list"}).out, "re-notification"));
    CHECK(has(shop.must({"filing", "list", "--json"}).out, "\"what\":\"re-notification\",\"period\":\"2029\",\"filed\":\"2026-03-05\""));
  }

  TEST_CASE("an event, a hold and an extension are told by limits with what ends them, and are refused with the way out") {
    const OpenShop shop;
    with_petrol(shop);
    CHECK(shop.run({"event", "add", "--from", "today", "--container", "drum-event"}).status == 2);
    CHECK(has(flat(shop.must({"event", "add", "--unplanned", "--from", "today", "--container", "drum-event"}).out), "unplanned episodic event from 2026-03-05, in drum-event"));
    std::string told = flat(shop.must({"limits"}).out);
    CHECK(has(told, "paper: notice of the unplanned event of 2026-03-05"));
    const std::size_t at = told.find("baybook event end ");
    REQUIRE(at != std::string::npos);
    const std::string entry = told.substr(at + 18, told.find(' ', at + 18) - at - 18);
    shop.must({"filing", "add", "event-notice", "--about", entry, "--filed", "today"});
    CHECK_FALSE(has(flat(shop.must({"limits"}).out), "notice of the"));
    shop.must({"discard", "petrol", "2000kg", "--into", "drum-event"});
    CHECK(has(flat(shop.must({"limits"}).out), "2026-03 so far: small quantity generator (SQG)"));
    CHECK(has(flat(shop.run({"event", "end", entry, "--last", "today"}).err), "drum-event is not empty"));
    shop.must({"hold", "add", "--from", "today", "--note", "letter"});
    told = flat(shop.must({"limits"}).out);
    CHECK(has(told, "hold: enforcement action since 2026-03-05"));
    CHECK(has(told, "type: baybook hold end "));
    CHECK(has(flat(shop.run({"extension", "add", "drum-petrol", "--days", "31", "--granted", "today"}).err), "not between 1 and 30 d"));
    shop.must({"extension", "add", "drum-petrol", "--days", "14", "--granted", "today"});
    CHECK(has(flat(shop.must({"limits"}).out), "180 days and 14 more granted on 2026-03-05"));
    shop.must({"prove"});
  }
}
