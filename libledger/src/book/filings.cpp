#include "book/filings.hpp"

#include "book/inside.hpp"
#include "book/kept_since.hpp"
#include "log/most.hpp"

#include <baybook/clock.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <limits>

namespace baybook::book {

using log::Built;
using log::Desk;
using log::Kind;

namespace {

/// What a filing of a name is for, is about, and is kept by.
struct Known {
  std::string_view name;
  enum class For : std::uint8_t { nothing, year, quarter } period;
  enum class About : std::uint8_t { nothing, pickup, event, firm } about;
  std::string_view kept;  ///< key of the rules; empty: the reference names no period
};
using For = Known::For;
using About = Known::About;

// Biennial and exception reports 40 CFR 262.40(b); what a receiver sends back, a carrier's and a
// receiver's own records: the registers of the UK and the Union.
constexpr Known kKnown[] = {
    {kBiennialReport, For::year, About::nothing, "retention.report.months"},
    {kReNotification, For::year, About::nothing, ""},
    {kExceptionReport, For::nothing, About::pickup, "retention.report.months"},
    {kEventNotice, For::nothing, About::event, ""},
    {kReturnReceived, For::quarter, About::firm, "retention.register.months"},
    {"carrier-record", For::nothing, About::nothing, "retention.carrier.months"},
    {"receiver-record", For::nothing, About::nothing, "retention.consignee.months"},
};

const Known* known(std::string_view name) {
  const auto* const end = std::end(kKnown);
  const auto* const it =
      std::find_if(std::begin(kKnown), end, [&](const Known& k) { return k.name == name; });
  return it == end ? nullptr : it;
}

bool in_cycle(const RuleValue* first, const RuleValue* every, int year) {
  return first != nullptr && every != nullptr && every->n > 0 && year >= first->n &&
         (year - first->n) % every->n == 0;
}

// The years in which the rules ask for it; empty: they do.
std::optional<Refusal> no_such_year(Office& office, Day day, std::string_view what, int year) {
  const RuleSet* rules = office.rules_on(day);
  const auto value = [&](const char* key) {
    return rules != nullptr ? rules->value(key, day) : nullptr;
  };
  const std::string said = std::string(what) + " for " + std::to_string(year);
  const auto refused = [&](std::string why, std::string instead) {
    return log::refuse(Code::not_allowed, said + " is none that the rules ask for", std::move(why),
                       std::move(instead));
  };
  if (what == kBiennialReport) {
    const RuleValue* first = value("report.large.first-year");
    const RuleValue* every = value("report.large.every-years");
    if (first == nullptr || every == nullptr)
      return refused("the rules of that day know no such report", "a name of your own for it");
    if (in_cycle(first, every, year + 1)) return std::nullopt;
    // The newest that is over.
    int newest = month_of(day).n / 12 + 1970 - 1;
    while (newest >= first->n && !in_cycle(first, every, newest + 1)) --newest;
    return refused("it is for the year before the one in which it is due: " + first->text +
                       " and every " + every->text + " years (" + first->source.section + ")",
                   "the year that the report is about, such as --period " +
                       std::to_string(newest));
  }
  const RuleValue* small = value("renewal.small.every-years");
  const RuleValue* large = value("renewal.large.every-years");
  if (small == nullptr && large == nullptr)
    return refused("the rules of that day know no such notice", "a name of your own for it");
  const RuleValue* first = value("renewal.small.first-year");
  const bool of_small = in_cycle(first, small, year);
  const bool of_large = large != nullptr && large->n > 0 && year % large->n == 0;
  if (of_small || of_large) return std::nullopt;
  return refused((first != nullptr ? "a small quantity generator's is due in " + first->text +
                                         " and every " + small->text + " years (" +
                                         first->source.section + ")"
                                   : std::string("no generator notifies in that year")) +
                     (large != nullptr ? ", a large one's in every even year (" +
                                             large->source.section + ")"
                                       : std::string()),
                 "the year in which it was due");
}

std::optional<Refusal> refuse_about(Book::Inside& in, const Known& k, EntryId about) {
  const std::string name(k.name);
  if (k.about == About::nothing && about.n != 0)
    return log::refuse(Code::wrong_usage, name + " is about no single entry",
                       "it is for a period, or stands by itself", "the same without --about");
  if (about.n == 0) {
    if (k.about != About::pickup && k.about != About::event) return std::nullopt;
    return log::refuse(Code::wrong_usage, name + " does not say which it is about",
                       k.about == About::pickup ? "it is about the paper of one pick-up"
                                                : "it is about one event",
                       k.about == About::pickup ? "--about PAPER, from `baybook pickup list --open`"
                                                : "--about ENTRY, from `baybook limits`");
  }
  const auto fact = log::find_fact(in.db, about);
  bool fits = false;
  if (fact && k.about == About::firm) fits = fact->kind == Kind::firm;
  if (fact && k.about == About::pickup)
    fits = fact->kind == Kind::movement && fact->details.str("verb") == "pickup";
  if (fact && k.about == About::event)
    fits = fact->kind == Kind::circumstance && fact->details.str("what") == "event";
  if (fits) return std::nullopt;
  return log::refuse(Code::not_allowed,
                     "entry " + entry_name(in, about) + " is no " +
                         (k.about == About::firm     ? "firm"
                          : k.about == About::pickup ? "pick-up"
                                                     : "episodic event"),
                     name + " is about one", "the entry that it is about");
}

std::optional<Refusal> refuse_period(const Known& k, const std::string& typed) {
  const std::string name(k.name);
  const auto period = read_period(typed);
  const bool year = k.period == For::year;
  if (k.period == For::nothing) {
    if (typed.empty()) return std::nullopt;
    return log::refuse(Code::wrong_usage, name + " is for no period", "",
                       "the same without --period");
  }
  if (period && (period->quarter == 0) == year) return std::nullopt;
  return log::refuse(
      typed.empty() ? Code::wrong_usage : Code::unclear,
      typed.empty() ? name + " does not say for which " + (year ? "year" : "quarter")
                    : "\"" + visible(typed) + "\" is no " + (year ? "year" : "quarter"),
      year ? "it is for one year" : "it is for one quarter",
      year ? "--period YEAR, such as 2025" : "--period QUARTER, such as 2026-q1");
}

// A report is about days that are over, and a notice is of the years that began with the last one.
std::optional<Refusal> too_early(Office& office, const Filing& d, const Period& period) {
  const auto refused = [&](Day first, const std::string& why) {
    return log::refuse(Code::not_allowed,
                       d.what + " for " + to_string(period) + " filed on " + to_string(d.on) +
                           " is before " + to_string(first),
                       why, "the period that it was for, or the day on which it was filed");
  };
  if (d.what != kReNotification) {
    const int months = period.quarter == 0 ? 12 : period.quarter * 3;
    const Day over = first_of(Month{(period.year - 1970) * 12 + months});
    if (d.on >= over) return std::nullopt;
    return refused(over, "what it is about was not over then");
  }
  const RuleSet* rules = office.rules_on(d.on);
  const RuleValue* day = rules->value("renewal.small.day", d.on);
  const RuleValue* first = rules->value("renewal.small.first-year", d.on);
  const RuleValue* every = rules->value("renewal.small.every-years", d.on);
  if (!in_cycle(first, every, period.year) || day == nullptr) {
    day = rules->value("renewal.large.day", d.on);
    every = rules->value("renewal.large.every-years", d.on);
  }
  if (day == nullptr || every == nullptr) return std::nullopt;
  const Day last = day_in_year(day->n, period.year - static_cast<int>(every->n));
  if (d.on > last) return std::nullopt;
  return refused(Day{last.n + 1}, "that was before the years that it is for began");
}

// Where the rules name one way, how a report was filed decides whether it was.
std::optional<Refusal> refuse_way(Office& office, const Filing& d) {
  if (d.what != kExceptionReport || d.way != Filing::Way::unsaid) return std::nullopt;
  const RuleSet* rules = office.rules_on(d.on);
  const RuleValue* way = rules != nullptr ? rules->value("paper.report-way", d.on) : nullptr;
  if (way == nullptr) return std::nullopt;
  return log::refuse(Code::wrong_usage, "how was it filed?",
                     "on that day a report is filed " + way->text + " (" + way->source.section +
                         ")",
                     "--electronic; or --on-paper, which is put on record and settles nothing");
}

std::optional<Refusal> refuse_days(const Desk& desk, const Filing& d) {
  const Day today = log::day_of_moment(desk.effect.moment);
  if (d.on > today)
    return log::refuse(Code::not_allowed,
                       "filed on " + to_string(d.on) + ", which is after the day of the entry, " +
                           to_string(today),
                       "only what was done is put on record", "the day on which it was filed");
  if (d.on >= add_months(today, -12 * kYearsBack)) return std::nullopt;
  return log::refuse(Code::not_allowed,
                     "filed on " + to_string(d.on) + " is more than " +
                         std::to_string(kYearsBack) + " years before the day of the entry",
                     "a day so long past was not filled in, or is a slip (common practice, no "
                     "source)",
                     "the day that it is");
}

}  // namespace

std::optional<Period> read_period(std::string_view text) {
  const bool quarter = text.size() == 7 && text.substr(4, 2) == "-q";
  if (text.size() != 4 && !quarter) return std::nullopt;
  const auto first = read_day(std::string(text.substr(0, 4)) + "-01-01");
  if (!first) return std::nullopt;
  Period out;
  out.year = month_of(*first).n / 12 + 1970;
  if (!quarter) return out;
  out.quarter = text[6] - '0';
  return out.quarter >= 1 && out.quarter <= 4 ? std::optional(out) : std::nullopt;
}

std::string to_string(const Period& p) {
  return std::to_string(p.year) + (p.quarter == 0 ? "" : "-q" + std::to_string(p.quarter));
}

Result<Built> build_filing(Book::Inside& in, Desk& desk, const Filing& draft) {
  auto what = clean_code(draft.what, "filing");
  if (!what.ok()) return std::move(what).refusal();
  Filing d = draft;
  d.what = *what;
  Office office(in);
  if (const Known* k = known(d.what)) {
    if (auto no = refuse_period(*k, d.period)) return std::move(*no);
    if (auto no = refuse_about(in, *k, d.about)) return std::move(*no);
    const auto period = read_period(d.period);
    if (k->period == For::year) {
      if (auto no = no_such_year(office, d.on, d.what, period->year)) return std::move(*no);
    }
    if (period) {
      if (auto no = too_early(office, d, *period)) return std::move(*no);
    }
    if (auto no = refuse_way(office, d)) return std::move(*no);
  } else {
    // A slip in a known name would settle nothing.
    std::vector<std::string> names;
    for (const Known& each : kKnown) names.emplace_back(each.name);
    const auto near = near_names(d.what, names);
    if (!near.empty())
      return log::refuse(Code::unclear, "there is no filing named " + d.what,
                         "near it: " + near.front(),
                         near.front() + ", or a name of your own that is not so near to it");
    if (!d.period.empty() && !read_period(d.period))
      return log::refuse(Code::unclear, "\"" + visible(d.period) + "\" is no period",
                         "a filing is for a year or a quarter, or for none",
                         "--period 2025, or 2026-q1");
  }
  if (auto no = refuse_days(desk, d)) return std::move(*no);
  for (const FilingRow& f : filings_until(in.db, desk.effect.moment)) {
    const bool same = f.what == d.what && f.period == d.period && f.about == d.about && f.on == d.on;
    const bool settled = known(d.what) != nullptr && f.what == d.what && f.period == d.period &&
                         f.about == d.about && way_counts(office, f) &&
                         (!d.period.empty() || d.about.n != 0);
    if (same || settled)
      return log::refuse(Code::already_there,
                         f.what + (f.period.empty() ? "" : " " + f.period) +
                             " is on record already, filed on " + to_string(f.on),
                         "entry " + entry_name(in, f.entry),
                         "baybook entry " + entry_name(in, f.entry));
  }
  Built out;
  out.kind = Kind::filing;
  out.details["what"] = d.what;
  if (!d.period.empty()) out.details["period"] = d.period;
  out.details["filed"] = to_string(d.on);
  if (d.about.n != 0) out.details["about"] = log::write_ref(d.about.n, desk.known);
  if (d.way != Filing::Way::unsaid)
    out.details["way"] = d.way == Filing::Way::paper ? "paper" : "electronic";
  if (auto ok = log::keep(out, "note", d.note); !ok.ok()) return std::move(ok).refusal();
  if (d.what == kExceptionReport &&
      !way_counts(office, {{}, d.what, {}, d.on, d.about, d.way == Filing::Way::paper}))
    out.warnings.emplace_back(
        "a report on paper settles nothing on that day: the rules name one other way");
  return out;
}

std::vector<FilingRow> filings_until(store::Db& db, std::int64_t moment) {
  std::vector<FilingRow> out;
  auto q = db.query(
      "SELECT task, entry, day, metres, minutes FROM task_done WHERE car = 0 AND moment <= ? "
      "ORDER BY task, moment, recorded, entry");
  q.bind(moment);
  while (q.step()) {
    const std::string task = q.text(0);
    const std::size_t blank = task.find(' ');
    out.push_back({EntryId{q.num(1)}, task.substr(0, blank), task.substr(blank + 1),
                   Day{static_cast<std::int32_t>(q.num(2))}, EntryId{q.num(3)}, q.num(4) != 0});
  }
  return out;
}

const FilingRow* filed_for(const std::vector<FilingRow>& all, std::string_view what,
                           std::string_view period) {
  const auto it = std::find_if(all.begin(), all.end(), [&](const FilingRow& f) {
    return f.what == what && f.period == period;
  });
  return it == all.end() ? nullptr : &*it;
}

const FilingRow* filed_about(const std::vector<FilingRow>& all, std::string_view what,
                             EntryId about) {
  const auto it = std::find_if(all.begin(), all.end(), [&](const FilingRow& f) {
    return f.what == what && f.about == about;
  });
  return it == all.end() ? nullptr : &*it;
}

bool way_counts(Office& office, const FilingRow& f) {
  if (f.what != kExceptionReport || !f.by_paper) return true;
  const RuleSet* rules = office.rules_on(f.on);
  return rules == nullptr || rules->value("paper.report-way", f.on) == nullptr;
}

Day day_in_year(std::int64_t day_of_year, int year) {
  const Month month{static_cast<std::int32_t>((year - 1970) * 12 + day_of_year / 100 - 1)};
  return Day{static_cast<std::int32_t>(first_of(month).n + day_of_year % 100 - 1)};
}

int category_of_pickup(Office& office, EntryId pickup, Day day,
                       const std::function<int(Month)>& category) {
  int most = category(month_of(day));
  std::vector<std::int64_t> sources;
  {
    auto q = office.in().db.query("SELECT DISTINCT source FROM flow WHERE entry = ? AND target = 4");
    q.bind(pickup.n);
    while (q.step()) sources.push_back(q.num(0));
  }
  const std::int64_t before = log::row_of(office.in().db, pickup).moment - 1;
  for (const std::int64_t place : sources) {
    // A filling that began at the very moment is of the month of the pick-up.
    const auto since = kept_since(office.in(), PlaceId{place}, before);
    if (!since) continue;
    for (Month m = month_of(*since); m < month_of(day); m.n += 1)
      most = std::max(most, category(m));
  }
  return most;
}

std::optional<KeptFiling> kept_filing(Office& office, const FilingRow& f) {
  const Known* k = known(f.what);
  if (k == nullptr || k->kept.empty()) return std::nullopt;
  const RuleSet* rules = office.rules_on(f.on);
  if (rules == nullptr) return std::nullopt;
  const RuleValue* rule = rules->value(k->kept, f.on);
  if (rule == nullptr) return std::nullopt;
  KeptFiling out{rule, f.on};
  if (f.what == kBiennialReport) {
    const auto period = read_period(f.period);
    const RuleValue* due = rules->value("report.large.day", f.on);
    if (period && due != nullptr) out.start = day_in_year(due->n, period->year + 1);
  }
  if (f.what == kExceptionReport) {
    const auto row = log::read_row(office.in().db, f.about);
    if (!row) return out;
    const Day day = log::day_of_moment(row->moment);
    const int c = category_of_pickup(office, f.about, day,
                                     [&](Month m) { return category_of(office, m); });
    const RuleSet* then = office.rules_on(day);
    const char* key = c == 3 ? "paper.large.report-days" : "paper.small.report-days";
    const RuleValue* days = then != nullptr ? then->value(key, day) : nullptr;
    if (days != nullptr) out.start = Day{static_cast<std::int32_t>(day.n + days->n)};
  }
  return out;
}

}  // namespace baybook::book

namespace baybook {

Result<std::vector<FilingView>> filings(const Book& b) {
  return book::guarded<std::vector<FilingView>>([&]() -> Result<std::vector<FilingView>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    std::vector<FilingView> out;
    for (const book::FilingRow& f :
         book::filings_until(in.db, std::numeric_limits<std::int64_t>::max())) {
      FilingView v;
      v.entry = book::ref_of(in, f.entry);
      v.what = f.what;
      v.period = f.period;
      v.filed = f.on;
      if (f.about.n != 0) v.about = book::ref_of(in, f.about);
      v.note = log::private_text(in.db, f.entry, "note");
      out.push_back(std::move(v));
    }
    return out;
  });
}

}  // namespace baybook
