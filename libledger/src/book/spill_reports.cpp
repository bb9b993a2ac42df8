// Where a spill's comparison is read again: by itself, among the limits, in a month's totals.
#include "book/spills.hpp"
#include "book/views.hpp"

#include "log/most.hpp"

#include <algorithm>

namespace baybook {

using book::guarded;

namespace book {

namespace {

using Compared = SpillComparison::State;

// A window reaches a day to both sides, and a day without a time of day one further.
constexpr int kAround = 2;

const Spill* find(const Spills& all, EntryId id) {
  for (const Spill& s : all.all()) {
    if (s.id == id) return &s;
  }
  return nullptr;
}

// The report, or the note why none was due, lies with the spill.
bool has_paper(Book::Inside& in, EntryId spill, Day day) {
  auto q = in.db.query(
      "SELECT 1 FROM paper p JOIN entry e ON e.id = p.entry WHERE p.about = ? AND e.moment <= ? "
      "LIMIT 1");
  q.bind(spill.n).bind(log::last_moment(day));
  return q.step();
}

}  // namespace

std::optional<Refusal> refuse_substances(Book::Inside& in, Day day,
                                         const std::vector<MassShare>& shares,
                                         std::vector<std::string>& warnings) {
  // Too many are refused as that, where they are written down.
  if (shares.empty() || shares.size() > log::most::kShares) return std::nullopt;
  Office office(in);
  const RuleSet* rules = office.rules_on(day);
  if (rules == nullptr) return std::nullopt;
  std::vector<std::string> known;
  for (const Reportable* r : rules->reportable_on(day)) {
    if (std::find(known.begin(), known.end(), r->substance) == known.end())
      known.push_back(r->substance);
  }
  for (const MassShare& s : shares) {
    const auto same = [&](const std::string& k) { return same_substance(k, s.substance); };
    if (known.empty() || std::any_of(known.begin(), known.end(), same)) continue;
    const auto near = near_names(s.substance, known);
    if (!near.empty()) {
      std::string names;
      for (const std::string& n : near) names += (names.empty() ? "" : ", ") + n;
      return log::refuse(
          Code::not_found, "the rules know no substance named " + visible(s.substance),
          "near it: " + names + "; under another name nothing would be compared with it",
          "--share \"" + near.front() + "=" + visible(s.typed) + "\"");
    }
    warnings.push_back("the rules name no quantity for " + visible(s.substance) +
                       ": nothing is compared with it");
  }
  return std::nullopt;
}

void spills(LimitSheet& sheet) {
  Spills all(sheet.office, Day{-1'000'000}, sheet.day);
  for (const Spill& s : all.all()) {
    const SpillAdvice advice = all.advice(s);
    for (const SpillComparison& c : advice.substances) {
      const bool at = c.state == Compared::at_or_over || c.state == Compared::may_be;
      const bool near = c.state == Compared::near || c.state == Compared::unknown;
      // Near: while something more may get out within the window. At it: until its paper is there.
      if (!(at && !has_paper(sheet.in, s.id, sheet.day)) && !(near && sheet.day.n <= s.day.n + 1))
        continue;
      LimitLine& l = sheet.line("spill", "of " + to_string(s.day) + ", " + c.substance, nullptr);
      l.section = c.section;
      l.sure = c.sure;
      l.figures = c.told;
      l.state = c.state == Compared::at_or_over ? State::over : State::near;
      if (at) l.due = s.day;
      const std::string entry = entry_name(sheet.in, s.id);
      l.settle = at ? "baybook paper add " + entry +
                          " FILE --title \"...\"  # with the report or why none was due"
                    : "baybook entry " + entry;
      l.entries = c.entries;
      l.entries.insert(l.entries.end(), c.may.begin(), c.may.end());
    }
  }
}

void note_spills(Book::Inside& in, std::vector<EntryView>& lines) {
  std::optional<Day> first, last;
  for (const EntryView& v : lines) {
    if (v.verb != "spill" || v.withdrawn) continue;
    first = first ? std::min(*first, v.happened) : v.happened;
    last = last ? std::max(*last, v.happened) : v.happened;
  }
  if (!first) return;
  Office office(in);
  Spills all(office, Day{first->n - kAround}, Day{last->n + kAround});
  for (EntryView& v : lines) {
    if (v.verb != "spill" || v.withdrawn) continue;
    if (const Spill* s = find(all, v.ref.id)) v.compared = in_short(all.advice(*s));
  }
}

void spill_notices(Office& office, Month month, std::vector<std::string>& notices) {
  const Day from = first_of(month);
  const Day until = last_of(month);
  Spills all(office, Day{from.n - kAround}, Day{until.n + kAround});
  for (const Spill& s : all.all()) {
    if (s.day < from || s.day > until) continue;
    for (const SpillComparison& c : all.advice(s).substances) {
      if (c.state == Compared::below) continue;
      notices.push_back("spill of " + to_string(s.day) + ", entry " +
                        entry_name(office.in(), s.id) + ": " + c.told);
    }
  }
}

}  // namespace book

Result<SpillAdvice> spill_advice(const Book& b, EntryId spill) {
  return guarded<SpillAdvice>([&]() -> Result<SpillAdvice> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    SpillAdvice none;
    const auto fact = log::find_fact(in.db, spill);
    if (!fact || fact->withdrawn || fact->kind != log::Kind::movement ||
        fact->details.str("verb") != "spill")
      return none;
    book::Office office(in);
    const Day day = log::day_of_moment(fact->effect.moment);
    book::Spills all(office, Day{day.n - book::kAround}, Day{day.n + book::kAround});
    const book::Spill* s = book::find(all, spill);
    return s == nullptr ? none : all.advice(*s);
  });
}

}  // namespace baybook
