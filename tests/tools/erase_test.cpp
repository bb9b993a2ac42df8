// Erasing through the real program: it asks first, tells what it reaches and what is held, and leaves nothing behind.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

struct EraseBench : OpenShop {
  EraseBench() {
    must({"car", "add", "QX-SECRET-1", "--make", "Corvane", "--vin", "1M8GDM9AXKP042788", "--keeper", "Ygritte Håkonsson", "--contact", "+351 21 555 0199", "--circuit", "coolant=6L"});
    must({"job", "open", "QX-SECRET-1", "--for", "clunk by the Løkken bridge"});
    must({"job", "close", "QX-SECRET-1", "--result", "Ygritte heard it go"});
  }
  [[nodiscard]] bool anywhere(const std::string& bytes) const {
    for (const auto& file : std::filesystem::recursive_directory_iterator(folder())) {
      if (file.is_regular_file() && has(bytes_of(file.path()), bytes)) return true;
    }
    return false;
  }
};

}  // namespace

TEST_SUITE("tools/erase") {
  TEST_CASE("without --yes and without a terminal nothing is erased, and the option is named") {
    const EraseBench shop;
    const std::string before = shop.dump();
    const Answer a = shop.run({"erase", "car", "QX-SECRET-1"});
    CHECK(a.status == 2);
    CHECK(has(flat(a.err), "2 texts of car:13 would be erased for good"));
    CHECK(has(a.err, "--yes"));
    const Answer j = shop.run({"erase", "car", "QX-SECRET-1", "--json"});
    CHECK(j.status == 2);
    CHECK(is_json(j.out));
    CHECK(shop.dump() == before);
  }

  TEST_CASE("at a terminal it lists the texts and asks, and only a yes erases") {
    const EraseBench shop;
    const Answer no = shop.run_at_terminal({"erase", "car", "QX-SECRET-1"}, "y\n");
    CHECK(no.status == 1);
    CHECK(has(no.out, "Ygritte Håkonsson"));
    CHECK(has(no.out, "for good? type yes:"));
    CHECK(has(no.out, "nothing was erased"));
    CHECK(shop.anywhere("+351 21 555 0199"));
    const Answer yes = shop.run_at_terminal({"erase", "car", "QX-SECRET-1"}, "yes\n");
    CHECK(yes.status == 0);
    CHECK(has(yes.out, "erased 2 texts of car:13, on request"));
    CHECK_FALSE(shop.anywhere("+351 21 555 0199"));
    CHECK_FALSE(shop.anywhere("Ygritte Håkonsson"));
    CHECK(shop.anywhere("Ygritte heard it go"));
  }

  TEST_CASE("after --all nothing of the car's texts is in a file of the folder or in an answer, and every answer still has a name for it") {
    const EraseBench shop;
    const Answer dry = shop.must({"erase", "car", "QX-SECRET-1", "--all", "--dry-run"});
    for (const char* part : {"would erase 6 texts of car:13", "QX-SECRET-1", "Ygritte Håkonsson", "clunk by the Løkken bridge", "nothing was written"}) CHECK(has(flat(dry.out), part));
    CHECK(shop.anywhere("QX-SECRET-1"));
    const Answer done = shop.must({"erase", "car", "QX-SECRET-1", "--all", "--yes", "--once", "e1"});
    CHECK(has(flat(done.out), "pages printed and backups made before this still hold it"));
    const char* secrets[] = {"QX-SECRET-1", "Ygritte", "+351 21 555 0199", "Løkken", "1M8GDM9AXKP042788"};
    for (const char* secret : secrets) {
      CAPTURE(secret);
      CHECK_FALSE(shop.anywhere(secret));
    }
    for (const std::vector<std::string>& verb : std::vector<std::vector<std::string>>{{"last", "car:13"}, {"history", "car:13"}, {"car", "show", "car:13"}, {"car", "list"}, {"job", "list"}, {"job", "show", "2"}, {"entries"}, {"entry", "13"}, {"due"}, {"levels", "--circuits"}, {"totals", "--split", "car"}, {"register"}, {"prove"}}) {
      for (const bool json : {false, true}) {
        std::vector<std::string> args = verb;
        if (json) args.push_back("--json");
        CAPTURE(verb.front());
        const Answer a = shop.must(args);
        for (const char* secret : secrets) CHECK_FALSE(has(a.out, secret));
        if (json) CHECK(is_json(a.out));
      }
    }
    CHECK(has(shop.must({"car", "list"}).out, "car:13"));
    CHECK(has(flat(shop.must({"car", "show", "car:13"}).out), "keeper (erased)"));
    CHECK(has(flat(shop.must({"entry", "13"}).out), "keeper-contact (erased)"));
    CHECK(has(shop.must({"entry", "13", "--json"}).out, "\"keeper\":null"));
    CHECK(has(shop.must({"job", "list"}).out, "(erased)"));
    CHECK(shop.run({"car", "show", "QX-SECRET-1"}).status == 1);
    // The same again after a power loss: the plate is gone, the key knows what it was about.
    const Answer again = shop.must({"erase", "car", "QX-SECRET-1", "--all", "--yes", "--once", "e1"});
    CHECK(has(again.out, "nothing new was written"));
    CHECK(shop.run({"erase", "car", "MARSH-07", "--all", "--yes", "--once", "e1"}).status == 1);
    CHECK(shop.run({"erase", "car", "car:13", "--all", "--yes"}).status == 1);
  }

  TEST_CASE("a part of a plate finds a car, but never one to erase from") {
    const EraseBench shop;
    shop.must({"car", "show", "QX-SEC"});
    const Answer a = shop.run({"erase", "car", "QX-SEC", "--yes"});
    CHECK(a.status == 1);
    CHECK(has(a.err, "the whole plate is asked for"));
    CHECK(shop.anywhere("Ygritte Håkonsson"));
    shop.must({"erase", "car", "qx secret 1", "--yes"});
    CHECK_FALSE(shop.anywhere("Ygritte Håkonsson"));
  }

  TEST_CASE("a car that was withdrawn is erased by its plate or its number, and named when another car wears the plate") {
    const OpenShop shop;
    shop.must({"car", "add", "QX-FALSE-1", "--make", "Corvane", "--keeper", "Keeper One"});
    shop.must({"correct", "last", "--withdraw", "--why", "never seen"});
    shop.must({"car", "add", "QX-FALSE-2", "--make", "Corvane", "--keeper", "Keeper Two"});
    shop.must({"correct", "last", "--withdraw", "--why", "typed wrong"});
    shop.must({"car", "add", "QX-FALSE-2", "--make", "Corvane", "--keeper", "Keeper Three"});
    const auto anywhere = [&](const std::string& bytes) {
      for (const auto& file : std::filesystem::recursive_directory_iterator(shop.folder())) {
        if (file.is_regular_file() && has(bytes_of(file.path()), bytes)) return true;
      }
      return false;
    };
    CHECK(anywhere("Keeper One"));
    // One letter away from it stands a car that is there: the plate is whole, so it is the withdrawn one.
    CHECK(has(shop.must({"erase", "car", "QX-FALSE-1", "--all", "--yes"}).out, "erased"));
    CHECK_FALSE(anywhere("Keeper One"));
    CHECK_FALSE(anywhere("QX-FALSE-1"));
    // A program is told as well, before and after.
    const auto plan = nlohmann::json::parse(shop.must({"erase", "car", "QX-FALSE-2", "--all", "--dry-run", "--json"}).out);
    REQUIRE(plan["not_reached"].size() == 1);
    CHECK(plan["not_reached"][0].get<std::string>().starts_with("car:"));
    const std::string told = flat(shop.must({"erase", "car", "QX-FALSE-2", "--all", "--yes"}).out);
    CHECK_FALSE(anywhere("Keeper Three"));
    CHECK(anywhere("Keeper Two"));
    const std::size_t at = told.find("baybook erase car car:");
    REQUIRE(at != std::string::npos);
    const std::string car = told.substr(at + 18, told.find_first_not_of("0123456789", at + 22) - at - 18);
    CHECK(has(told, car + ", which was withdrawn, wore that plate too"));
    shop.must({"erase", "car", car, "--all", "--yes"});
    CHECK_FALSE(anywhere("Keeper Two"));
    CHECK_FALSE(anywhere("QX-FALSE-2"));
    CHECK(shop.run({"erase", "car", car, "--all", "--yes"}).status == 1);
    CHECK(shop.run({"erase", "car", "car:1", "--all", "--yes"}).status == 1);
  }

  TEST_CASE("what a rule holds is refused in three lines, goes on record when asked, and due names the verb that does it") {
    EraseBench shop;
    shop.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    shop.must({"discard", "coolant", "9L", "--into", "drum-coolant"});
    shop.must({"pickup", "--carrier", "Bram Okafor", "--doc", "A-1", "--from", "drum-coolant=4L"});
    const Answer no = shop.run({"erase", "entry", "last", "carrier", "--yes"});
    CHECK(no.status == 1);
    CHECK(has(flat(no.err), "1 of 1 text is held by a rule until 2029-03-05: the paper of pick-up 18"));
    CHECK(has(flat(no.err), "40 CFR 262.40(a)"));
    CHECK(has(flat(no.err), "type: the same with --when-allowed"));
    const Answer dry = shop.run({"erase", "entry", "18", "carrier", "--dry-run", "--json"});
    CHECK(dry.status == 1);
    CHECK(is_json(dry.out));
    CHECK(has(dry.out, "\"free\":\"2029-03-05\""));
    const Answer asked = shop.must({"erase", "entry", "18", "carrier", "--when-allowed"});
    CHECK(has(flat(asked.out), "asked to erase 1 text of entry 18 when the rules allow it"));
    CHECK(has(flat(asked.err), "nothing is erased yet"));
    shop.now = "2029-03-06T09:40:00.000Z";
    const Answer due = shop.must({"due", "--for", "papers"});
    CHECK(has(flat(due.out), "erasure asked for: 1 text of entry 18"));
    CHECK(has(flat(due.out), "baybook erase asked 19"));
    // Three years without an entry are more than a clock is believed: --yes does not answer for it.
    const Answer doubted = shop.run({"erase", "asked", "19", "--yes"});
    CHECK(doubted.status == 1);
    CHECK(has(flat(doubted.err), "the clock of this machine says 2029-03-06"));
    shop.must({"erase", "asked", "19", "--yes", "--clock-is-right"});
    CHECK_FALSE(shop.anywhere("Bram Okafor"));
    CHECK(has(shop.must({"pickup", "list"}).out, "(erased)"));
    CHECK_FALSE(has(flat(shop.must({"due", "--for", "papers"}).out), "erasure"));
  }

  TEST_CASE("somebody erased is a number in the list of people and in what they wrote") {
    const EraseBench shop;
    shop.must({"work", "1", "bled", "--by", "Tam"});
    shop.must({"erase", "person", "Tam", "--yes"});
    CHECK(has(shop.must({"person", "list"}).out, "person:2 (erased)"));
    CHECK(has(shop.must({"job", "show", "1"}).out, "person:2 (erased)"));
    CHECK(shop.run({"work", "1", "more", "--by", "Tam"}).status == 1);
    CHECK(has(shop.must({"erase", "finish"}).out, "written anew"));
  }
}
