// What the real program prints, read by programs that others wrote: a validator of pages, a validator of JSON.
#include "report_samples.hpp"
#include "support/brought_in.hpp"

#include <baybook/returns.hpp>

using namespace baybook::test;
using baybook::sha256_hex;

namespace {

/// A quarter of a shop that goes by rules: every kind of block a print can have, with words that would be markup if they could.
class Quarter : public OpenShop {
 public:
  Quarter() {
    must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    must({"firm", "add", "quill-tarn", "Quill & Tarn <Recovery>", "--carries", "--receives", "--number", "permit=T-118"});
    must({"work", "1", "Kühlmittelpumpe \"neu\" <b>& dicht</b>"});
    must({"place", "add", "drum-solvent", "--role", "waste", "--takes", "solvent", "--size", "55usgal", "--area", "bay-2", "--satellite"});
    must({"discard", "solvent", "~60L", "--into", "drum-solvent"});
    must({"discard", "coolant", "40L", "--into", "drum-coolant"});
    must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=20L", "--measured", "19.5L", "--fate", "recycle", "--transport", "road"});
    must({"pickup", "confirm", "A-1", "--signed", "today"});
    must({"deadline", "add", "tank-test", "2026-11-30", "--what", "test the <tank>"});
    now = "2026-04-02T10:00:00.000Z";
    must({"close", "2026-03"});
    must({"discard", "coolant", "2L", "--into", "drum-coolant", "--on", "2026-03-30", "--note", "found late"});
  }
};

/// Runs a script of Python with the packages of the system, where tests/install.sh puts them.
std::string system_python(const Desk& desk, const std::string& script, const std::string& arguments) {
  static_cast<void>(desk.put("script.py", script));
  return desk.shell("/usr/bin/python3 script.py " + arguments);
}

// Argument 1: the schema; 2: the answer; 3: the list whose members are all needed. Prints what is wrong.
constexpr const char* kBySchema = R"(
import copy, json, sys
try:
    from jsonschema import Draft202012Validator
except ImportError:
    sys.exit('python3-jsonschema is not there: tests/install.sh tests installs it')
schema, answer = (json.load(open(p)) for p in sys.argv[1:3])
Draft202012Validator.check_schema(schema)
of = Draft202012Validator(schema)
for e in of.iter_errors(answer): print(list(e.path), e.message)
rows = answer[sys.argv[3]]
if not rows: print('nothing in', sys.argv[3])
# And the schema is one that can say no: each member of a row is needed, and none may be of another type.
for row in rows[:3]:
    for key in list(row):
        kept = row[key]
        del row[key]
        if of.is_valid(answer): print('not needed:', key)
        row[key] = ['something else']
        if of.is_valid(answer): print('any type:', key)
        row[key] = kept
)";

void check_by_schema(const Desk& desk, const std::string& schema, const std::string& answer, const std::string& list) {
  CAPTURE(schema);
  static_cast<void>(desk.put("answer.json", answer));
  CHECK(system_python(desk, kBySchema, "'" BAYBOOK_SOURCE "/docs/schemas/" + schema + ".schema.json' answer.json " + list) == "");
}

}  // namespace

TEST_SUITE("tools/print") {
  TEST_CASE("what a gauge changed has its smaller bound first and its mark on the screen as on paper") {
    const OpenShop shop;
    shop.must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    shop.must({"place", "add", "drum-oil", "--role", "waste", "--takes", "engine-oil", "--size", "60L"});
    shop.must({"drain", "1", "engine-oil", "~4L", "--into", "drum-oil"});  // 3.6 to 4.4 L
    shop.must({"gauge", "drum-oil", "5L", "--reason", "dipped"});
    CHECK(flat(shop.must({"register", "--form", "csv"}).out).find("1 L (0.6 L to 1.4 L)") != std::string::npos);
    const std::string screen = flat(shop.must({"totals"}).out);
    CHECK(screen.find("1.00~") != std::string::npos);
    CHECK(screen.find("1.4 L to 0.6 L") == std::string::npos);
    const std::string paper = flat(shop.must({"totals", "--form", "text"}).out);
    CHECK(paper.find("1.00~") != std::string::npos);
    CHECK(paper.find("1.4 L to 0.6 L") == std::string::npos);
    const std::string judged = flat(shop.must({"totals", "--form", "csv"}).out);
    CHECK(judged.find("found by gauges,1 L (0.6 L to 1.4 L)") != std::string::npos);
  }

  TEST_CASE("a mass below a kilogram stands in kilograms where the heading says so, in every form") {
    const OpenShop shop;
    shop.must({"place", "add", "cyl-9", "--role", "stock", "--takes", "refrigerant", "--size", "9kg"});
    shop.must({"receive", "refrigerant", "1.5kg", "--into", "cyl-9"});
    shop.must({"receive", "refrigerant", "600g", "--into", "cyl-9"});
    shop.must({"gauge", "cyl-9", "1.9kg", "--reason", "weighed"});
    const std::string csv = shop.must({"totals", "--form", "csv"}).out;
    CHECK(csv.find("refrigerant,") != std::string::npos);
    CHECK(csv.find(",2.1,") != std::string::npos);
    CHECK(csv.find(",-0.2,") != std::string::npos);
    CHECK(csv.find("-200") == std::string::npos);
  }

  TEST_CASE("every page that is printed is HTML by the standard, as another program's validator reads it") {
    const Desk desk;
    // Where tests/install.sh puts it.
    const char* cache = std::getenv("XDG_CACHE_HOME");
    const char* home = std::getenv("HOME");
    const std::string root = cache != nullptr && *cache != '\0' ? cache : std::string(home != nullptr ? home : "") + "/.cache";
    const std::string validator = root + "/baybook-tests/" + sha256_hex(bytes_of(BAYBOOK_SOURCE "/tests/node/package-lock.json")).substr(0, 16) + "/node_modules/html-validate/bin/html-validate.js";
    REQUIRE_MESSAGE(std::system("node --version >/dev/null 2>&1") == 0, "node is not there: `tests/install.sh tests` installs it");
    REQUIRE_MESSAGE(std::filesystem::exists(validator), "html-validate is not there: `tests/install.sh tests` installs it");

    const Quarter shop;
    shop.must({"totals", "2026-q1", "--out", "quarter.html"});
    shop.must({"totals", "2026", "--out", "year.html", "--page", "letter"});
    shop.must({"totals", "2026-q1", "--split", "car", "--out", "split.html"});
    shop.must({"register", "2026-q1", "--out", "register.html"});
    shop.must({"history", "MARSH-07", "--out", "car.html"});
    shop.must({"limits", "--out", "limits.html"});
    shop.must({"due", "--within", "12mo", "--out", "due.html"});
    shop.must({"rules", "show", "--out", "rules.html"});
    shop.must({"label", "drum-coolant", "--out", "label.html"});
    shop.must({"label", "drum-coolant", "drum-solvent", "--sheet", "--out", "labels.html"});
    CHECK(bytes_of(shop.file("year.html")).find("<svg") != std::string::npos);
    CHECK(bytes_of(shop.file("quarter.html")).find("AMENDED") != std::string::npos);
    CHECK(bytes_of(shop.file("car.html")).find("&lt;b&gt;&amp; ") != std::string::npos);
    // One process for all of them; what it finds is told on standard error, which the test shows.
    static_cast<void>(desk.shell("node '" + validator + "' --preset standard '" + shop.folder().string() + "'/*.html 1>&2"));
    // It is one that says no.
    static_cast<void>(desk.put("wrong.html", "<!DOCTYPE html>\n<html lang=\"en\"><head><title>t</title></head><body><p><div></div></p></body></html>"));
    static_cast<void>(desk.shell("! node '" + validator + "' --preset standard wrong.html"));
  }

  TEST_CASE("limits, the register and closed months answer programs in the form that docs/schemas tells") {
    const Desk desk;
    const Quarter shop;
    check_by_schema(desk, "limits", shop.must({"limits", "--json"}).out, "limits");
    check_by_schema(desk, "limits", shop.must({"limits", "--json"}).out, "keep");
    check_by_schema(desk, "register", shop.must({"register", "2026-q1", "--json"}).out, "register");
    check_by_schema(desk, "due", shop.must({"due", "--within", "12mo", "--json"}).out, "due");
    const OpenShop pair;
    pair.must({"backup", "--continue", "office.baybook", "--tag", "office"});
    std::filesystem::create_directory(pair.file("shared"));
    pair.must({"exchange", "with", "shared", "--book", "office.baybook"});
    const std::string with = pair.must({"exchange", "with", "shared", "--json"}).out;
    check_by_schema(desk, "exchange-with", with, "installations");
    check_by_schema(desk, "totals-closed", shop.must({"totals", "2026-q1", "--json"}).out, "closed");
    // Nobody's rules: the same form.
    const OpenShop bare;
    bare.must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    bare.must({"deadline", "add", "tank-test", "2026-11-30"});
    check_by_schema(desk, "limits", bare.must({"limits", "--json"}).out, "limits");
    check_by_schema(desk, "register", bare.must({"register", "--json"}).out, "register");
    check_by_schema(desk, "due", bare.must({"due", "--within", "12mo", "--json"}).out, "due");
  }

  TEST_CASE("the share that was put back is rounded once, and what is on hand is marked where it is not certain, on the screen as on the sheet") {
    const OpenShop shop;
    shop.must({"place", "add", "pan-2", "--role", "catch", "--size", "25L"});
    shop.must({"place", "add", "keep-2", "--role", "reuse", "--size", "25L"});
    shop.must({"car", "add", "É 12-ÇA", "--make", "Corvane", "--model", "Tern", "--circuit", "gearbox=6L"});
    shop.must({"job", "open", "É 12-ÇA", "--odo", "10km", "--for", "noise", "--json"});
    shop.must({"drain", "É 12-ÇA", "gearbox", "1.25usgal", "--into", "pan-2"});
    shop.must({"filter", "pan-2", "1usgal", "--into", "keep-2"});
    shop.must({"fill", "É 12-ÇA", "gearbox", "0.75usgal", "--from", "keep-2"});
    const std::string sheet = shop.must({"totals", "--form", "csv"}).out;
    CHECK_MESSAGE(sheet.find(",60.0\r\n") != std::string::npos, sheet);
    shop.must({"drain", "É 12-ÇA", "gearbox", "~2L", "--into", "pan-2"});
    const std::string screen = shop.must({"totals"}).out;
    const std::string page = shop.must({"totals", "--form", "text"}).out;
    const auto ends_marked = [](const std::string& text) {
      const std::size_t line = text.find("\n  gear-oil") != std::string::npos ? text.find("\n  brake-fluid") + 1 : text.find("\ngear-oil") + 1;
      const std::string row = text.substr(line, text.find('\n', line) - line);
      return row.find_last_not_of(' ') != std::string::npos && row[row.find_last_not_of(' ')] == '~';
    };
    CHECK_MESSAGE(ends_marked(screen), screen);
    CHECK_MESSAGE(screen.find("end -") == std::string::npos, screen);
    CHECK_MESSAGE(page.find('~') != std::string::npos, page);
    // A form for programs carries every digit of a row, so that the rows add up. NIST Handbook 44, Appendix C: a US gallon is 231 in3 = 3.785411784 L, and 12 fl oz are 12/128 of it.
    shop.must({"place", "add", "drum-oil", "--role", "waste", "--takes", "gear-oil", "--size", "100L"});
    shop.must({"decant", "pan-2", "12usfloz", "--into", "drum-oil"});
    const std::string rows = shop.must({"register", "--form", "csv"}).out;
    CHECK_MESSAGE(rows.find("0.354882355") != std::string::npos, rows);
    CHECK_MESSAGE(shop.must({"register", "--form", "text"}).out.find("0.354882355") == std::string::npos, rows);
    CHECK(shop.run({"job", "open", "É 13-ÇA", "--odo", "10km", "--for", "x"}).err.find("type: \"É 12-ÇA\"") != std::string::npos);
    // What is printed to be typed is one word to the shell, however the plate is written.
    shop.must({"schedule", "set", "É 12-ÇA", "brake-fluid", "--every", "24mo", "--source", "bay card (invented)"});
    const std::string due = shop.must({"due", "--car", "É 12-ÇA"}).out;
    CHECK_MESSAGE(due.find("baybook due done \"É 12-ÇA\" brake-fluid --when DATE") != std::string::npos, due);
  }

  TEST_CASE("what a program reads of the register and the limits is exact, and the printed form is still there for the asking") {
    const Quarter shop;
    const std::string rows = shop.must({"register", "2026-q1", "--json"}).out;
    for (const char* part : {R"("amount":{"nl":"20000000000"},"amount_shown":"20 L")", R"("weight":{"ug":"21400000000"})", R"("measured":{"nl":"19500000000"},"measured_shown":"19.5 L","confirmed":"2026-03-05")", R"("document":"A-1")", R"("collections":[{"stream":"Used antifreeze","count":1}])"}) {
      CAPTURE(part);
      CAPTURE(rows);
      CHECK(rows.find(part) != std::string::npos);
    }
    CHECK(shop.must({"register", "2026-q1", "--form", "json"}).out.find("\"caption\"") != std::string::npos);
    CHECK(shop.must({"limits", "--form", "json"}).out.find("\"caption\"") != std::string::npos);
    const std::string lines = shop.must({"limits", "--jsonl"}).out;
    CHECK(lines.starts_with("{\"group\":"));
    CHECK(shop.must({"totals", "2026-q1", "--json"}).out.find(R"("figure":"brought-in","closed_at":{"nl":"40000000000"},"now":{"nl":"42000000000"},"difference":{"nl":"2000000000"})") != std::string::npos);
  }

  TEST_CASE("a month that another installation's entries have changed is printed as amended: each difference, who and why") {
    BroughtIn b;
    b.bring();
    const std::string book = b.bay.file();
    b.bay.close();
    const Shop shop;
    const std::string screen = flat(shop.run({"totals", "2026-01", "--book", book}).out);
    const std::string page = shop.run({"totals", "2026-01", "--form", "html", "--book", book}).out;
    const std::string answer = shop.run({"totals", "2026-01", "--json", "--book", book}).out;
    for (const char* part : {"AMENDED, 4 figures differ", "coolant drained 5 L 5.5 L 0.5 L", "coolant brought-in 0 L 2 L 2 L", "3@office 2026-02-04 2026-01-30 Maren", "4@office 2026-02-04 2026-02-04 Maren", "the jug was"}) {
      CAPTURE(part);
      CAPTURE(screen);
      CHECK(screen.find(part) != std::string::npos);
    }
    for (const char* part : {"AMENDED", "Maren Ødegård", "the jug was read wrong", "stood at the gate, slip of January"}) {
      CAPTURE(part);
      CHECK(page.find(part) != std::string::npos);
      CHECK(answer.find(part) != std::string::npos);
    }
    CHECK(answer.find(R"("amended":true)") != std::string::npos);
    CHECK(answer.find(R"("figure":"drained","closed_at":{"nl":"5000000000"},"now":{"nl":"5500000000"},"difference":{"nl":"500000000"})") != std::string::npos);
  }

  TEST_CASE("a spill answers a program with the advice that the screen shows") {
    const Quarter shop;
    const std::vector<std::string> spill = {"spill",     "1",     "coolant",   "2500L",
                                            "--reached", "drain", "--cleaned", "rags"};
    std::vector<std::string> asked = spill;
    asked.push_back("--dry-run");
    asked.push_back("--json");
    CHECK(shop.must(asked).out.find("\"advice\":[]") != std::string::npos);
    asked.erase(asked.end() - 2);
    const std::string answer = shop.must(asked).out;
    CAPTURE(answer);
    CHECK(is_json(answer));
    CHECK(answer.find("\"advice\":[\"ethylene glycol: 2500L of coolant got out, 2675 kg (5897.366 "
                      "lb): AT OR OVER 5000 lb") != std::string::npos);
    const std::string screen = flat(shop.must(spill).err);
    const std::string last_words = "this compares figures; whether a report is due, and to whom, is for the authority and local rules to say";
    CHECK(screen.find(last_words) != std::string::npos);
    CHECK(answer.find("\"" + last_words + "\"]") != std::string::npos);
    CHECK(
        answer.find(
            R"("comparisons":[{"substance":"ethylene glycol","fluids_in":["coolant"],"quantity":{"ug":"2267961850000"},"quantity_shown":"5000 lb")") !=
        std::string::npos);
    CHECK(answer.find(R"("weight":{"ug":"2675000000000"})") != std::string::npos);
    CHECK(answer.find(R"("state":"at-or-over")") != std::string::npos);
  }
}
