// "Every six months" and "in three days" against other people's programs: dateutil's relativedelta and rrule, libical's recurrence rules,
// Python's zoneinfo. The convention itself stands in docs/due-days.md.
#include <baybook/calendar.hpp>

#include <doctest/doctest.h>

#include <unistd.h>

#include <array>
#include <cstdio>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <string>
#include <vector>

namespace {

using namespace baybook;

/// What the system's own Python prints (Debian's dateutil and zoneinfo), one process for all cases.
std::string python_says(const std::string& script) {
  std::string name = (std::filesystem::temp_directory_path() / "baybook-months-XXXXXX").string();
  const int fd = ::mkstemp(name.data());
  REQUIRE(fd >= 0);
  ::close(fd);
  std::ofstream(name) << script;
  FILE* pipe = ::popen(("/usr/bin/python3 " + name + " 2>&1").c_str(), "r");
  REQUIRE(pipe != nullptr);
  std::string out;
  std::array<char, 65536> part{};
  while (const std::size_t n = std::fread(part.data(), 1, part.size(), pipe)) out.append(part.data(), n);
  const int status = ::pclose(pipe);
  ::unlink(name.c_str());
  INFO("python3-dateutil and libical are needed as second opinions; tests/run.sh installs them");
  INFO(out.substr(0, 2000));
  REQUIRE(status == 0);
  return out;
}

Day the_day(std::string_view iso) {
  const auto read = read_day(iso);
  REQUIRE(read.has_value());
  return *read;
}
Instant the_instant(std::string_view iso) {
  const auto read = read_instant(iso);
  REQUIRE(read.has_value());
  return *read;
}
Day day_there(Instant instant, std::string_view zone) {
  const auto local = local_day(instant, zone);
  REQUIRE(local.ok());
  return local->day;
}

std::string dates(const std::vector<Day>& days) {
  std::string out;
  for (const Day d : days) out += (out.empty() ? "" : " ") + to_string(d);
  return out;
}
/// Each time counted anew from the day on which it was done.
std::vector<Day> from_the_anchor(Day anchor, int every, int times) {
  std::vector<Day> out;
  for (int k = 0; k < times; ++k) out.push_back(add_months(anchor, k * every));
  return out;
}
/// Each from the one before, clamped: what ours is not.
std::vector<Day> step_by_step(Day anchor, int every, int times) {
  std::vector<Day> out{anchor};
  while (static_cast<int>(out.size()) < times) out.push_back(add_months(out.back(), every));
  return out;
}
std::string day_of_month(Day day) { return to_string(day).substr(8); }

}  // namespace

TEST_SUITE("quantity/month arithmetic") {
  TEST_CASE("any day and 1 to 36 months, later and earlier, is the day that dateutil's relativedelta finds") {
    // Years around common and leap ones, and around the two century years that have no leap day.
    std::istringstream other(python_says(R"py(
import datetime
from dateutil.relativedelta import relativedelta
epoch = datetime.date(1970, 1, 1)
for first, last in ((1899, 1900), (2023, 2028), (2099, 2100)):
    anchor = datetime.date(first, 1, 1)
    while anchor.year <= last:
        for months in (*range(1, 37), -1, -6, -12, -36):
            print((anchor - epoch).days, months, (anchor + relativedelta(months=months) - epoch).days)
        anchor += datetime.timedelta(1)
)py"));
    std::int32_t anchor = 0;
    int months = 0;
    std::int32_t wanted = 0;
    int cases = 0;
    int wrong = 0;
    while (other >> anchor >> months >> wanted) {
      ++cases;
      const Day got = add_months(Day{anchor}, months);
      if (got == Day{wanted}) continue;
      if (++wrong <= 3) FAIL_CHECK(to_string(Day{anchor}) << " and " << months << " months: " << to_string(got) << ", dateutil " << to_string(Day{wanted}));
    }
    CHECK(wrong == 0);
    CHECK(cases == (2 * 365 + 6 * 365 + 2 + 2 * 365) * 40);
  }

  TEST_CASE("counted from the anchor the day of the month comes back, step by step it is lost") {
    CHECK(dates(from_the_anchor(the_day("2025-08-31"), 6, 5)) == "2025-08-31 2026-02-28 2026-08-31 2027-02-28 2027-08-31");
    CHECK(dates(step_by_step(the_day("2025-08-31"), 6, 5)) == "2025-08-31 2026-02-28 2026-08-28 2027-02-28 2027-08-28");
    CHECK(dates(from_the_anchor(the_day("2023-10-31"), 1, 6)) == "2023-10-31 2023-11-30 2023-12-31 2024-01-31 2024-02-29 2024-03-31");
    CHECK(dates(from_the_anchor(the_day("2024-02-29"), 12, 5)) == "2024-02-29 2025-02-28 2026-02-28 2027-02-28 2028-02-29");
    CHECK(dates(step_by_step(the_day("2024-02-29"), 12, 5)) == "2024-02-29 2025-02-28 2026-02-28 2027-02-28 2028-02-28");
  }

  TEST_CASE("libical finds the same days from a rule that clamps, RFC 7529 SKIP=BACKWARD, for every anchor that a month may lack") {
    std::istringstream other(python_says(R"py(
import ctypes, datetime
ical = ctypes.CDLL('libical.so.3')
assert ical.icalrecurrencetype_rscale_is_supported(), 'this libical was built without ICU'
expand = ical.icalrecur_expand_recurrence
expand.argtypes = [ctypes.c_char_p, ctypes.c_longlong, ctypes.c_int, ctypes.POINTER(ctypes.c_longlong)]
utc = datetime.timezone.utc
anchor = datetime.date(2023, 1, 1)
while anchor.year < 2025:
    if anchor.day >= 28:
        start = int(datetime.datetime.combine(anchor, datetime.time(), utc).timestamp())
        for every in (1, 3, 6, 12):
            found = (ctypes.c_longlong * 13)()
            assert expand(b'RSCALE=GREGORIAN;FREQ=MONTHLY;INTERVAL=%d;COUNT=13;SKIP=BACKWARD' % every, start, 13, found)
            print(anchor, every, *(datetime.datetime.fromtimestamp(t, utc).date() for t in found))
    anchor += datetime.timedelta(1)
)py"));
    std::string line;
    int lines = 0;
    int clamped = 0;
    while (std::getline(other, line)) {
      ++lines;
      std::istringstream words(line);
      std::string anchor;
      int every = 0;
      words >> anchor >> every;
      const auto ours = from_the_anchor(the_day(anchor), every, 13);
      CHECK(anchor + " " + std::to_string(every) + " " + dates(ours) == line);
      for (const Day d : ours) clamped += day_of_month(d) == day_of_month(ours.front()) ? 0 : 1;
    }
    CHECK(lines == 4 * (24 + 22 + 22 + 14 + 1));
    CHECK(clamped > 300);
  }

  TEST_CASE("a monthly rule of RFC 5545 leaves out the months that have no such day, and ours has a day in each") {
    // RFC 5545, 3.3.10: "Recurrence rules may generate recurrence instances with an invalid date ... such recurrence instances
    // MUST be ignored". dateutil's rrule does so: of our days it finds those that did not have to be clamped, and no other.
    std::istringstream other(python_says(R"py(
import datetime
from dateutil.rrule import rrule, MONTHLY
from dateutil.relativedelta import relativedelta
anchor = datetime.datetime(2023, 1, 1)
while anchor.year < 2025:
    for every in (1, 3, 6, 12):
        print(anchor.date(), every, *(d.date() for d in rrule(MONTHLY, interval=every, dtstart=anchor, until=anchor + relativedelta(months=60))))
    anchor += datetime.timedelta(1)
)py"));
    std::string line;
    int lines = 0;
    int left_out = 0;
    while (std::getline(other, line)) {
      ++lines;
      std::istringstream words(line);
      std::string anchor;
      int every = 0;
      words >> anchor >> every;
      const auto ours = from_the_anchor(the_day(anchor), every, 60 / every + 1);
      std::vector<Day> not_clamped;
      for (std::size_t k = 0; k < ours.size(); ++k) {
        CHECK(month_of(ours[k]).n == month_of(ours.front()).n + static_cast<int>(k) * every);
        if (day_of_month(ours[k]) == day_of_month(ours.front())) not_clamped.push_back(ours[k]);
        else ++left_out;
      }
      CHECK(anchor + " " + std::to_string(every) + " " + dates(not_clamped) == line);
    }
    CHECK(lines == (365 + 366) * 4);
    CHECK(left_out > 0);
    // A service every half year from the 31st of August would come once a year.
    CHECK(python_says(R"py(
import datetime
from dateutil.rrule import rrule, MONTHLY
print(*(d.date() for d in rrule(MONTHLY, interval=6, dtstart=datetime.datetime(2025, 8, 31), count=3)))
)py") == "2025-08-31 2026-08-31 2027-08-31\n");
  }
}

TEST_SUITE("quantity/days over the change of the clock") {
  TEST_CASE("around every change of the clock the day and the minute on the wall are those of Python's zoneinfo") {
    // Changes in the small hours, at midnight (Santiago, Cairo), of half an hour (Lord Howe), and a day left out altogether (Apia, 2011).
    std::istringstream other(python_says(R"py(
import datetime, zoneinfo
utc, hour, epoch = datetime.timezone.utc, datetime.timedelta(hours=1), datetime.date(1970, 1, 1)
for name, first, last in (('Europe/Lisbon', 2024, 2027), ('America/New_York', 2024, 2027), ('America/St_Johns', 2024, 2027), ('Australia/Lord_Howe', 2024, 2027),
                          ('America/Santiago', 2024, 2027), ('Africa/Cairo', 2024, 2027), ('Pacific/Apia', 2011, 2012), ('Etc/UTC', 2026, 2026)):
    zone = zoneinfo.ZoneInfo(name)
    at, changes = datetime.datetime(first, 1, 1, tzinfo=utc), 0
    while at.year <= last:
        if at.astimezone(zone).utcoffset() != (at + hour).astimezone(zone).utcoffset():
            changes += 1
            for quarter in range(-120, 120):
                near = at + quarter * hour / 4
                wall = near.astimezone(zone)
                print(name, int(near.timestamp()), (wall.date() - epoch).days, wall.hour * 60 + wall.minute, int(wall.utcoffset().total_seconds()))
        at += hour
    assert changes >= 2 * (last - first + 1) or name in ('Pacific/Apia', 'Etc/UTC'), (name, changes)
)py"));
    std::string zone;
    std::int64_t seconds = 0;
    std::int32_t day = 0;
    int minute = 0;
    std::int32_t offset = 0;
    int cases = 0;
    int wrong = 0;
    while (other >> zone >> seconds >> day >> minute >> offset) {
      ++cases;
      const auto ours = local_day(Instant{seconds * 1'000}, zone);
      REQUIRE(ours.ok());
      if (ours->day == Day{day} && ours->minute.n == minute && ours->offset_seconds == offset) continue;
      if (++wrong <= 3) FAIL_CHECK(zone << " " << to_string(Instant{seconds * 1'000}) << ": " << to_string(ours->day) << " " << to_string(ours->minute) << ", zoneinfo " << to_string(Day{day}) << " " << minute);
    }
    CHECK(wrong == 0);
    CHECK(cases >= 6 * 8 * 240);
  }

  TEST_CASE("a day of 23 or 25 hours is one day, so in three days over the change is three civil days and not 72 hours") {
    const auto hours_of = [](std::string_view iso, std::string_view zone) {
      int quarters = 0;
      const Day wanted = the_day(iso);
      for (std::int64_t quarter = -40 * 4; quarter < 64 * 4; ++quarter) {
        if (day_there(Instant{wanted.n * std::int64_t{86'400'000} + quarter * 900'000}, zone) == wanted) ++quarters;
      }
      return quarters / 4.0;
    };
    CHECK(hours_of("2026-03-28", "Europe/Lisbon") == 24);
    CHECK(hours_of("2026-03-29", "Europe/Lisbon") == 23);
    CHECK(hours_of("2026-10-25", "Europe/Lisbon") == 25);
    CHECK(hours_of("2026-03-08", "America/New_York") == 23);
    CHECK(hours_of("2026-11-01", "America/New_York") == 25);
    CHECK(hours_of("2026-04-05", "Australia/Lord_Howe") == 24.5);
    CHECK(hours_of("2026-10-04", "Australia/Lord_Howe") == 23.5);
    CHECK(hours_of("2011-12-30", "Pacific/Apia") == 0);

    struct Row {
      std::string_view zone, written, due, after_72_hours;
    };
    for (const Row& row : {Row{"Europe/Lisbon", "2026-03-28T23:30:00.000Z", "2026-03-31", "2026-04-01"}, Row{"Europe/Lisbon", "2026-10-24T23:30:00.000Z", "2026-10-28", "2026-10-27"},
                           Row{"America/New_York", "2026-03-08T04:30:00.000Z", "2026-03-10", "2026-03-11"}, Row{"America/New_York", "2026-11-01T04:30:00.000Z", "2026-11-04", "2026-11-03"}}) {
      CAPTURE(row.written);
      const Day day = day_there(the_instant(row.written), row.zone);
      CHECK(to_string(Day{day.n + 3}) == row.due);
      CHECK(to_string(day_there(Instant{the_instant(row.written).ms + 72 * std::int64_t{3'600'000}}, row.zone)) == row.after_72_hours);
    }
  }
}
