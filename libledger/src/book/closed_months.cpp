#include "book/closed_months.hpp"

#include "book/circumstances.hpp"
#include "book/office.hpp"

#include <algorithm>
#include <limits>

namespace baybook::book {

using log::Kind;
using log::Value;

namespace {

constexpr std::int64_t kNever = std::int64_t{1} << 60;

bool can_change_figures(Kind kind) {
  return log::moves(kind) || kind == Kind::correction || kind == Kind::settle ||
         kind == Kind::peer || kind == Kind::rules || kind == Kind::determination ||
         kind == Kind::filing || kind == Kind::circumstance;
}

// Whether waste counts hangs on an event, on its notice and on its end.
bool is_of_an_event(Kind kind, const Value& details) {
  if (kind == Kind::filing) return details.str("what") == kEventNotice;
  if (kind != Kind::circumstance) return false;
  return details.str("what") == "event" ||
         (details.str("what") == "end" && details.str("of") == "event");
}

void add(ReachesBack& out, Kind kind, const Value& details, std::int64_t moment) {
  if (is_of_an_event(kind, details)) {
    out.all = true;
    return;
  }
  switch (kind) {
    case Kind::settle:
    case Kind::peer: out.all = true; return;
    case Kind::rules:
      out.from = std::min(out.from, log::first_moment(Day{static_cast<std::int32_t>(
                                        log::read_day_number(details.str("from")))}));
      return;
    // A closing is about a month and lies in another; what is erased is no figure.
    case Kind::close:
    case Kind::erasure: return;
    default:
      out.from = std::min(out.from, moment);
      out.on.push_back(month_of(log::day_of_moment(moment)));
  }
}

// What a correction is about, down to what was corrected in the end.
void add_targets(Book::Inside& in, const Value& details, std::int64_t origin, ReachesBack& out,
                 int depth) {
  for (const EntryId target : targets_of(details, origin)) {
    const auto row = log::read_row(in.db, target);
    if (!row) continue;
    const Value body = log::parse_body(row->body);
    const Value& of = body.at("details");
    if (row->kind != Kind::correction)
      add(out, row->kind, of, row->moment);
    else if (depth > 0)
      add_targets(in, of, target.origin(), out, depth - 1);
    else
      out.all = true;
  }
}

// What leaves the container of an event, and when, decides of the month in which it began.
void add_events(Book::Inside& in, std::int64_t moment, ReachesBack& out) {
  constexpr std::int32_t looked_back = 400;  // days: longer than any event, common practice, no source
  const Day day = log::day_of_moment(moment);
  for (const Spell& s : spells_until(in.db, std::numeric_limits<std::int64_t>::max())) {
    if (s.what == Circumstance::What::event && s.day <= day && s.day.n >= day.n - looked_back)
      out.from = std::min(out.from, log::first_moment(s.day));
  }
}

}  // namespace

ReachesBack reach_of(Book::Inside& in, const log::Built& built, const log::Effect& effect) {
  ReachesBack out;
  out.figures = can_change_figures(built.kind);
  out.from = kNever;
  // A correction of corrections is as deep as people are stubborn; beyond this all is looked at.
  constexpr int kDeep = 20;
  if (built.kind == Kind::correction)
    add_targets(in, built.details, in.known.own().origin, out, kDeep);
  else
    add(out, built.kind, built.details, effect.moment);
  if (log::moves(built.kind) || built.kind == Kind::correction)
    add_events(in, effect.moment, out);
  std::sort(out.on.begin(), out.on.end());
  out.on.erase(std::unique(out.on.begin(), out.on.end()), out.on.end());
  return out;
}

ClosedMonths::ClosedMonths(Book::Inside& in, ReachesBack reach) : reach_(std::move(reach)) {
  if (!reach_.all && reach_.from == kNever) return;
  {
    auto q = in.db.query(
        "SELECT month, entry FROM closed WHERE ?1 OR month >= ?2 ORDER BY month, moment, "
        "recorded, entry");
    const std::int64_t first = reach_.all ? 0 : month_of(log::day_of_moment(reach_.from)).n;
    q.bind(std::int64_t{reach_.all}).bind(first);
    while (q.step()) {
      const Month month{static_cast<std::int32_t>(q.num(0))};
      // Of two closings the earlier: its figures were given out first.
      if (before_.empty() || before_.back().month != month)
        before_.push_back({month, EntryId{q.num(1)}, {}});
    }
  }
  if (!reach_.figures) return;
  for (Before& b : before_) b.figures = figures_of(in, b.month);
}

std::vector<ClosedReach> ClosedMonths::since(const Book& book) const {
  Book::Inside& in = book.inside();
  std::vector<ClosedReach> out;
  for (const Before& b : before_) {
    ClosedReach r;
    r.month = b.month;
    r.entry = ref_of(in, b.entry);
    r.changes = reach_.figures && figures_of(in, b.month) != b.figures;
    const bool written_in =
        std::find(reach_.on.begin(), reach_.on.end(), b.month) != reach_.on.end();
    if (!r.changes && !written_in) continue;
    const auto now = closed_month(book, b.month);
    // With the entry that closed it gone, it is closed no more.
    if (now.ok() && !*now) continue;
    r.amended = !now.ok() || !(*now)->differences.empty() || (*now)->judged_now.has_value();
    out.push_back(std::move(r));
  }
  return out;
}

namespace {

std::string listed(const std::vector<std::string>& all) {
  std::string out;
  for (std::size_t i = 0; i < all.size(); ++i)
    out += (i == 0 ? "" : i + 1 == all.size() ? " and " : ", ") + all[i];
  return out;
}

// "2026-03 is closed (entry 40)", or several of them.
std::string closed_are(const Book::Inside& in, const std::vector<ClosedReach>& some) {
  constexpr std::size_t kNamed = 6;
  if (some.size() == 1)
    return to_string(some.front().month) + " is closed (entry " +
           entry_name(in, some.front().entry.id) + ")";
  if (some.size() > kNamed)
    return std::to_string(some.size()) + " months from " + to_string(some.front().month) + " to " +
           to_string(some.back().month) + " are closed";
  std::vector<std::string> months;
  std::vector<std::string> entries;
  for (const ClosedReach& r : some) {
    months.push_back(to_string(r.month));
    entries.push_back(entry_name(in, r.entry.id));
  }
  return listed(months) + " are closed (entries " + listed(entries) + ")";
}

}  // namespace

std::vector<std::string> told(const Book::Inside& in, const std::vector<ClosedReach>& closed) {
  std::vector<ClosedReach> amended;
  std::vector<ClosedReach> again;
  std::vector<ClosedReach> unchanged;
  for (const ClosedReach& r : closed)
    (!r.changes ? unchanged : r.amended ? amended : again).push_back(r);
  std::vector<std::string> out;
  const auto say = [&](const std::vector<ClosedReach>& some, const char* one, const char* many) {
    if (!some.empty()) out.push_back(closed_are(in, some) + ": " + (some.size() == 1 ? one : many));
  };
  say(amended, "this changes its figures, and what is printed of it from now on says AMENDED",
      "this changes their figures, and what is printed of them from now on says AMENDED");
  say(again, "with this its figures are again those of the closing",
      "with this their figures are again those of the closing");
  say(unchanged, "this changes none of its figures", "this changes none of their figures");
  return out;
}

}  // namespace baybook::book
