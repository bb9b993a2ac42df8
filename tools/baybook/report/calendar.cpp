#include "calendar.hpp"

#include <baybook/text.hpp>

#include <libical/ical.h>

#include <algorithm>
#include <memory>
#include <new>
#include <set>
#include <stdexcept>

namespace baybook::tool::report {

namespace {

struct Free {
  void operator()(icalcomponent* component) const { icalcomponent_free(component); }
  void operator()(char* text) const { icalmemory_free_buffer(text); }
};

/// libical leaves control characters as they are, and RFC 5545 (3.1, CONTROL) allows none: they are spelt out.
std::string safe(std::string_view text) {
  std::string out;
  std::size_t begin = 0;
  for (std::size_t at = 0; at <= text.size(); ++at) {
    if (at < text.size() && text[at] != '\n' && text[at] != '\r') continue;
    out += visible(text.substr(begin, at - begin));
    if (at < text.size()) out += '\n';
    if (at + 1 < text.size() && text[at] == '\r' && text[at + 1] == '\n') ++at;
    begin = at + 1;
  }
  return out;
}

void add(icalcomponent* to, icalproperty* property) {
  if (property == nullptr) throw std::bad_alloc();
  icalcomponent_add_property(to, property);
}

icalcomponent* add(icalcomponent* to, icalcomponent* part) {
  if (part == nullptr) throw std::bad_alloc();
  icalcomponent_add_component(to, part);
  return part;
}

void add_x(icalcomponent* to, const char* name, const std::string& text) {
  icalproperty* property = icalproperty_new_x(text.c_str());
  if (property == nullptr) throw std::bad_alloc();
  icalproperty_set_x_name(property, name);
  add(to, property);
}

std::string without(std::string text, std::string_view signs) {
  std::erase_if(text, [&](char c) { return signs.find(c) != std::string_view::npos; });
  return text;
}

icaltimetype time_of(Day day) { return icaltime_from_string(without(to_string(day), "-").c_str()); }

/// To the second: "2026-03-05T09:40:11.123Z" as 20260305T094011Z.
icaltimetype time_of(Instant instant) {
  const std::string iso = to_string(instant);
  return icaltime_from_string((without(iso.substr(0, iso.find('.')), "-:") + 'Z').c_str());
}

void check_uid(const std::string& uid, std::set<std::string>& seen) {
  // RFC 5545, 3.8.4.7: a reader keeps 255 octets.
  const bool good = !uid.empty() && uid.size() <= 255 &&
                    std::all_of(uid.begin(), uid.end(), [](char c) { return c > ' ' && c <= '~' && c != ',' && c != ';' && c != '\\'; });
  if (!good) throw std::invalid_argument("a calendar's uid is 1 to 255 printable ASCII characters without , ; and backslash");
  if (!seen.insert(uid).second) throw std::invalid_argument("the uid " + uid + " comes twice: a reader would show one of the two");
}

void check(const CalendarEvent& event) {
  const std::string& word = event.category;
  const bool good = std::all_of(word.begin(), word.end(), [](char c) { return (c >= 'a' && c <= 'z') || (c >= '0' && c <= '9') || c == '-'; });
  if (!good) throw std::invalid_argument("a calendar's category is one word of a-z, 0-9 and -");
  if (event.sequence < 0) throw std::invalid_argument("a calendar's sequence is not negative");
  if (!read_day(to_string(event.day)) || !read_instant(to_string(event.stamp))) throw std::invalid_argument("a calendar's days are of the years 1900 to 2999");
}

void add_event(icalcomponent* calendar, const CalendarEvent& event) {
  check(event);
  icalcomponent* out = add(calendar, icalcomponent_new(ICAL_VEVENT_COMPONENT));
  add(out, icalproperty_new_uid(event.uid.c_str()));
  add(out, icalproperty_new_dtstamp(time_of(event.stamp)));
  // A day without a time is the workshop's day in whatever zone it is read; its end is the day after (RFC 5545, 3.6.1).
  add(out, icalproperty_new_dtstart(time_of(event.day)));
  add(out, icalproperty_new_dtend(time_of(Day{event.day.n + 1})));
  add(out, icalproperty_new_summary(safe(event.summary).c_str()));
  if (!event.description.empty()) add(out, icalproperty_new_description(safe(event.description).c_str()));
  if (!event.category.empty()) add(out, icalproperty_new_categories(event.category.c_str()));
  add(out, icalproperty_new_sequence(event.sequence));
  // What is due keeps nobody busy.
  add(out, icalproperty_new_transp(ICAL_TRANSP_TRANSPARENT));
}

void add_utc(icalcomponent* calendar) {
  icalcomponent* zone = add(calendar, icalcomponent_new(ICAL_VTIMEZONE_COMPONENT));
  add(zone, icalproperty_new_tzid("Etc/UTC"));
  icalcomponent* standard = add(zone, icalcomponent_new(ICAL_XSTANDARD_COMPONENT));
  add(standard, icalproperty_new_dtstart(icaltime_from_string("19700101T000000")));
  add(standard, icalproperty_new_tzoffsetfrom(0));
  add(standard, icalproperty_new_tzoffsetto(0));
  add(standard, icalproperty_new_tzname("UTC"));
}

/// libical 3.0.16 folds by octets and characters, but where a line ends just at 75 it folds between the CR and the LF of the line
/// end. So its folds are taken back, which is exact (RFC 5545, 3.1), and made here.
std::string folded_anew(std::string_view text) {
  constexpr std::string_view fold = "\r\n ";
  constexpr std::size_t most = 75;
  std::string out;
  out.reserve(text.size() + text.size() / 32);
  std::size_t length = 0;   // octets of the line so far
  for (std::size_t at = 0; at < text.size();) {
    if (text.substr(at, fold.size()) == fold) {
      at += fold.size();
      continue;
    }
    std::size_t end = at + 1;
    while (end < text.size() && (static_cast<unsigned char>(text[end]) & 0xc0U) == 0x80U) ++end;
    const std::string_view character = text.substr(at, end - at);
    if (character == "\n") length = 0;
    else if (character != "\r") {
      if (length + character.size() > most) {
        out += fold;
        length = 1;   // the blank
      }
      length += character.size();
    }
    out += character;
    at = end;
  }
  return out;
}

}  // namespace

std::string render_calendar(const Calendar& calendar, std::string_view version) {
  const std::unique_ptr<icalcomponent, Free> out(icalcomponent_new(ICAL_VCALENDAR_COMPONENT));
  if (!out) throw std::bad_alloc();
  add(out.get(), icalproperty_new_version("2.0"));
  add(out.get(), icalproperty_new_prodid(("-//Baybook//Baybook " + std::string(version) + "//EN").c_str()));
  add(out.get(), icalproperty_new_calscale("GREGORIAN"));
  // NAME and DESCRIPTION are RFC 7986's (5.1, 5.2); the older names in X- are what most programs read.
  if (const std::string name = safe(calendar.name); !name.empty()) {
    add(out.get(), icalproperty_new_name(name.c_str()));
    add_x(out.get(), "X-WR-CALNAME", name);
  }
  if (const std::string description = safe(calendar.description); !description.empty()) {
    add(out.get(), icalproperty_new_description(description.c_str()));
    add_x(out.get(), "X-WR-CALDESC", description);
  }
  std::set<std::string> uids;
  for (const CalendarEvent& event : calendar.events) {
    check_uid(event.uid, uids);
    add_event(out.get(), event);
  }
  if (calendar.events.empty()) add_utc(out.get());
  const std::unique_ptr<char, Free> text(icalcomponent_as_ical_string_r(out.get()));
  if (!text) throw std::bad_alloc();
  return folded_anew(text.get());
}

}  // namespace baybook::tool::report
