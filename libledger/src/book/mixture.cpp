#include "book/mixture.hpp"

#include "book/kept_since.hpp"
#include "book/office.hpp"

#include "returns/findings.hpp"

#include <algorithm>
#include <map>
#include <utility>

namespace baybook::book {

bool Mixture::listed_by(Day day) const {
  const std::int64_t last = log::last_moment(day);
  return std::any_of(pours.begin(), pours.end(), [&](const Pour& p) { return p.listed && p.effect.moment <= last; });
}

const Pour& Mixture::last_by(Day day) const {
  const Pour* out = &pours.front();
  for (const Pour& p : pours) {
    if (p.effect.moment <= log::last_moment(day)) out = &p;
  }
  return *out;
}

namespace {

struct Filling {
  std::int64_t number;
  log::Effect begun;
  std::int64_t until;
};

std::vector<Filling> fillings_of(store::Db& db, PlaceId place) {
  std::vector<Filling> out;
  auto q = db.query("SELECT number, moment, recorded, entry, until_entry, until_moment FROM filling WHERE place = ? ORDER BY number");
  q.bind(place.n);
  while (q.step())
    out.push_back({q.num(0), {q.num(1), q.num(2), EntryId{q.num(3)}}, q.num(4) != 0 ? q.num(5) : std::numeric_limits<std::int64_t>::max()});
  return out;
}

struct Inflow {
  log::Effect effect;
  std::int64_t source, fluid;
};

// What went into a place of one fluid or out of another waste place.
std::vector<Inflow> inflows(store::Db& db, PlaceId place, std::int64_t fluid) {
  std::vector<Inflow> out;
  auto q = db.query(
      "SELECT l.moment, l.recorded, l.entry, f.source, f.fluid FROM leg l JOIN flow f ON f.entry = l.entry "
      "WHERE l.place = ?1 AND f.target = ?1 AND f.fluid = ?2 AND f.best > 0 ORDER BY l.moment, l.recorded, l.entry");
  q.bind(place.n).bind(fluid);
  while (q.step()) out.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, q.num(3), q.num(4)});
  return out;
}

}  // namespace

bool Office::takes_what_soaks(const Stream& s) {
  return std::find(s.classes.begin(), s.classes.end(), "absorbent") != s.classes.end();
}

const std::vector<Office::CameIn>& Office::came_in(std::int64_t place) {
  if (!have_came_in_) {
    have_came_in_ = true;
    auto q = in_.db.query("SELECT DISTINCT place, fluid, other FROM waste_tally WHERE way = 0");
    while (q.step()) came_in_[q.num(0)].push_back({q.num(1), static_cast<Role>(q.num(2))});
  }
  return came_in_[place];
}

std::optional<Pour> Office::pour(const WastePlace& p, std::int64_t source, std::int64_t fluid, const log::Effect& effect) {
  const Day day = log::day_of_moment(effect.moment);
  const Stream* base = stream_for(p.stream, day);
  const RuleSet* rules = rules_on(day);
  if (base == nullptr || rules == nullptr || takes_what_soaks(*base)) return std::nullopt;
  const WastePlace* from = waste_place(source);
  const FluidClass* c = find_class(FluidId{in_.ledger.class_of(fluid)});
  const std::string of_class = "waste-" + std::string(c != nullptr ? c->name : "unknown");
  const Stream* own = stream_for(of_class, day);
  StreamFacts facts;
  if (own != nullptr && own->name != base->name) {
    // By the determination of the container it came out of, where that holds the same stream.
    const bool same = from != nullptr && stream_for(from->stream, day) == own;
    facts = same ? stream_facts(from->stream, from->id, day) : stream_facts(of_class, {}, day);
  } else if (from != nullptr && from->id != p.id) {
    facts = stream_facts(from->stream, from->id, day);
    if (facts.hazardous != YesNo::yes || stream_facts(p.stream, p.id, day).hazardous == YesNo::yes) return std::nullopt;
  } else {
    return std::nullopt;
  }
  if (facts.hazardous == YesNo::no) return std::nullopt;
  Pour out;
  out.effect = effect;
  out.title = facts.title;
  out.code = facts.code;
  out.listed = returns::code_is(*rules, day, "codes.listed", facts.code);
  if (from != nullptr) out.since = kept_since(in_, from->id, effect.moment);
  return out;
}

const std::vector<Mixture>& Office::mixtures(const WastePlace& p) {
  const auto known = mixtures_.find(p.id.n);
  if (known != mixtures_.end()) return known->second;
  std::vector<Pour> pours;
  for (const CameIn& c : came_in(p.id.n)) {
    // Of its own stream and straight from a car or a pan nothing can be another's: not looked through.
    const FluidClass* k = find_class(FluidId{in_.ledger.class_of(c.fluid)});
    if (c.other != Role::waste && k != nullptr && own_classes(p).contains(std::string(k->name))) continue;
    for (const Inflow& f : inflows(in_.db, p.id, c.fluid)) {
      auto one = pour(p, f.source, f.fluid, f.effect);
      if (one) pours.push_back(std::move(*one));
    }
  }
  std::sort(pours.begin(), pours.end(), [](const Pour& a, const Pour& b) { return a.effect < b.effect; });
  std::vector<Mixture> out;
  if (!pours.empty()) {
    const std::vector<Filling> fillings = fillings_of(in_.db, p.id);
    for (Pour& one : pours) {
      const Filling* at = nullptr;
      for (const Filling& f : fillings) {
        if (!(one.effect < f.begun)) at = &f;
      }
      if (at == nullptr) continue;
      if (out.empty() || out.back().filling != at->number) out.push_back({at->number, at->begun.moment, at->until, {}});
      std::vector<Pour>& all = out.back().pours;
      if (all.empty() || all.back().effect.id != one.effect.id || all.back().title != one.title) all.push_back(std::move(one));
    }
  }
  return mixtures_.emplace(p.id.n, std::move(out)).first->second;
}

const std::set<std::string>& Office::own_classes(const WastePlace& p) {
  const auto known = own_classes_.find(p.id.n);
  if (known != own_classes_.end()) return known->second;
  // Classes that the place's stream has on every day of every rule set the book goes by: whatever day
  // something was poured in, these are no other stream's.
  std::set<std::string> out;
  load_rulings();
  std::vector<Day> days;
  for (const Ruling& r : rulings_) days.push_back(r.from);
  for (const auto& [month, ruling] : closed_) days.push_back(ruling.from);
  bool first = true;
  for (const Day day : days) {
    const RuleSet* rules = rules_on(day);
    if (rules == nullptr) continue;
    std::set<std::string> here;
    for (const FluidClass& c : fluid_classes()) {
      const Stream* s = stream_for(p.stream, day);
      if (s != nullptr && std::find(s->classes.begin(), s->classes.end(), c.name) != s->classes.end()) here.emplace(c.name);
    }
    if (first) {
      out = here;
    } else {
      std::erase_if(out, [&](const std::string& c) { return !here.contains(c); });
    }
    first = false;
  }
  return own_classes_.emplace(p.id.n, std::move(out)).first->second;
}

std::string Office::told_mixture(PlaceId place, Day day) {
  std::set<std::int64_t> classes;
  bool from_waste = false;
  for (const CameIn& c : came_in(place.n)) {
    classes.insert(in_.ledger.class_of(c.fluid));
    from_waste = from_waste || c.other == Role::waste;
  }
  const WastePlace* p = classes.size() > 1 || from_waste ? waste_place(place.n) : nullptr;
  if (p == nullptr) return {};
  const auto m = facts(p->stream, p->id, day).mixture;
  if (!m) return {};
  return "mixed with " + m->with + " by entry " + entry_name(in_, m->entry.id) + (m->reason.empty() ? "" : ", \"" + m->reason + "\"") + (m->told.empty() ? "" : ": " + m->told);
}

MixtureRule Office::rule_of(const Mixture& m, const Stream& base, const StreamFacts& plain, Day day) {
  const RuleSet* rules = rules_on(day);
  MixtureRule out;
  if (rules == nullptr) return out;
  const bool us = rules->scheme == "us";
  const bool weaker = us ? plain.counted == YesNo::no : plain.hazardous == YesNo::no;
  if (!us || base.name != "used-oil") {
    out.rule = rules->value("mixing.other", day);
    out.hazardous = weaker;
    return out;
  }
  if (m.listed_by(day)) {
    out.rule = rules->value("mixing.listed", day);
  } else {
    out.rule = rules->value("mixing.characteristic", day);
  }
  out.hazardous = weaker;
  // What a very small generator of the month poured in stays used oil, if each pour was of such a month.
  const RuleValue* small = rules->value("mixing.very-small", day);
  const bool very_small = small != nullptr && std::all_of(m.pours.begin(), m.pours.end(), [&](const Pour& p) {
    return p.effect.moment > log::last_moment(day) || category_apart(month_of(log::day_of_moment(p.effect.moment))) == 1;
  });
  if (very_small) {
    out.rule = small;
    out.hazardous = false;
  }
  return out;
}

int Office::category_apart(Month month) {
  const auto known = apart_.find(month.n);
  if (known != apart_.end()) return known->second;
  const bool before = std::exchange(apart_only_, true);
  const int c = category_of(*this, month);
  apart_only_ = before;
  return apart_.emplace(month.n, c).first->second;
}

void Office::mix(StreamFacts& out, const Stream& base, const WastePlace& p, Day day, const Decided& decided) {
  const std::vector<Mixture>& all = mixtures(p);
  const auto m = std::find_if(all.begin(), all.end(), [&](const Mixture& one) { return one.there_on(day); });
  if (m == all.end()) return;
  const Pour& first = m->pours.front();
  const MixtureRule rule = rule_of(*m, base, out, day);
  StreamFacts::Mixture met;
  met.entry = ref_of(in_, first.effect.id);
  const std::int64_t last = log::last_moment(day);
  std::string codes;
  for (const Pour& q : m->pours) {
    if (q.effect.moment > last) continue;
    if (met.with.find(q.title) == std::string::npos) met.with += (met.with.empty() ? "" : " and ") + q.title;
    if (!q.code.empty() && codes.find(q.code) == std::string::npos) codes += (codes.empty() ? "" : ", ") + q.code;
    if (!met.reason.empty()) continue;
    if (const auto fact = log::find_fact(in_.db, q.effect.id)) met.reason = log::private_text(in_.db, *fact, "mixing");
  }
  if (rule.rule != nullptr) met.told = rule.rule->text + " (" + with_words(rule.rule->source.section, rule.rule->source.sure) + ")";
  out.title += ", mixed with " + met.with;
  // A test of the mixture itself, after the last that was poured in, decides; of listed waste none does.
  const log::Effect& newest = m->last_by(day).effect;
  const bool decided_since = decided.of_place && std::pair(newest.moment, newest.id) < std::pair(decided.moment, decided.entry);
  const std::string how = "mixed with " + met.with + ", entry " + entry_name(in_, first.effect.id) + (met.reason.empty() ? "" : " (\"" + met.reason + "\")");
  if (rule.hazardous && !(decided_since && !m->listed_by(day))) {
    out.hazardous = YesNo::yes;
    if (rules_on(day)->scheme == "us") {
      out.counted = YesNo::yes;
      out.group = "hazardous-waste";
      out.code = codes;
    } else {
      out.code = base.code;
    }
    out.why = how + ": " + met.told;
  } else {
    out.why += (out.why.empty() ? "" : "; ") + how + (decided_since ? ", and determined since" : ": " + met.told);
  }
  out.mixture = std::move(met);
}

}  // namespace baybook::book
