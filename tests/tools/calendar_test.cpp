// Days to come as a calendar file, read back by python3-icalendar (Debian) and, to the letter of RFC 5545, by the few lines below it.
#include "report_samples.hpp"

#include <report/calendar.hpp>

#include <baybook/text.hpp>

#include <sstream>
#include <stdexcept>

using namespace baybook::test;
using baybook::Day;
using report::Calendar;
using report::CalendarEvent;
using report::render_calendar;

namespace {

constexpr const char* kReader = R"py(
import datetime, sys
from icalendar import Calendar

raw = open(sys.argv[1], 'rb').read()
lines = raw.split(b'\r\n')
if lines[-1] != b'': print('does not end with CRLF')
for n, line in enumerate(lines, 1):
    if len(line) > 75: print('line', n, 'has', len(line), 'octets')
    try: line.decode('utf-8')
    except UnicodeDecodeError: print('line', n, 'begins or ends inside a character')
    for byte in line:
        if byte < 32 or byte == 127: print('line', n, 'holds the control character', byte)

def shown(*fields): print(' | '.join(str(f).replace('\n', '/LF/') for f in fields))

# Unfolding is 3.1, the escapes are 3.3.11: one pass from left to right.
def text(value):
    out, at = '', 0
    while at < len(value):
        if value[at] == '\\':
            at += 1
            out += {'n': '\n', 'N': '\n', '\\': '\\', ';': ';', ',': ','}[value[at]]
        else:
            assert value[at] not in ',;', value
            out += value[at]
        at += 1
    return out

if sys.argv[2] == 'letter':
    for line in raw.replace(b'\r\n ', b'').decode('utf-8').split('\r\n'):
        name, _, value = line.partition(':')
        if name in ('SUMMARY', 'DESCRIPTION'): shown(name, text(value))
else:
    calendar = Calendar.from_ical(raw)
    shown(calendar['VERSION'], calendar['PRODID'], calendar['CALSCALE'], calendar.get('NAME'),
          calendar.get('X-WR-CALNAME'), calendar.get('DESCRIPTION'), calendar.get('X-WR-CALDESC'))
    for part in calendar.subcomponents:
        if part.name != 'VEVENT':
            shown(part.name, part['TZID'])
            continue
        begin, end, stamp = part['DTSTART'], part['DTEND'], part['DTSTAMP']
        assert begin.params['VALUE'] == 'DATE' and type(begin.dt) is datetime.date and type(end.dt) is datetime.date
        assert stamp.dt.utcoffset() == datetime.timedelta(0)
        categories = part['CATEGORIES'].to_ical().decode('utf-8') if 'CATEGORIES' in part else None
        shown(part['UID'], stamp.dt.strftime('%Y-%m-%dT%H:%M:%SZ'), begin.dt, end.dt, part['SUMMARY'], part.get('DESCRIPTION'), categories,
              part['SEQUENCE'], part['TRANSP'])
)py";

baybook::Instant at(std::string_view iso) {
  const auto read = baybook::read_instant(iso);
  REQUIRE(read.has_value());
  return *read;
}
Day on(std::string_view iso) {
  const auto read = baybook::read_day(iso);
  REQUIRE(read.has_value());
  return *read;
}
CalendarEvent event(const std::string& uid, std::string_view day, const std::string& summary, const std::string& description = {}) {
  return {uid, at("2026-03-05T09:40:11.123Z"), on(day), summary, description, "car", 0};
}
std::string read_back(const std::string& bytes, const std::string& how) {
  const Desk desk;
  const std::string file = desk.put("due.ics", bytes);
  const std::string reader = desk.put("reader.py", kReader);
  // Debian's own python, which has Debian's icalendar, whatever else is first in PATH.
  return desk.shell("PYTHONIOENCODING=utf-8 /usr/bin/python3 " + reader + " " + file + " " + how);
}
std::string with_breaks_shown(std::string text) {
  for (std::size_t found = 0; (found = text.find('\n', found)) != std::string::npos;) text.replace(found, 1, "/LF/");
  return text;
}
/// The first line that is not as wanted, and no more of a long text; nothing when all are.
std::string difference(const std::string& got, const std::string& wanted) {
  std::istringstream lines(got);
  std::istringstream others(wanted);
  for (int n = 1;; ++n) {
    std::string line;
    std::string other;
    const bool more = !std::getline(lines, line).fail();
    const bool others_more = !std::getline(others, other).fail();
    if (!more && !others_more) return {};
    if (more != others_more || line != other) return "line " + std::to_string(n) + " is\n" + line.substr(0, 400) + "\nand not\n" + other.substr(0, 400);
  }
}
std::size_t count_of(const std::string& text, const std::string& what) {
  std::size_t n = 0;
  for (std::size_t found = 0; (found = text.find(what, found)) != std::string::npos; found += what.size()) ++n;
  return n;
}

}  // namespace

TEST_SUITE("tools/calendar") {
  TEST_CASE("another reader finds every field as it was given, in the order given") {
    Calendar calendar{"Fen Road Garage; due, all\\most", "What is due, by the day.\nInvented", {}};
    calendar.events = {
        {"bay-0017-recheck@baybook", at("2026-03-05T09:40:11.999Z"), on("2026-12-31"), "MARSH-07: recheck, wheel nuts; 110 Nm", "Fitted 2026-03-05.\nAsk: \"how far?\"\n\nlast line", "recheck", 3},
        {"bay-0002@baybook", at("2023-12-31T23:59:59.000Z"), on("2024-02-28"), "the 28th of a leap year", "", "car", 0},
        {"bay-0003@baybook", at("2024-02-29T00:00:00.000Z"), on("2024-02-29"), "a leap day", "", "", 0},
        {"bay-0004@baybook", at("2026-03-29T01:00:00.000Z"), on("2026-02-28"), "the 28th of another year", "", "container", 2'147'483'647},
        {"bay-0001@baybook", at("1999-01-01T00:00:00.000Z"), on("2026-03-29"), "the day of 23 hours", "", "paper", 1},
    };
    const std::string bytes = render_calendar(calendar, "0.1.0");
    CAPTURE(bytes);
    CHECK(read_back(bytes, "icalendar") ==
          "2.0 | -//Baybook//Baybook 0.1.0//EN | GREGORIAN | Fen Road Garage; due, all\\most | Fen Road Garage; due, all\\most"
          " | What is due, by the day./LF/Invented | What is due, by the day./LF/Invented\n"
          "bay-0017-recheck@baybook | 2026-03-05T09:40:11Z | 2026-12-31 | 2027-01-01 | MARSH-07: recheck, wheel nuts; 110 Nm"
          " | Fitted 2026-03-05./LF/Ask: \"how far?\"/LF//LF/last line | recheck | 3 | TRANSPARENT\n"
          "bay-0002@baybook | 2023-12-31T23:59:59Z | 2024-02-28 | 2024-02-29 | the 28th of a leap year | None | car | 0 | TRANSPARENT\n"
          "bay-0003@baybook | 2024-02-29T00:00:00Z | 2024-02-29 | 2024-03-01 | a leap day | None | None | 0 | TRANSPARENT\n"
          "bay-0004@baybook | 2026-03-29T01:00:00Z | 2026-02-28 | 2026-03-01 | the 28th of another year | None | container | 2147483647 | TRANSPARENT\n"
          "bay-0001@baybook | 1999-01-01T00:00:00Z | 2026-03-29 | 2026-03-30 | the day of 23 hours | None | paper | 1 | TRANSPARENT\n");
  }

  TEST_CASE("text of any length and script is folded between its characters, at 75 octets at most, and reads back whole") {
    // Every place of a line meets every width of a character: 1 to 4 bytes, blanks, signs that are escaped, a line end.
    std::vector<std::string> units = {"x", "é", "\u4E2D", "\U0001F527", "e\u0301", " ", "y ", ",", "a;", "\n", "\u00fc, \u4E2D", "\\"};
    for (const std::string how : {"letter", "icalendar"}) {
      Calendar calendar{"", "", {}};
      std::string wanted = how == "letter" ? "" : "2.0 | -//Baybook//Baybook 0.1.0//EN | GREGORIAN | None | None | None | None\n";
      for (const std::string& unit : units) {
        for (std::size_t before = 0; before < 76; ++before) {
          std::string text(before, 'a');
          for (int n = 0; n < 60; ++n) text += unit;
          text += "z";
          const std::string uid = "n" + std::to_string(calendar.events.size());
          calendar.events.push_back(event(uid, "2026-03-05", text, text));
          const std::string one = with_breaks_shown(text);
          if (how == "letter") wanted += "SUMMARY | " + one + "\nDESCRIPTION | " + one + "\n";
          else wanted += uid + " | 2026-03-05T09:40:11Z | 2026-03-05 | 2026-03-06 | " + one + " | " + one + " | car | 0 | TRANSPARENT\n";
        }
      }
      CHECK(difference(read_back(render_calendar(calendar, "0.1.0"), how), wanted) == "");
      units.pop_back();  // icalendar 4.0.3 takes the escape off a row of backslashes twice; read to the letter they are right
    }
  }

  TEST_CASE("no control character gets in, and what is typed cannot add a line of its own") {
    Calendar calendar{"a\x1b[2Jb\nEND:VCALENDAR", "c\x07", {}};
    std::vector<std::string> texts = hostile();
    std::string all_controls;
    for (char c = 1; c < 32; ++c) all_controls += c;
    for (const std::string& text : {all_controls + "\x7f\xc2\x85", std::string("nul\0here", 8), std::string("C:\\new, \\;\\, \\\\n"), std::string("x\r\nEND:VEVENT\r\nBEGIN:VALARM\r\nX:y"), std::string("\n"), std::string("\r"), std::string("a\rb\nc\r\nd")}) texts.push_back(text);
    std::string wanted;
    for (const std::string& text : texts) {
      calendar.events.push_back(event("n" + std::to_string(calendar.events.size()), "2026-03-05", text, "d" + text));
      // A line end in whatever spelling stays one; the rest of a line is what `visible` makes of it.
      std::string one;
      std::string line;
      for (std::size_t i = 0; i < text.size(); ++i) {
        if (text[i] == '\r' || text[i] == '\n') {
          if (text[i] == '\r' && i + 1 < text.size() && text[i + 1] == '\n') ++i;
          one += baybook::visible(line) + "/LF/";
          line.clear();
        } else line += text[i];
      }
      one += baybook::visible(line);
      wanted += "SUMMARY | " + one + "\nDESCRIPTION | d" + one + "\n";
    }
    const std::string bytes = render_calendar(calendar, "0.1.0");
    // The first description is the calendar's own.
    CHECK(difference(read_back(bytes, "letter"), "DESCRIPTION | c\\x07\n" + wanted) == "");
    CHECK(count_of(bytes, "\r\nBEGIN:") == texts.size());
    CHECK(count_of(bytes, "\r\nEND:") == texts.size() + 1);
    CHECK(count_of(bytes, "\r\nUID:") == texts.size());
  }

  TEST_CASE("the same calendar gives the same bytes, and only what is about it") {
    Calendar calendar{"Fen Road", "", {event("one", "2026-03-05", "first"), event("two", "2026-03-05", "second")}};
    const std::string bytes = render_calendar(calendar, "0.1.0");
    CHECK(render_calendar(calendar, "0.1.0") == bytes);
    CHECK(bytes ==
          "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//Baybook//Baybook 0.1.0//EN\r\nCALSCALE:GREGORIAN\r\nNAME:Fen Road\r\n"
          "X-WR-CALNAME:Fen Road\r\n"
          "BEGIN:VEVENT\r\nUID:one\r\nDTSTAMP:20260305T094011Z\r\nDTSTART;VALUE=DATE:20260305\r\nDTEND;VALUE=DATE:20260306\r\nSUMMARY:first\r\n"
          "CATEGORIES:car\r\nSEQUENCE:0\r\nTRANSP:TRANSPARENT\r\nEND:VEVENT\r\n"
          "BEGIN:VEVENT\r\nUID:two\r\nDTSTAMP:20260305T094011Z\r\nDTSTART;VALUE=DATE:20260305\r\nDTEND;VALUE=DATE:20260306\r\nSUMMARY:second\r\n"
          "CATEGORIES:car\r\nSEQUENCE:0\r\nTRANSP:TRANSPARENT\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
    // The millisecond is not the file's affair; the order is.
    calendar.events[0].stamp.ms += 800;
    CHECK(render_calendar(calendar, "0.1.0") == bytes);
    std::swap(calendar.events[0], calendar.events[1]);
    CHECK(render_calendar(calendar, "0.1.0") != bytes);
  }

  TEST_CASE("a calendar in which nothing is due is a calendar with one component and no event") {
    // RFC 5545, 3.6: one component at least; a time zone alone is one of its examples.
    const std::string bytes = render_calendar({"Fen Road", "Nothing is due.", {}}, "0.1.0");
    CAPTURE(bytes);
    CHECK(read_back(bytes, "icalendar") == "2.0 | -//Baybook//Baybook 0.1.0//EN | GREGORIAN | Fen Road | Fen Road | Nothing is due. | Nothing is due.\nVTIMEZONE | Etc/UTC\n");
    CHECK(count_of(bytes, "BEGIN:VEVENT") == 0);
  }

  TEST_CASE("what the caller must not hand over is thrown back") {
    const auto with = [](auto change) {
      CalendarEvent e = event("one", "2026-03-05", "first");
      change(e);
      return Calendar{"", "", {e}};
    };
    for (const std::string& uid : {std::string(), std::string("a b"), std::string("a,b"), std::string("a;b"), std::string("a\\b"), std::string("a\nb"), std::string("é"), std::string(256, 'u')}) {
      CAPTURE(uid);
      CHECK_THROWS_AS(static_cast<void>(render_calendar(with([&](CalendarEvent& e) { e.uid = uid; }), "0.1.0")), std::invalid_argument);
    }
    CHECK_NOTHROW(static_cast<void>(render_calendar(with([](CalendarEvent& e) { e.uid = std::string(255, 'u'); }), "0.1.0")));
    for (const std::string word : {"two words", "car,paper", "Car", "a;b", "\xc3\xa9"}) {
      CAPTURE(word);
      CHECK_THROWS_AS(static_cast<void>(render_calendar(with([&](CalendarEvent& e) { e.category = word; }), "0.1.0")), std::invalid_argument);
    }
    CHECK_THROWS_AS(static_cast<void>(render_calendar(with([](CalendarEvent& e) { e.sequence = -1; }), "0.1.0")), std::invalid_argument);
    CHECK_THROWS_AS(static_cast<void>(render_calendar(with([](CalendarEvent& e) { e.day = Day{-800'000}; }), "0.1.0")), std::invalid_argument);
    CHECK_THROWS_AS(static_cast<void>(render_calendar(with([](CalendarEvent& e) { e.day = Day{3'000'000}; }), "0.1.0")), std::invalid_argument);
    CHECK_THROWS_AS(static_cast<void>(render_calendar(with([](CalendarEvent& e) { e.stamp.ms = std::int64_t{1} << 60; }), "0.1.0")), std::invalid_argument);
    const CalendarEvent twice = event("one", "2026-03-05", "first");
    CHECK_THROWS_WITH_AS(static_cast<void>(render_calendar({"", "", {twice, twice}}, "0.1.0")), "the uid one comes twice: a reader would show one of the two", std::invalid_argument);
  }
}
