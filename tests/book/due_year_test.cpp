// A year of one shop, day by day. Time is passed in; the wall clock is never asked.
#include "support/due_shop.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

/// On which days of the year each line stood in the list of what is due within no days, that is today or over.
using Stood = std::map<std::string, std::vector<std::string>>;

std::string spans(const std::vector<std::string>& days) {
  std::string out;
  for (std::size_t i = 0; i < days.size(); ++i) {
    const bool begins = i == 0 || day(days[i]).n != day(days[i - 1]).n + 1;
    const bool ends = i + 1 == days.size() || day(days[i + 1]).n != day(days[i]).n + 1;
    if (begins) out += (out.empty() ? "" : " ") + days[i];
    if (begins && ends) continue;
    if (ends) out += ".." + days[i];
  }
  return out;
}

}  // namespace

TEST_SUITE("book/due/year") {
  TEST_CASE("through a year each item appears once, on the right day, goes when it is settled, and comes back when that is corrected away") {
    DueShop s;  // 2025-01-02
    s.read(10000);
    s.set(s.for_car(DueShop::every("inspection", 3)));
    s.set(s.for_car(DueShop::every("engine-oil", 12, 5000)));
    s.done("inspection", "2024-11-30");
    s.done("engine-oil", "2024-12-31", 9000);
    Deadline tank;
    tank.code = "tank-test";
    tank.due = day("2025-06-15");
    tank.every_months = 12;
    const DeadlineId tank_id{s.b.write(tank).entry.id.n};
    EntryId first_closing;
    std::optional<Receipt> wrong;
    // 30 km on every day of the year: what the odometer shows on a day is known.
    const auto shows = [](Day d) { return 10000 + 30 * std::int64_t{d.n - day("2025-01-02").n}; };
    const std::map<std::string, std::function<void()>> happens = {
        {"2025-01-10", [&] {
           const JobId job = s.open(shows(day("2025-01-10")));
           Recheck three;
           three.what = "coolant level";
           three.after_days = 3;
           Recheck fifty;
           fifty.what = "wheel nuts";
           fifty.after_distance = DueShop::km(50);
           first_closing = s.close(job, {three, fifty}).entry.id;
         }},
        {"2025-01-15", [&] {
           RecheckDone d;
           d.closing = first_closing;
           d.number = 2;
           s.b.write(d);
         }},
        {"2025-01-20", [&] {
           RecheckDone d;
           d.closing = first_closing;
           d.number = 1;
           wrong = s.b.write(d);
         }},
        {"2025-01-25", [&] { s.withdraw(*wrong); }},  // it was another car's coolant
        {"2025-01-28", [&] {
           RecheckDone d;
           d.closing = first_closing;
           d.number = 1;
           s.b.write(d);
         }},
        {"2025-03-05", [&] { s.done("inspection"); }},       // due since 2025-02-28: November 30 and three months
        {"2025-06-01", [&] {                                // put off before it is due on 2025-06-05
           PutOff p;
           p.car = s.car;
           p.task = "inspection";
           p.until = day("2025-06-20");
           p.why = "keeper abroad";
           s.b.write(p);
         }},
        {"2025-06-25", [&] { s.done("inspection"); }},
        {"2025-06-18", [&] {
           DeadlineDone d;
           d.deadline = tank_id;
           s.b.write(d);
         }},
        {"2025-07-10", [&] { s.change_oil(shows(day("2025-07-10"))); }},
    };
    Stood stood;
    for (Day today = day("2025-01-03"); today <= day("2026-01-02"); today.n += 1) {
      const std::string iso = to_string(today);
      s.at(iso);
      if (today.n % 10 == 0) s.read(shows(today));
      if (const auto it = happens.find(iso); it != happens.end()) it->second();
      const DueList l = s.shop(iso, 0);
      std::map<std::string, int> times;
      for (const DueLine& d : l.lines) {
        if (d.group == DueGroup::container) continue;
        const std::string name = d.group == DueGroup::car ? d.task : d.group == DueGroup::recheck ? d.what.substr(9) : d.about;
        if (times[name]++ == 0) stood[name].push_back(iso);
        CHECK_MESSAGE(times[name] == 1, name, " stands twice on ", iso);
        // Nothing stands before its day, and what stands on a later day is over, or about now when that day was the likely one; on the day itself
        // only when a reading says so.
        REQUIRE(d.day.has_value());
        CHECK(*d.day <= today);
        if (*d.day < today) CHECK((d.state == DueLine::State::over || d.about_now));
        else CHECK((d.state == DueLine::State::over ? name == "engine-oil" || name == "wheel nuts" : true));
        if (d.about_now) CHECK((d.projected && d.late.value_or(today) >= today));
      }
    }
    CHECK(spans(stood["inspection"]) == "2025-02-28..2025-03-04 2025-06-20..2025-06-24 2025-09-25..2026-01-02");
    CHECK(spans(stood["coolant level"]) == "2025-01-13..2025-01-19 2025-01-25..2025-01-27");
    CHECK(spans(stood["tank-test"]) == "2025-06-15..2025-06-17");
    // 9,000 km and 5,000 km more: 14,000 km are shown on day 134 after 2025-01-02, that is 2025-05-16; with one slow rate throughout the
    // projection is exact. The change of 2025-07-10 (15,670 km) asks for 20,670 km, shown on day 356, 2025-12-24; its 12 months come later.
    CHECK(spans(stood["engine-oil"]) == "2025-05-16..2025-07-09 2025-12-24..2026-01-02");
    // 50 km at 30 km a day are reached on the second day.
    CHECK(spans(stood["wheel nuts"]) == "2025-01-12..2025-01-14");
    CHECK(s.sound());
  }
}
