// The office's verbs through the real program: what is refused leaves nothing, what is printed is whole.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <string>

using baybook::test::Answer;
using baybook::test::OpenShop;
using baybook::test::flat;

namespace {

bool has(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::string read(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

void by_the_rules(const OpenShop& shop) {
  shop.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
  shop.must({"firm", "add", "quill-tarn", "Quill & Tarn Recovery", "--carries", "--receives", "--number", "permit=T-118"});
  shop.must({"discard", "coolant", "9L", "--into", "drum-coolant"});
}

}  // namespace

TEST_SUITE("tools/office") {
  TEST_CASE("a pick-up to an unknown receiver, a paper used twice and more than a drum holds are refused and leave nothing") {
    const OpenShop shop;
    by_the_rules(shop);
    shop.must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=4L", "--measured", "3.9L", "--fate", "recycle", "--transport", "road"});
    const std::string before = shop.dump();
    const Answer unknown = shop.run({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tran", "--doc", "A-2", "--from", "drum-coolant=1L"});
    CHECK(unknown.status == 1);
    CHECK(has(unknown.err, "type: quill-tarn"));
    const Answer twice = shop.run({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=1L"});
    CHECK(twice.status == 1);
    CHECK(has(twice.err, "paper A-1 is that of pick-up"));
    CHECK(shop.run({"pickup", "--carrier", "quill-tarn", "--doc", "A-3", "--from", "drum-coolant=900L"}).status == 1);
    CHECK(shop.dump() == before);
    // The words after a verb that leads a family of its own are its options, not a further verb.
    const Answer confirmed = shop.must({"pickup", "confirm", "A-1", "--signed", "today", "--measured", "1=3.8L"});
    CHECK(has(confirmed.out, "booked 4 L, measured 3.8 L, a difference of -0.2 L"));
    CHECK(has(flat(shop.must({"pickup", "list"}).out), "differs: A-1 line 1 drum-coolant/1: booked 4 L, measured 3.8 L, 0.2 L less"));
    CHECK(has(shop.must({"pickup", "list", "--json"}).out, "\"difference\":{\"nl\":\"-200000000\"}"));
    CHECK(has(shop.must({"pickup", "list", "--open"}).out, "every paper has come back"));
  }

  TEST_CASE("a pick-up of litres that the carrier weighed is held against its density, and kilograms are not asked of a drum of litres") {
    const OpenShop shop;
    by_the_rules(shop);
    const Answer asked = shop.run({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=4kg"});
    CHECK(asked.status == 1);
    CHECK(has(flat(asked.err), "4 kg is another kind of quantity"));
    CHECK(has(flat(asked.err), "--measured \"4 kg\""));
    shop.must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=4L", "--measured", "4.2kg", "--fate", "recycle"});
    // 50/50 glycol at 1.07 kg/L: the rule file's figure with its source.
    CHECK(has(flat(shop.must({"pickup", "list"}).out), "booked 4 L (4.28 kg at 1.07 kg/L ("));
    CHECK(has(flat(shop.must({"pickup", "list"}).out), "measured 4.2 kg, 80 g less"));
    CHECK(has(shop.must({"pickup", "list", "--json"}).out, "\"booked_weight\":{\"ug\":\"4280000000\"}"));
    CHECK(has(flat(shop.must({"pickup", "confirm", "A-1", "--signed", "today", "--measured", "1=4.3kg"}).out), "(4.28 kg at 1.07 kg/L ("));
  }

  TEST_CASE("a difference of a container that is empty now is noted, and no gauge is asked for that could not settle it") {
    const OpenShop shop;
    by_the_rules(shop);
    for (const char* paper : {"A-1", "A-2"}) shop.must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", paper, "--from", paper == std::string("A-1") ? "drum-coolant=4L" : "drum-coolant=all"});
    const Answer confirmed = shop.must({"pickup", "confirm", "A-2", "--signed", "today", "--measured", "1=4.5L"});
    CHECK(has(flat(confirmed.out), "a difference of -0.5 L; drum-coolant is empty, so the difference stays as noted"));
    CHECK_FALSE(has(confirmed.out, "baybook gauge"));
    shop.must({"discard", "coolant", "3L", "--into", "drum-coolant"});
    CHECK(has(flat(shop.must({"pickup", "confirm", "A-1", "--signed", "today", "--measured", "1=3.5L"}).out), "settle it: baybook gauge drum-coolant LEVEL"));
  }

  TEST_CASE("a report is written in each form, is the same bytes again, and never overwrites a file or goes through a link") {
    const OpenShop shop;
    by_the_rules(shop);
    for (const char* form : {"pdf", "html", "csv", "json", "txt"}) {
      CAPTURE(form);
      const std::string one = std::string("one.") + form;
      const std::string two = std::string("two.") + form;
      shop.must({"totals", "--out", one});
      shop.must({"totals", "--out", two});
      CHECK(read(shop.file(one)).size() > 400);
      CHECK(read(shop.file(one)) == read(shop.file(two)));
      const Answer again = shop.run({"totals", "--out", one});
      CHECK(again.status == 1);
      CHECK(has(again.err, "is there already"));
      shop.must({"totals", "--out", one, "--force"});
    }
    std::filesystem::create_symlink("elsewhere", shop.file("link.csv"));
    CHECK(shop.run({"register", "--out", "link.csv", "--force"}).status == 1);
    CHECK(!std::filesystem::exists(shop.file("elsewhere")));
    CHECK(shop.run({"register", "--out", "no-such-folder/r.pdf"}).status == 3);
    CHECK(shop.run({"limits", "--out", "limits.doc"}).status == 2);
    for (const auto& entry : std::filesystem::directory_iterator(shop.folder())) CHECK(!has(entry.path().filename().string(), ".part-"));
  }

  TEST_CASE("every print carries site, period, rules with their digest, program, and the seal, and defers") {
    const OpenShop shop;
    by_the_rules(shop);
    for (const std::vector<std::string>& report : {std::vector<std::string>{"totals", "--form", "html"}, {"register", "--form", "html"}, {"limits", "--form", "html"}}) {
      const std::string page = shop.must(report).out;
      CAPTURE(report.front());
      for (const char* part : {"Saltmarsh Motor Works", "us-federal", "baybook 0.1.0", "bay:", "aid to record keeping"}) {
        CAPTURE(part);
        CHECK(has(page, part));
      }
    }
    CHECK(has(shop.must({"totals", "--json"}).out, "very small quantity generator (VSQG)"));
    CHECK(has(shop.must({"totals", "--json"}).out, "\"judged\":{"));
    CHECK(has(shop.must({"label", "drum-coolant"}).out, "BAYBOOK:BAY-DRUM-COOLANT-1"));
    shop.must({"label", "drum-coolant", "--out", "label.pdf"});
    CHECK(read(shop.file("label.pdf")).starts_with("%PDF-"));
  }

  TEST_CASE("a shop's rule file with a slip is refused with file, line and column, a right one is read and judged by") {
    const OpenShop shop;
    by_the_rules(shop);
    std::ofstream(shop.file("own.toml")) << "[[value]]\nkey = \"catch.undecided-dayz\"\nis = \"3 d\"\nsection = \"our own\"\n";
    const Answer slip = shop.run({"rules", "check", "own.toml"});
    CHECK(slip.status == 1);
    CHECK(has(slip.err, "own.toml:2:"));
    CHECK(has(slip.err, "catch.undecided-days"));
    CHECK(shop.run({"rules", "set", "us-federal", "--file", "own.toml"}).status == 1);
    std::ofstream(shop.file("own.toml")) << "[[value]]\nkey = \"catch.undecided-days\"\nis = \"3 d\"\nsection = \"our own\"\n";
    shop.must({"rules", "check", "own.toml"});
    shop.must({"rules", "set", "us-federal", "--file", "own.toml", "--from", "2026-01-01"});
    CHECK(has(shop.must({"limits"}).out, "3 days, 3 days left"));
    CHECK(has(shop.must({"rules", "show", "--form", "csv"}).out, "our own"));
  }

  TEST_CASE("what is known is not called a test, and what a laboratory found is one unless it is said otherwise") {
    const OpenShop shop;
    by_the_rules(shop);
    CHECK(has(shop.must({"determine", "coolant", "--not-hazardous", "--why", "the maker's sheet"}).out, "coolant is not hazardous, by what is known"));
    CHECK(has(shop.must({"determine", "coolant", "--not-hazardous", "--why", "lead below 5.0 mg/L", "--laboratory", "Reedbank Analysis"}).out, "coolant is not hazardous, by test"));
    CHECK(has(shop.must({"determine", "used-oil", "--not-hazardous", "--basis", "test", "--found", "halogens=600ppm", "--why", "halogen strip"}).out, "by test"));
  }

  TEST_CASE("a refrigerant is kept by mass unless it is said otherwise, other products by volume") {
    const OpenShop shop;
    shop.must({"place", "add", "cyl-1", "--role", "stock", "--takes", "refrigerant", "--size", "12kg"});
    shop.must({"fluid", "add", "chill-1", "--class", "refrigerant"});
    CHECK(has(shop.must({"receive", "chill-1", "2kg", "--into", "cyl-1"}).out, "2 of 12 kg"));
    CHECK(has(shop.run({"receive", "chill-1", "2L", "--into", "cyl-1"}).err, "chill-1 is kept in mass, not in volume"));
    shop.must({"fluid", "add", "chill-2", "--class", "refrigerant", "--in", "volume"});
    CHECK(has(shop.run({"receive", "chill-2", "2kg", "--into", "cyl-1"}).err, "chill-2 is kept in volume, not in mass"));
    shop.must({"place", "add", "can-9", "--role", "stock"});
    shop.must({"fluid", "add", "violet-9", "--class", "coolant"});
    shop.must({"receive", "violet-9", "2L", "--into", "can-9"});
  }

  TEST_CASE("a month that has not ended and a month of the future are not closed") {
    const OpenShop shop;
    by_the_rules(shop);
    const std::string before = shop.dump();
    CHECK(has(shop.run({"close", "this-month"}).err, "has not ended"));
    CHECK(shop.run({"close", "2030-01"}).status == 1);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a paper is kept beside the book under the name of its digest, and nothing is kept when its entry is refused") {
    const OpenShop shop;
    by_the_rules(shop);
    std::ofstream(shop.file("Miss Somebody's scan.PDF")) << "signed";
    shop.must({"paper", "add", "last", "Miss Somebody's scan.PDF", "--title", "signed copy"});
    std::filesystem::path folder;
    for (const auto& entry : std::filesystem::directory_iterator(shop.folder())) {
      if (has(entry.path().filename().string(), ".papers")) folder = entry.path();
    }
    REQUIRE(!folder.empty());
    std::size_t files = 0;
    for (const auto& entry : std::filesystem::directory_iterator(folder)) {
      ++files;
      CHECK(entry.path().extension() == ".pdf");
      CHECK(!has(entry.path().string(), "Somebody"));
    }
    CHECK(files == 1);
    CHECK(shop.must({"prove"}).status == 0);
    std::ofstream(shop.file("other.pdf")) << "other";
    CHECK(shop.run({"paper", "add", "9999", "other.pdf"}).status == 1);
    CHECK(std::distance(std::filesystem::directory_iterator(folder), {}) == 1);
  }

  TEST_CASE("a register and a split of a closed month that has changed are AMENDED in every form, with the figures and the entries") {
    OpenShop shop;
    by_the_rules(shop);
    shop.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    shop.now = "2026-04-02T10:00:00.000Z";
    shop.must({"close", "2026-03"});
    for (const char* form : {"text", "html", "csv"}) CHECK_FALSE(has(shop.must({"register", "2026-03", "--form", form}).out, "AMENDED"));
    CHECK(has(shop.must({"register", "2026-03", "--form", "json"}).out, "\"amended\":false"));
    shop.must({"discard", "coolant", "2L", "--into", "drum-coolant", "--on", "2026-03-30", "--note", "found late"});
    for (const std::vector<std::string>& report : {std::vector<std::string>{"register", "2026-03"}, {"totals", "2026-03", "--split", "car"}, {"totals", "2026-03"}}) {
      for (const char* form : {"text", "html", "csv", "json"}) {
        std::vector<std::string> args = report;
        args.insert(args.end(), {"--form", form});
        const std::string page = shop.must(args).out;
        CAPTURE(report.front());
        CAPTURE(form);
        CHECK(has(page, "AMENDED"));
        if (form != std::string("text")) CHECK(has(page, "found late"));  // a column of the screen may break it
        if (form == std::string("json")) CHECK(has(page, "\"amended\":true"));
      }
    }
    // Another month is not touched by it.
    CHECK_FALSE(has(shop.must({"register", "2026-04", "--form", "text"}).out, "AMENDED"));
  }

  TEST_CASE("the months of a quarter and what was put back of the drained are exact in the forms for programs, and rounded on paper") {
    OpenShop shop;
    shop.must({"filter", "pan-1", "1.0625L", "--into", "keep-1"});
    shop.must({"fill", "1", "coolant", "1.0625L", "--from", "keep-1"});
    const std::string csv = shop.must({"totals", "2026-q1", "--form", "csv"}).out;
    CHECK_MESSAGE(has(csv, "all fluids together\",2026-03,5.4,1.0625,0"), csv);
    // 1.0625 of 5.4 L are 19.675925 925... percent.
    CHECK_MESSAGE(has(csv, ",19.675926"), csv);
    const std::string json = shop.must({"totals", "2026-q1", "--form", "json"}).out;
    CHECK_MESSAGE(has(json, "\"values\":[\"0\",\"0\",\"1.0625\"]"), json);
    CHECK(has(json, "\"put_back_percent\":\"19.675926\""));
    const std::string page = shop.must({"totals", "2026-q1", "--form", "text"}).out;
    CHECK(has(page, "1.1"));
    CHECK(has(page, "19.7"));
    CHECK_FALSE(has(page, "19.675"));
  }

  TEST_CASE("totals of the running month say so far and totals of a month to come say that it lies ahead, in every form and on the screen") {
    const OpenShop shop;  // 2026-03-05
    by_the_rules(shop);
    const auto in_each_form = [&](const char* month, const char* part, bool said) {
      CAPTURE(month);
      for (const char* form : {"text", "html", "csv", "json"}) {
        CAPTURE(form);
        CHECK(has(flat(shop.must({"totals", month, "--form", form}).out), part) == said);
      }
      CHECK(has(flat(shop.must({"totals", month}).out), part) == said);
      CHECK(has(shop.must({"totals", month, "--json"}).out, part) == said);
      CHECK(has(flat(shop.must({"totals", month, "--split", "car"}).out), part) == said);
    };
    in_each_form("2026-03", "2026-03 is not over", true);
    in_each_form("2026-05", "2026-05 lies ahead of 2026-03-05", true);
    in_each_form("2026-q2", "2026-04 to 2026-06 lie ahead of 2026-03-05", true);
    in_each_form("2026-02", "2026-02 is not over", false);
    in_each_form("2026-02", "ahead of", false);
    // The month's name alone is what a program reads.
    CHECK(has(shop.must({"totals", "2026-03", "--form", "json"}).out, "\"month\":\"2026-03\""));
    // A page may hold the month together so that no browser breaks it.
    const auto cell = [&](const std::string& month, const std::string& mark) {
      const std::string page = flat(shop.must({"totals", month, "--form", "html"}).out);
      return has(page, month + "</span> " + mark) || has(page, month + " " + mark);
    };
    CHECK(cell("2026-03", "so far"));
    CHECK(cell("2026-05", "(ahead)"));
  }

  TEST_CASE("the sheet of what is due names the kind of a line once") {
    OpenShop shop;
    by_the_rules(shop);
    shop.must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "M-004", "--from", "drum-coolant=4L"});
    shop.must({"deadline", "add", "carrier", "2026-03-20"});
    shop.now = "2026-03-14T10:00:00.000Z";
    for (const char* form : {"csv", "text", "html"}) {
      const std::string page = flat(shop.must({"due", "--within", "90d", "--form", form}).out);
      CAPTURE(form);
      CAPTURE(page);
      if (form == std::string("csv")) CHECK(has(page, ",deadline: carrier,"));
      if (form == std::string("csv")) CHECK(has(page, "pan: pan-1, undecided"));
      for (const char* twice : {"paper: paper:", "paper: deadline:", "container: pan:"}) CHECK_FALSE(has(page, twice));
    }
  }
}
