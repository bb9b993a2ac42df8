// Standing limits, clocks and deadlines as they stand on a day: each kind adds its lines, the nearest come first.
#include "book/asked.hpp"
#include "book/limits.hpp"
#include "book/own_transport.hpp"
#include "book/spills.hpp"
#include "quantity/decimal.hpp"

#include <algorithm>
#include <tuple>

namespace baybook {

namespace book {

LimitSheet::LimitSheet(Book::Inside& book, Day on) : in(book), office(book), day(on) {
  out.day = day;
  rules = office.rules_on(day);
  if (rules != nullptr) {
    out.rules = rules->name;
    out.rules_digest = rules->digest;
    out.aid = rules->aid;
  }
  us = rules != nullptr && rules->scheme == "us";
  filings = filings_until(in.db, log::last_moment(day));
  spells = spells_until(in.db, log::last_moment(day));
  events = events_on(office, day);
}

int LimitSheet::category(Month month) {
  const auto it = categories_.find(month.n);
  if (it != categories_.end()) return it->second;
  return categories_[month.n] = category_of(office, month);
}

LimitSheet::OfMonth LimitSheet::category_between(Day from, Day until) {
  OfMonth most{0, month_of(from)};
  for (Month m = month_of(from); m <= month_of(until); m.n += 1) {
    if (const int c = category(m); c > most.category) most = {c, m};
  }
  return most;
}

LimitLine& LimitSheet::line(const char* group, std::string what, const RuleValue* rule) {
  LimitLine l;
  l.group = group;
  l.what = std::move(what);
  if (rule != nullptr) {
    l.section = rule->source.section;
    l.sure = rule->source.sure;
  }
  out.lines.push_back(std::move(l));
  return out.lines.back();
}

bool near_limit(std::int64_t n, std::int64_t limit) {
  // In 128 bits: a limit of a shop's own file may be any.
  return static_cast<quantity::i128>(n) * 100 >= static_cast<quantity::i128>(limit) * kNearPercent;
}

State state_of_day(Day due, Day today) { return due < today ? State::over : due.n - today.n <= kNearDays ? State::near : State::fine; }

std::string days_left(Day due, Day today) {
  const int n = due.n - today.n;
  const std::string days = std::to_string(n < 0 ? -n : n) + ((n == 1 || n == -1) ? " day" : " days");
  return n < 0 ? days + " over" : n == 0 ? "today is the last day" : days + " left";
}

namespace {

Limits work_out(Book::Inside& in, Day day) {
  LimitSheet sheet(in, day);
  read_on_hand(sheet);
  if (sheet.us) {
    sheet.out.category = sheet.category(month_of(day));
    sheet.out.category_title = returns::category_title(*sheet.rules, day, sheet.out.category);
  }
  undecided_pans(sheet);
  if (sheet.rules != nullptr) {
    if (sheet.us) {
      weight_on_site(sheet);
      acute_on_site(sheet);
      satellites(sheet);
      acute_satellites(sheet);
      episodic_events(sheet);
    }
    container_clocks(sheet);
    counts(sheet);
    oil_plan(sheet);
    off_specification(sheet);
    oil_storage(sheet);
    inspections(sheet);
    renewals(sheet);
    returns_to_come(sheet);
    registrations(sheet);
    spills(sheet);
    own_transport(sheet);
    kept_records(sheet);
  }
  unreturned_papers(sheet);
  enforcement_holds(sheet);
  own_deadlines(sheet);
  // What is over and has no day is over now: it comes before all days.
  const auto over_now = [](const LimitLine& x) { return !x.due && x.state == State::over; };
  const auto nearer = [&](const LimitLine& a, const LimitLine& b) {
    if (over_now(a) != over_now(b)) return over_now(a);
    if (a.due.has_value() != b.due.has_value()) return a.due.has_value();
    if (a.due && *a.due != *b.due) return *a.due < *b.due;
    if (!a.due && a.state != b.state) return a.state > b.state;
    return std::tie(a.group, a.what) < std::tie(b.group, b.what);
  };
  std::sort(sheet.out.lines.begin(), sheet.out.lines.end(), nearer);
  std::sort(sheet.out.keep.begin(), sheet.out.keep.end(), nearer);
  return std::move(sheet.out);
}

}  // namespace

}  // namespace book

Result<Limits> limits(const Book& b, Day day) {
  day = book::asked(day);
  return book::guarded<Limits>([&]() -> Result<Limits> {
    store::Snapshot snapshot(b.inside().db);
    return book::work_out(b.inside(), day);
  });
}

}  // namespace baybook
