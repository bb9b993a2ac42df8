// import and export of CSV through the real program, beside Python's csv module (RFC 4180 is what both go by).
#include "run_program.hpp"

#include <doctest/doctest.h>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::flat;
using baybook::test::is_json;
using baybook::test::Shop;

namespace {

using Words = std::vector<std::string>;

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

class Books : public Shop {
 public:
  Books() {
    for (const char* tag : {"old", "fresh"}) {
      use(tag);
      must({"start", std::string(tag) + ".baybook", "--site", "Saltmarsh Motor Works", "--tag", tag, "--zone", "Europe/Lisbon"});
    }
    use("old");
  }
  void use(const std::string& tag) { variables = {{"BAYBOOK_BOOK", tag + ".baybook"}}; }
  Answer must(const Words& words) const {
    Answer a = run(words);
    INFO(a.err);
    REQUIRE(a.status == 0);
    return a;
  }
  void text(const std::string& name, const std::string& bytes) const { std::ofstream(file(name), std::ios::binary) << bytes; }
  std::string python(const std::string& script) const {
    text("script.py", script);
    const std::string command = "cd '" + folder().string() + "' && PYTHONIOENCODING=utf-8 /usr/bin/python3 script.py > script.out 2>&1";
    const int status = std::system(command.c_str());
    const std::string out = bytes_of(file("script.out"));
    INFO(out);
    REQUIRE(status == 0);
    return out;
  }
};

}  // namespace

TEST_SUITE("tools/import") {
  TEST_CASE("cars, readings and finished tasks of one book go through CSV into a fresh one, and come out the same") {
    Books b;
    b.text("cars.csv",
           "plate,vin,make,model,year,engine,keeper,contact,circuits\n"
           "MARSH-07,,Corvane,Tern,2014,1.9,Odile Brandt,+351 000 0007,\"coolant=6.8L:OAT; engine-oil=4.5L:5W-30\"\n"
           "BRISK-9,,Corvane,Petrel,2009,,\"Brandt, M. \"\"Mo\"\"\",=1+1,\n");
    b.text("readings.csv", "plate,day,reading,reason,counter\nMARSH-07,2025-03-01,80000km,,\nMARSH-07,2025-09-01,12km,new cluster,replaced\nMARSH-07,2026-02-01,1250h,,\nBRISK-9,2025-01-01,99900mi,,\nBRISK-9,2026-01-01,75mi,went round,rolled-over\n");
    b.text("tasks.csv", "plate,task,day,odometer,hours,note\nMARSH-07,brake,2025-02-01,79000km,,by the shop before\n");
    b.must({"import", "cars", "cars.csv"});
    b.must({"import", "readings", "readings.csv"});
    const Words schedule = {"schedule", "set", "MARSH-07", "brake", "--every", "24mo", "--source", "invented for this test"};
    b.must(schedule);
    b.must({"import", "tasks", "tasks.csv"});
    const Words kinds = {"cars", "readings", "tasks"};
    for (const std::string& k : kinds) b.must({"export", k, "--out", k + ".1.csv"});
    b.use("fresh");
    for (const std::string& k : kinds) {
      if (k == "tasks") b.must(schedule);
      CHECK(holds(b.must({"import", k, k + ".1.csv"}).out, "took "));
    }
    for (const std::string& k : kinds) {
      CAPTURE(k);
      b.must({"export", k, "--out", k + ".2.csv"});
      CHECK(bytes_of(b.file(k + ".1.csv")) == bytes_of(b.file(k + ".2.csv")));
    }
    CHECK(holds(bytes_of(b.file("cars.1.csv")), "'=1+1"));       // no cell begins a formula
    CHECK(holds(b.must({"car", "list", "--json"}).out, "Brandt, M. \\\"Mo\\\""));
    CHECK(b.must({"prove"}).status == 0);
  }

  TEST_CASE("the same file again takes nothing, a longer one takes what is new") {
    Books b;
    b.text("cars.csv", "plate,make\nMARSH-07,Corvane\n");
    CHECK(holds(b.must({"import", "cars", "cars.csv"}).out, "took 1 car, entries 2 to 2"));
    CHECK(holds(b.must({"import", "cars", "cars.csv"}).out, "took 0 cars; 1 car had been there before"));
    b.text("cars.csv", "make,plate\nCorvane,MARSH-07\nCorvane,MARSH-08\n");
    CHECK(holds(b.must({"import", "cars", "cars.csv"}).out, "took 1 car, entries 3 to 3; 1 car had been there before"));
    const Answer j = b.must({"import", "cars", "cars.csv", "--json"});
    CHECK(is_json(j.out));
    CHECK(holds(j.out, "\"known\":2"));
  }

  TEST_CASE("what the book has already is not taken again, in whatever words it stands in the file") {
    Books b;
    b.text("cars.csv", "plate,circuits\nMARSH-07,\"coolant=6.8L:OAT; pink; engine-oil=4.5L\"\n");
    b.must({"import", "cars", "cars.csv"});
    CHECK(holds(b.must({"export", "cars"}).out, "coolant=6.8L:OAT; pink; engine-oil=4.5L"));
    b.text("readings.csv", "plate,day,reading,reason,counter\nMARSH-07,2025-03-01,80000km,,\nMARSH-07,2025-09-01,12 km,new cluster,replaced\nMARSH-07,2026-02-01,1250 hours,,\n");
    CHECK(holds(b.must({"import", "readings", "readings.csv"}).out, "took 3 readings"));
    b.text("readings.csv", "plate,day,reading\nmarsh 07,2025-03-01,80000 km\nMARSH-07,2025-09-01,12km\nMARSH-07,2026-02-01,1250h\n");
    CHECK(holds(b.must({"import", "readings", "readings.csv"}).out, "took 0 readings; 3 readings had been there before"));
    // A reading that was put right stands in the export as it is now.
    b.must({"correct", "3", "--odo", "80100km", "--why", "misread"});
    b.must({"export", "readings", "--out", "out.csv"});
    CHECK(holds(bytes_of(b.file("out.csv")), "MARSH-07,2025-03-01,80100km,"));
    CHECK(holds(b.must({"import", "readings", "out.csv"}).out, "took 0 readings; 3 readings had been there before"));
    b.must({"schedule", "set", "MARSH-07", "brake", "--every", "24mo", "--source", "invented for this test"});
    b.text("tasks.csv", "plate,task,day,odometer,note\nMARSH-07,brake,2025-02-01,79000km,by the shop before\n");
    b.must({"import", "tasks", "tasks.csv"});
    b.text("tasks.csv", "plate,task,day,odometer\nMARSH-07,brake,2025-02-01,79000 km\nMARSH-07,brake,2023-02-01,60000km\n");
    CHECK(holds(b.must({"import", "tasks", "tasks.csv"}).out, "took 1 task,"));
  }

  TEST_CASE("rows that were taken by mistake and withdrawn are taken again, once") {
    Books b;
    b.text("cars.csv", "plate,make\nMARSH-07,Corvane\n");
    b.text("readings.csv", "plate,day,reading\nMARSH-07,2025-03-01,80000km\n");
    b.must({"import", "cars", "cars.csv"});
    b.must({"import", "readings", "readings.csv"});
    for (const std::string car : {"2", "5"}) {
      b.must({"correct", car, "--withdraw", "--with-dependants", "--why", "another shop's list"});
      CHECK(holds(b.must({"import", "cars", "cars.csv"}).out, "took 1 car,"));
      CHECK(holds(b.must({"import", "readings", "readings.csv"}).out, "took 1 reading,"));
      CHECK(holds(b.must({"import", "cars", "cars.csv"}).out, "took 0 cars; 1 car had been there before"));
      CHECK(holds(b.must({"import", "readings", "readings.csv"}).out, "took 0 readings; 1 reading had been there before"));
    }
    CHECK(b.must({"prove"}).status == 0);
  }

  TEST_CASE("rows of a scrapped car, or of one whose plate was erased, are left out of what is exported, and counted") {
    Books b;
    b.text("cars.csv", "plate\nMARSH-07\nMARSH-08\nMARSH-09\n");
    b.must({"import", "cars", "cars.csv"});
    b.text("readings.csv", "plate,day,reading\nMARSH-07,2025-03-01,80000km\nMARSH-08,2025-03-01,70000km\nMARSH-08,2025-04-01,71000km\nMARSH-09,2025-03-01,60000km\n");
    b.must({"import", "readings", "readings.csv"});
    b.must({"car", "change", "MARSH-07", "--scrapped"});
    b.must({"erase", "car", "MARSH-08", "--plate", "--yes"});
    const Answer cars = b.must({"export", "cars"});
    CHECK(!holds(cars.out, "car:"));
    CHECK(holds(flat(cars.err), "2 cars left out"));
    const Answer readings = b.must({"export", "readings"});
    CHECK(readings.out == "plate,day,reading,reason,counter\r\nMARSH-09,2025-03-01,60000km,,\r\n");
    CHECK(holds(flat(readings.err), "3 readings left out"));
  }

  TEST_CASE("a dry run tells and takes nothing") {
    Books b;
    b.text("cars.csv", "plate,make\nMARSH-07,Corvane\n");
    CHECK(holds(b.must({"import", "cars", "cars.csv", "--dry-run"}).out, "would take 1 car"));
    CHECK(holds(b.must({"entries", "--json"}).out, "\"opening\""));
    CHECK(!holds(b.must({"entries", "--json"}).out, "Corvane"));
  }

  TEST_CASE("texts with quotes, separators, signs and letters of any script survive Python, the book and Python again") {
    Books b;
    b.python(R"(import csv
names = ['Odile "Odi" Brandt', 'a,b', 'a;b', '=HYPERLINK(1)', '+1', '-1', '@x', "'=1", "''=1", "'quoted'", 'Ødegård', '\u5c71\u7530', '\uff1d1', ' inner  blanks ']
with open('cars.csv', 'w', newline='', encoding='utf-8') as f:
    w = csv.writer(f)
    w.writerow(['plate', 'keeper'])
    for i, n in enumerate(names):
        # what a writer that guards formulas makes of it, by the rule in docs/command-line.md
        lead = n.lstrip("'")
        guarded = "'" + n if lead[:1] in ('=', '+', '-', '@', '\t', '\r', '\uff1d', '\uff0b', '\uff0d', '\uff20') else n
        w.writerow(['MARSH-%02d' % i, guarded])
)");
    b.must({"import", "cars", "cars.csv"});
    b.must({"export", "cars", "--out", "out.csv"});
    const std::string out = b.python(R"(import csv
def read(p):
    with open(p, newline='', encoding='utf-8') as f:
        return {r['plate']: r['keeper'] for r in csv.DictReader(f)}
a, b = read('cars.csv'), read('out.csv')
# blanks at the ends of a name are taken off
clean = lambda s: ' '.join(s.split())
bad = [(k, a[k], b.get(k)) for k in a if clean(a[k]) != clean(b.get(k, '\0'))]
print('bad', bad, 'rows', len(b))
)");
    CHECK(out == "bad [] rows 14\n");
  }

  TEST_CASE("files of a spreadsheet are read: a byte order mark, semicolons, tabs, CR LF, blank lines, headings in capitals") {
    Books b;
    b.text("a.csv", "\xef\xbb\xbfPlate;Make\r\nMARSH-01;Corvane\r\n\r\n;\r\nMARSH-02;\"Corvane; sons\"\r\n");
    CHECK(holds(b.must({"import", "cars", "a.csv"}).out, "took 2 cars"));
    b.text("b.csv", "PLATE\tMAKE\nMARSH-03\tCorvane, sons\n");
    CHECK(holds(b.must({"import", "cars", "b.csv"}).out, "took 1 car"));
    CHECK(holds(b.must({"car", "list", "--json"}).out, "Corvane; sons"));
  }

  TEST_CASE(
      "a first line that names the separator and empty columns at the end are taken, as "
      "spreadsheets write them") {
    Books b;
    b.text("a.csv",
           "sep=;\r\nplate;make;;\r\nMARSH-01;Corvane, sons;;\r\n;;;\r\nMARSH-02;Corvane\r\n");
    CHECK(holds(b.must({"import", "cars", "a.csv"}).out, "took 2 cars"));
    CHECK(holds(b.must({"car", "list", "--json"}).out, "Corvane, sons"));
    b.text("b.csv", "\xef\xbb\xbf\"SEP=\t\"\nplate\tmake\t\nMARSH-03\tCorvane\t\t\t\n");
    CHECK(holds(b.must({"import", "cars", "b.csv"}).out, "took 1 car"));
    struct Bad {
      const char* bytes;
      const char* says;
    };
    for (const Bad& bad : {Bad{"sep=|\nplate|make\n", "f.csv:1:5: | is no separator that is read"},
                           Bad{"plate,,make\nMARSH-21,,x\n", "f.csv:1:1: column 2 has no name"},
                           Bad{"plate,make,\nMARSH-21,x,red\n",
                               "f.csv:2:1: the row has 3 cells, the first one names 2 columns"},
                           Bad{"sep=;\nplate;mkae\n", "f.csv:2:1: there is no column mkae"}}) {
      b.text("f.csv", bad.bytes);
      CAPTURE(bad.says);
      const Answer a = b.run({"import", "cars", "f.csv"});
      CAPTURE(a.err);
      CHECK(a.status == 1);
      CHECK(holds(flat(a.err), bad.says));
    }
  }

  TEST_CASE(
      "a list in UTF-16 or Windows-1252 is called by its name, and nothing of it is guessed") {
    Books b;
    // The same list as a spreadsheet saves it, by Python's encoders.
    b.python(R"(text = 'plate,keeper\nMARSH-07,Odilé Brandt\n'
for name, encoding in [('le', 'utf-16-le'), ('be', 'utf-16-be'), ('marked', 'utf-16'), ('wide', 'utf-32'), ('west', 'cp1252')]:
    open(name + '.csv', 'wb').write(text.encode(encoding))
open('euro.csv', 'wb').write('plate,keeper\nMARSH-07,5 \u20ac\n'.encode('cp1252'))
open('mixed.csv', 'wb').write('plate,keeper\nMARSH-07,Odil\u00e9 '.encode('utf-8') + b'\xe9\n')
)");
    struct Named {
      const char* file;
      const char* says;
      const char* type;
    };
    for (const Named& n :
         {Named{"le.csv", "le.csv:1:1: the file is UTF-16LE", "iconv -t UTF-8 -f UTF-16LE"},
          Named{"be.csv", "be.csv:1:1: the file is UTF-16BE", "iconv -t UTF-8 -f UTF-16BE"},
          Named{"marked.csv", "marked.csv:1:1: the file is UTF-16,", "iconv -t UTF-8 -f UTF-16\n"},
          Named{"wide.csv", "wide.csv:1:1: the file is UTF-32", "iconv -t UTF-8 -f UTF-32\n"},
          Named{"west.csv",
                "west.csv:2:14: bytes that are no UTF-8; the file looks like Windows-1252, where "
                "0xE9 is é",
                "iconv -t UTF-8 -f WINDOWS-1252\n"},
          Named{"euro.csv", "looks like Windows-1252, where 0x80 is €",
                "iconv -t UTF-8 -f WINDOWS-1252\n"},
          Named{"mixed.csv", "bytes that are no UTF-8 (0xE9)", "saved as CSV, UTF-8"}}) {
      CAPTURE(n.file);
      const Answer a = b.run({"import", "cars", n.file});
      CAPTURE(a.err);
      CHECK(a.status == 1);
      CHECK(holds(flat(a.err), n.says));
      CHECK(holds(a.err, n.type));
    }
    // What is said there makes a file that is read.
    CHECK(std::system(
              ("cd '" + b.folder().string() + "' && iconv -t UTF-8 -f UTF-16 marked.csv > good.csv")
                  .c_str()) == 0);
    CHECK(holds(b.must({"import", "cars", "good.csv"}).out, "took 1 car"));
    CHECK(holds(b.must({"car", "show", "MARSH-07"}).out, "Odilé Brandt"));
  }

  TEST_CASE(
      "a list warns of what a typed row warns of, by its line, on the screen and to programs") {
    Books b;
    // Check digit wrong (49 CFR 565.15): as `car add` says it.
    b.text("cars.csv",
           "plate,vin\nMARSH-07,1M8GDM9A0KP042788\nMARSH-08,\nMARSH-09,1M8GDM9A0KP042788\n");
    const Answer typed =
        b.run({"car", "add", "MARSH-06", "--vin", "1M8GDM9A0KP042788", "--dry-run"});
    REQUIRE(holds(typed.err, "check: "));
    const std::string warning = flat(typed.err.substr(typed.err.find("check: ") + 7));
    for (const char* dry : {"--dry-run", ""}) {
      CAPTURE(dry);
      Words words = {"import", "cars", "cars.csv"};
      if (*dry != '\0') words.push_back(dry);
      const Answer a = b.must(words);
      CHECK(holds(flat(a.err), "check: cars.csv:2: " + warning.substr(0, 40)));
      CHECK(holds(flat(a.err), "check: cars.csv:4: that VIN is on MARSH-07 as well"));
      CHECK(!holds(a.err, "cars.csv:3"));
    }
    b.text("readings.csv",
           "plate,day,reading\nMARSH-07,2026-01-01,80000km\nMARSH-07,2026-01-02,801000km\n");
    const Answer r = b.must({"import", "readings", "readings.csv"});
    CHECK(holds(flat(r.err), "check: readings.csv:3: that is 721000 km since 2026-01-01"));
    b.text("more.csv", "plate,vin\nMARSH-10,1M8GDM9A0KP042788\n");
    const Answer j = b.must({"import", "cars", "more.csv", "--json"});
    CHECK(is_json(j.out));
    CHECK(holds(j.out, "\"warnings\":[{\"line\":2,\"text\":\""));
    CHECK(j.err.empty());
    // Of what was not taken nothing is warned.
    b.text("bad.csv", "plate,vin\nMARSH-11,1M8GDM9A0KP042788\nMARSH-07,\n");
    CHECK(!holds(b.run({"import", "cars", "bad.csv"}).err, "check: "));
  }

  TEST_CASE("of a file with a fault nothing is taken, and the fault is named by file, line and column") {
    Books b;
    b.text("cars.csv", "plate,make\nMARSH-07,Corvane\n");
    b.must({"import", "cars", "cars.csv"});
    b.text("good.csv", "plate,day,reading\nMARSH-07,2026-01-01,90000km\n");
    b.must({"import", "readings", "good.csv"});
    const std::string before = b.must({"entries", "--json"}).out;
    struct Bad {
      const char* kind;
      std::string bytes;
      const char* says;
    };
    const std::string good = "plate,make\nMARSH-21,Corvane\n";
    const std::vector<Bad> cases = {
        {"cars", "", "f.csv:1:1: the file is empty"},
        {"cars", "\n\n\n", "f.csv:1:1: the file is empty"},
        {"cars", "make\nCorvane\n", "f.csv:1:1: column plate is missing"},
        {"cars", "plate,colour\nMARSH-21,red\n", "f.csv:1:1: there is no column colour"},
        {"cars", "plate,mkae\nMARSH-21,x\n", "type: make"},
        {"cars", "plate,plate\nMARSH-21,MARSH-22\n", "column plate comes twice"},
        {"cars", "plate,make\nMARSH-21,Corvane,red\n", "f.csv:2:1: the row has 3 cells, the first one names 2 columns"},
        {"cars", good + "MARSH-22,\"Corvane\n", "f.csv:3:1: the file ends inside quotes"},
        {"cars", good + "MARSH-22,Cor\"vane\n", "f.csv:3:13: a quote where none may be"},
        {"cars", good + "MARSH-22,\"Cor\"vane\n", "a quote where none may be"},
        {"cars", good + std::string("MARSH-22,Cor\0vane\n", 18), "f.csv:3:13: a NUL byte"},
        {"cars", good + "MARSH-22,Cor\xffvane\n", "f.csv:3:13: bytes that are no UTF-8"},
        {"cars", good + "MARSH-22,Cor\xc0\xafvane\n", "bytes that are no UTF-8"},
        {"cars", good + "MARSH-22,Cor\xed\xa0\x80vane\n", "bytes that are no UTF-8"},
        {"cars", good + "MARSH-22,Cor\xf5\x80\x80\x80\n", "bytes that are no UTF-8"},
        {"cars", good + "MARSH-22,\xe2\x82\n", "bytes that are no UTF-8"},
        {"cars", good + "MARSH-07,Corvane & Sons\nMARSH-23,x\n", "f.csv:3:1: plate MARSH-07 is on a car in the book already"},
        {"cars", good + ",Corvane\n", "f.csv:3:1:"},
        {"cars", good + "MARSH-22,\"two\nlines\"\n", "f.csv:3:1: make has the control character"},
        {"cars", good + "MARSH-22," + std::string(70000, 'x') + "\n", "f.csv:3:1: cell 2 is longer than 64 KiB"},
        {"cars", good + "MARSH-22," + std::string(300000, 'x') + "\n", "f.csv:3:1: a line is longer than 256 KiB"},
        {"cars", good + "MARSH-22,\"" + [] { std::string s; for (int i = 0; i < 40000; ++i) s += std::string(60, 'y') + "\n"; return s; }(), "a row that does not end"},
        {"cars", [] { std::string s = "plate"; for (int i = 0; i < 100; ++i) s += ",make"; return s + "\n"; }(), "more than 64 columns"},
        {"cars", "plate,year\nMARSH-21,14\n", "f.csv:2:1:"},
        {"cars", "plate,year\nMARSH-21,two\n", "f.csv:2:1: year two is no year"},
        {"cars", "plate,vin\nMARSH-21,123\n", "f.csv:2:1:"},
        {"cars", "plate,circuits\nMARSH-21,soup=5L\n", "f.csv:2:1:"},
        {"cars", "plate,circuits\nMARSH-21,coolant=5 buckets\n", "f.csv:2:1:"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-30,90001km\n", "f.csv:2:1: day \"2026-02-30\" does not exist"},
        {"readings", "plate,day,reading\nMARSH-07,03/04/2026,90001km\n", "f.csv:2:1:"},
        {"readings", "plate,day,reading\nMARSH-07,2026-04-01,90001km\n", "f.csv:2:1: 2026-04-01 is after today"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-01,89000km\n", "f.csv:2:1: 89000km is less than the reading before it"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-01,89000km\n", "type: that row's reading or day put right; or if it is right, column counter: rolled-over or replaced"},
        {"readings", "plate,day,reading\nMARSH-07,2026-04-01,90001km\n", "type: that row's day put right"},
        {"readings", "plate,day,reading,reason\nMARSH-07,2026-02-01,12km,cluster replaced\n", "column counter: rolled-over or replaced"},
        {"readings", "plate,day,reading,counter\nMARSH-07,2026-02-01,12km,misread\n", "type: a file without the row that was misread"},
        {"readings", "plate,day,reading,counter\nMARSH-07,2026-02-01,12km,turned\n", "f.csv:2:1: column counter says turned"},
        {"readings", "plate,day,reading,counter\nMARSH-07,2026-02-01,90001km,rolled-over\n", "f.csv:2:1: 90001km is not less than the reading before it"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-01,900hrs\n", "type: 1250h"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-01,many\n", "f.csv:2:1:"},
        {"readings", "plate,day,reading\nMARSH,2026-02-01,90001km\n", "f.csv:2:1: there is no car with plate MARSH"},
        {"readings", "plate,day,reading\nMARSH-07,2026-02-01,90001km\nMARSH-99,2026-02-01,1km\n", "f.csv:3:1:"},
        {"tasks", "plate,task,day\nMARSH-07,brake,2026-02-01\n", "f.csv:2:1: no schedule asks for brake on MARSH-07"},
    };
    for (const Bad& bad : cases) {
      b.text("f.csv", bad.bytes);
      CAPTURE(bad.says);
      const Answer a = b.run({"import", bad.kind, "f.csv"});
      CAPTURE(a.err);
      CHECK(a.status == 1);
      CHECK(holds(flat(a.err), bad.says));
      CHECK(a.out.empty());
    }
    CHECK(b.must({"entries", "--json"}).out == before);
    for (const Words& words :
         {Words{"import", "cars", "missing.csv"}, Words{"import", "cars", "."},
          Words{"import", "cars", "/dev/zero"}, Words{"import", "cars", "old.baybook"}}) {
      CHECK(b.run(words).status == 3);
    }
    CHECK(b.run({"import", "cars", "good.csv", "--once", "k"}).status == 2);
    CHECK(b.run({"export", "cars", "--json"}).status == 2);
  }

  TEST_CASE("a cell of fifty megabytes is refused after its first quarter of a megabyte, and many rows are taken in one go") {
    Books b;
    {
      std::ofstream big(b.file("big.csv"), std::ios::binary);
      big << "plate,make\nMARSH-21,\"";
      const std::string piece(1 << 20, 'x');
      for (int i = 0; i < 50; ++i) big << piece;
      big << "\"\n";
    }
    const Answer a = b.run({"import", "cars", "big.csv"});
    CHECK(a.status == 1);
    CHECK(holds(flat(a.err), "big.csv:2:1: a line is longer than 256 KiB"));
    {
      std::ofstream many(b.file("many.csv"), std::ios::binary);
      many << "plate,make,model\n";
      for (int i = 0; i < 3000; ++i) many << "MARSH-" << 10000 + i << ",Corvane,Tern\n";
    }
    CHECK(holds(b.must({"import", "cars", "many.csv"}).out, "took 3000 cars, entries 2 to 3001"));
    CHECK(b.must({"prove"}).status == 0);
  }
}
