#include "property.hpp"
#include "targets.hpp"

#include <baybook/calendar.hpp>

#include <algorithm>
#include <array>
#include <cstring>

namespace baybook::fuzz {

namespace {

constexpr Day kFirst{-25'567};   // 1900-01-01
constexpr Day kLast{376'199};    // 2999-12-31

/// A day to stand on, of the years that a book can be written in.
Day some_today(Input& in) { return Day{static_cast<std::int32_t>(18'000 + in.choice(256) * 97 + in.choice(97))}; }

void days(Input in) {
  const Day today = some_today(in);
  const DateOrder order = std::array{DateOrder::none, DateOrder::day_first, DateOrder::month_first}[in.choice(3)];
  const std::string_view text = in.rest();
  const auto strict = read_day(text);
  const auto read = parse_day(text, today, order);
  if (strict) {
    hold(to_string(*strict) == text, "a strict day has one spelling");
    hold(read.ok() && *read == *strict, "a strict day is read the same by the reader of what people type");
  }
  if (!read) return told_with_instead(read.refusal(), text);
  hold(*read <= kLast && *read >= Day{kFirst.n - 36'500}, "a day is one that a book can hold");
  if (*read < kFirst) return;
  const auto again = read_day(to_string(*read));
  hold(again && *again == *read, "a day goes round");
  const Month month = month_of(*read);
  hold(first_of(month) <= *read && *read <= last_of(month), "a day lies in its month");
  const auto same_month = parse_month(to_string(month), today);
  hold(same_month.ok() && *same_month == month, "a month goes round");
  hold(add_months(*read, 0) == *read && month_of(add_months(*read, 1)) == Month{month.n + 1}, "a month later is in the next month");
}

void months(Input in) {
  const Day today = some_today(in);
  const auto read = parse_month(in.rest(), today);
  if (!read) return told_with_instead(read.refusal(), in.rest());
  const auto again = parse_month(to_string(*read), today);
  hold(again.ok() && *again == *read, "a month goes round");
}

void times(std::string_view text) {
  if (const auto strict = read_time(text)) hold(to_string(*strict) == text, "a strict time has one spelling");
  const auto minute = parse_minute(text);
  if (!minute) {
    told_with_instead(minute.refusal(), text);
  } else {
    hold(minute->n >= 0 && minute->n < 1440, "a minute is one of a day");
    const auto again = parse_minute(to_string(*minute));
    hold(again.ok() && *again == *minute, "a minute goes round");
  }
  const auto time = parse_time(text);
  if (!time) return told_with_instead(time.refusal(), text);
  hold(!minute.ok() || !time->offset_minutes, "a time without an offset is a minute");
  if (!time->offset_minutes) return;
  hold(*time->offset_minutes >= -959 && *time->offset_minutes <= 959, "an offset is less than sixteen hours");
  const TimeOfDay whole{time->minute, *time->offset_minutes};
  const auto again = read_time(to_string(whole));
  hold(again && *again == whole, "a time with its offset goes round");
}

void instants(std::string_view text) {
  const auto read = read_instant(text);
  if (read) hold(to_string(*read) == text, "an instant has one spelling");
}

/// The zone as it was typed at `start`, with an instant of eight bytes before it.
void zones(std::string_view bytes) {
  std::int64_t ms = 0;
  std::memcpy(&ms, bytes.data(), std::min(bytes.size(), sizeof ms));
  const std::string_view zone = bytes.substr(std::min(bytes.size(), sizeof ms));
  const auto day = local_day(Instant{ms}, zone);
  if (!day) {
    told(day.refusal());
    hold(zone_exists(zone) == (day.refusal().code != Code::not_found), "a zone is refused by its name only when it does not exist");
    return;
  }
  hold(zone_exists(zone), "a zone that has days exists");
  hold(day->minute.n >= 0 && day->minute.n < 1440, "a local minute is one of a day");
  hold(day->same_offset_from <= Instant{ms} && Instant{ms} < day->same_offset_until, "an instant lies in the span of its offset");
  const auto wall = wall_time(day->day, day->minute, zone);
  hold(wall.ok() && wall->readings >= 1, "a minute that was is on the wall");
  hold(wall->offset_seconds == day->offset_seconds || wall->second_offset_seconds == day->offset_seconds, "a minute that was is found again with its offset");
}

}  // namespace

void date(std::string_view bytes) {
  Input in(bytes);
  switch (in.choice(5)) {
    case 0: return days(in);
    case 1: return months(in);
    case 2: return times(in.rest());
    case 3: return instants(in.rest());
    default: return zones(in.rest());
  }
}

}  // namespace baybook::fuzz
