// Days that run: undecided pans, containers, looks at areas, renewals, deadlines of one's own.
#include "book/limits.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

// The days of a generator: for whatever counts towards its category, however the rule file groups it (40 CFR 262.11: a determination makes
// it hazardous; 262.16(b), 262.17(a): the days).
const RuleValue* days_of_generator(LimitSheet& sheet, const OnHand& h) {
  if (!sheet.us || !h.counts() || h.place->satellite) return nullptr;
  const int c = sheet.category_between(h.since, sheet.day);
  return c == 3   ? sheet.value("clock.large.days")
         : c == 2 ? clock_days(sheet, sheet.value("clock.small.days"), {&h})
                  : nullptr;
}

void clock(LimitSheet& sheet, const OnHand& h) {
  if (h.stream == nullptr) {
    // Nothing runs out, and that is not because there is time: it is said where the days of the
    // others stand.
    LimitLine& l = sheet.line(
        "clock", h.name() + ", " + h.facts.title + ", since " + to_string(h.since), nullptr);
    l.figures = "no days are known: " + h.facts.why;
    l.settle = "baybook rules show lists the streams that have rules";
    l.entries.push_back(h.first);
    return;
  }
  const std::string& group = h.stream->group;
  const RuleValue* rule = nullptr;
  bool months = false;
  if (group == "wipes") rule = sheet.value("clock.wipes.days");
  else if (group == "airbags") rule = sheet.value("clock.airbags.days");
  else if (group == "universal-waste") {
    rule = sheet.value("clock.universal-waste.months");
    months = true;
  } else {
    rule = days_of_generator(sheet, h);
  }
  // What was determined to be hazardous is under no exclusion that would have days of its own.
  if (group == "wipes" && h.facts.hazardous == YesNo::yes) rule = days_of_generator(sheet, h);
  if (rule == nullptr) return;
  LimitLine& l = sheet.line("clock", h.name() + ", " + h.facts.title + ", since " + to_string(h.since), rule);
  l.due = months ? returns::purge_day(h.since, rule->n) : returns::last_permitted(*sheet.rules, h.since, rule->n);
  l.state = state_of_day(*l.due, sheet.day);
  l.figures = std::to_string(rule->n) + (months ? " months, " : " days, ") +
              days_left(*l.due, sheet.day) + haul_told(sheet, h, rule);
  l.settle = "baybook pickup --from " + place_to_type(sheet.in, h.place->id) + "=all ...";
  l.entries.push_back(h.first);
}

}  // namespace

void undecided_pans(LimitSheet& sheet) {
  const RuleValue* rule = sheet.rules != nullptr ? sheet.value("catch.undecided-days") : nullptr;
  struct Pan { std::int64_t place; std::string code; Day since; EntryId entry; };
  std::vector<Pan> pans;
  const std::int64_t until = log::last_moment(sheet.day);
  {
    auto q = sheet.in.db.query("SELECT p.id, p.code, f.moment, f.entry FROM place p JOIN filling f ON f.place = p.id WHERE p.role = 1 AND f.moment <= ?1 AND (f.until_entry = 0 OR f.until_moment > ?1) ORDER BY p.code");
    q.bind(until);
    while (q.step()) pans.push_back({q.num(0), q.text(1), log::day_of_moment(q.num(2)), EntryId{q.num(3)}});
  }
  for (const Pan& p : pans) {
    LimitLine& l = sheet.line("pan", p.code + ", undecided since " + to_string(p.since), rule);
    l.entries.push_back(ref_of(sheet.in, p.entry));
    const std::string pan = place_to_type(sheet.in, PlaceId{p.place});
    l.settle = "baybook filter " + pan + " ... or baybook decant " + pan + " all --into drum-...";
    if (rule == nullptr) {
      l.figures = "the book goes by no rules";
      continue;
    }
    l.due = returns::last_permitted(*sheet.rules, p.since, rule->n);
    l.state = state_of_day(*l.due, sheet.day);
    l.figures = std::to_string(rule->n) + " days, " + days_left(*l.due, sheet.day);
  }
}

void container_clocks(LimitSheet& sheet) {
  for (const OnHand& h : sheet.on_hand) clock(sheet, h);
}

void inspections(LimitSheet& sheet) {
  const int c = sheet.out.category;
  const RuleValue* rule = sheet.value(c == 3 ? "inspection.large.every-days" : c == 2 ? "inspection.small.every-days" : "inspection.every-days");
  std::map<std::string, std::pair<Day, std::vector<EntryRef>>> hazardous;
  for (const OnHand& h : sheet.on_hand) {
    if (!h.hazardous() || h.place->area.empty()) continue;
    auto& [first, refs] = hazardous.try_emplace(h.place->area, h.since, std::vector<EntryRef>{}).first->second;
    first = std::min(first, h.since);
    refs.push_back(h.first);
  }
  struct Seen { Day day; std::int64_t next = 0; bool faults = false; EntryId entry; };
  std::map<std::string, Seen> seen;
  {
    auto q = sheet.in.db.query("SELECT area, moment, next, faults, entry FROM inspected WHERE moment <= ? ORDER BY moment, recorded, entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) seen[q.text(0)] = {log::day_of_moment(q.num(1)), q.num(2), q.num(3) != 0, EntryId{q.num(4)}};
  }
  for (const auto& [area, s] : seen) {
    if (s.next != 0) hazardous.try_emplace(area, s.day, std::vector<EntryRef>{});
  }
  for (const auto& [area, since] : hazardous) {
    const auto s = seen.find(area);
    if (rule == nullptr && (s == seen.end() || s->second.next == 0)) continue;
    LimitLine& l = sheet.line("inspection", "area " + area, rule);
    if (s != seen.end()) {
      l.due = s->second.next != 0 ? Day{static_cast<std::int32_t>(s->second.next)} : Day{static_cast<std::int32_t>(s->second.day.n + rule->n)};
      l.figures = "last looked at on " + to_string(s->second.day) + (s->second.faults ? ", with something to put right" : "") + ", " + days_left(*l.due, sheet.day);
      l.entries.push_back(ref_of(sheet.in, s->second.entry));
    } else {
      l.due = Day{static_cast<std::int32_t>(since.first.n + rule->n)};
      l.figures = "never looked at, containers since " + to_string(since.first) + ", " + days_left(*l.due, sheet.day);
      l.entries = since.second;
    }
    if (rule != nullptr) l.figures += ", every " + std::to_string(rule->n) + " days";
    l.state = *l.due < sheet.day ? State::over : l.due->n - sheet.day.n <= 2 ? State::near : State::fine;
    l.settle = "baybook inspect " + area;
  }
}

void renewals(LimitSheet& sheet) {
  if (!sheet.us) return;
  const Month now = month_of(sheet.day);
  int year = 0;
  for (int back = 0; back < 12; ++back) year = std::max(year, sheet.category(Month{now.n - back}));
  const auto cycle = [&](const char* what, const char* day_key, const char* first_key, const char* every_key) {
    const RuleValue* d = sheet.value(day_key);
    const RuleValue* first = sheet.value(first_key);
    const RuleValue* every = sheet.value(every_key);
    if (d == nullptr || first == nullptr || every == nullptr) return;
    LimitLine& l = sheet.line("renewal", what, d);
    l.due = returns::next_in_cycle(sheet.day, d->n, first->n, every->n);
    l.state = state_of_day(*l.due, sheet.day);
    l.figures = "every " + every->text + " years since " + first->text + ", " + days_left(*l.due, sheet.day);
    l.settle = "the authority's form; baybook deadline add to keep its number";
  };
  if (year == 2) cycle("re-notification of a small quantity generator", "renewal.small.day", "renewal.small.first-year", "renewal.small.every-years");
  if (year == 3) cycle("biennial report of a large quantity generator", "report.large.day", "report.large.first-year", "report.large.every-years");
}

void own_deadlines(LimitSheet& sheet) {
  struct D { std::int64_t id; std::string code; std::int64_t due; };
  std::vector<D> all;
  {
    auto q = sheet.in.db.query("SELECT id, code, due FROM deadline ORDER BY code");
    while (q.step()) all.push_back({q.num(0), q.text(1), q.num(2)});
  }
  for (D& d : all) {
    const log::Fact fact = log::read_fact(sheet.in.db, EntryId{d.id});
    if (fact.effect.moment > log::last_moment(sheet.day)) continue;
    {
      auto q = sheet.in.db.query("SELECT next FROM deadline_done WHERE deadline = ? AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
      q.bind(d.id).bind(log::last_moment(sheet.day));
      if (q.step()) d.due = q.num(0);
    }
    if (d.due == 0) continue;
    const std::string what = log::private_text(sheet.in.db, fact, "what");
    LimitLine& l = sheet.line("deadline", d.code + (what.empty() ? "" : ", " + what), nullptr);
    l.due = Day{static_cast<std::int32_t>(d.due)};
    l.state = state_of_day(*l.due, sheet.day);
    l.figures = days_left(*l.due, sheet.day);
    l.sure = Sure::shop;
    if (fact.details.has("section")) l.section = fact.details.str("section");
    l.settle = "baybook deadline done " + d.code;
    l.entries.push_back(ref_of(sheet.in, EntryId{d.id}));
  }
}

}  // namespace baybook::book
