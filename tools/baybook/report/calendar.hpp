// Days to come, as a calendar file (iCalendar, RFC 5545) that a telephone or an office program reads.
#pragma once

#include <baybook/calendar.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

/// One whole day. Texts are as stored; a control character is spelt out on the way out (`visible`), a line end stays one.
struct CalendarEvent {
  std::string uid;          ///< stable: made by the caller from the installation and the entry; printable ASCII without blank , ; and backslash
  Instant stamp;            ///< when the entry behind it was recorded: the same book gives the same bytes
  Day day;
  std::string summary;
  std::string description{};   ///< may have several lines
  std::string category{};   ///< one word of a-z, 0-9 and -: car, recheck, container, paper
  int sequence = 0;         ///< one more each time that the day of the same uid moves
};
struct Calendar {
  std::string name;
  std::string description{};
  std::vector<CalendarEvent> events{};
};

/// Lines end CRLF and have 75 octets at most, folded between characters. The same bytes for the same calendar and version ("0.1.0").
/// A calendar without events holds the definition of UTC alone, for RFC 5545 (3.6) asks for one component at least and names a time
/// zone alone as a calendar; readers show nothing of it.
/// Throws std::invalid_argument for a uid that is malformed or comes twice, a category that is not one word, a negative sequence, a day
/// or stamp outside the years 1900 to 2999: the caller made them, so none is a person's mistake.
[[nodiscard]] std::string render_calendar(const Calendar& calendar, std::string_view version);

}  // namespace baybook::tool::report
