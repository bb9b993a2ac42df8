// Days that run: undecided pans, containers, looks at areas, renewals, deadlines of one's own.
#include "book/limits.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

void no_days_known(LimitSheet& sheet, const OnHand& h, const std::string& what) {
  // Nothing runs out, and that is not because there is time: it is said where the days of the
  // others stand.
  LimitLine& l = sheet.line("clock", what, nullptr);
  l.figures = "no days are known: " + h.facts.why;
  l.settle = "baybook rules show  # lists the streams that have rules";
  l.entries.push_back(h.first);
}

// Why the days are those of that category: which month decided, when it is not the shop's of now.
std::string of_month(LimitSheet& sheet, const OnHand& h, const LimitSheet::OfMonth& of) {
  const std::string title = returns::category_title(*sheet.rules, sheet.day, of.category);
  if (of.month > month_of(h.since))
    return "; by " + to_string(of.month) + ", in which the shop was a " + title +
           ": a careful reading, no section says that a later month reaches back";
  if (of.category == sheet.out.category) return {};
  return "; of " + to_string(of.month) + ", in which the shop was a " + title +
         ": it stays until the waste is gone";
}

// Days that the authority granted for what stands there, up to what the rules let it add.
void extend(LimitSheet& sheet, const OnHand& h, LimitLine& l) {
  const RuleValue* most = sheet.value("clock.extension.days");
  if (most == nullptr) return;
  std::int64_t days = 0;
  std::string told;
  for (const Spell& s : sheet.spells) {
    if (s.what != Circumstance::What::extension || s.containers.front() != h.place->id) continue;
    if (s.day < h.filled || s.day > sheet.day) continue;
    days += s.days;
    told = "granted on " + to_string(s.day);
    l.entries.push_back(ref_of(sheet.in, s.entry));
  }
  if (days == 0) return;
  const std::int64_t counted = std::min(days, most->n);
  l.due = Day{static_cast<std::int32_t>(l.due->n + counted)};
  l.figures += " and " + std::to_string(counted) + " more " + told + " (" +
               most->source.section + ", at most " + most->text + ")";
}

// The days of an event are those of all its waste.
void clock_of_event(LimitSheet& sheet, const OnHand& h, const std::string& what) {
  LimitLine& l = sheet.line("clock", what + ", of an episodic event", h.event->length);
  l.due = h.event->until;
  l.state = state_of_day(*l.due, sheet.day);
  l.figures = std::to_string(h.event->length->n) + " days from the start of the event, " +
              days_left(*l.due, sheet.day) + "; what is not sent off by then counts";
  l.settle = "baybook pickup --from " + place_to_type(sheet.in, h.place->id) + "=all --carrier FIRM --doc NUMBER";
  l.entries = {h.first, ref_of(sheet.in, h.event->spell.entry)};
}

void clock(LimitSheet& sheet, const OnHand& h) {
  const std::string what = h.name() + ", " + h.facts.title + ", since " + to_string(h.since);
  if (h.stream == nullptr) return no_days_known(sheet, h, what);
  if (h.event != nullptr) return clock_of_event(sheet, h, what);
  const std::string& group = group_of(h);
  const RuleValue* rule = nullptr;
  bool months = false;
  GeneratorClock generator;
  // What was determined to be hazardous is under no exclusion that would have days of its own.
  const bool excluded = group == "wipes" && h.facts.hazardous != YesNo::yes;
  if (excluded) {
    rule = sheet.value("clock.wipes.days");
  } else if (group == "airbags") {
    rule = sheet.value("clock.airbags.days");
  } else if (group == "universal-waste") {
    rule = sheet.value("clock.universal-waste.months");
    months = true;
  } else {
    generator = generator_clock(sheet, h);
    rule = generator.rule;
  }
  if (rule == nullptr) return;
  LimitLine& l = sheet.line("clock", what, rule);
  l.due = months ? returns::last_permitted_month(*sheet.rules, h.since, rule->n)
                 : returns::last_permitted(*sheet.rules, h.since, rule->n);
  l.figures = std::to_string(rule->n) + (months ? " months" : " days");
  l.entries.push_back(h.first);
  if (generator.rule != nullptr) extend(sheet, h, l);
  l.state = state_of_day(*l.due, sheet.day);
  l.figures += ", " + days_left(*l.due, sheet.day);
  if (generator.rule != nullptr)
    l.figures += haul_told(sheet, h, rule) + of_month(sheet, h, generator.of);
  l.settle = "baybook pickup --from " + place_to_type(sheet.in, h.place->id) + "=all --carrier FIRM --doc NUMBER";
}

}  // namespace

// For whatever counts towards the category, however the rule file groups it (40 CFR 262.11: a determination makes it hazardous; 262.16(b),
// 262.17(a): the days). It is of the months since the waste began to stand, and stays when the shop is smaller now.
GeneratorClock generator_clock(LimitSheet& sheet, const OnHand& h) {
  if (!sheet.us || !h.counts() || h.place->satellite || h.event != nullptr) return {};
  GeneratorClock out{nullptr, sheet.category_between(h.since, sheet.day)};
  if (out.of.category == 3) out.rule = sheet.value("clock.large.days");
  if (out.of.category == 2) out.rule = clock_days(sheet, sheet.value("clock.small.days"), {&h});
  return out;
}

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
    l.settle = "baybook filter " + pan + " AMOUNT --into PLACE --through FILTER  # or baybook decant " + pan + " all --into DRUM";
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

namespace {

// The containers of an area that are looked at, and the category whose looks they are under.
struct LookedAt {
  Day first;
  std::vector<EntryRef> refs{};
  int category = 0;
};

// Waste of a month in which the shop was larger keeps that month's looks until it is gone; past its
// limits on the site a very small generator is under those of a small one, for acute waste of a
// large one (40 CFR 262.14(a)(3), (4)).
int looks_of(LimitSheet& sheet, const OnHand& h) {
  int c = sheet.out.category;
  if (!sheet.us || !h.counts()) return c;
  c = std::max(c, sheet.category_between(h.since, sheet.day).category);
  if (sheet.passed_trigger) c = std::max(c, 2);
  return sheet.passed_acute && (is_acute(h) || is_acute_residue(h)) ? 3 : c;
}

const RuleValue* looks_rule(LimitSheet& sheet, int category) {
  return sheet.value(category == 3   ? "inspection.large.every-days"
                     : category == 2 ? "inspection.small.every-days"
                                     : "inspection.every-days");
}

std::map<std::string, LookedAt> areas_of(LimitSheet& sheet) {
  std::map<std::string, LookedAt> out;
  for (const OnHand& h : sheet.on_hand) {
    if (!h.hazardous() || h.place->area.empty()) continue;
    LookedAt& a = out.try_emplace(h.place->area, LookedAt{h.since, {}, 0}).first->second;
    a.first = std::min(a.first, h.since);
    a.refs.push_back(h.first);
    a.category = std::max(a.category, looks_of(sheet, h));
  }
  return out;
}

}  // namespace

void inspections(LimitSheet& sheet) {
  std::map<std::string, LookedAt> areas = areas_of(sheet);
  struct Seen { Day day; std::int64_t next = 0; bool faults = false; EntryId entry; };
  std::map<std::string, Seen> seen;
  {
    auto q = sheet.in.db.query("SELECT area, moment, next, faults, entry FROM inspected WHERE moment <= ? ORDER BY moment, recorded, entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) seen[q.text(0)] = {log::day_of_moment(q.num(1)), q.num(2), q.num(3) != 0, EntryId{q.num(4)}};
  }
  for (const auto& [area, s] : seen) {
    if (s.next != 0) areas.try_emplace(area, LookedAt{s.day, {}, sheet.out.category});
  }
  for (const auto& [area, at] : areas) {
    const auto s = seen.find(area);
    const RuleValue* rule = looks_rule(sheet, at.category);
    if (rule == nullptr && (s == seen.end() || s->second.next == 0)) continue;
    LimitLine& l = sheet.line("inspection", "area " + area, rule);
    if (s != seen.end()) {
      l.due = s->second.next != 0 ? Day{static_cast<std::int32_t>(s->second.next)} : Day{static_cast<std::int32_t>(s->second.day.n + rule->n)};
      l.figures = "last looked at on " + to_string(s->second.day) + (s->second.faults ? ", with something to put right" : "") + ", " + days_left(*l.due, sheet.day);
      l.entries.push_back(ref_of(sheet.in, s->second.entry));
    } else {
      l.due = Day{static_cast<std::int32_t>(at.first.n + rule->n)};
      l.figures = "never looked at, containers since " + to_string(at.first) + ", " + days_left(*l.due, sheet.day);
      l.entries = at.refs;
    }
    if (rule != nullptr) l.figures += ", every " + std::to_string(rule->n) + " days";
    if (at.category > sheet.out.category)
      l.figures += "; what stands there keeps the looks of a " +
                   returns::category_title(*sheet.rules, sheet.day, at.category);
    l.state = *l.due < sheet.day ? State::over : l.due->n - sheet.day.n <= 2 ? State::near : State::fine;
    l.settle = "baybook inspect " + area;
  }
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
