// A book whose texts were written by somebody who means harm: every verb that reads, on a terminal and into every form.
//
// The program refuses such texts when they are typed. Here they are put into a sound book past it, by Python: bodies, commitments
// and chain are made to fit (docs/format.md), so that nothing but the printing stands between them and the reader.
#include "run_program.hpp"

#include <doctest/doctest.h>

#include <set>

using baybook::test::Answer;
using baybook::test::bytes_of;
using baybook::test::OpenShop;

namespace {

using Words = std::vector<std::string>;

// Every text of the shop that holds QQ becomes hostile.
constexpr const char* kPoison = R"py(
import hashlib, json, sqlite3
EVIL = 'a\x1b[2J\x1b]0;own\x07\x9b31m\x00\x08\u202eevil\u2066\u200b\ufeff\r\nBEGIN:VEVENT\r\n<script>alert(1)</script><img src=x onerror=alert(1)>" onload="y\'--> =1+1 \ud83d\ude97'.encode('utf-16', 'surrogatepass').decode('utf-16')
FORMULA = '=cmd|\' /C calc\'!A1'
def evil(text):
    if 'QQ=' in text: return FORMULA + text
    return text.replace('QQ', EVIL) if 'QQ' in text else text
def walk(v):
    if isinstance(v, str): return evil(v)
    if isinstance(v, list): return [walk(x) for x in v]
    if isinstance(v, dict): return {k: walk(x) for k, x in v.items()}
    return v
db = sqlite3.connect('m.baybook')
db.text_factory = bytes
previous = '0' * 64
changed = 0
for id, body in db.execute('SELECT id, body FROM entry ORDER BY id').fetchall():
    v = json.loads(body.decode('utf-8'))
    details = walk(v['details'])
    for field, salt, value in db.execute('SELECT field, salt, value FROM private WHERE entry = ?', (id,)).fetchall():
        new = evil(value.decode('utf-8')).encode('utf-8')
        if new == value: continue
        changed += 1
        db.execute('UPDATE private SET value = CAST(? AS TEXT) WHERE entry = ? AND field = CAST(? AS TEXT)', (new, id, field))
        v['private'][field.decode()] = hashlib.sha256(field + b'\0' + salt + new).hexdigest()
    changed += details != v['details']
    v['details'] = details
    text = json.dumps(v, sort_keys=True, separators=(',', ':'), ensure_ascii=False).encode('utf-8')
    digest = hashlib.sha256(previous.encode() + b'\n' + text).digest()
    previous = digest.hex()
    db.execute('UPDATE entry SET body = CAST(? AS TEXT), digest = ? WHERE id = ?', (text, digest, id))
db.commit()
print('changed', changed)
)py";

// What may not reach a terminal: C0 but LF, DEL, C1 as UTF-8, bidi and zero-width controls; of escapes only our own colours.
constexpr const char* kLook = R"py(
import re, sys
raw = open(sys.argv[1], 'rb').read()
text = raw.decode('utf-8')   # throws when it is none
text = re.sub('\x1b\\[[0-9;]*m', '', text).replace('\r\n', '\n')
bad = sorted({'U+%04X' % ord(c) for c in text if (ord(c) < 32 and c != '\n') or 127 <= ord(c) < 160 or c in '\u200b\u200c\u200d\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2060\u2066\u2067\u2068\u2069\ufeff'})
print(' '.join(bad) if bad else 'clean')
)py";

constexpr const char* kPage = R"py(
import sys
from html.parser import HTMLParser
found = []
class P(HTMLParser):
    def handle_starttag(self, tag, attrs):
        if tag in ('script', 'img', 'iframe', 'object', 'link'): found.append(tag)
        for k, v in attrs:
            if k.startswith('on') or (v and 'http' in v and tag != 'svg' and k != 'xmlns'): found.append(k)
p = P(convert_charrefs=True)
p.feed(open(sys.argv[1], encoding='utf-8').read())
p.close()
print(' '.join(found) if found else 'clean')
)py";

constexpr const char* kSheet = R"py(
import csv, sys
bad, rows = [], 0
for row in csv.reader(open(sys.argv[1], newline='', encoding='utf-8')):
    rows += 1
    for cell in row:
        if cell[:1] in ('=', '@', '\t', '\r', '\uff1d', '\uff0b', '\uff0d', '\uff20'): bad.append(cell[:20])
        if cell[:1] in ('+', '-'):
            try: float(cell)
            except ValueError: bad.append(cell[:20])
print(bad if bad else 'clean', rows > 1)
)py";

constexpr const char* kCalendar = R"py(
import sys
from icalendar import Calendar
raw = open(sys.argv[1], 'rb').read()
c = Calendar.from_ical(raw)
events = [e for e in c.walk() if e.name == 'VEVENT']
lines = raw.split(b'\r\n')
begun = sum(l == b'BEGIN:VEVENT' for l in lines)
stray = [l for l in lines if any(b < 32 and b != 9 for b in l) or 127 in l or len(l) > 75]
print(len(events) > 0 and len(events) == begun and not stray)
)py";

class Poisoned : public OpenShop {
 public:
  Poisoned() {
    must({"rules", "set", "eu", "--from", "2026-01-01"});
    must({"car", "change", "MARSH-07", "--keeper", "QQ", "--contact", "QQ=", "--note", "QQ"});
    must({"car", "add", "WORSE-1 QQ", "--make", "QQ", "--model", "QQ=", "--engine", "QQ", "--keeper", "QQ=", "--circuit", "coolant=5L:QQ"});
    must({"fluid", "add", "oil-1", "--class", "engine-oil", "--product", "QQ"});
    must({"person", "add", "QQ person", "--contact", "QQ"});
    must({"firm", "add", "quill-tarn", "QQ", "--carries", "--receives", "--number", "QQ=QQ"});
    must({"code", "1", "P0217", "--note", "QQ"});
    must({"work", "1", "QQ work", "--by", "QQ person"});
    must({"fit", "1", "WP-QQ", "--what", "QQ=", "--lot", "QQ"});
    must({"torque", "1", "QQ bolts", "22Nm"});
    must({"decant", "pan-1", "all", "--into", "drum-coolant"});
    must({"pickup", "--carrier", "QQ carrier", "--transport", "QQ=", "--doc", "0041233", "--from", "drum-coolant=1L", "--fate", "recycle"});
    must({"gauge", "drum-coolant", "4L", "--reason", "QQ"});
    must({"place", "add", "drum-yard", "--role", "waste", "--takes", "engine-oil", "--size", "60L", "--area", "yard"});
    must({"inspect", "yard", "--found", "QQ", "--next", "2026-03-06"});
    must({"determine", "waste-coolant", "--hazardous", "--why", "QQ", "--laboratory", "QQ="});
    must({"deadline", "add", "tank-test", "2026-03-10", "--what", "QQ"});
    must({"schedule", "set", "MARSH-07", "brake", "--every", "1mo", "--source", "QQ"});
    must({"due", "done", "MARSH-07", "brake", "--when", "2026-02-10", "--note", "QQ"});
    must({"job", "close", "1", "--result", "QQ", "--recheck", "QQ look", "--after", "1d", "--as-is", "QQ"});
    must({"correct", "last", "--withdraw", "--why", "QQ"});
    must({"job", "close", "1", "--result", "QQ", "--recheck", "QQ look", "--after", "1d", "--as-is", "QQ"});
    must({"odo", "MARSH-07", "100km", "--replaced", "--reason", "QQ"});
    CHECK(python(kPoison, "") == "changed 33\n");
    // The tables follow from the log; the log is what was poisoned.
    // It is sound; that no entry can be typed so is told, and is no refusal.
    const Answer proof = run({"prove", "--rebuild"});
    if (proof.status != 1 || proof.out.find("sound: ") != 0) throw std::runtime_error("the poisoned book: " + proof.out + proof.err);
  }
  std::string python(const std::string& script, const std::string& argument) const {
    std::ofstream(file("script.py"), std::ios::binary) << script;
    const std::string command = "cd '" + folder().string() + "' && PYTHONIOENCODING=utf-8 /usr/bin/python3 script.py " + argument + " > script.out 2>&1";
    const int status = std::system(command.c_str());
    const std::string out = bytes_of(file("script.out"));
    INFO(out);
    CHECK(status == 0);
    return out;
  }
};

const std::vector<Words> kReading = {
    {"levels"}, {"levels", "--circuits"}, {"totals", "2026-03"}, {"totals", "2026-03", "--by-product"}, {"totals", "2026-03", "--split", "person"}, {"totals", "2026-03", "--split", "car"},
    {"last", "MARSH-07"}, {"history", "MARSH-07"}, {"fitted", "WP-QQ"}, {"car", "list"}, {"car", "show", "MARSH-07"}, {"job", "list"}, {"job", "show", "1"},
    {"entries", "--newest", "1000"}, {"entry", "last"}, {"due", "--within", "2mo"}, {"limits"}, {"register", "2026-03"}, {"firm", "list"}, {"person", "list"}, {"fluid", "list"},
    {"deadline", "list"}, {"pickup", "list"}, {"paper", "list"}, {"comebacks"}, {"schedule", "list"}, {"settle", "list"}, {"prove"},
    {"export", "cars"}, {"export", "readings"}, {"export", "tasks"},
};

}  // namespace

TEST_SUITE("tools/hostile text") {
  TEST_CASE("no control byte, escape or bidi mark of a stored text reaches a terminal, whatever is read") {
    Poisoned shop;
    std::size_t with_text = 0;
    std::vector<Words> all = kReading;
    for (int n = 2; n <= 36; ++n) all.push_back({"entry", std::to_string(n)});
    for (const Words& words : all) {
      std::string typed;
      for (const std::string& w : words) typed += w + " ";
      CAPTURE(typed);
      Words plain = words;
      if (words[0] != "export" && words[0] != "prove") plain.push_back("--no-pager");
      const Answer a = shop.run_on_terminal(plain, 1000, 100);
      CHECK((a.status == 0 || a.status == 1));
      std::ofstream(shop.file("seen"), std::ios::binary) << a.out;
      if (words[0] == "export") continue;  // for programs: every text exact, looked at below
      CHECK(shop.python(kLook, "seen") == "clean\n");
      if (a.out.find("evil") != std::string::npos) ++with_text;
    }
    CHECK(with_text > 25);  // else the texts were not there to be seen
  }

  TEST_CASE("a name that is asked for comes back in a refusal as visible text") {
    Poisoned shop;
    for (const Words& words : {Words{"last", "\x1b[31mX\u202e"}, Words{"entry", "\x07"}, Words{"levels", "--as-of", "\x1b[2J"}, Words{"drain", "1", "\x1b]0;x", "1L", "--into", "\u2066"}, Words{"\x1b[2J"}}) {
      const Answer a = shop.run_on_terminal(words, 100, 100);
      CHECK(a.status != 0);
      std::ofstream(shop.file("seen"), std::ios::binary) << a.out;
      CHECK(shop.python(kLook, "seen") == "clean\n");
    }
  }

  TEST_CASE("in a page a stored text is text: no element, no attribute, no address of its own") {
    Poisoned shop;
    for (const Words& words : std::vector<Words>{{"totals", "2026-03"}, {"register", "2026-03"}, {"limits"}, {"due", "--within", "2mo"}, {"history", "MARSH-07"}, {"label", "drum-coolant"}}) {
      CAPTURE(words[0]);
      Words to_page = words;
      to_page.insert(to_page.end(), {"--out", words[0] + ".html"});
      shop.must(to_page);
      CHECK(shop.python(kPage, words[0] + ".html") == "clean\n");
    }
    CHECK(bytes_of(shop.file("history.html")).find("evil") != std::string::npos);
  }

  TEST_CASE("in a table for a spreadsheet no cell begins a formula") {
    Poisoned shop;
    for (const Words& words : std::vector<Words>{{"totals", "2026-03"}, {"register", "2026-03"}, {"limits"}, {"due", "--within", "2mo"}, {"history", "MARSH-07"}, {"export", "cars"}, {"export", "readings"}, {"export", "tasks"}}) {
      CAPTURE(words[0]);
      Words to_table = words;
      const std::string name = words[0] + "-" + (words[0] == "export" ? words[1] : "x") + ".csv";
      to_table.insert(to_table.end(), {"--out", name});
      shop.must(to_table);
      CHECK(shop.python(kSheet, name) == "clean True\n");
    }
    CHECK(bytes_of(shop.file("export-cars.csv")).find("'=cmd") != std::string::npos);
  }

  TEST_CASE("in a calendar with the texts asked for no text begins a component or a line of its own") {
    Poisoned shop;
    shop.must({"due", "--within", "3mo", "--personal", "--out", "due.ics"});
    CHECK(bytes_of(shop.file("due.ics")).find("evil") != std::string::npos);
    CHECK(shop.python(kCalendar, "due.ics") == "True\n");
  }
}
