// What a person meant who wrote a day, a month or a time in a way that is not read: exactly that, or words.
#include <baybook/calendar.hpp>

#include <doctest/doctest.h>

using namespace baybook;

namespace {

// A Thursday.
const Day today = read_day("2026-03-05").value();
constexpr std::string_view a_day = "a day like 2026-03-05";
constexpr std::string_view a_time = "a time like 09:40";

struct Row {
  std::string typed;
  std::string_view meant;
};

}  // namespace

TEST_SUITE("quantity/meant") {
  TEST_CASE("a month by its name is that day where the numbers beside it leave no choice") {
    for (const Row& row : {Row{"4 sept 2025", "2025-09-04"}, Row{"1st march 2026", "2026-03-01"}, Row{"2nd march 2026", "2026-03-02"}, Row{"3rd of march 2026", "2026-03-03"},
                           Row{"the 4th of March", "2026-03-04"}, Row{"4 march 26", "2026-03-04"}, Row{"wed 4 march 2026", "2026-03-04"}, Row{"tue 4 march 2026", a_day},
                           Row{"march march 4 2026", a_day}, Row{"mon tue 3 march 2026", a_day}, Row{"th march 4 2026", a_day}, Row{"march 100 2026", a_day},
                           Row{"123 march 26", a_day}, Row{"4 march 226", a_day}, Row{"4 5 6 march", a_day}, Row{"march", a_day}, Row{"30 february", a_day},
                           Row{"4 smarch 2026", a_day}}) {
      CAPTURE(row.typed);
      const auto r = parse_day(row.typed, today);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().instead == row.meant);
    }
  }

  TEST_CASE("digits alone are the days that they can be, in the order of the book where it has one") {
    for (const Row& row : {Row{"20260304", "2026-03-04"}, Row{"03032026", "2026-03-03"}, Row{"2026", a_day}, Row{"12345", a_day}, Row{"99999999", a_day}}) {
      CAPTURE(row.typed);
      CHECK(parse_day(row.typed, today).refusal().instead == row.meant);
    }
    CHECK(parse_day("04032026", today).refusal().instead == "2026-03-04 or 2026-04-03");
    CHECK(parse_day("04032026", today, DateOrder::day_first).refusal().instead == "2026-03-04");
    CHECK(parse_day("04032026", today, DateOrder::month_first).refusal().instead == "2026-04-03");
  }

  TEST_CASE("days and weeks ago, and weekdays in other words, are as they are typed") {
    for (const Row& row : {Row{"3 days ago", "-3d"}, Row{"3 d ago", "-3d"}, Row{"1 day ago", "-1d"}, Row{"1 week ago", "-7d"}, Row{"2 weeks ago", "-14d"}, Row{"-2 w", "-14d"},
                           Row{"two days ago", a_day}, Row{"2 fortnights ago", a_day}, Row{"6000 weeks ago", a_day}, Row{"40000 days ago", a_day},
                           Row{"past monday", "mon"}, Row{"last thursday", "-7d"}, Row{"on tues", "tue"}, Row{"next monday", a_day}, Row{"last mo", a_day},
                           Row{"day before yesterday", "-2d"}, Row{"the day before yesterday", "-2d"}}) {
      CAPTURE(row.typed);
      const auto r = parse_day(row.typed, today);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().instead == row.meant);
    }
  }

  TEST_CASE("a time behind a day goes into an option of its own") {
    for (const Row& row : {Row{"2026-03-04T10:00", "2026-03-04 with --at 10:00"}, Row{"2026-03-04t10:00", "2026-03-04 with --at 10:00"}, Row{"2026-03-04 10:00", "2026-03-04 with --at 10:00"},
                           Row{"2026-03-04T10:00:30", "2026-03-04 with --at 10:00"}, Row{"2026-03-04T10:00:30Z", "2026-03-04 with --at 10:00+00:00"}, Row{"2026-03-04x10:00", a_day},
                           Row{"2026-03-04T10:00x00", a_day}, Row{"2026-03-04T25:00", a_day}}) {
      CAPTURE(row.typed);
      const auto r = parse_day(row.typed, today);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().instead == row.meant);
    }
  }

  TEST_CASE("a page that was pasted is no day and no month") {
    const std::string page(70, 'a');
    CHECK(parse_day(page, today).refusal().instead == a_day);
    CHECK(parse_month(page, today).refusal().instead == "a month like 2026-03");
  }

  TEST_CASE("a time of day is what another person would read in it") {
    for (const Row& row : {Row{"9am", "09:00"}, Row{"9 a.m.", "09:00"}, Row{"9 p.m.", "21:00"}, Row{"9.30", "09:30"}, Row{"0930", "09:30"}, Row{"9h", "09:00"}, Row{"9h30", "09:30"},
                           Row{"9:30:15", "09:30"}, Row{"9:30:xx", a_time}, Row{"9.", a_time}, Row{"9:0", "09:00"}, Row{"9:4", "09:04 or 09:40"}, Row{"9:4am", a_time},
                           Row{"noon", "12:00"}, Row{"midday", "12:00"}, Row{"0 pm", a_time}, Row{"13 am", a_time}, Row{"12am", "12:00 or 00:00"}, Row{"12:30am", "00:30"},
                           Row{"12:30pm", "12:30"}, Row{"24:10", "00:10 of the next day"}, Row{"25:10", a_time}, Row{"24:70", a_time}}) {
      CAPTURE(row.typed);
      const auto r = parse_minute(row.typed);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().instead == row.meant);
    }
    for (const Row& row : {Row{"9.30Z", "09:30+00:00"}, Row{"9.30z", "09:30+00:00"}, Row{"9.30-00:00", "09:30+00:00"}, Row{"9.30+1", "09:30+01:00"}}) {
      CAPTURE(row.typed);
      const auto r = parse_time(row.typed);
      REQUIRE_FALSE(r.ok());
      CHECK(r.refusal().instead == row.meant);
    }
  }
}
