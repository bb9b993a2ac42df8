// Reports and notices that are owed on a day of the year. Each stands until it is on record as filed.
#include "book/limits.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

// The months of which the book has anything: before the first no duty is known.
std::optional<Month> first_month(store::Db& db) {
  auto q = db.query("SELECT min(month) FROM (SELECT min(month) AS month FROM tally UNION ALL SELECT min(month) FROM waste_tally) HAVING min(month) IS NOT NULL");
  return q.step() ? std::optional(Month{static_cast<std::int32_t>(q.num(0))}) : std::nullopt;
}

int year_of(Day day) { return month_of(day).n / 12 + 1970; }

// Months of that category among those from one to another, as far as they have come.
std::vector<Month> months_of(LimitSheet& sheet, Month from, Month until, int category) {
  std::vector<Month> out;
  const auto begun = first_month(sheet.in.db);
  if (!begun) return out;
  const Month last = std::min(until, month_of(sheet.day));
  for (Month m = std::max(from, *begun); m <= last; m.n += 1) {
    if (sheet.category(m) == category) out.push_back(m);
  }
  return out;
}

// "2025-03, 2025-07 and 4 more"
std::string listed(const std::vector<Month>& months) {
  constexpr std::size_t most = 3;
  std::string out;
  for (std::size_t i = 0; i < months.size() && i < most; ++i)
    out += (i > 0 ? ", " : "") + to_string(months[i]);
  if (months.size() > most) out += " and " + std::to_string(months.size() - most) + " more";
  return out;
}

struct Duty {
  std::string what;
  const RuleValue* rule = nullptr;  ///< the day of the year
  Day due;
  std::string_view filing;
  int period = 0;
  std::vector<Month> months{};  ///< why it is owed
  const char* as = "";          ///< "large"
};

void owe(LimitSheet& sheet, const Duty& d, const std::string& more) {
  const std::string period = std::to_string(d.period);
  if (d.months.empty() || filed_for(sheet.filings, d.filing, period) != nullptr) return;
  LimitLine& l = sheet.line("renewal", d.what, d.rule);
  l.due = d.due;
  l.state = state_of_day(d.due, sheet.day);
  l.figures = std::string(d.as) + " in " + listed(d.months) + "; " + more +
              days_left(d.due, sheet.day) + "; it stays until it is recorded as filed";
  l.settle = "baybook filing add " + std::string(d.filing) + " --period " + period +
             " --filed DATE";
}

// 40 CFR 262.41: the year before the one in which it is due, whoever was large in one month of it.
void biennial(LimitSheet& sheet) {
  const RuleValue* day = sheet.value("report.large.day");
  const RuleValue* first = sheet.value("report.large.first-year");
  const RuleValue* every = sheet.value("report.large.every-years");
  if (day == nullptr || first == nullptr || every == nullptr || every->n < 1) return;
  for (std::int64_t n = first->n; n <= year_of(sheet.day) + 1; n += every->n) {
    const int year = static_cast<int>(n);
    const Month january{(year - 1 - 1970) * 12};
    Duty d;
    d.what = "biennial report of a large quantity generator, for " + std::to_string(year - 1);
    d.rule = day;
    d.due = day_in_year(day->n, year);
    d.filing = kBiennialReport;
    d.period = year - 1;
    d.months = months_of(sheet, january, Month{january.n + 11}, 3);
    d.as = "large";
    owe(sheet, d, "");
  }
}

struct Cycle {
  const char* who;  ///< "small"
  int category;
  const RuleValue* day = nullptr;
  const RuleValue* every = nullptr;
  std::int64_t first = 0;
  std::string more{};
};

// By the months since the last such day; one month of another category does not hide it.
void notify_again(LimitSheet& sheet, const Cycle& c) {
  if (c.day == nullptr || c.every == nullptr || c.every->n < 1) return;
  for (std::int64_t n = c.first;; n += c.every->n) {
    const int year = static_cast<int>(n);
    const Day due = day_in_year(c.day->n, year);
    const Day before = day_in_year(c.day->n, static_cast<int>(n - c.every->n));
    if (before > sheet.day) return;
    // The month in which such a day lies is of the span that begins with it.
    const Month from = month_of(before);
    Duty d;
    d.what = std::string("re-notification of a ") + c.who + " quantity generator, for " +
             std::to_string(year);
    d.rule = c.day;
    d.due = due;
    d.filing = kReNotification;
    d.period = year;
    d.months = months_of(sheet, from, Month{month_of(due).n - 1}, c.category);
    d.as = c.who;
    owe(sheet, d, "every " + c.every->text + " years" + c.more + ", ");
  }
}

}  // namespace

void renewals(LimitSheet& sheet) {
  if (!sheet.us) return;
  biennial(sheet);
  Cycle small{"small", 2};
  small.day = sheet.value("renewal.small.day");
  small.every = sheet.value("renewal.small.every-years");
  if (const RuleValue* first = sheet.value("renewal.small.first-year")) {
    small.first = first->n;
    small.more = " since " + first->text;
    notify_again(sheet, small);
  }
  Cycle large{"large", 3};
  large.day = sheet.value("renewal.large.day");
  large.every = sheet.value("renewal.large.every-years");
  // Of each even year, 40 CFR 262.18(d)(2): those that the number of years divides.
  const RuleValue* first = sheet.value("report.large.first-year");
  if (large.every == nullptr || large.every->n < 1 || first == nullptr) return;
  large.first = (first->n + large.every->n - 1) / large.every->n * large.every->n;
  large.more = "; it may ride on the biennial report, and is recorded for itself";
  notify_again(sheet, large);
}

}  // namespace baybook::book
