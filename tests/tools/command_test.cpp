// The command line: help, suggestions, options anywhere, streams that fail, dry runs, once-keys.
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;
using baybook::test::Shop;

namespace {

const std::vector<std::vector<std::string>> kVerbs = {
    {"start"}, {"place", "add"}, {"place", "seal"}, {"place", "open"}, {"place", "retire"}, {"place", "list"}, {"fluid", "add"}, {"fluid", "list"},
    {"person", "add"}, {"person", "list"}, {"car", "add"}, {"car", "change"}, {"car", "show"}, {"car", "list"}, {"job", "open"}, {"job", "close"},
    {"job", "show"}, {"job", "list"}, {"code"}, {"work"}, {"fit"}, {"torque"}, {"odo"}, {"drain"}, {"filter"}, {"fill"}, {"spill"}, {"decant"},
    {"receive"}, {"discard"}, {"gauge"}, {"pickup"}, {"last"}, {"history"}, {"fitted"}, {"levels"}, {"totals"}, {"entries"}, {"entry"}, {"cars"},
    {"jobs"}, {"correct"}, {"prove"}};

std::string joined(const std::vector<std::string>& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : " ") + w;
  return out;
}

std::size_t count(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_SUITE("tools/command") {
  TEST_CASE("help for each verb leads with two examples of it, whichever way it is asked for") {
    const Shop shop;
    for (const auto& verb : kVerbs) {
      CAPTURE(joined(verb));
      std::vector<std::string> help = {"help"};
      help.insert(help.end(), verb.begin(), verb.end());
      const Answer a = shop.run(help);
      CHECK(a.status == 0);
      CHECK(a.err.empty());
      const std::size_t first = a.out.find('\n');
      REQUIRE(first != std::string::npos);
      const std::string example = "  baybook " + joined(verb);
      CHECK(a.out.starts_with(example));
      CHECK(a.out.substr(first + 1).starts_with(example));
      for (const char* option : {"--help", "-h"}) {
        std::vector<std::string> args = verb;
        args.insert(args.end(), {"--no-such-option", option});
        const Answer b = shop.run(args);
        CHECK(b.status == 0);
        CHECK(b.out == a.out);
      }
    }
  }

  TEST_CASE("the overview names every verb, and a verb or family alone shows its help") {
    const Shop shop;
    const Answer all = shop.run({});
    CHECK(all.status == 0);
    for (const auto& verb : kVerbs) {
      CAPTURE(joined(verb));
      CHECK(all.out.find("\n  " + joined(verb) + " ") != std::string::npos);
    }
    CHECK(shop.run({"drain"}).out == shop.run({"help", "drain"}).out);
    CHECK(shop.run({"job"}).out.find("job close") != std::string::npos);
    const Answer unknown = shop.run({"help", "drian"});
    CHECK(unknown.status == 2);
    CHECK(unknown.out.empty());
  }

  TEST_CASE("the version stands after the last blank of the first line, then the engine's") {
    const Shop shop;
    const Answer a = shop.run({"--version"});
    CHECK(a.status == 0);
    const std::string first = a.out.substr(0, a.out.find('\n'));
    CHECK(first.substr(0, first.rfind(' ')) == "baybook");
    CHECK(first.find_first_not_of("0123456789.", first.rfind(' ') + 1) == std::string::npos);
    CHECK(a.out.find("\nSQLite 3.") != std::string::npos);
  }

  TEST_CASE("a mistyped verb, option, place, fluid or circuit names the near one and does nothing") {
    const OpenShop shop;
    const std::string before = shop.dump();
    struct Row {
      std::vector<std::string> args;
      const char* near;
    };
    for (const Row& row : std::vector<Row>{{{"drian", "1", "coolant", "1L", "--into", "pan-1"}, "drain"},
                                           {{"job", "opne", "MARSH-07"}, "job open"},
                                           {{"levels", "--circiuts"}, "--circuits"},
                                           {{"decant", "pan-2", "all", "--into", "drum-coolant"}, "pan-1"},
                                           {{"receive", "oat-voilet", "1L", "--into", "can-1"}, "oat-violet"},
                                           {{"drain", "1", "coolatn", "1L", "--into", "pan-1"}, "coolant"},
                                           {{"last", "MARSH-7"}, "MARSH-07"}}) {
      CAPTURE(joined(row.args));
      const Answer a = shop.run(row.args);
      CHECK((a.err + a.out).find(row.near) != std::string::npos);
      if (row.args[0] != "last") CHECK(a.status != 0);
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("options stand anywhere, joined or apart, and values may begin with a minus sign") {
    const OpenShop shop;
    const std::string plain = shop.must({"entries", "--json", "--until", "2026-03-02"}).out;
    CHECK(shop.must({"entries", "--json", "--until", "-3d"}).out == plain);
    CHECK(shop.must({"--json", "entries", "--until=-3d"}).out == plain);
    CHECK(shop.must({"--book", "m.baybook", "entries", "--until", "-3d", "--json=1"}).out == plain);
    CHECK(shop.must({"--as-of", "-3d", "entries", "--json"}).out == plain);
    CHECK(shop.must({"entries", "--json"}).out != plain);
    CHECK(shop.run({"drain", "1", "coolant", "~0.5L", "--into", "pan-1"}).status == 0);
    CHECK(shop.run({"drain", "--into=pan-1", "1", "coolant", "0.1..0.3L"}).status == 0);
    CHECK(shop.run({"work", "1", "--", "--bled"}).status == 0);
    CHECK(shop.must({"entry", "last", "--json"}).out.find("\"text\":\"--bled\"") != std::string::npos);
    CHECK(shop.run({"work", "1", "[a,b]"}).status == 0);
    CHECK(shop.must({"entry", "last", "--json"}).out.find("\"text\":\"[a,b]\"") != std::string::npos);
  }

  TEST_CASE("the option goes before the variable") {
    OpenShop other;
    other.variables = {{"BAYBOOK_BOOK", "none.baybook"}};
    CHECK(other.run({"levels"}).status == 3);
    CHECK(other.run({"levels", "--book", "m.baybook"}).status == 0);
    other.variables = {{"BAYBOOK_BOOK", "m.baybook"}, {"BAYBOOK_BY", "Nobody"}};
    CHECK(other.run({"work", "1", "bled"}).status == 1);
    CHECK(other.run({"work", "1", "bled", "--by", "Tam"}).status == 0);
    CHECK(other.must({"entry", "last"}).out.find("by        Tam") != std::string::npos);
  }

  TEST_CASE("every reading verb and every receipt is one JSON document") {
    const OpenShop shop;
    for (const std::vector<std::string>& args : std::vector<std::vector<std::string>>{
             {"place", "list"}, {"fluid", "list"}, {"person", "list"}, {"car", "show", "MARSH-07"}, {"car", "list"}, {"job", "show", "1"}, {"job", "list"},
             {"last", "MARSH-07"}, {"last", "MARSH-07", "coolant"}, {"history", "MARSH-07"}, {"fitted", "WP-1"}, {"levels", "--circuits"}, {"totals"},
             {"totals", "2026", "--by-product"}, {"entries"}, {"entry", "last"}, {"cars"}, {"jobs", "--open"}, {"prove"}, {"help"}, {"help", "drain"}, {"--version"},
             {"work", "1", "quote \" and \\ and \xc3\xa9"}, {"fill", "1", "coolant", "5.4L", "--from", "can-1"}, {"job", "close", "1"},
             {"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay"}}) {
      CAPTURE(joined(args));
      std::vector<std::string> with = args;
      with.emplace_back("--json");
      const Answer a = shop.run(with);
      CHECK(a.status == 0);
      CHECK(a.err.empty());
      CHECK(a.out.starts_with("{\"v\":1,\"ok\":true,"));
      CHECK(count(a.out, "\n") == 1);
      CHECK(is_json(a.out));
    }
  }

  TEST_CASE("amounts in JSON are whole base units as text") {
    const OpenShop shop;
    const std::string out = shop.must({"levels", "--json"}).out;
    CHECK(out.find("\"place\":\"pan-1\",\"role\":\"catch\",\"level\":{\"nl\":\"5400000000\"},\"size\":{\"nl\":\"20000000000\"}") != std::string::npos);
    shop.must({"spill", "pan-1", "0.5..1.2L"});
    const std::string after = shop.must({"levels", "--json"}).out;
    CHECK(after.find("\"level\":{\"nl\":\"4550000000\",\"low\":{\"nl\":\"4200000000\"},\"best\":{\"nl\":\"4550000000\"},\"high\":{\"nl\":\"4900000000\"}}") != std::string::npos);
  }

  TEST_CASE("a writing verb prints the entry's number, its digest, what it says and the new levels") {
    const OpenShop shop;
    const Answer a = shop.must({"filter", "pan-1", "4.2L", "--into", "keep-1", "--through", "10 um paper"});
    const std::string digest = shop.must({"entry", "last", "--json"}).out;
    const std::size_t at = digest.find("\"digest\":\"");
    REQUIRE(at != std::string::npos);
    CHECK(a.out.starts_with("entry 13  " + digest.substr(at + 10, 12) + "\n"));
    CHECK(a.out.find("  filtered 4.2 L coolant from pan-1 into keep-1\n") != std::string::npos);
    CHECK(a.out.find("  pan-1   1.2 of 20 L\n") != std::string::npos);
    CHECK(a.out.find("  keep-1  4.2 of 20 L\n") != std::string::npos);
    CHECK(shop.must({"work", "1", "bled", "-q"}).out.empty());
  }

  TEST_CASE("a dry run makes every check, shows the entry and writes nothing") {
    const OpenShop shop;
    const std::string before = shop.dump();
    for (const char* option : {"--dry-run", "-n"}) {
      const Answer a = shop.must({"decant", "pan-1", "all", "--into", "drum-coolant", option});
      CHECK(a.out.starts_with("would be entry 13  "));
      CHECK(a.out.find("\"verb\":\"decant\"") != std::string::npos);
      CHECK(shop.run({"decant", "pan-1", "6L", "--into", "drum-coolant", option}).status == 1);
    }
    CHECK(shop.dump() == before);
    const Answer start = shop.must({"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--dry-run"});
    CHECK(start.out.find("nothing was written") != std::string::npos);
    CHECK_FALSE(std::filesystem::exists(shop.file("x.baybook")));
    CHECK(shop.run({"start", "x.baybook", "--site", "Saltmarsh Motor Works", "--tag", "no tag", "--dry-run"}).status == 1);
    CHECK(shop.run({"start", "m.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--dry-run"}).status == 1);
  }

  TEST_CASE("the same once-key changes nothing the second time, and with other details it is refused") {
    const OpenShop shop;
    const std::vector<std::string> first = {"receive", "oat-violet", "2L", "--into", "can-1", "--once", "delivery-1"};
    shop.must(first);
    const std::string before = shop.dump();
    const Answer again = shop.must(first);
    CHECK(again.out.starts_with("entry 13  "));
    CHECK(again.out.find("nothing new was written") != std::string::npos);
    const Answer other = shop.run({"receive", "oat-violet", "1L", "--into", "can-1", "--once", "delivery-1"});
    CHECK(other.status == 1);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a full disk under standard output is never status 0, and a stored entry is named") {
    const OpenShop shop;
    const Answer read = shop.run({"levels"}, "/dev/full");
    CHECK(read.status == 3);
    CHECK(read.err.find("could not be written") != std::string::npos);
    const Answer write = shop.run({"work", "1", "bled"}, "/dev/full");
    CHECK(write.status == 3);
    CHECK(write.err.find("entry 13 is stored, but it could not be printed") != std::string::npos);
    CHECK(shop.must({"entry", "13"}).out.find("bled") != std::string::npos);
    CHECK(shop.run({"--json", "levels", "--no-such"}, "/dev/full").status == 3);
    CHECK(shop.run({"help"}, "/dev/full").status == 3);
  }

  TEST_CASE("a closed pipe ends quietly") {
    const OpenShop shop;
    const Answer read = shop.run_into_closed_pipe({"entries"});
    CHECK(read.status == 0);
    CHECK(read.err.empty());
    CHECK(shop.run_into_closed_pipe({"work", "1", "bled"}).err.empty());
    CHECK(shop.must({"entry", "last"}).out.find("bled") != std::string::npos);
  }

  TEST_CASE("stored text reaches the screen with its controls made visible, and JSON exactly") {
    const OpenShop shop;
    // U+202E turns the direction of what follows; it is text, so it is taken.
    shop.must({"work", "1", "a\xe2\x80\xae" "b"});
    const Answer text = shop.must({"entry", "last"});
    CHECK(text.out.find("\xe2\x80\xae") == std::string::npos);
    CHECK(text.out.find("U+202E") != std::string::npos);
    CHECK(shop.must({"entry", "last", "--json"}).out.find("\"text\":\"a\xe2\x80\xae" "b\"") != std::string::npos);
  }

  TEST_CASE("a correction is followed by every view, and a wrong seal is status 1") {
    const OpenShop shop;
    shop.must({"correct", "last", "--amount", "5.6L", "--why", "read the jug wrong"});
    CHECK(shop.must({"levels"}).out.find("5.6 L") != std::string::npos);
    CHECK(flat(shop.must({"entries"}).out).find("drained 5.6 L coolant into pan-1 [put right by 13]") != std::string::npos);
    shop.must({"correct", "12", "--withdraw", "--why", "other car"});
    CHECK(shop.must({"levels", "--json"}).out.find("\"place\":\"pan-1\",\"role\":\"catch\",\"level\":{\"nl\":\"0\"}") != std::string::npos);
    const std::string proof = shop.must({"prove"}).out;
    CHECK(proof.starts_with("sound: 14 entries"));
    const std::size_t at = proof.find("seal bay:");
    REQUIRE(at != std::string::npos);
    const std::string seal = proof.substr(at + 5, proof.find('\n', at) - at - 5);
    CHECK(shop.run({"prove", "--seal", seal}).status == 0);
    CHECK(shop.run({"prove", "--seal", "bay:5:0000000000000000"}).status == 1);
  }

  TEST_CASE("the clock variable is an instant or wrong usage") {
    OpenShop shop;
    shop.now = "yesterday";
    CHECK(shop.run({"work", "1", "bled"}).status == 2);
    shop.now = "2026-03-06T00:10:00.000Z";
    shop.must({"work", "1", "bled"});
    CHECK(shop.must({"entry", "last"}).out.find("2026-03-06 00:10") != std::string::npos);
  }
}
