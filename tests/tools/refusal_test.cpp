// Bad input and what it gets: one clear refusal, an exit status, nothing written. Each row is right but for one thing.
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;
using baybook::test::Shop;

namespace {

struct Row {
  std::string name;
  std::vector<std::string> args;
  int status;
  const char* first_line;  ///< a part of it
  const char* code;        ///< in JSON
};

std::vector<Row> refused() {
  return {
      {"unknown unit", {"drain", "1", "coolant", "5blorp", "--into", "pan-1"}, 1, "no unit is called \"blorp\"", "unclear"},
      {"bare number", {"drain", "1", "coolant", "5", "--into", "pan-1"}, 1, "\"5\" has no unit", "unclear"},
      {"negative quantity", {"drain", "1", "coolant", "-5L", "--into", "pan-1"}, 1, "\"-5L\" is negative", "not_allowed"},
      {"zero quantity", {"drain", "1", "coolant", "0L", "--into", "pan-1"}, 1, "\"0L\" is nothing", "not_allowed"},
      {"absurd quantity", {"drain", "1", "coolant", "5000000L", "--into", "pan-1"}, 1, "more than 1000000 L", "not_allowed"},
      {"thousands separator", {"drain", "1", "coolant", "1,200L", "--into", "pan-1"}, 1, "1,200", "unclear"},
      {"ambiguous gallon", {"drain", "1", "coolant", "1gal", "--into", "pan-1"}, 1, "in US measure or", "unclear"},
      {"unknown car", {"job", "open", "QUAY-99"}, 1, "there is no car named QUAY-99", "not_found"},
      {"a car one slip away is not written to", {"job", "open", "MARSH-17"}, 1, "there is no car named MARSH-17", "not_found"},
      {"unknown job", {"work", "99", "bled"}, 1, "99", "not_found"},
      {"unknown place", {"drain", "1", "coolant", "1L", "--into", "pan-7"}, 1, "there is no place named pan-7", "not_found"},
      {"unknown fluid", {"receive", "oat-violett", "1L", "--into", "can-1"}, 1, "there is no fluid named oat-violett", "not_found"},
      {"unknown circuit", {"drain", "1", "coolnt", "1L", "--into", "pan-1"}, 1, "there is no circuit named coolnt", "not_found"},
      {"unknown person", {"work", "1", "bled", "--by", "Nobody"}, 1, "there is no person named Nobody", "not_found"},
      {"unknown entry", {"correct", "999", "--withdraw", "--why", "wrong"}, 1, "there is no entry 999", "not_found"},
      {"a letter no VIN has", {"car", "add", "MARSH-10", "--vin", "WM8GDM9A0KP04278I"}, 1, "has \"I\" in position 17", "unclear"},
      {"odometer going backwards", {"odo", "MARSH-07", "100km"}, 1, "100km is less than the reading before it, 88210 km", "runs_backwards"},
      {"a reason that does not say which it was", {"odo", "MARSH-07", "100km", "--reason", "misread"}, 1, "100km is less than the reading before it, 88210 km", "runs_backwards"},
      {"two of three things at once", {"odo", "MARSH-07", "100km", "--replaced", "--misread"}, 2, "an odometer rolled over, was replaced, or the reading before was misread", "wrong_usage"},
      {"what cannot have rolled over", {"odo", "MARSH-07", "88300km", "--rolled-over"}, 1, "88300km is not less than the reading before it, 88210 km", "not_allowed"},
      {"too far to have rolled over", {"odo", "MARSH-07", "100km", "--rolled-over"}, 1, "past 100000 km to 100km are 11890 km in 0 days", "not_allowed"},
      {"nothing that was misread", {"odo", "MARSH-07", "88300km", "--misread"}, 1, "no reading before 88300km shows more than that", "not_allowed"},
      {"an instrument without its reading", {"job", "open", "MARSH-07", "--replaced"}, 2, "no reading is said that rolled over, was replaced or misread", "wrong_usage"},
      {"a VIN that is empty", {"car", "add", "MARSH-10", "--vin", ""}, 2, "--vin \"\" is no VIN", "wrong_usage"},
      {"a VIN that is empty, of a car that is there", {"car", "change", "MARSH-07", "--vin", ""}, 1, "VIN \"\" has 0 characters, not 17", "unclear"},
      {"hours of a counter with no unit that is known", {"odo", "MARSH-07", "900hrs"}, 1, "900hrs is no reading of an hour counter", "unclear"},
      {"a plate that would be an option", {"car", "add", "--", "-7"}, 1, "begins with a dash", "unclear"},
      {"a plate that is a number of the book", {"car", "add", "car:77"}, 1, "car:77 is no plate", "unclear"},
      {"odometer without a unit", {"odo", "MARSH-07", "88300"}, 1, "88300", "unclear"},
      {"date in the future", {"work", "1", "bled", "--on", "2099-01-01"}, 1, "2099-01-01 is after today, 2026-03-05", "in_future"},
      {"ambiguous date", {"work", "1", "bled", "--on", "03/04/2026"}, 1, "03/04/2026", "unclear"},
      {"a day that is not there", {"work", "1", "bled", "--on", "2026-02-31"}, 1, "2026-02-31", "unclear"},
      {"wrong fluid into a place", {"drain", "1", "coolant", "1L", "--into", "drum-absorb"}, 1, "drum-absorb takes absorbent, not coolant", "not_allowed"},
      {"overdraw", {"decant", "pan-1", "6L", "--into", "drum-coolant"}, 1, "pan-1 holds 5.4 L by the book; 6 L is 0.6 L more", "would_overdraw"},
      {"overfill", {"drain", "1", "coolant", "15L", "--into", "pan-1"}, 1, "pan-1 would hold 20.4 L, 0.4 L over its size of 20 L", "would_overfill"},
      {"control characters", {"work", "1", "a\x1b[31mb"}, 1, "control character \\x1b", "not_text"},
      {"invalid UTF-8", {"work", "1", "a\xff" "b"}, 1, "not UTF-8", "not_text"},
      {"more picked up than spilled", {"spill", "pan-1", "0.4L", "--picked-up", "0.5L", "--into", "drum-coolant"}, 1, "more was picked up than was spilled", "not_allowed"},
      {"a fault code of the wrong shape", {"code", "1", "PO217"}, 1, "PO217", "unclear"},
      {"a name that is taken", {"place", "add", "pan-1", "--role", "catch"}, 1, "pan-1 is the name of", "already_there"},
      {"a plate that is taken", {"car", "add", "marsh 07"}, 1, "is on a car in the book already", "already_there"},
      {"an account that does not close", {"job", "close", "1"}, 1, "job 1 does not close", "does_not_close"},
      {"an entry on which others stand", {"correct", "11", "--withdraw", "--why", "wrong car"}, 1, "stands on entry 11", "has_dependants"},
      {"a role that is not there", {"place", "add", "pan-3", "--role", "ctach"}, 2, "there is no role ctach", "wrong_usage"},
      {"no amount with what soaked it up", {"spill", "pan-1", "0.4L", "--picked-up", "granules", "--into", "drum-absorb"}, 1, "has no amount", "unclear"},
      {"a time after no recheck", {"job", "close", "1", "--after", "3d"}, 2, "stands before any --recheck", "wrong_usage"},
      {"a correction that says nothing", {"correct", "last", "--why", "wrong"}, 2, "it is not said what is right instead", "wrong_usage"},
      {"a correction without a reason", {"correct", "last", "--withdraw"}, 2, "correct needs --why TEXT", "wrong_usage"},
      {"a missing option", {"drain", "1", "coolant", "1L"}, 2, "drain needs --into PLACE", "wrong_usage"},
      {"a missing operand", {"drain", "1", "coolant"}, 2, "drain needs AMOUNT", "wrong_usage"},
      {"one word too many", {"work", "1", "water", "pump"}, 2, "\"pump\" is one word too many", "wrong_usage"},
      {"an option twice", {"work", "1", "bled", "--by", "Tam", "--by", "Tam"}, 2, "--by is given twice", "wrong_usage"},
      {"an option without its value", {"work", "1", "bled", "--by"}, 2, "--by needs a value", "wrong_usage"},
      {"an option where a value should be", {"drain", "1", "coolant", "1L", "--into", "--by", "Tam"}, 2, "--into needs a value, and --by is an option", "wrong_usage"},
      {"an abbreviated option", {"drain", "1", "coolant", "1L", "--int", "pan-1"}, 2, "drain has no option --int", "wrong_usage"},
      {"an abbreviated verb", {"dra", "1", "coolant", "1L", "--into", "pan-1"}, 2, "there is no verb dra", "wrong_usage"},
  };
}

std::string first_line(const std::string& text) { return text.substr(0, text.find('\n')); }

}  // namespace

TEST_SUITE("tools/refusal") {
  TEST_CASE("bad input gets one refusal with its status, and the book stays as it was") {
    const OpenShop shop;
    const std::string before = shop.dump();
    for (const Row& row : refused()) {
      CAPTURE(row.name);
      const Answer a = shop.run(row.args);
      CAPTURE(a.err);
      CHECK(a.status == row.status);
      CHECK(a.out.empty());
      CHECK(first_line(a.err).starts_with("baybook: "));
      CHECK(first_line(a.err).find(row.first_line) != std::string::npos);
      CHECK(a.err.find('\x1b') == std::string::npos);
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a refusal as JSON is one document on standard output with the code in it") {
    const OpenShop shop;
    for (Row row : refused()) {
      CAPTURE(row.name);
      row.args.insert(row.args.begin(), "--json");
      const Answer a = shop.run(row.args);
      CAPTURE(a.out);
      CHECK(a.status == row.status);
      CHECK(a.err.empty());
      CHECK(is_json(a.out));
      CHECK(a.out.starts_with("{\"v\":1,\"ok\":false,\"error\":{\"code\":\"" + std::string(row.code) + "\""));
    }
  }

  TEST_CASE("what to type instead is what was meant, or words with an example, and never another amount or day") {
    struct Hint {
      std::vector<std::string> args;
      const char* type;
    };
    const OpenShop shop;
    const std::string before = shop.dump();
    for (const Hint& hint : {
             Hint{{"drain", "1", "coolant", "half a litre", "--into", "pan-1"}, "type: a number with its unit, like 5.2L"},
             Hint{{"drain", "1", "coolant", "1 1/2 L", "--into", "pan-1"}, "type: the one amount that it comes to, like 5.2L"},
             Hint{{"gauge", "pan-1", "all"}, "type: a number with its unit, like 5.2L"},
             Hint{{"gauge", "pan-1", "~2L"}, "type: 2L, if that was measured"},
             Hint{{"work", "1", "bled", "--on", "4 March 2026"}, "type: 2026-03-04"},
             Hint{{"work", "1", "bled", "--on", "some day"}, "type: a day like 2026-03-05"},
             Hint{{"work", "1", "bled", "--at", "9am"}, "type: 09:00"},
             Hint{{"work", "1", "bled", "--at", "24:00"}, "type: 00:00 of the next day"},
             Hint{{"fit", "1", "WP-1", "--qty", "two"}, "type: a number of pieces, like 1pcs"},
             Hint{{"fit", "1", "WP-1", "--qty", "1.5"}, "type: 1pcs or 2pcs"},
             Hint{{"fit", "1", "WP-1", "--qty", "0"}, "type: a number of pieces, like 1pcs"},
         }) {
      CAPTURE(hint.type);
      const Answer a = shop.run(hint.args);
      CAPTURE(a.err);
      CHECK(a.status == 1);
      CHECK(a.err.ends_with(std::string(hint.type) + "\n"));
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a bare number of fitted parts is pieces") {
    const OpenShop shop;
    shop.must({"fit", "1", "WP-1", "--qty", "2"});
    CHECK(shop.must({"entries", "--json", "--newest", "1"}).out.find("2pcs") != std::string::npos);
  }

  TEST_CASE("a fitted part has one warranty of a time and one of a distance, and no second one of either") {
    const OpenShop shop;
    const std::string before = shop.dump();
    const Answer times = shop.run({"fit", "1", "WP-1", "--warranty", "24mo", "--warranty", "20000km", "--warranty", "1y"});
    CHECK(times.status == 2);
    CHECK(first_line(times.err).find("two warranties of a time: 24mo and 1y") != std::string::npos);
    const Answer distances = shop.run({"fit", "1", "WP-1", "--warranty", "20000km", "--warranty", "12000mi"});
    CHECK(distances.status == 2);
    CHECK(first_line(distances.err).find("two warranties of a distance: 20000km and 12000mi") != std::string::npos);
    CHECK(shop.dump() == before);
    shop.must({"fit", "1", "WP-1", "--warranty", "24mo", "--warranty", "20000km"});
  }

  TEST_CASE("a form of JSON that is not there is wrong usage") {
    const OpenShop shop;
    const Answer a = shop.run({"levels", "--json=2"});
    CHECK(a.status == 2);
    CHECK(is_json(a.out));
    CHECK(a.out.find("that form of JSON is not known") != std::string::npos);
    CHECK(shop.run({"levels", "--json=1"}).status == 0);
  }

  TEST_CASE("a job that is closed is not written on") {
    const OpenShop shop;
    shop.must({"fill", "1", "coolant", "5.4L", "--from", "new:oat-violet"});
    shop.must({"job", "close", "1"});
    const std::string before = shop.dump();
    const Answer a = shop.run({"work", "1", "bled"});
    CHECK(a.status == 1);
    CHECK(first_line(a.err).find("job 1 is closed since 2026-03-05") != std::string::npos);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("two cars that fit are listed, and neither is written to") {
    const OpenShop shop;
    shop.must({"car", "add", "MARSH-08"});
    const std::string before = shop.dump();
    const Answer a = shop.run({"job", "open", "MARSH"});
    CHECK(a.status == 1);
    CHECK(first_line(a.err).find("MARSH fits 2 cars") != std::string::npos);
    CHECK(a.err.find("MARSH-07, MARSH-08") != std::string::npos);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("two scrapped cars that wore one plate are told apart by their numbers, and nothing is asked of them any more") {
    const OpenShop shop;
    for (const char* note : {"first", "second"}) {
      shop.must({"car", "add", "REED-09"});
      shop.must({"job", "open", "REED-09", "--for", note});
      shop.must({"job", "close", "REED-09", "--recheck", "noise", "--after", "3d"});
      shop.must({"car", "change", "REED-09", "--scrapped"});
    }
    const Answer a = shop.run({"last", "REED-09"});
    CHECK(a.status == 1);
    CHECK(a.err.find("REED-09 was worn by 2 cars: car:") != std::string::npos);
    const std::size_t at = a.err.find("type: car:") + 6;
    const Answer one = shop.must({"last", a.err.substr(at, a.err.find('\n', at) - at)});
    CHECK(one.out.find("watch  noise") != std::string::npos);
    CHECK(one.out.find("settle:") == std::string::npos);
  }

  TEST_CASE("a reading that is put right may run backwards when it says why") {
    const OpenShop shop;
    shop.must({"odo", "MARSH-07", "90000km"});
    const Answer a = shop.run({"correct", "last", "--odo", "12km", "--why", "misread"});
    CHECK(a.status == 1);
    CHECK(a.err.find("the same with --replaced, if it is another instrument") != std::string::npos);
    CHECK(shop.run({"correct", "last", "--odo", "12km", "--replaced", "--text", "cluster replaced", "--why", "misread"}).status == 0);
  }

  TEST_CASE("an odometer may run backwards when it was replaced, rolled over or misread, in a reading and in a job's opening") {
    const OpenShop shop;
    CHECK(shop.run({"odo", "MARSH-07", "12km", "--replaced", "--reason", "cluster replaced"}).status == 0);
    shop.must({"car", "add", "MARSH-08"});
    shop.must({"odo", "MARSH-08", "99990mi", "--on", "2026-03-01"});
    const Answer asked = shop.run({"job", "open", "MARSH-08", "--odo", "15mi"});
    CHECK(asked.status == 1);
    CHECK(asked.err.find("type: the same with --rolled-over, if it came to 100000 mi and began again (40 km") != std::string::npos);
    shop.must({"job", "open", "MARSH-08", "--odo", "15mi", "--rolled-over"});
    shop.must({"odo", "MARSH-08", "950mi"});
    const Answer right = shop.must({"odo", "MARSH-08", "95mi", "--misread"});
    CHECK(flat(right.err).find("is taken out as misread") != std::string::npos);
    const std::string entries = shop.must({"entries", "--car", "MARSH-08"}).out;
    CHECK(flat(entries).find("began again") != std::string::npos);
    CHECK(shop.must({"car", "list"}).out.find("153 km") != std::string::npos);
    CHECK(shop.must({"prove"}).status == 0);
  }

  TEST_CASE("a wrong check digit of a North American VIN is said, with the likely slip, and the car is taken") {
    const OpenShop shop;
    const Answer a = shop.run({"car", "add", "MARSH-08", "--vin", "1M8GDM9A0KP042788"});
    CHECK(a.status == 0);
    CHECK(a.err.find("check: ") != std::string::npos);
    CHECK(a.err.find("check digit") != std::string::npos);
    const Answer elsewhere = shop.run({"car", "add", "MARSH-09", "--vin", "WM8GDM9A0KP042788"});
    CHECK(elsewhere.status == 0);
    CHECK(elsewhere.err.empty());
    const Answer year = shop.run({"car", "add", "MARSH-10", "--vin", "1M8GDM9AXKP042788", "--year", "2014"});
    CHECK(year.status == 0);
    CHECK(flat(year.err).find("position 10 is K, model year 1989 or 2019") != std::string::npos);
    shop.must({"car", "add", "MARSH-11", "--year", "2014"});
    const Answer change = shop.run({"car", "change", "MARSH-11", "--vin", "1M8GDM9AXKP042788"});
    CHECK(flat(change.err).find("entered as one of 2014") != std::string::npos);
  }

  TEST_CASE("what is no book, a missing book and a missing folder are status 3 and are left alone") {
    const Shop shop;
    {
      std::FILE* f = std::fopen(shop.file("letter.txt").c_str(), "w");
      REQUIRE(f != nullptr);
      std::fputs("dear customer\n", f);
      std::fclose(f);
    }
    std::filesystem::create_directory(shop.file("folder"));
    for (const auto& [name, part] : {std::pair<const char*, const char*>{"letter.txt", "is not a book"}, {"none.baybook", "there is no such book"}, {"no/where.baybook", "there is no such book"}, {"folder", "is a folder, not a book"}}) {
      const std::string book = name;
      CAPTURE(book);
      for (const std::vector<std::string>& verb : {std::vector<std::string>{"levels"}, {"person", "add", "Tam"}}) {
        std::vector<std::string> args = verb;
        args.insert(args.end(), {"--book", book});
        const Answer a = shop.run(args);
        CAPTURE(a.err);
        CHECK(a.status == 3);
        CHECK(first_line(a.err).find(part) != std::string::npos);
      }
    }
    CHECK(bytes_of(shop.file("letter.txt")) == "dear customer\n");
    CHECK_FALSE(std::filesystem::exists(shop.file("none.baybook")));
    const Answer start = shop.run({"start", "no/where.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay"});
    CHECK(start.status == 3);
    CHECK(first_line(start.err).find("there is no such folder") != std::string::npos);
  }

  TEST_CASE("a book of a newer version is refused and not touched") {
    const OpenShop shop;
    // Another program sets the number that a newer version would carry, and folds its journal in when it closes the file.
    const std::string set = "python3 -c \"import sqlite3,sys; c=sqlite3.connect(sys.argv[1]); c.execute('PRAGMA user_version=999'); c.close()\" " + shop.file("m.baybook").string();
    REQUIRE(std::system(set.c_str()) == 0);
    const std::string before = bytes_of(shop.file("m.baybook"));
    for (const std::vector<std::string>& verb : {std::vector<std::string>{"levels"}, {"work", "1", "bled"}}) {
      const Answer a = shop.run(verb);
      CAPTURE(a.err);
      CHECK(a.status == 3);
      CHECK(first_line(a.err).find("newer") != std::string::npos);
    }
    CHECK(bytes_of(shop.file("m.baybook")) == before);
  }

  TEST_CASE("a book is never written over, and needs a site and a tag") {
    const OpenShop shop;
    const std::string before = bytes_of(shop.file("m.baybook"));
    const Answer again = shop.run({"start", "m.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay"});
    CHECK(again.status == 1);
    CHECK(bytes_of(shop.file("m.baybook")) == before);
    CHECK(shop.run({"start", "x.baybook", "--tag", "bay"}).status == 2);
    CHECK(shop.run({"start", "x.baybook", "--site", "Saltmarsh Motor Works"}).status == 2);
    CHECK(shop.run({"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--zone", "Nowhere/Atall"}).status == 1);
    CHECK(shop.run({"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--volume", "barrel"}).status == 2);
    CHECK_FALSE(std::filesystem::exists(shop.file("x.baybook")));
  }

  TEST_CASE("a read-only folder is status 3 for a writer") {
    if (::geteuid() == 0) {
      MESSAGE("run as the superuser, whom no folder refuses: the read-only file system /proc stands in for it");
      const Shop shop;
      const Answer a = shop.run({"start", "/proc/x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay"});
      CHECK(a.status == 3);
      CHECK(first_line(a.err).starts_with("baybook: "));
      return;
    }
    const Shop shop;
    std::filesystem::permissions(shop.folder(), std::filesystem::perms::owner_read | std::filesystem::perms::owner_exec);
    const Answer a = shop.run({"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay"});
    CHECK(a.status == 3);
    CHECK(first_line(a.err).starts_with("baybook: "));
  }

  TEST_CASE("which book is not said: wrong usage that names the option and the variable") {
    const Shop shop;
    const Answer a = shop.run({"levels"});
    CHECK(a.status == 2);
    CHECK(a.err.find("--book") != std::string::npos);
    CHECK(a.err.find("BAYBOOK_BOOK") != std::string::npos);
  }
}
