// What is due, through the real program: what it refuses, what it lists, its calendar and the week's sheet.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <sstream>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::OpenShop;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

std::size_t times(const std::string& text, const std::string& part) {
  std::size_t n = 0;
  for (std::size_t at = 0; (at = text.find(part, at)) != std::string::npos; at += part.size()) ++n;
  return n;
}

std::string said(const Words& words) {
  std::string out;
  for (const std::string& w : words) out += (out.empty() ? "" : " ") + (w.find(' ') == std::string::npos && !w.empty() ? w : "'" + w + "'");
  return out;
}

/// The shop with a second car, BRISK-9, whose job 2 is closed and left two rechecks, and a third, ELDER-1, that is scrapped and left one.
class DueShop : public OpenShop {
 public:
  DueShop() {
    must({"car", "add", "BRISK-9", "--make", "Corvane", "--model", "Petrel", "--year", "2009", "--keeper", "Odile Brandt", "--circuit", "coolant=5.1L:HOAT"});
    must({"job", "open", "BRISK-9", "--odo", "120000km", "--for", "knocks on hills"});
    must({"job", "close", "2", "--result", "quiet", "--recheck", "belt of Odile's own", "--after", "3d", "--recheck", "P0217 once more", "--after", "200km"});
    must({"car", "add", "ELDER-1", "--make", "Corvane", "--model", "Petrel", "--year", "1991"});
    must({"job", "open", "ELDER-1", "--odo", "300000km", "--for", "last look"});
    must({"job", "close", "3", "--result", "ended", "--recheck", "oil drip", "--after", "5d"});
    must({"car", "change", "ELDER-1", "--scrapped"});
  }
  void text(const std::string& name, const std::string& bytes) const { std::ofstream(file(name), std::ios::binary) << bytes; }
  /// What python prints of a script that may open the files of the shop.
  [[nodiscard]] std::string python(const std::string& script, const std::string& arguments) const {
    text("script.py", script);
    const std::string command = "cd '" + folder().string() + "' && PYTHONIOENCODING=utf-8 /usr/bin/python3 script.py " + arguments + " > script.out 2>&1";
    const int status = std::system(command.c_str());
    const std::string out = bytes_of(file("script.out"));
    INFO(out);
    CHECK(status == 0);
    return out;
  }
};

constexpr const char* kTern = R"(name = "tern-service"
reuse-days = 20

[[interval]]
task = "engine-oil"
make = "Corvane"
model = "Tern"
months = 12
distance = "15000 km"
source = "workshop booklet, page 9"

[[interval]]
task = "timing-belt"
make = "Corvane"
model = "Tern"
distance = "120000 km"
part = ["TB-4410", "TB-4411"]
source = "workshop booklet, page 14"
)";

/// Something of every group: a task that is over, one to come, one without a day; rechecks; a pan; a deadline and a paper.
class BusyShop : public DueShop {
 public:
  BusyShop() {
    must({"rules", "set", "us-federal", "--from", "2026-01-01"});
    text("tern.toml", kTern);
    must({"schedule", "load", "tern.toml"});
    must({"schedule", "set", "MARSH-07", "brake", "--every", "24mo", "--source", "workshop booklet, page 12"});
    must({"due", "done", "MARSH-07", "brake", "--when", "2024-02-10", "--note", "bill of a shop in Fenside"});
    must({"due", "done", "MARSH-07", "engine-oil", "--when", "2025-03-20", "--odo", "80000km"});
    must({"firm", "add", "quill-tarn", "Quill & Tarn Recovery", "--carries", "--receives", "--number", "permit=T-118"});
    must({"discard", "coolant", "9L", "--into", "drum-coolant"});
    must({"pickup", "--carrier", "quill-tarn", "--receiver", "quill-tarn", "--doc", "A-1", "--from", "drum-coolant=4L", "--measured", "3.9L", "--fate", "recycle", "--transport", "road"});
    must({"deadline", "add", "tank-test", "2026-03-20", "--what", "test by Hollis Brandt"});
  }
};

}  // namespace

TEST_SUITE("tools/due") {
  TEST_CASE("an interval that says nothing, twice or of nobody is refused and leaves nothing") {
    const DueShop shop;
    const std::string before = shop.dump();
    struct Slip {
      Words words;
      int status;
      const char* said;
    };
    const std::vector<Slip> slips = {
        {{"schedule", "set", "MARSH-07", "brake", "--source", "x"}, 1, "interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "0mo", "--source", "x"}, 1, "0mo is an interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "0km", "--source", "x"}, 1, "0km is an interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "0h", "--source", "x"}, 1, "0h is an interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "-3mo", "--source", "x"}, 1, "-3mo is an interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12", "--source", "x"}, 1, "12 is not clear"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "soon", "--source", "x"}, 1, "soon is not clear"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "999y", "--source", "x"}, 1, "999y is not likely"},
        // Twelve times this is four months in 32 bits.
        {{"schedule", "set", "MARSH-07", "brake", "--every", "-357913941y", "--source", "x"}, 1, "-357913941y is an interval of nothing"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12mo", "--every", "2y", "--source", "x"}, 2, "two limits by time: 2y"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12mo"}, 2, "type: --source"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12mo", "--source", "x", "--filtered", "0%"}, 2, "no share of an interval"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12mo", "--source", "x", "--filtered", "101"}, 2, "no share of an interval"},
        {{"schedule", "set", "MARSH-07", "brake", "--every", "12mo", "--source", "x", "--circuit", "brak"}, 1, "type: brake"},
        {{"schedule", "set", "MARSH-70", "brake", "--every", "12mo", "--source", "x"}, 1, "type: MARSH-07"},
        {{"schedule", "set", "ELDER-1", "brake", "--every", "12mo", "--source", "x"}, 1, "ELDER-1 is scrapped"},
    };
    for (const Slip& s : slips) {
      CAPTURE(said(s.words));
      const Answer a = shop.run(s.words);
      CAPTURE(a.err);
      CHECK(a.status == s.status);
      CHECK(a.out.empty());
      CHECK(holds(flat(a.err), s.said));
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a schedule file with a slip is refused with file, line and column") {
    const DueShop shop;
    const std::string before = shop.dump();
    const std::string top = "name = \"bad\"\n[[interval]]\ntask = \"belt\"\nmake = \"Corvane\"\nmodel = \"Tern\"\n";
    struct Slip {
      std::string text;
      const char* where;
      const char* said;
    };
    const std::vector<Slip> slips = {
        {"name = \"bad\"\nreuse-dayz = 3\n", "s.toml:2:1: ", "type: reuse-days"},
        {"name = \"bad\"\n[[interval]]\ntask = \"belt\"\n  monthz = 12\n", "s.toml:4:3: ", "type: months"},
        {top + "months = \"12\"\nsource = \"x\"\n", "s.toml:6:10: ", "months is a whole number"},
        {top + "months = 0\nsource = \"x\"\n", "s.toml:6:10: ", "months is a whole number"},
        {top + "months = 1.5\nsource = \"x\"\n", "s.toml:6:10: ", "months is a whole number"},
        {top + "months = 1201\nsource = \"x\"\n", "s.toml:6:10: ", "1 to 1200"},
        {top + "distance = 15000\nsource = \"x\"\n", "s.toml:6:12: ", "distance is a text in quotes"},
        {top + "distance = \"15000\"\nsource = \"x\"\n", "s.toml:6:12: ", "has no unit"},
        {top + "distance = \"0 km\"\nsource = \"x\"\n", "s.toml:6:12: ", "an interval of nothing"},
        {top + "part = [1]\nmonths = 12\nsource = \"x\"\n", "s.toml:6:9: ", "part is a number, or a list of numbers, in quotes"},
        {top + "months = 12\n", "s.toml:2:1: ", "belt has no source"},
        {top + "source = \"x\"\n", "s.toml:2:1: ", "belt has an interval of nothing"},
        {"name = \"bad\"\n\n  [[interval]]\nmake = \"Corvane\"\nmodel = \"Tern\"\nmonths = 12\nsource = \"x\"\n", "s.toml:3:3: ", "an interval has no task"},
        {"name = \"bad\"\n[[interval]]\ntask = \"time belt\"\n", "s.toml:3:8: ", "type: task = \"time-belt\""},
        {"name = \"bad\"\n[[interval]]\ntask = \"belt\"\nmonths = 12\nsource = \"x\"\n", "s.toml:2:1: ", "belt is for no car"},
        {"name = \"bad\"\n[[interval]]\ntask = \"belt\"\nmake = \"Corvane\"\nmonths = 12\nsource = \"x\"\n", "s.toml:4:8: ", "a make without a model"},
        {top + "car = \"MARSH-07\"\nmonths = 12\nsource = \"x\"\n", "s.toml:6:7: ", "more than one sort of cars"},
        {top + "from-year = 2015\nuntil-year = 2014\nmonths = 12\nsource = \"x\"\n", "s.toml:7:14: ", "for the years 2015 to 2014"},
        {top + "circuit = \"cooolant\"\nmonths = 12\nsource = \"x\"\n", "s.toml:6:11: ", "type: circuit = \"coolant\""},
        // Part of a plate, and one a slip away, name no car in a file.
        {"name = \"bad\"\n[[interval]]\ntask = \"belt\"\ncar = \"MARSH-70\"\nmonths = 12\nsource = \"x\"\n", "s.toml:4:7: ", "type: car = \"MARSH-07\""},
        {"name = \"bad\"\n[[interval]]\ntask = \"belt\"\ncar = \"MARSH\"\nmonths = 12\nsource = \"x\"\n", "s.toml:4:7: ", "type: car = \"MARSH-07\""},
        {"name = \"bad\ntask\n", "s.toml:1:12: ", "the form of TOML"},
        {"this is prose\n", "s.toml:1:6: ", "the form of TOML"},
        {"name = 7\n", "s.toml:1:8: ", "name is a text in quotes"},
        {"[[interval]]\n", "s.toml:1:1: ", "the file has no name"},
        {"name = \"bad\"\n", "s.toml:1:1: ", "no [[interval]]"},
        {"name = \"bad\"\ninterval = [3]\n", "s.toml:2:13: ", "a list of tables"},
    };
    for (const Slip& s : slips) {
      CAPTURE(s.text);
      shop.text("s.toml", s.text);
      const Answer a = shop.run({"schedule", "load", "s.toml"});
      CAPTURE(a.err);
      CHECK(a.status == 1);
      CHECK(a.err.starts_with(std::string("baybook: ") + s.where));
      CHECK(holds(flat(a.err), s.said));
    }
    CHECK(shop.run({"schedule", "load", "no-such.toml"}).status == 3);
    CHECK(shop.run({"schedule", "load", "."}).status == 3);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("a schedule for a model or a specification that no car has is refused, with the name that is near") {
    const DueShop shop;
    const std::string before = shop.dump();
    shop.text("s.toml", "name = \"s\"\n[[interval]]\ntask = \"belt\"\nmake = \"Corvane\"\nmodel = \"Turn\"\nmonths = 12\nsource = \"x\"\n");
    const Answer model = shop.run({"schedule", "load", "s.toml"});
    CHECK(model.status == 1);
    CHECK(holds(model.err, "no car in the book is a Corvane Turn"));
    CHECK(holds(model.err, "type: make = \"CORVANE\", model = \"TERN\""));
    shop.text("s.toml", "name = \"s\"\n[[interval]]\ntask = \"coolant\"\nspecification = \"OATT\"\nmonths = 12\nsource = \"x\"\n");
    const Answer specification = shop.run({"schedule", "load", "s.toml"});
    CHECK(specification.status == 1);
    CHECK(holds(specification.err, "no car in the book asks for OATT"));
    CHECK(holds(specification.err, "type: specification = \"OAT\""));
    CHECK(shop.dump() == before);
  }

  TEST_CASE("two intervals for one task are refused in one file, file against file and file against hand, and years that do not meet are taken") {
    const DueShop shop;
    const auto file = [](const std::string& name, const std::string& task, const std::string& rest) { return "name = \"" + name + "\"\n" + "[[interval]]\ntask = \"" + task + "\"\nmake = \"Corvane\"\nmodel = \"Tern\"\nmonths = 12\nsource = \"page 1\"\n" + rest; };
    shop.text("one.toml", file("one", "belt", "until-year = 2014\n"));
    shop.must({"schedule", "load", "one.toml"});
    shop.must({"schedule", "set", "MARSH-07", "brake", "--every", "24mo", "--source", "page 2"});
    const std::string before = shop.dump();
    shop.text("s.toml", file("two", "hose", "[[interval]]\ntask = \"hose\"\nmake = \"corvane\"\nmodel = \"TERN\"\nmonths = 24\nsource = \"page 3\"\n"));
    const Answer inside = shop.run({"schedule", "load", "s.toml"});
    CHECK(inside.status == 1);
    CHECK(holds(flat(inside.err), "has two intervals: every 1 year, and every 2 years"));
    shop.text("s.toml", file("two", "belt", "from-year = 2014\n"));
    const Answer years = shop.run({"schedule", "load", "s.toml"});
    CHECK(years.status == 1);
    CHECK(holds(flat(years.err), "belt of Corvane Tern, 2014 to last is due every 1 year by entry"));
    CHECK(holds(flat(years.err), "(page 1)"));
    shop.text("s.toml", "name = \"two\"\n[[interval]]\ntask = \"brake\"\ncar = \"MARSH-07\"\nmonths = 12\nsource = \"page 4\"\n");
    const Answer hand = shop.run({"schedule", "load", "s.toml"});
    CHECK(hand.status == 1);
    CHECK(holds(flat(hand.err), "brake of MARSH-07 is due every 2 years by entry"));
    CHECK(shop.dump() == before);
    // A file's own car against the hand that comes later.
    shop.text("s.toml", "name = \"two\"\n[[interval]]\ntask = \"hose\"\ncar = \"MARSH-07\"\nmonths = 12\nsource = \"page 4\"\n");
    shop.must({"schedule", "load", "s.toml"});
    CHECK(shop.run({"schedule", "set", "MARSH-07", "hose", "--every", "6mo", "--source", "page 5"}).status == 1);
    shop.text("s.toml", file("three", "belt", "from-year = 2015\n"));
    shop.must({"schedule", "load", "s.toml"});
    // A later file of the same name takes the place of the one before, and no more than that.
    shop.text("one.toml", file("one", "belt", "until-year = 2013\n"));
    shop.must({"schedule", "load", "one.toml"});
    const std::string list = shop.must({"schedule", "list"}).out;
    CHECK(times(list, "belt, Corvane Tern") == 2);
    CHECK(holds(list, "until 2013"));
    CHECK_FALSE(holds(list, "until 2014"));
  }

  TEST_CASE("a recheck that was not set, is settled, or is of a scrapped car is refused, and its outcome must be said") {
    const DueShop shop;
    shop.must({"recheck", "2/1", "--good", "--found", "tight"});
    const std::string before = shop.dump();
    struct Slip {
      Words words;
      int status;
      const char* said;
    };
    const std::vector<Slip> slips = {
        {{"recheck", "2/1", "--good"}, 1, "recheck 2/1 was settled on 2026-03-05, entry"},
        {{"due", "put-off", "2/1", "--until", "2026-05-01", "--why", "x"}, 1, "recheck 2/1 was settled"},
        {{"recheck", "2/3", "--good"}, 1, "job 2 set 2 rechecks, not a number 3"},
        {{"recheck", "2/0", "--good"}, 1, "2/0 names no recheck"},
        {{"recheck", "2/x", "--good"}, 1, "2/x names no recheck"},
        {{"recheck", "1/1", "--good"}, 1, "job 1 is still open"},
        {{"recheck", "9", "--good"}, 1, "there is no job 9"},
        {{"recheck", "3/1", "--good"}, 1, "ELDER-1 is scrapped"},
        {{"due", "put-off", "3/1", "--until", "2026-05-01", "--why", "x"}, 1, "ELDER-1 is scrapped"},
        {{"recheck", "2/2"}, 2, "was it good or bad?"},
        {{"recheck", "2/2", "--good", "--bad"}, 2, "good or bad, not both"},
        {{"recheck", "2/2", "--bad"}, 2, "what was found must be said"},
        {{"recheck", "2/2", "--good", "--job", "1"}, 1, "job 1 is about another car"},
        {{"recheck", "2/2", "--good", "--on", "2026-03-04"}, 1, "is before job 2 was closed"},
    };
    for (const Slip& s : slips) {
      CAPTURE(said(s.words));
      const Answer a = shop.run(s.words);
      CAPTURE(a.err);
      CHECK(a.status == s.status);
      CHECK(holds(flat(a.err), s.said));
    }
    CHECK(shop.dump() == before);
    shop.must({"job", "close", "1", "--result", "dry", "--as-is", "to be filled at home"});
    const Answer none = shop.run({"recheck", "1", "--good"});
    CHECK(none.status == 1);
    CHECK(holds(none.err, "job 1 set no recheck"));
    // The one that is left needs no number.
    CHECK(holds(shop.must({"recheck", "2", "--bad", "--found", "hot again"}).out, "recheck 2/2: still there: hot again"));
  }

  TEST_CASE("a task that nothing asks for, a day that cannot be, and a reading that does not fit its day are refused") {
    const DueShop shop;
    shop.must({"schedule", "set", "MARSH-07", "brake", "--every", "24mo", "--every", "250h", "--source", "page 2"});
    shop.must({"odo", "MARSH-07", "1250h"});
    const std::string before = shop.dump();
    struct Slip {
      Words words;
      int status;
      const char* said;
    };
    const std::vector<Slip> slips = {
        {{"due", "done", "MARSH-07", "brakes"}, 1, "type: brake"},
        {{"due", "done", "MARSH-07", "belt"}, 1, "no schedule asks for belt on MARSH-07"},
        {{"due", "done", "BRISK-9", "brake"}, 1, "the car has no schedule"},
        {{"due", "done", "ELDER-1", "brake"}, 1, "ELDER-1 is scrapped"},
        {{"due", "done", "MARSH-07", "brake", "--when", "2012-12-31"}, 1, "is before MARSH-07 existed"},
        {{"due", "done", "MARSH-07", "brake", "--when", "2026-03-06"}, 1, "2026-03-06 is after 2026-03-05"},
        {{"due", "done", "MARSH-07", "brake", "--when", "never"}, 1, "never"},
        {{"due", "done", "MARSH-07", "brake", "--odo", "1000km"}, 1, "less than the reading before it, 88210 km on 2026-03-05"},
        {{"due", "done", "MARSH-07", "brake", "--when", "2026-03-01", "--odo", "99000km"}, 1, "more than the reading after it, 88210 km on 2026-03-05"},
        {{"due", "done", "MARSH-07", "brake", "--odo", "88210"}, 1, "has no unit"},
        {{"due", "done", "MARSH-07", "brake", "--hours", "12"}, 1, "no reading of an hour counter"},
        {{"due", "done", "MARSH-07", "brake", "--hours", "1200h"}, 1, "1200 h is less than the reading before it, 1250 h on 2026-03-05"},
        {{"due", "done", "MARSH-07", "brake", "--when", "2026-03-01", "--hours", "1300h"}, 1, "1300 h is more than the reading after it, 1250 h on 2026-03-05"},
        {{"due", "done", "MARSH-07", "brake", "--job", "2"}, 1, "job 2 is about another car than MARSH-07"},
        {{"due", "put-off", "MARSH-07", "brake", "--until", "2026-03-05", "--why", "x"}, 1, "2026-03-05 is not after 2026-03-05"},
        {{"due", "put-off", "MARSH-07", "brake", "--until", "2026-01-05", "--why", "x"}, 1, "is not after 2026-03-05"},
        {{"due", "put-off", "MARSH-07", "brake", "--until", "today", "--why", "x"}, 1, "is not a day to come"},
        {{"due", "put-off", "MARSH-07", "brake", "--until", "2046-01-05", "--why", "x"}, 1, "more than ten years away"},
        {{"due", "put-off", "MARSH-07", "brake", "--until", "2026-04-05"}, 2, "putting off needs a reason"},
        {{"due", "put-off", "MARSH-07", "brake", "--why", "x"}, 2, "needs --until DATE"},
        {{"due", "put-off", "MARSH-07", "brakes", "--until", "2026-04-05", "--why", "x"}, 1, "type: brake"},
        {{"due", "put-off", "BRISK-9", "brake", "--until", "2026-04-05", "--why", "x"}, 1, "no schedule asks for brake on BRISK-9"},
        {{"due", "put-off", "MARSH-07", "--until", "2026-04-05", "--why", "x"}, 2, "a task of a car, or a recheck"},
        {{"odo", "MARSH-07", "1249.9h"}, 1, "1249.9 h is less than the reading before it, 1250 h"},
        {{"odo", "MARSH-07", "1250.55h"}, 1, "no reading of an hour counter"},
        {{"odo", "MARSH-07", "-5h"}, 1, "no reading of an hour counter"},
        {{"odo", "ELDER-1", "5h"}, 1, "ELDER-1 is scrapped"},
    };
    for (const Slip& s : slips) {
      CAPTURE(said(s.words));
      const Answer a = shop.run(s.words);
      CAPTURE(a.err);
      CHECK(a.status == s.status);
      CHECK(holds(flat(a.err), s.said));
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("what due is asked for in a way it does not know is wrong usage, and a year of it is no more than ten") {
    const BusyShop shop;
    for (const char* within : {"0", "30", "xd", "11y", "-1d", "d", "", "9999mo", "30d ", "521w"}) {
      CAPTURE(within);
      const Answer a = shop.run({"due", "--within", within});
      CHECK(a.status == 2);
      CHECK(holds(a.err, "type: --within 30d"));
    }
    for (const char* within : {"0d", "1 day", "4w", "2 weeks", "2mo", "1 month"}) {
      CAPTURE(within);
      CHECK(shop.run({"due", "--within", within}).status == 0);
    }
    for (const char* group : {"cats", "", "Cars"}) {
      CAPTURE(group);
      CHECK(shop.run({"due", "--for", group}).status == 2);
    }
    CHECK(shop.run({"due", "--car", "NOBODY"}).status == 1);
    CHECK(shop.run({"due", "--out", "week.doc"}).status == 2);
    const Answer form = shop.run({"due", "--form", "doc"});
    CHECK(form.status == 2);
    CHECK(holds(form.err, "csv, json, html, pdf, ics"));
    CHECK(shop.run({"due", "--personal"}).status == 2);
    CHECK(shop.run({"comebacks", "--by", "color"}).status == 2);
    CHECK_FALSE(std::filesystem::exists(shop.file("week.doc")));
  }

  TEST_CASE("the list stands in 80 columns, what is over first, each line with its reason and the words that settle it") {
    const BusyShop shop;
    const std::string list = shop.must({"due"}).out;
    CAPTURE(list);
    std::istringstream lines(list);
    // A command stands on one line, however wide: somebody copies it.
    for (std::string line; std::getline(lines, line);)
      CHECK((line.size() <= 80 || holds(line, " type: baybook ")));
    const auto at = [&](const std::string& part) {
      CAPTURE(part);
      const std::size_t found = list.find(part);
      CHECK(found != std::string::npos);
      return found;
    };
    const std::vector<std::string> order = {"\nOVER\n", "2026-02-10  car        MARSH-07 brake\n", "\nTO COME\n", "2026-03-08  recheck    BRISK-9 belt of Odile's own\n", "2026-03-12  container  pan: pan-1", "2026-03-20  car        MARSH-07 engine-oil\n", "2026-03-20  paper      deadline: tank-test", "\nNO DAY KNOWN\n", "            recheck    BRISK-9 P0217 once more\n"};
    for (std::size_t i = 1; i < order.size(); ++i) CHECK(at(order[i - 1]) < at(order[i]));
    const std::string words = flat(list);
    for (const char* part : {"every 2 years; last done 2024-02-10 (entry", "from: workshop booklet, page 12 (entry", "type: baybook due done MARSH-07 brake # or the job that does it", "at 88210 km on 2026-03-05, due 95000 km",
                             "type: baybook recheck 2/1 --good --found \"...\" # or --bad", "type: baybook deadline done tank-test", "1 task of a car is scheduled and the book knows no day for it", "local codes and the authority have the last word", "seal bay:"}) {
      CAPTURE(part);
      CHECK(holds(words, part));
    }
    const std::string one = flat(shop.must({"due", "--car", "MARSH-07"}).out);
    CHECK(holds(one, "MARSH-07 timing-belt"));
    CHECK(holds(one, "nothing in the book says when it was last done"));
    CHECK(holds(one, "type: baybook due done MARSH-07 timing-belt --when DATE --odo READING"));
    CHECK_FALSE(holds(one, "BRISK-9"));
    CHECK_FALSE(holds(one, "tank-test"));
  }

  TEST_CASE("each group alone is that group, and a scheduled run is told by the exit status whether something is over") {
    const BusyShop shop;
    const std::string all = shop.must({"due", "--json"}).out;
    CHECK(is_json(all));
    std::size_t sum = 0;
    for (const char* group : {"car", "recheck", "container", "paper"}) {
      CAPTURE(group);
      const std::string mine = "\"group\":\"" + std::string(group) + "\"";
      const std::string some = shop.must({"due", "--for", std::string(group) + "s", "--json"}).out;
      CHECK(times(some, mine) == times(all, mine));
      CHECK(times(some, "\"group\":") == times(some, mine));
      CHECK(times(some, mine) >= 1);
      CHECK(shop.must({"due", "--for", group, "--json"}).out == some);
      sum += times(some, mine);
    }
    CHECK(sum == times(all, "\"group\":"));
    CHECK(shop.run({"due", "--fail-if-overdue"}).status == 1);
    CHECK(shop.run({"due", "--fail-if-overdue", "--json"}).status == 1);
    CHECK(shop.run({"due", "--fail-if-overdue", "--out", "a.ics"}).status == 1);
    CHECK(shop.run({"due", "--fail-if-overdue", "--out", "a.csv"}).status == 1);
    const Answer quiet = shop.run({"due", "--fail-if-overdue", "--quiet"});
    CHECK(quiet.status == 1);
    CHECK(quiet.out.empty());
    CHECK(shop.run({"due", "--fail-if-overdue", "--for", "rechecks"}).status == 0);
    shop.must({"due", "done", "MARSH-07", "brake"});
    CHECK(shop.run({"due", "--fail-if-overdue"}).status == 0);
  }

  TEST_CASE("a task put off is not over until its day has passed, and its reason stands beside it") {
    BusyShop shop;
    shop.must({"due", "put-off", "MARSH-07", "brake", "--until", "2026-03-10", "--why", "fluid on order"});
    CHECK(shop.run({"due", "--fail-if-overdue"}).status == 0);
    CHECK(holds(flat(shop.must({"due"}).out), "): fluid on order from: workshop booklet, page 12 (entry"));
    shop.now = "2026-03-10T09:00:00.000Z";
    CHECK(shop.run({"due", "--fail-if-overdue", "--for", "cars"}).status == 0);
    shop.now = "2026-03-11T09:00:00.000Z";
    CHECK(shop.run({"due", "--fail-if-overdue", "--for", "cars"}).status == 1);
  }

  TEST_CASE("every field of a line is in the JSON answer, with null where no day is known") {
    const BusyShop shop;
    const std::string answer = shop.must({"due", "--json"}).out;
    shop.text("due.json", answer);
    const std::string seen = shop.python(R"py(
import json
d = json.load(open('due.json'))
assert d['v'] == 1 and d['ok'] is True and d['day'] == '2026-03-05' and d['within'] == 30 and d['more'] is False and d['rules'] == 'us-federal'
fields = ['group', 'state', 'about_now', 'day', 'projected', 'early', 'late', 'width_percent', 'about', 'what', 'why', 'figures', 'source', 'note', 'settle', 'entries', 'key']
for line in d['due']:
    assert list(line) == fields, list(line)
    assert (line['day'] is None) == (line['state'] == 'no-day'), line
    assert line['entries'] and line['key'] and line['settle'], line
assert len({line['key'] for line in d['due']}) == len(d['due'])
assert d['over'] == sum(line['state'] == 'over' for line in d['due'])
rank = [1 if line['about_now'] else {'over': 0, 'no-day': 3}.get(line['state'], 2) for line in d['due']]
assert d['about_now'] == sum(line['about_now'] for line in d['due'])
assert all(line['state'] == 'soon' and line['projected'] for line in d['due'] if line['about_now'])
assert rank == sorted(rank), rank
days = [(r, line['day'] or '9') for r, line in zip(rank, d['due'])]
assert days == sorted(days), days
brake = next(line for line in d['due'] if line['what'] == 'MARSH-07 brake')
print(brake['state'], brake['day'], brake['about'], brake['figures'], '|', d['over'], d['no_day'])
)py",
                                         "");
    CHECK(seen == "over 2026-02-10 MARSH-07 by 2026-02-10 | 1 1\n");
    std::string inside = answer.substr(answer.find("[{"));
    CHECK(times(shop.must({"due", "--jsonl"}).out, "\n") == times(inside, "\"group\":"));
  }

  TEST_CASE("the list as of a past day is what the list showed at the end of that day, whatever was read and settled since") {
    BusyShop shop;
    shop.must({"work", "1", "flushed", "--kind", "cooling"});
    shop.must({"code", "1", "P0217", "--cleared"});
    const auto lines = [](const std::string& json) { return json.substr(json.find("\"due\":["), json.find("],\"over\"") - json.find("\"due\":[")); };
    const std::string then = lines(shop.must({"due", "--json"}).out);
    const std::string all_of_car = lines(shop.must({"due", "--car", "MARSH-07", "--json"}).out);
    shop.now = "2026-03-16T10:00:00.000Z";
    shop.must({"job", "open", "BRISK-9", "--odo", "121000km", "--for", "hot"});
    shop.must({"code", "4", "P0217", "--read"});
    shop.must({"odo", "MARSH-07", "97000km"});
    shop.must({"due", "done", "MARSH-07", "brake"});
    shop.must({"recheck", "2/1", "--good"});
    shop.must({"deadline", "done", "tank-test"});
    const std::string now = shop.must({"due", "--json"}).out;
    CHECK(lines(now) != then);
    CHECK(lines(shop.must({"due", "--as-of", "2026-03-05", "--json"}).out) == then);
    CHECK(lines(shop.must({"due", "--as-of", "2026-03-05", "--car", "MARSH-07", "--json"}).out) == all_of_car);
    CHECK(lines(shop.must({"due", "--as-of", "2026-03-16", "--json"}).out) == lines(now));
  }

  TEST_CASE("a recheck far ahead is over once the code that it names is read again") {
    DueShop shop;
    shop.must({"job", "open", "BRISK-9", "--odo", "120000km", "--for", "hot"});
    shop.must({"job", "close", "4", "--result", "new thermostat", "--recheck", "P0128 again", "--after", "90d"});
    CHECK_FALSE(holds(shop.must({"due"}).out, "P0128"));
    shop.now = "2026-03-16T10:00:00.000Z";
    shop.must({"job", "open", "BRISK-9", "--odo", "120900km", "--for", "hot again"});
    shop.must({"code", "5", "P0128", "--read"});
    const std::string list = flat(shop.must({"due", "--for", "rechecks"}).out);
    CHECK(list.find("P0128 again") < list.find("TO COME"));
    CHECK(holds(list, "P0128 came back on 2026-03-16, job 5 (entry"));
    CHECK(holds(shop.must({"due", "--as-of", "2026-03-16"}).out, "P0128 again"));
    CHECK_FALSE(holds(shop.must({"due", "--as-of", "2026-03-15"}).out, "P0128"));
  }

  TEST_CASE("the same once-key settles a task once, and a dry run of each verb leaves nothing") {
    const BusyShop shop;
    const Words done = {"due", "done", "MARSH-07", "brake", "--once", "k-1"};
    shop.must(done);
    const std::string before = shop.dump();
    shop.must(done);
    CHECK(shop.dump() == before);
    const Answer other = shop.run({"due", "done", "MARSH-07", "engine-oil", "--once", "k-1"});
    CHECK(other.status == 1);
    CHECK(shop.dump() == before);
    for (const Words& words : {Words{"schedule", "set", "BRISK-9", "belt", "--every", "1y", "--source", "x"}, Words{"schedule", "load", "tern.toml"}, Words{"due", "done", "MARSH-07", "timing-belt", "--when", "2020-05-02", "--odo", "60000km"},
                               Words{"due", "put-off", "MARSH-07", "brake", "--until", "2028-05-01", "--why", "x"}, Words{"recheck", "2/1", "--good"}, Words{"odo", "MARSH-07", "1250h"}}) {
      CAPTURE(said(words));
      Words dry = words;
      dry.push_back("--dry-run");
      CHECK(holds(shop.must(dry).out, "nothing was written"));
    }
    CHECK(shop.dump() == before);
  }

  TEST_CASE("the same once-key settles and puts off a recheck once, also where its number was left out") {
    const DueShop shop;
    const Words put_off = {"due", "put-off", "2/1", "--until", "2026-05-01", "--why", "abroad", "--once", "k-1"};
    shop.must(put_off);
    shop.must({"recheck", "2/1", "--good"});
    const Words settled = {"recheck", "2", "--bad", "--found", "hot again", "--once", "k-2"};
    CHECK(holds(shop.must(settled).out, "recheck 2/2"));
    const std::string before = shop.dump();
    shop.must(settled);
    CHECK(shop.run({"recheck", "2", "--good"}).status == 1);
    CHECK(shop.run(put_off).status == 0);
    CHECK(shop.dump() == before);
  }

  TEST_CASE("the calendar read by another program says what the list says, and nothing personal unless it is asked for") {
    BusyShop shop;
    constexpr const char* compare = R"py(
import datetime, json, sys
from icalendar import Calendar
raw = open(sys.argv[1], 'rb').read()
events = [e for e in Calendar.from_ical(raw).subcomponents if e.name == 'VEVENT']
due = [l for l in json.load(open('due.json'))['due'] if l['day']]
recorded = {str(e['entry']['number']): e['recorded'] for e in json.load(open('entries.json'))['entries']}
assert len(events) == len(due) >= 5, (len(events), len(due))
for e, l in zip(events, due):
    assert e['UID'] == l['key'] + '@bay.baybook', (e['UID'], l['key'])
    begin, end = e['DTSTART'], e['DTEND']
    assert begin.params['VALUE'] == 'DATE' and end.params['VALUE'] == 'DATE'
    assert begin.dt == datetime.date.fromisoformat(l['day']) and end.dt == begin.dt + datetime.timedelta(days=1), l
    assert e['SUMMARY'].startswith('OVER: ') == (l['state'] == 'over'), (e['SUMMARY'], l)
    if sys.argv[2] == 'personal': assert e['SUMMARY'].removeprefix('OVER: ') == l['what'], (e['SUMMARY'], l)
    assert e['CATEGORIES'].to_ical().decode() == l['group'], l
    newest = max(recorded[str(n['number'])] for n in l['entries'])
    assert e['DTSTAMP'].dt.strftime('%Y-%m-%dT%H:%M:%S') == newest[:19], (e['DTSTAMP'].dt, newest)
    assert 'days left' not in e['DESCRIPTION'], e['DESCRIPTION']
    print(e['UID'])
)py";
    shop.must({"odo", "MARSH-07", "80000km", "--on", "2025-12-05"});
    shop.must({"odo", "MARSH-07", "84000km", "--on", "2026-01-20"});
    shop.must({"schedule", "set", "MARSH-07", "tyres-round", "--every", "10000km", "--source", "workshop booklet, page 3"});
    shop.must({"due", "done", "MARSH-07", "tyres-round", "--when", "2025-12-05"});
    const auto moment = [&](const std::string& name, const Words& more) {
      Words words = {"due", "--out", name};
      words.insert(words.end(), more.begin(), more.end());
      shop.must(words);
      shop.text("due.json", shop.must({"due", "--json"}).out);
      shop.text("entries.json", shop.must({"entries", "--json", "--newest", "100000"}).out);
    };
    moment("due.ics", {});
    const std::string uids = shop.python(compare, "due.ics bare");
    shop.must({"due", "--out", "again.ics"});
    CHECK(bytes_of(shop.file("due.ics")) == bytes_of(shop.file("again.ics")));
    CHECK(shop.must({"due", "--form", "ics"}).out == bytes_of(shop.file("due.ics")));
    const std::string bare = shop.python("import re\nprint(re.sub(rb'\\r\\n ', b'', open('due.ics', 'rb').read()).decode())", "");
    for (const char* secret : {"MARSH", "BRISK", "Odile", "belt of", "P0217", "Quill", "Brandt", "knocks", "weeping", "Fenside", "quiet"}) {
      CAPTURE(secret);
      CHECK_FALSE(holds(bare, secret));
    }
    CHECK(holds(bare, "SUMMARY:OVER: car 10 brake"));
    CHECK(holds(bare, "recheck 2/1"));
    moment("mine.ics", {"--personal"});
    CHECK(shop.python(compare, "mine.ics personal") == uids);
    CHECK(holds(bytes_of(shop.file("mine.ics")), "SUMMARY:OVER: MARSH-07 brake"));
    // An entry that has nothing to do with it, some minutes later, moves nothing.
    shop.now = "2026-03-05T11:00:00.000Z";
    shop.must({"person", "add", "Wren"});
    shop.must({"due", "--out", "later.ics"});
    CHECK(bytes_of(shop.file("later.ics")) == bytes_of(shop.file("due.ics")));
    // A reading moves a projected day: the same event, with a later stamp.
    shop.now = "2026-03-06T11:00:00.000Z";
    shop.must({"odo", "MARSH-07", "88290km"});
    moment("moved.ics", {});
    CHECK(shop.python(compare, "moved.ics bare") == uids);
    const std::string moved = bytes_of(shop.file("moved.ics"));
    CHECK(times(moved, "DTSTAMP:20260306T110000Z") == 1);
    CHECK(holds(moved, "projected from readings"));
  }

  TEST_CASE("between its likely day and the late end of its range a task is about now and not over, on screen, in JSON, in the calendar and by exit status") {
    BusyShop shop;
    shop.must({"car", "add", "SLOW-1"});
    shop.must({"schedule", "set", "SLOW-1", "grease", "--every", "2000km", "--source", "workshop booklet, page 3"});
    for (const auto& [day, reading] : {std::pair{"2025-09-01", "50000km"}, {"2025-10-01", "51000km"}, {"2025-11-01", "52000km"}, {"2025-12-01", "53000km"}, {"2025-12-31", "54000km"}})
      shop.must({"odo", "SLOW-1", reading, "--on", day});
    shop.must({"due", "done", "SLOW-1", "grease", "--when", "2025-12-31"});
    // 2,000 km at 33 km a day: likely on 2026-03-01.
    const std::string list = shop.must({"due", "--car", "SLOW-1"}).out;
    CHECK(holds(list, "\nABOUT NOW\n2026-03-0"));
    CHECK_FALSE(holds(list, "\nOVER\n"));
    CHECK(holds(flat(list), "read the odometer to know"));
    CHECK(holds(flat(list), "They are drawn 1."));
    CHECK(holds(flat(list), "1 car of this shop, 3 readings of which were foretold from those before"));
    CHECK(shop.run({"due", "--car", "SLOW-1", "--fail-if-overdue"}).status == 0);
    const std::string json = shop.must({"due", "--car", "SLOW-1", "--json"}).out;
    CHECK(holds(json, "\"state\":\"soon\",\"about_now\":true"));
    CHECK(holds(json, "\"over\":0,\"about_now\":1"));
    CHECK(holds(json, "\"cars\":1,\"forecasts\":3}"));
    CHECK(holds(shop.must({"due", "--car", "SLOW-1", "--form", "ics"}).out, "SUMMARY:ABOUT NOW: car "));
    CHECK(holds(shop.must({"due", "--car", "SLOW-1", "--form", "csv"}).out, "about now,2026-03-0"));
    CHECK(holds(flat(shop.must({"last", "SLOW-1"}).out), "due grease, about now, likely since 2026-03-0"));
    // Past the late end it is over, and past the reading.
    shop.now = "2026-07-01T09:40:00.000Z";
    CHECK(holds(shop.must({"due", "--car", "SLOW-1"}).out, "\nOVER\n2026-03-0"));
    CHECK(shop.run({"due", "--car", "SLOW-1", "--fail-if-overdue"}).status == 1);
    shop.now = "2026-03-05T09:40:00.000Z";
    shop.must({"odo", "SLOW-1", "56000km"});
    CHECK(holds(shop.must({"due", "--car", "SLOW-1"}).out, "\nOVER\n2026-03-05"));
  }

  TEST_CASE("the week's sheet on paper holds every line whole, in either size of paper, and in every form") {
    const BusyShop shop;
    const std::string plates = "ABCDEFGHIJKLMNOPQRST";
    for (const char c : plates) {
      const std::string plate = std::string("WIDEPLATE-") + c;
      shop.must({"car", "add", plate, "--make", "Corvane", "--model", "Heron", "--year", "2018"});
      shop.must({"schedule", "set", plate, "transmission-and-final-drive-inspection", "--every", "12mo", "--source", "workshop booklet of the long edition, page 412, table 9"});
      shop.must({"due", "done", plate, "transmission-and-final-drive-inspection", "--when", c % 2 == 0 ? "2025-02-01" : "2025-03-09"});
    }
    shop.text("due.json", shop.must({"due", "--within", "7d", "--json"}).out);
    for (const char* page : {"a4", "letter"}) {
      const std::string pdf = std::string("week-") + page + ".pdf";
      shop.must({"due", "--within", "7d", "--out", pdf, "--page", page});
    }
    shop.must({"due", "--within", "7d", "--out", "week.html"});
    shop.must({"due", "--within", "7d", "--out", "week.csv"});
    shop.must({"due", "--within", "7d", "--out", "week.txt"});
    const std::string seen = shop.python(R"py(
import csv, html, json, re, subprocess
due = json.load(open('due.json'))['due']
assert len(due) >= 23
squeeze = lambda text: re.sub(r'\s+', '', text)
# A cell is broken over lines, and the lines of neighbours stand between: every word must be there, as often as it is needed.
def words(text): return re.findall(r'\S+', text)
for page in ('a4', 'letter'):
    plain = subprocess.run(['pdftotext', '-layout', 'week-' + page + '.pdf', '-'], capture_output=True, check=True, text=True).stdout
    there = {}
    for w in words(plain): there[w] = there.get(w, 0) + 1
    need = {}
    for line in due:
        for w in words(line['what'] + ' ' + line['figures'] + ' ' + line['settle']) + [line['day'] or 'no']: need[w] = need.get(w, 0) + 1
    missing = {w: (n, there.get(w, 0)) for w, n in need.items() if there.get(w, 0) < n}
    assert not missing, (page, missing)
flat = squeeze(html.unescape(re.sub(r'<[^>]*>', '', open('week.html').read())))
rows = [r for r in csv.reader(open('week.csv'))]
text = squeeze(open('week.txt').read())
for line in due:
    assert squeeze(line['what']) in flat and squeeze(line['settle']) in flat, line['what']
    what = line['what'] if line['key'].startswith('limit-') else line['group'] + ': ' + line['what']
    assert any(what in r and line['settle'] in r and (line['day'] or 'no day') in r for r in rows), line['what']
print('whole')
)py",
                                         "");
    CHECK(seen == "whole\n");
  }

  TEST_CASE("schedules are listed as they hold, with where their figures are from, for people and for programs") {
    const BusyShop shop;
    const std::string list = flat(shop.must({"schedule", "list"}).out);
    for (const char* part : {"tern-service (entry", "engine-oil, Corvane Tern: every 1 year or 15000 km; done when engine-oil is drained and filled", "timing-belt, Corvane Tern: every 120000 km; done when TB-4410 is fitted or TB-4411 is fitted", "from: workshop booklet, page 14",
                             "set by hand for MARSH-07 (entry", "brake, MARSH-07: every 2 years"}) {
      CAPTURE(part);
      CHECK(holds(list, part));
    }
    const std::string json = shop.must({"schedule", "list", "--json"}).out;
    CHECK(is_json(json));
    CHECK(holds(json, R"({"task":"engine-oil","for":"Corvane Tern","limits":"every 1 year or 15000 km","months":12,"metres":15000000,"hours":0,"circuit":"engine-oil","parts":[],"filtered_percent":50,"source":"workshop booklet, page 9"})"));
    CHECK(holds(json, R"("parts":["TB-4410","TB-4411"])"));
    CHECK(holds(shop.must({"schedule", "list", "--car", "BRISK-9"}).out, "no schedule holds for that car"));
    CHECK(holds(shop.must({"schedule", "list", "--car", "BRISK-9", "--json"}).out, "\"schedules\":[]"));
  }

  TEST_CASE("a code that came back is told with what the job before had fitted and done, and counted by either") {
    DueShop shop;
    CHECK(holds(shop.must({"comebacks"}).out, "no code came back"));
    shop.must({"job", "open", "BRISK-9", "--odo", "120000km", "--for", "hot"});
    shop.must({"work", "4", "new thermostat", "--kind", "cooling"});
    shop.must({"work", "4", "read the sensors"});
    shop.must({"fit", "4", "TH-88"});
    shop.must({"fit", "4", "GA-12"});
    shop.must({"code", "4", "P0128", "--cleared"});
    shop.must({"job", "close", "4", "--result", "cool"});
    shop.now = "2026-03-16T10:00:00.000Z";
    shop.must({"job", "open", "BRISK-9", "--odo", "120900km", "--for", "hot again"});
    shop.must({"code", "5", "P0128", "--read"});
    shop.must({"code", "5", "P0128", "--read"});
    const std::string list = flat(shop.must({"comebacks"}).out);
    CHECK(holds(list, "2026-03-16 BRISK-9 P0128 back on job 5 (entry"));
    CHECK(holds(list, "cleared on job 4, 11 days and 900 km before fitted then: TH-88, GA-12; done then: cooling, read the sensors"));
    CHECK(times(list, "BRISK-9") == 1);
    const std::string parts = shop.must({"comebacks", "--by", "part"}).out;
    CHECK(holds(parts, "TH-88: 1 comeback\n"));
    CHECK(holds(parts, "GA-12: 1 comeback\n"));
    const std::string kinds = shop.must({"comebacks", "--by", "kind"}).out;
    CHECK(holds(kinds, "cooling: 1 comeback\n"));
    CHECK_FALSE(holds(kinds, "TH-88"));
    const std::string json = shop.must({"comebacks", "--by", "kind", "--json"}).out;
    CHECK(is_json(json));
    CHECK(holds(json, R"("days":11,"metres":900000,"parts":["TH-88","GA-12"],"kinds":["cooling","read the sensors"]})"));
    CHECK(holds(json, R"("groups":[{"kind":"cooling","comebacks":1},{"kind":"read the sensors","comebacks":1}])"));
    CHECK(holds(shop.must({"comebacks", "--car", "MARSH-07", "--json"}).out, "\"comebacks\":[]"));
    // Without a reading between the two nobody knows how far it was driven: that is not nothing.
    shop.must({"code", "5", "P0128", "--cleared"});
    shop.must({"job", "close", "5", "--result", "cool again"});
    shop.must({"job", "open", "BRISK-9", "--for", "hot a third time"});
    shop.must({"code", "6", "P0128", "--read"});
    CHECK(holds(shop.must({"comebacks", "--json"}).out, "\"days\":0,\"metres\":null,"));
    CHECK(holds(flat(shop.must({"comebacks"}).out), "cleared on job 5, 0 days before"));
    CHECK(holds(shop.must({"comebacks", "--as-of", "2026-03-15"}).out, "no code came back"));
  }

  TEST_CASE("cars, the tasks of the named car, rechecks and groups are suggested where they fit") {
    const BusyShop shop;
    const auto suggested = [&](Words words) {
      Words all = {"suggest", "--"};
      all.insert(all.end(), words.begin(), words.end());
      return shop.must(all).out;
    };
    CHECK(suggested({"due", ""}) == "done\nput-off\n");
    CHECK(suggested({"due", "done", "MARSH-07", ""}) == "brake\nengine-oil\ntiming-belt\n");
    CHECK(suggested({"due", "put-off", "marsh07", "t"}) == "timing-belt\n");
    CHECK(suggested({"due", "done", "BRISK-9", ""}).empty());
    CHECK(suggested({"due", "put-off", ""}) == "2/1\n2/2\nBRISK-9\nMARSH-07\n");
    CHECK(suggested({"due", "put-off", "2/1", ""}).empty());
    CHECK(suggested({"due", "put-off", "MARSH-07", "--until", ""}).empty());
    CHECK(suggested({"entries", "--until", ""}) == "today\nyesterday\n");
    CHECK(suggested({"due", "done", "MARSH-07", "brake", "--when", ""}) == "today\nyesterday\n");
    CHECK(suggested({"recheck", ""}) == "2/1\n2/2\n");
    shop.must({"recheck", "2/1", "--good"});
    CHECK(suggested({"recheck", "2"}) == "2/2\n");
    CHECK(suggested({"recheck", "2/2", "--g"}) == "--good\n");
    CHECK(suggested({"due", "--car", ""}) == "BRISK-9\nMARSH-07\n");
    CHECK(suggested({"due", "--for", ""}) == "cars\ncontainers\npapers\nrechecks\n");
    CHECK(suggested({"schedule", "set", "MARSH-07", "e"}) == "engine-oil\n");
    CHECK(suggested({"schedule", "load", ""}) == ":files\n");
    CHECK(suggested({"comebacks", "--by", ""}) == "kind\npart\n");
    CHECK(suggested({"due", "done", "MARSH-07", "brake", "--job", "1"}) == "1\n");
  }
}
