// What must happen next, by when, and why: for cars, for faults that must not come back, for containers and for papers.
//
// Days are days on the wall of the site. A day by distance or engine hours is projected from the readings, with a range that is meant to hold
// it four times in five (docs/projection.md). Month arithmetic counts from when the task was last done and clamps to the month's end
// (docs/due-days.md). An aid: the maker's booklet, the competent authority and local codes come first.
#pragma once

#include <baybook/book.hpp>
#include <baybook/export.hpp>
#include <baybook/reports.hpp>
#include <baybook/returns.hpp>

#include <optional>
#include <string>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

enum class DueGroup : std::uint8_t { car, recheck, container, paper };
[[nodiscard]] std::string_view name_of(DueGroup group) noexcept;  ///< "car", "recheck", "container", "paper"

struct DueLine {
  DueGroup group = DueGroup::car;
  /// over: past its day, or past the reading; of a projected day past the late end of its range.
  /// soon: within the days asked for, or `about_now`.
  enum class State : std::uint8_t { over, soon, later, no_day } state = State::later;
  bool about_now = false;            ///< the likely day has passed, the late end of its range not yet
  std::optional<Day> day{};          ///< last day in time; of a projection the likely one
  std::optional<Day> early{}, late{};  ///< the range of a projected day; late may be open
  bool projected = false;            ///< the day is worked out from readings
  /// How wide the range is drawn, in percent of one by the car's spread alone; 0: no range.
  int width_percent = 0;
  std::string about;                 ///< plate, "17/2", place or paper: what a person asks for it by
  std::string task{};                ///< of a car: "engine-oil"
  std::string what;                  ///< "MARSH-07 engine-oil", "coolant level", "drum-solvent/3, used solvent"
  std::string why;                   ///< "every 12 months or 15000 km, last done 2026-01-05 (entry 41)"
  std::string figures;               ///< "at 88210 km, due 90000 km"
  std::string source;                ///< of the interval, or the section of the rules
  std::string note;                  ///< slips, a code that came back, how sure a section is
  std::string settle;                ///< the verb that settles it
  std::vector<EntryRef> entries{};   ///< that made it, the first one first
  std::string key;                   ///< the same in every run and no personal data: for calendars
  std::string bare;                  ///< `what` without personal data
  std::optional<CarId> car{};
};

struct DueFilter {
  int within = 30;                   ///< days ahead; over and without a day are listed too
  std::optional<CarId> car{};        ///< only this car: all its lines, however far
  std::optional<DueGroup> group{};
  bool as_of = false;                ///< the book as it stood at the end of `today`: worked out anew, schedules as they are now
  std::size_t most = 1000;           ///< lines of cars and rechecks
};
/// How wide the ranges of a list are drawn before a car's own readings make its own wider or
/// narrower, and by what.
struct DueRange {
  std::int64_t cars = 0;             ///< with five readings or more that were walked forward
  std::int64_t forecasts = 0;        ///< readings of theirs, each foretold from those before it
  int percent = 0;                   ///< of a range by a car's spread alone; 0: no day is projected
  std::string told{};                ///< the same as a sentence; empty: no day is projected
};
struct DueList {
  Day day;                           ///< today
  int within = 30;
  std::vector<DueLine> lines{};      ///< over first, then what is about now, by day, then those without a day
  std::int64_t over = 0;             ///< lines that are over
  std::int64_t about_now = 0;        ///< lines that are about now
  DueRange range{};
  std::int64_t no_day = 0;           ///< tasks of cars of which no day is known; listed only for one car
  bool cut = false;                  ///< there are more than `most`
  std::string rules, aid;            ///< the rules of the day, and how far they go; empty without any
  /// What is said with the list wherever it is shown, a sentence each: that it is an aid, and how a
  /// task of it is begun safely. Never empty.
  std::vector<std::string> cautions{};
  std::string seal;
};
/// What is due, as the book stands, on `today`. Reads derived rows by their day: the cars that are not due are not looked at.
[[nodiscard]] Result<DueList> due_list(const Book& book, Day today, const DueFilter& filter);

/// A schedule as it holds.
struct ScheduleView {
  EntryRef entry;
  std::string name;                  ///< empty: set by hand for a car
  std::string about;                 ///< plate of the car it was set for
  std::vector<Interval> intervals{};
  std::vector<std::string> limits{};   ///< of each interval, "every 12 months or 15000 km"
  std::vector<std::string> scopes{};   ///< of each interval, "Corvane Tern, 2010 to last"
  std::int64_t cars = 0;             ///< cars that one of them holds for
};
[[nodiscard]] Result<std::vector<ScheduleView>> schedules(const Book& book, std::optional<CarId> car = {});
/// Reads a schedule file (docs/what-is-due.md). Refuses with unclear (`name:line:column: text`) what is not one, and a car that is not in
/// the book.
[[nodiscard]] Result<Schedule> read_schedule(const Book& book, std::string_view text, std::string_view file_name);
/// Reads `12mo`, `2y`, `15000km`, `250h` into an interval. Refuses with unclear, and a limit that is there already.
[[nodiscard]] Result<Done> add_limit(Interval& interval, std::string_view text, const Units& units);
/// `1250h`, `1250.5 h`: minutes. Refuses with unclear.
[[nodiscard]] Result<std::int64_t> parse_hours(std::string_view text);

/// A code that came back after a job had cleared it.
struct Comeback {
  CarId car;
  std::string plate, code;
  EntryRef entry;                    ///< where it was read again
  std::string job;                   ///< on which job, "21"
  Day day;
  EntryRef cleared;                  ///< what cleared it
  std::string cleared_job;
  Day cleared_day;
  std::optional<std::int64_t> metres{};   ///< driven between the two, by the readings
  std::vector<std::string> parts{};       ///< numbers fitted in the job that cleared it
  std::vector<std::string> kinds{};       ///< kinds of work of that job, or its words where no kind was said
};
[[nodiscard]] Result<std::vector<Comeback>> comebacks(const Book& book, std::optional<CarId> car = {}, AsOf as_of = {});

/// Rechecks of a job that nobody has looked at yet: `17/2`, or `17` when it has one.
struct RecheckRef {
  EntryId closing;
  int number = 1;
  std::string name;                  ///< "17/2"
  CarId car;
};
/// The job is asked for as find_job does.
[[nodiscard]] Result<RecheckRef> find_recheck(const Book& book, std::string_view text,
                                              Match how = Match::exact);

}  // namespace baybook
BAYBOOK_API_END
