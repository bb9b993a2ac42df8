#include <baybook/calendar.hpp>

#include <doctest/doctest.h>

#include <random>
#include <string>
#include <vector>

namespace {

using namespace baybook;

Day day(std::string_view iso) {
  CAPTURE(iso);
  const auto read = read_day(iso);
  REQUIRE(read.has_value());
  return *read;
}

Instant instant(std::string_view iso) {
  CAPTURE(iso);
  const auto read = read_instant(iso);
  REQUIRE(read.has_value());
  return *read;
}

/// "2026-03-29 01:59 +0" in the zone.
std::string on_the_wall(std::string_view at, std::string_view zone) {
  const auto local = local_day(instant(at), zone);
  REQUIRE_MESSAGE(local.ok(), local.refusal().what);
  return to_string(local->day) + ' ' + to_string(local->minute) + ' ' + std::to_string(local->offset_seconds);
}

const Day today = Day{20'517};  // 2026-03-05, a Thursday

}  // namespace

TEST_SUITE("quantity/calendar") {
  TEST_CASE("days, months, minutes and instants print in one form and read back") {
    CHECK(to_string(today) == "2026-03-05");
    CHECK(to_string(Day{0}) == "1970-01-01");
    CHECK(to_string(Day{-1}) == "1969-12-31");
    CHECK(to_string(Month{0}) == "1970-01");
    CHECK(to_string(Month{-1}) == "1969-12");
    CHECK(to_string(Month{674}) == "2026-03");
    CHECK(to_string(Minute{580}) == "09:40");
    CHECK(to_string(Minute{0}) == "00:00");
    CHECK(to_string(Minute{1439}) == "23:59");
    CHECK(to_string(Instant{0}) == "1970-01-01T00:00:00.000Z");
    CHECK(to_string(Instant{-1}) == "1969-12-31T23:59:59.999Z");
    // RFC 9562, A.6: 2022-02-22T14:22:22-05:00 is 1645557742000 ms.
    CHECK(to_string(Instant{1'645'557'742'000}) == "2022-02-22T19:22:22.000Z");
    CHECK(instant("2022-02-22T19:22:22.000Z").ms == 1'645'557'742'000);
    CHECK(instant("2026-03-05T09:40:11.123Z").ms == 20'517 * std::int64_t{86'400'000} + 34'811'123);
  }

  TEST_CASE("every day of eleven centuries reads back, one after the other") {
    Day next = day("1900-01-01");
    const Day last = day("2999-12-31");
    CHECK(last.n - next.n + 1 == 401'767);  // 1100 * 365 days and 267 leap days
    int wrong = 0;
    for (; next <= last; ++next.n) {
      if (read_day(to_string(next)) != next) ++wrong;
      if (first_of(month_of(next)) > next || last_of(month_of(next)) < next) ++wrong;
    }
    CHECK(wrong == 0);
  }

  TEST_CASE("random instants read back") {
    std::random_device device;
    const unsigned seed = device();
    CAPTURE(seed);
    std::mt19937_64 random{seed};
    for (int i = 0; i < 5'000; ++i) {
      const Instant at{static_cast<std::int64_t>(random() % 30'000'000'000'000) - 2'000'000'000'000};
      CHECK(read_instant(to_string(at)) == at);
    }
  }

  TEST_CASE("what is not exactly in the stored form does not read as a stored day or instant") {
    for (const std::string_view text : {"", "2026-3-05", "2026-03-5", "2026-03-05 ", " 2026-03-05", "2026/03/05", "20260305", "2026-02-29",
                                        "2026-04-31", "2026-13-01", "2026-00-10", "2026-01-00", "1899-12-31", "3000-01-01", "+026-03-05",
                                        "2026-03--5"}) {
      CAPTURE(text);
      CHECK_FALSE(read_day(text).has_value());
    }
    for (const std::string_view text : {"2026-03-05T09:40:11Z", "2026-03-05T09:40:11.123", "2026-03-05T09:40:11.123+00", "2026-03-05 09:40:11.123Z",
                                        "2026-03-05T24:00:00.000Z", "2026-03-05T09:60:00.000Z", "2026-03-05T09:40:60.000Z",
                                        "2026-02-30T09:40:11.123Z", "2026-03-05T09:40:11.-23Z"}) {
      CAPTURE(text);
      CHECK_FALSE(read_instant(text).has_value());
    }
  }

  TEST_CASE("leap years are those of the Gregorian calendar") {
    // Inter gravissimas (1582): every fourth year, but of the hundreds only every fourth.
    CHECK(last_of(month_of(day("2024-02-01"))) == day("2024-02-29"));
    CHECK(last_of(month_of(day("2026-02-01"))) == day("2026-02-28"));
    CHECK(last_of(month_of(day("2000-02-01"))) == day("2000-02-29"));
    CHECK(last_of(month_of(day("1900-02-01"))) == day("1900-02-28"));
    CHECK(last_of(month_of(day("2100-02-01"))) == day("2100-02-28"));
    CHECK(first_of(month_of(day("2024-02-29"))) == day("2024-02-01"));
  }

  TEST_CASE("a day that the later month does not have becomes its last day") {
    struct Row {
      std::string_view from;
      int months;
      std::string_view to;
    };
    for (const Row& row : {
             // java.time.LocalDate.plusMonths, documentation: 2007-03-31 plus one month is 2007-04-30. The documentation of
             // Python's dateutil.relativedelta clamps in the same way. The date library leaves an invalid date to its
             // caller, and RFC 5545 section 3.3.10 would skip the month: a service that is due is never skipped.
             Row{"2007-03-31", 1, "2007-04-30"},
             // The same rule applied by hand.
             Row{"2025-08-31", 6, "2026-02-28"}, Row{"2023-08-31", 6, "2024-02-29"}, Row{"2025-01-31", 1, "2025-02-28"},
             Row{"2024-01-31", 1, "2024-02-29"}, Row{"2025-03-31", 3, "2025-06-30"}, Row{"2024-02-29", 12, "2025-02-28"},
             Row{"2024-02-29", 48, "2028-02-29"}, Row{"2026-03-15", 0, "2026-03-15"}, Row{"2026-12-31", 1, "2027-01-31"},
             Row{"2026-01-15", -1, "2025-12-15"}, Row{"2026-03-31", -1, "2026-02-28"}, Row{"1970-01-31", -11, "1969-02-28"},
         }) {
      CAPTURE(row.from);
      CAPTURE(row.months);
      CHECK(to_string(add_months(day(row.from), row.months)) == row.to);
    }
  }

  TEST_CASE("months counted from the anchor keep the day, and the ends of an int are survived") {
    // Step by step the 31st would become the 28th for good; from the anchor it comes back.
    CHECK(to_string(add_months(day("2025-08-31"), 12)) == "2026-08-31");
    CHECK(add_months(today, 2'147'483'647) > today);
    CHECK(add_months(today, -2'147'483'647) < today);
  }

  TEST_CASE("a day is read as people write it") {
    struct Row {
      std::string_view text;
      DateOrder order;
      std::string_view want;
    };
    constexpr auto none = DateOrder::none;
    for (const Row& row : {
             Row{"2026-03-05", none, "2026-03-05"}, Row{" 2026-03-05 ", none, "2026-03-05"}, Row{"today", none, "2026-03-05"},
             Row{"Today", none, "2026-03-05"}, Row{"yesterday", none, "2026-03-04"}, Row{"-3d", none, "2026-03-02"},
             Row{"-0d", none, "2026-03-05"}, Row{"-365d", none, "2025-03-05"}, Row{"thu", none, "2026-03-05"}, Row{"wed", none, "2026-03-04"},
             Row{"fri", none, "2026-02-27"}, Row{"MON", none, "2026-03-02"}, Row{"sunday", none, "2026-03-01"},
             Row{"03/04/2026", DateOrder::day_first, "2026-04-03"}, Row{"03/04/2026", DateOrder::month_first, "2026-03-04"},
             Row{"3.4.2026", DateOrder::day_first, "2026-04-03"}, Row{"3-4-2026", DateOrder::month_first, "2026-03-04"},
             Row{"25/04/2026", none, "2026-04-25"}, Row{"04/25/2026", none, "2026-04-25"}, Row{"04/04/2026", none, "2026-04-04"},
         }) {
      CAPTURE(row.text);
      const auto read = parse_day(row.text, today, row.order);
      REQUIRE_MESSAGE(read.ok(), read.refusal().what);
      CHECK(to_string(*read) == row.want);
    }
  }

  TEST_CASE("a weekday is the last one before or on today") {
    const std::vector<std::string> names{"mon", "tue", "wed", "thu", "fri", "sat", "sun"};
    for (int ahead = 0; ahead < 7; ++ahead) {
      const Day now{day("2026-03-02").n + ahead};  // 2026-03-02 is a Monday
      for (int i = 0; i < 7; ++i) {
        const auto read = parse_day(names[static_cast<std::size_t>(i)], now);
        REQUIRE(read.ok());
        CHECK(*read <= now);
        CHECK(read->n > now.n - 7);
        CHECK((read->n - day("2026-03-02").n + 7) % 7 == i);
      }
    }
  }

  TEST_CASE("a day with two readings is refused with both of them") {
    const auto read = parse_day("03/04/2026", today);
    REQUIRE_FALSE(read.ok());
    CHECK(read.refusal().code == Code::unclear);
    CHECK(read.refusal().what == "day \"03/04/2026\" is 2026-04-03 with the day first or 2026-03-04 with the month first");
    CHECK(read.refusal().instead == "2026-04-03 or 2026-03-04");
  }

  TEST_CASE("a day that is clear to a person is refused with that day, and one with two readings with both") {
    struct Row {
      std::string_view text;
      DateOrder order;
      std::string_view instead;
    };
    constexpr auto none = DateOrder::none;
    for (const Row& row : {
             Row{"4 March 2026", none, "2026-03-04"}, Row{"March 4th, 2026", none, "2026-03-04"}, Row{"Wed 4 Mar 2026", none, "2026-03-04"},
             Row{"the 4th of March 2026", none, "2026-03-04"}, Row{"4-Mar-2026", none, "2026-03-04"}, Row{"2026 Mar 4", none, "2026-03-04"},
             Row{"4 March 26", none, "2026-03-04"}, Row{"4 march", none, "2026-03-04"}, Row{"6 march", none, "2025-03-06 or 2026-03-06"},
             Row{"20260304", none, "2026-03-04"}, Row{"04032026", none, "2026-03-04 or 2026-04-03"},
             Row{"04032026", DateOrder::month_first, "2026-04-03"}, Row{"260304", none, "2026-03-04 or 2004-03-26"},
             Row{"26-03-04", none, "2026-03-04 or 2004-03-26"}, Row{"26/03/04", none, "2004-03-26"},
             Row{"3 days ago", none, "-3d"}, Row{"2 weeks ago", none, "-14d"}, Row{"-3 days", none, "-3d"}, Row{"-2w", none, "-14d"},
             Row{"the day before yesterday", none, "-2d"}, Row{"last monday", none, "mon"}, Row{"Last Thursday", none, "-7d"},
             Row{"monda", none, "mon"}, Row{"Tues", none, "tue"}, Row{"weds", none, "wed"}, Row{"on friday", none, "fri"},
             Row{"2026-03-04T10:00", none, "2026-03-04 with --at 10:00"}, Row{"2026-03-04 9:05", none, "2026-03-04 with --at 09:05"},
             Row{"2026-03-04T10:00:30.500Z", none, "2026-03-04 with --at 10:00+00:00"},
         }) {
      CAPTURE(row.text);
      const auto read = parse_day(row.text, today, row.order);
      REQUIRE_FALSE(read.ok());
      CHECK(read.refusal().code == Code::unclear);
      CHECK(read.refusal().instead == row.instead);
    }
    CHECK(parse_day("26-03-04", today).refusal().what == "day \"26-03-04\" is 2026-03-04 with the year first or 2004-03-26 with the day first");
  }

  TEST_CASE("a day that does not exist or has no reading is refused with what to type") {
    constexpr std::string_view words = "a day like 2026-03-05";
    struct Row {
      std::string_view text;
      DateOrder order;
      std::string_view instead;
    };
    constexpr auto none = DateOrder::none;
    for (const Row& row : {
             Row{"2026-04-31", none, "2026-04-30"}, Row{"2026-02-29", none, "2026-02-28"}, Row{"2026-04-00", none, words},
             Row{"2026-02-45", none, words}, Row{"2026-13-01", none, words}, Row{"1899-12-31", none, words}, Row{"3000-01-01", none, words},
             Row{"31/04/2026", none, "2026-04-30"}, Row{"31/04/2026", DateOrder::day_first, "2026-04-30"},
             Row{"04/25/2026", DateOrder::day_first, "2026-04-25"}, Row{"25/04/2026", DateOrder::month_first, "2026-04-25"},
             Row{"03/04/26", none, "2026-04-03 or 2026-03-04"}, Row{"03/04/26", DateOrder::day_first, "2026-04-03 or 2026-03-04"},
             Row{"25/04/26", none, "2026-04-25"}, Row{"2026/03/05", none, "2026-03-05"}, Row{"2026-3-5", none, "2026-03-05"},
             Row{"", none, words}, Row{"tomorrow", none, words}, Row{"+3d", none, words}, Row{"-d", none, words},
             Row{"-99999d", none, words}, Row{"-99999 days", none, words}, Row{"2026-03", none, words}, Row{"march 2026", none, words},
             Row{"2026-03-05x", none, words}, Row{"99/99/2026", none, words}, Row{"1/2/3/2026", none, words}, Row{"04/03/202", none, words},
             Row{"next monday", none, words}, Row{"2026-04-03 or 2026-03-04", none, words}, Row{"Fri 4 March 2026", none, words},
             Row{words, none, "only the day, like 2026-03-05"},
         }) {
      CAPTURE(row.text);
      const auto read = parse_day(row.text, today, row.order);
      REQUIRE_FALSE(read.ok());
      CHECK(read.refusal().code == Code::unclear);
      CHECK_FALSE(read.refusal().what.empty());
      CHECK(read.refusal().instead == row.instead);
    }
    CHECK(parse_day("2026-04-31", today).refusal().what == "day \"2026-04-31\" does not exist: april 2026 has 30 days");
    CHECK(parse_day("a\x1b[2Jb", today).refusal().what.find('\x1b') == std::string::npos);
  }

  TEST_CASE("months and times of day are read or refused") {
    CHECK(to_string(parse_month("2026-03", today).value()) == "2026-03");
    CHECK(to_string(parse_month("this-month", today).value()) == "2026-03");
    CHECK(to_string(parse_month("Last-Month", day("2026-01-31")).value()) == "2025-12");
    struct Row {
      std::string_view text;
      std::string_view instead;
    };
    constexpr std::string_view a_month = "a month like 2026-03";
    for (const Row& row : {Row{"", a_month}, Row{"2026-13", a_month}, Row{"2026-00", a_month}, Row{"march", a_month}, Row{"1899-01", a_month}, Row{"02/26", a_month},
                           Row{"2026-2", "2026-02"}, Row{"2026/02", "2026-02"}, Row{"02/2026", "2026-02"}, Row{"202602", "2026-02"}, Row{"February 2026", "2026-02"},
                           Row{"2026-02-05", "2026-02"}}) {
      CAPTURE(row.text);
      const auto month = parse_month(row.text, today);
      REQUIRE_FALSE(month.ok());
      CHECK(month.refusal().code == Code::unclear);
      CHECK(month.refusal().instead == row.instead);
    }
    CHECK(parse_minute("09:40")->n == 580);
    CHECK(parse_minute("9:40")->n == 580);
    CHECK(parse_minute("00:00")->n == 0);
    CHECK(parse_minute("23:59")->n == 1439);
    constexpr std::string_view a_time = "a time like 09:40";
    for (const Row& row : {Row{"", a_time}, Row{":40", a_time}, Row{"-9:40", a_time}, Row{"009:40", a_time}, Row{"9", a_time}, Row{"14am", a_time}, Row{"9.75", a_time},
                           Row{"9:4", "09:04 or 09:40"}, Row{"9:7", "09:07"}, Row{"940", "09:40"}, Row{"0930", "09:30"}, Row{"9.30", "09:30"}, Row{"9h30", "09:30"},
                           Row{"9am", "09:00"}, Row{"9 AM", "09:00"}, Row{"9:40pm", "21:40"}, Row{"12:30 am", "00:30"}, Row{"12am", "12:00 or 00:00"},
                           Row{"09:30:15", "09:30"}, Row{"noon", "12:00"}, Row{a_time, "only the time, like 09:40"}}) {
      CAPTURE(row.text);
      const auto minute = parse_minute(row.text);
      REQUIRE_FALSE(minute.ok());
      CHECK(minute.refusal().code == Code::unclear);
      CHECK(minute.refusal().instead == row.instead);
    }
    // Off the clock: the end of a day is the beginning of the next, and nothing else is near enough to be meant.
    for (const Row& row : {Row{"24:00", "00:00 of the next day"}, Row{"9:60", a_time}, Row{"00:60", a_time}, Row{"99:99", a_time}}) {
      CAPTURE(row.text);
      CHECK(parse_minute(row.text).refusal().what.find("is not on the clock") != std::string::npos);
      CHECK(parse_minute(row.text).refusal().instead == row.instead);
    }
  }
}

TEST_SUITE("quantity/time of day") {
  TEST_CASE("a time of day with its offset is written as RFC 3339 writes it, and read back in that spelling only") {
    // RFC 3339, 5.6: time-numoffset = ("+" / "-") time-hour ":" time-minute. Seconds are not kept: nobody writes them at a bay.
    CHECK(to_string(TimeOfDay{Minute{580}, 60}) == "09:40+01:00");
    CHECK(to_string(TimeOfDay{Minute{0}, -210}) == "00:00-03:30");
    CHECK(to_string(TimeOfDay{Minute{1439}, 0}) == "23:59+00:00");
    for (const std::string_view text : {"09:40+01:00", "00:00-03:30", "23:59+00:00", "12:00+14:00", "12:00+15:00", "12:00-12:00"}) {
      CAPTURE(text);
      REQUIRE(read_time(text).has_value());
      CHECK(to_string(*read_time(text)) == text);
    }
    for (const std::string_view text : {"", "09:40", "9:40+01:00", "09:40Z", "09:40-00:00", "24:00+00:00", "09:60+01:00", "09:40+01:60", "09:40+16:00", "09:40+0100", "09:40 01:00", "09:40+01:000"}) {
      CAPTURE(text);
      CHECK_FALSE(read_time(text).has_value());
    }
  }

  TEST_CASE("a typed time may say its offset") {
    CHECK_FALSE(parse_time("9:40")->offset_minutes.has_value());
    CHECK(parse_time("9:40")->minute.n == 580);
    CHECK(parse_time("09:40+01:00")->offset_minutes == 60);
    CHECK(parse_time(" 9:40-03:30 ")->offset_minutes == -210);
    CHECK(parse_time("09:40Z")->offset_minutes == 0);
    struct Row {
      std::string_view text;
      std::string_view instead;
    };
    constexpr std::string_view a_time = "a time like 09:40";
    constexpr std::string_view an_offset = "09:40 and its offset, like 09:40+01:00";
    constexpr std::string_view both = "a time and its offset like 09:40+01:00";
    for (const Row& row : {Row{"", a_time}, Row{"Z", both}, Row{"25:00+01:00", both}, Row{"9:4+01:00", both}, Row{"24:10+01:00", both}, Row{"09:40+01:00Z", an_offset}, Row{"09:40 +x", an_offset},
                           Row{"09:40+1:3", an_offset}, Row{"09:40+1", "09:40+01:00"}, Row{"09:40-5", "09:40-05:00"}, Row{"09:40+0530", "09:40+05:30"},
                           Row{"09:40+5:30", "09:40+05:30"}, Row{"9am-05:00", "09:00-05:00"}}) {
      CAPTURE(row.text);
      const auto time = parse_time(row.text);
      REQUIRE_FALSE(time.ok());
      CHECK(time.refusal().code == Code::unclear);
      CHECK(time.refusal().instead == row.instead);
    }
  }
}

TEST_SUITE("quantity/zone") {
  TEST_CASE("the wall of the workshop follows the changes of summer time") {
    // IANA time-zone database, file europe, rule EU: last Sundays of March and October at 01:00 UTC.
    CHECK(on_the_wall("2026-03-29T00:59:59.999Z", "Europe/Lisbon") == "2026-03-29 00:59 0");
    CHECK(on_the_wall("2026-03-29T01:00:00.000Z", "Europe/Lisbon") == "2026-03-29 02:00 3600");
    CHECK(on_the_wall("2026-10-25T00:59:59.999Z", "Europe/Lisbon") == "2026-10-25 01:59 3600");
    CHECK(on_the_wall("2026-10-25T01:00:00.000Z", "Europe/Lisbon") == "2026-10-25 01:00 0");
    CHECK(on_the_wall("2026-07-14T23:30:00.000Z", "Europe/Lisbon") == "2026-07-15 00:30 3600");
    // File northamerica, rule US since 2007: second Sunday of March, first of November, at 02:00 local time.
    CHECK(on_the_wall("2026-03-08T06:59:59.999Z", "America/New_York") == "2026-03-08 01:59 -18000");
    CHECK(on_the_wall("2026-03-08T07:00:00.000Z", "America/New_York") == "2026-03-08 03:00 -14400");
    CHECK(on_the_wall("2026-11-01T05:59:00.000Z", "America/New_York") == "2026-11-01 01:59 -14400");
    CHECK(on_the_wall("2026-11-01T06:00:00.000Z", "America/New_York") == "2026-11-01 01:00 -18000");
    CHECK(on_the_wall("2026-01-01T04:59:59.999Z", "America/New_York") == "2025-12-31 23:59 -18000");
    // File australasia, rule LH since 2008: half an hour, first Sundays of April and October at 02:00 local time.
    CHECK(on_the_wall("2026-04-04T14:59:59.999Z", "Australia/Lord_Howe") == "2026-04-05 01:59 39600");
    CHECK(on_the_wall("2026-04-04T15:00:00.000Z", "Australia/Lord_Howe") == "2026-04-05 01:30 37800");
    CHECK(on_the_wall("2026-10-03T15:30:00.000Z", "Australia/Lord_Howe") == "2026-10-04 02:30 39600");
    CHECK(on_the_wall("1969-12-31T23:59:59.999Z", "Etc/UTC") == "1969-12-31 23:59 0");
  }

  TEST_CASE("the span of one offset is between two changes") {
    const auto summer = local_day(instant("2026-07-01T12:00:00.000Z"), "Europe/Lisbon");
    REQUIRE(summer.ok());
    CHECK(to_string(summer->same_offset_from) == "2026-03-29T01:00:00.000Z");
    CHECK(to_string(summer->same_offset_until) == "2026-10-25T01:00:00.000Z");
    const auto utc = local_day(instant("2026-07-01T12:00:00.000Z"), "Etc/UTC");
    REQUIRE(utc.ok());
    CHECK(utc->same_offset_from < instant("1900-01-01T00:00:00.000Z"));
    CHECK(utc->same_offset_until > instant("2999-12-31T00:00:00.000Z"));
  }

  TEST_CASE("a clock on the wall shows one hour twice when summer time ends, and leaves one out when it begins") {
    // IANA time-zone database, as above.
    const auto at = [](std::string_view day_text, int minute, std::string_view zone) {
      const auto wall = wall_time(*read_day(day_text), Minute{static_cast<std::int16_t>(minute)}, zone);
      REQUIRE(wall.ok());
      return std::to_string(wall->readings) + " " + std::to_string(wall->offset_seconds) + " " + std::to_string(wall->second_offset_seconds);
    };
    CHECK(at("2026-10-25", 90, "Europe/Lisbon") == "2 3600 0");
    CHECK(at("2026-10-25", 59, "Europe/Lisbon") == "1 3600 3600");
    CHECK(at("2026-10-25", 120, "Europe/Lisbon") == "1 0 0");
    CHECK(at("2026-03-29", 90, "Europe/Lisbon") == "0 0 3600");
    CHECK(at("2026-11-01", 90, "America/New_York") == "2 -14400 -18000");
    CHECK(at("2026-03-08", 150, "America/New_York") == "0 -18000 -14400");
    CHECK(at("2026-04-05", 105, "Australia/Lord_Howe") == "2 39600 37800");
    CHECK_FALSE(wall_time(*read_day("2026-03-05"), Minute{0}, "Europe/Nowhere").ok());
  }

  TEST_CASE("a zone that the system does not know is not found") {
    CHECK(zone_exists("Europe/Lisbon"));
    CHECK(zone_exists("Australia/Lord_Howe"));
    for (const std::string_view zone : {"", "Europe/Nowhere", "../../etc/passwd", "europe/lisbon", "Europe", "/etc/localtime"}) {
      CAPTURE(zone);
      CHECK_FALSE(zone_exists(zone));
      const auto local = local_day(Instant{0}, zone);
      REQUIRE_FALSE(local.ok());
      CHECK(local.refusal().code == Code::not_found);
    }
  }

  TEST_CASE("an instant without a year of four digits has no local day") {
    CHECK(local_day(Instant{9'000'000'000'000'000'000}, "Etc/UTC").refusal().code == Code::not_allowed);
    CHECK(local_day(Instant{-9'000'000'000'000'000'000}, "Etc/UTC").refusal().code == Code::not_allowed);
  }
}
