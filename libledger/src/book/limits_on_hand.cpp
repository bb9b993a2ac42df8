// How much stands on the site: weight, satellite areas, pieces.
#include "book/kept_since.hpp"
#include "book/limits.hpp"

#include "log/sum.hpp"

#include <algorithm>
#include <optional>
#include <span>

namespace baybook::book {

namespace {

const std::string kNone;

bool near_to(std::int64_t n, std::int64_t limit) {
  // In 128 bits: micrograms times a hundred do not fit into 64.
  __extension__ using Wide = __int128;
  return static_cast<Wide>(n) * 100 >= static_cast<Wide>(limit > 0 ? limit : 1) * kNearPercent;
}

}  // namespace

const std::string& group_of(const OnHand& h) { return h.stream != nullptr ? h.facts.group : kNone; }
bool is_acute(const OnHand& h) { return group_of(h) == "acute"; }
bool is_acute_residue(const OnHand& h) { return group_of(h) == "acute-residue"; }

std::string kg_beside(std::int64_t ug, std::int64_t limit) {
  return show_beside(ug, Dimension::mass, Units{}, std::span(&limit, 1));
}

void compare(LimitLine& l, std::int64_t best, std::int64_t high, std::int64_t limit, bool at_least, const std::string& high_shown) {
  const bool over = at_least ? best >= limit : best > limit;
  const bool may = at_least ? high >= limit : high > limit;
  l.state = over ? State::over : may || near_to(best, limit) ? State::near : State::fine;
  if (!over && may) l.figures += "; may be over: " + high_shown + " with the upper bounds";
}

std::optional<std::pair<Day, EntryId>> crossing(LimitSheet& sheet, const std::vector<const OnHand*>& places, std::int64_t limit, bool at_least, bool volume) {
  struct Moved { log::Effect effect; std::int64_t delta; };
  std::vector<Moved> events;
  for (const OnHand* h : places) {
    auto q = sheet.in.db.query(
        "SELECT l.moment, l.recorded, l.entry, f.dimension, f.fluid, CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END FROM leg l JOIN flow f ON f.entry = l.entry "
        "WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1)");
    q.bind(h->place->id.n).bind(log::last_moment(sheet.day));
    while (q.step()) {
      const std::int64_t n = q.num(5);
      const auto weight = sheet.office.weight_in(q.num(4), h->stream, sheet.day);
      const std::int64_t delta = (volume ? Office::volume(n, q.num(3), weight) : Office::mass(n, q.num(3), weight)).value_or(0);
      events.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, delta});
    }
  }
  std::sort(events.begin(), events.end(), [](const Moved& a, const Moved& b) { return a.effect < b.effect; });
  std::int64_t sum = 0;
  std::optional<std::pair<Day, EntryId>> out;
  for (const Moved& e : events) {
    sum += e.delta;
    const bool over = at_least ? sum >= limit : sum > limit;
    if (over && !out) out = {log::day_of_moment(e.effect.moment), e.effect.id};
    if (!over) out.reset();
  }
  return out;
}

void read_on_hand(LimitSheet& sheet) {
  const std::int64_t until = log::last_moment(sheet.day);
  for (const Office::WastePlace& p : sheet.office.waste_places()) {
    OnHand h;
    h.place = &p;
    {
      auto q = sheet.in.db.query("SELECT number, moment, entry, until_entry, until_moment FROM filling WHERE place = ? AND moment <= ? ORDER BY number DESC LIMIT 1");
      q.bind(p.id.n).bind(until);
      if (!q.step() || (q.num(3) != 0 && q.num(4) <= until)) continue;
      h.filling = q.num(0);
      h.filled = log::day_of_moment(q.num(1));
      h.since = kept_since(sheet.in, p.id, until).value_or(h.filled);
      h.first = ref_of(sheet.in, EntryId{q.num(2)});
    }
    h.facts = sheet.office.facts(p.stream, p.id, sheet.day);
    h.stream = sheet.office.stream_for(p.stream, sheet.day);
    if (const auto mixed = sheet.office.mixed_since(p, sheet.day)) h.since = *mixed;
    for (const Event& e : sheet.events) {
      if (e.counts.empty() && e.has(p.id) && e.runs_on(h.filled)) h.event = &e;
    }
    struct Part { std::int64_t dimension, fluid, best, high; };
    std::vector<Part> parts;
    {
      auto q = sheet.in.db.query(
          "SELECT f.dimension, f.fluid, sum(CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END), sum(CASE WHEN f.source = ?1 THEN CASE f.mode WHEN 0 THEN -f.low ELSE -f.high END ELSE f.high END) "
          "FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1) GROUP BY f.dimension, f.fluid");
      q.bind(p.id.n).bind(until);
      while (q.step()) parts.push_back({q.num(0), q.num(1), q.num(2), q.num(3)});
    }
    for (const Part& x : parts) {
      const auto weight = sheet.office.weight_in(x.fluid, h.stream, sheet.day);
      const auto best = Office::mass(x.best, x.dimension, weight);
      if (best) {
        log::add_to(h.ug, 1, *best);
        log::add_to(h.high_ug, 1, Office::mass(x.high, x.dimension, weight).value());
      } else if (x.best != 0) {
        h.unweighed = true;
      }
      if (const auto volume = Office::volume(x.best, x.dimension, weight)) {
        log::add_to(h.volume, 1, *volume);
        log::add_to(h.high_volume, 1, Office::volume(x.high, x.dimension, weight).value());
        h.by_density = h.by_density || (x.dimension == 1 && x.best != 0);
      } else if (x.best != 0) {
        h.unmeasured = true;
      }
      if (x.dimension == 2) log::add_to(h.pieces, 1, x.best);
    }
    sheet.on_hand.push_back(std::move(h));
  }
}

namespace {

// What counts and stands there, acute waste for itself; an event's waste is under the event's terms.
struct OnSite {
  std::int64_t best = 0, high = 0, clocked = 0, event = 0;
  bool unweighed = false;
  std::vector<const OnHand*> counted{};
  void add(const OnHand& h) {
    log::add_to(best, 1, h.ug);
    log::add_to(high, 1, h.high_ug);
    unweighed = unweighed || h.unweighed;
    counted.push_back(&h);
  }
};

std::string beside_it(const OnSite& site) {
  std::string out;
  if (site.unweighed) out += "; some of it has no weight in the book";
  if (site.event > 0)
    out += "; beside it " + show(site.event, Dimension::mass, Units{}) + " of an episodic event";
  return out;
}

void most_on_site(LimitSheet& sheet, const OnSite& site) {
  const int now = sheet.out.category;
  const RuleValue* most = sheet.value(now == 2 ? "limit.small.max-on-site" : "limit.very-small.max-on-site");
  if ((now != 1 && now != 2) || most == nullptr) return;
  LimitLine& l = sheet.line("on hand", "hazardous waste on site", most);
  l.figures = kg_beside(site.best, most->n) + " of " + most->text;
  compare(l, site.best, site.high, most->n, false, kg_beside(site.high, most->n));
  l.figures += beside_it(site);
  l.settle = "baybook pickup";
}

// 40 CFR 262.14(a)(4). Of waste that has a clock of its own this is not asked.
void very_small_trigger(LimitSheet& sheet, const OnSite& site) {
  const RuleValue* trigger = sheet.value("limit.very-small.trigger");
  const RuleValue* days = sheet.value("clock.very-small.days");
  if (sheet.out.category != 1 || trigger == nullptr || days == nullptr) return;
  const bool all_clocked = site.best > 0 && site.clocked >= site.best;
  if (all_clocked) return;
  LimitLine& l = sheet.line("on hand", "hazardous waste on site, very small quantity generator's trigger", trigger);
  l.figures = kg_beside(site.best, trigger->n) + " of " + trigger->text;
  compare(l, site.best, site.high, trigger->n, true, kg_beside(site.high, trigger->n));
  if (site.clocked > 0)
    l.figures += "; " + show(site.clocked, Dimension::mass, Units{}) +
                 " of it have the clock of their months, this is for the rest";
  l.figures += beside_it(site);
  l.settle = "baybook pickup";
  if (site.best < trigger->n) return;
  sheet.passed_trigger = true;
  const auto passed = crossing(sheet, site.counted, trigger->n, true, false);
  if (!passed) return;
  const RuleValue* n = clock_days(sheet, days, site.counted);
  l.due = returns::last_permitted(*sheet.rules, passed->first, n->n);
  l.state = state_of_day(*l.due, sheet.day);
  l.section = days->source.section;
  l.figures += ", reached on " + to_string(passed->first) + "; " + std::to_string(n->n) + " days, " + days_left(*l.due, sheet.day) +
               (site.counted.empty() ? std::string() : haul_told(sheet, *site.counted.front(), n));
  l.entries.push_back(ref_of(sheet.in, passed->second));
}

}  // namespace

void weight_on_site(LimitSheet& sheet) {
  OnSite all;   // what a limit on the site is about
  OnSite non_acute;  // what the trigger is about, 40 CFR 262.14(a)(4)
  for (const OnHand& h : sheet.on_hand) {
    if (!h.counts()) continue;
    if (h.event != nullptr) {
      log::add_to(all.event, 1, h.ug);
      log::add_to(non_acute.event, 1, h.ug);
      continue;
    }
    all.add(h);
    if (is_acute(h) || is_acute_residue(h)) continue;
    non_acute.add(h);
    if (generator_clock(sheet, h).rule != nullptr) log::add_to(non_acute.clocked, 1, h.ug);
  }
  most_on_site(sheet, all);
  very_small_trigger(sheet, non_acute);
}

void satellites(LimitSheet& sheet) {
  const RuleValue* most = sheet.value("satellite.max-volume");
  const RuleValue* days = sheet.value("satellite.excess-days");
  if (most == nullptr || days == nullptr) return;
  std::map<std::string, std::vector<const OnHand*>> by;
  for (const OnHand& h : sheet.on_hand) {
    // Acute waste has a limit of its own (limits_acute.cpp).
    const bool ordinary = !is_acute(h) && !is_acute_residue(h);
    if (h.place->satellite && h.hazardous() && h.counts() && ordinary) by[h.place->area].push_back(&h);
  }
  for (const auto& [area, places] : by) {
    std::int64_t volume = 0, high = 0;
    bool by_density = false, unmeasured = false;
    for (const OnHand* h : places) {
      log::add_to(volume, 1, h->volume);
      log::add_to(high, 1, h->high_volume);
      by_density = by_density || h->by_density;
      unmeasured = unmeasured || h->unmeasured;
    }
    const auto shown = [&](std::int64_t nl) { return show_beside(nl, Dimension::volume, sheet.in.settings.units, std::span(&most->n, 1)); };
    LimitLine& l = sheet.line("satellite", "area " + area + ", at the point of generation", most);
    l.figures = shown(volume) + " of " + most->text;
    compare(l, volume, high, most->n, false, shown(high));
    if (by_density) l.figures += "; what was weighed, by its density";
    if (unmeasured) {
      l.figures += "; some of it has no volume in the book";
      if (l.state == State::fine) l.state = State::near;
    }
    l.settle = "baybook decant PLACE all --into DRUM  # one in the central area";
    if (volume <= most->n) continue;
    if (const auto passed = crossing(sheet, places, most->n, false, true)) {
      l.due = returns::last_permitted(*sheet.rules, passed->first, days->n);
      l.state = state_of_day(*l.due, sheet.day) == State::fine ? State::near : state_of_day(*l.due, sheet.day);
      l.section = days->source.section;
      l.figures += ", over since " + to_string(passed->first) + "; " + std::to_string(days->n) + " days, " + days_left(*l.due, sheet.day) + "; mark the container with that date";
      l.entries.push_back(ref_of(sheet.in, passed->second));
    }
  }
}

namespace {

// 40 CFR 273.9: a small handler has less than this at any time, all kinds together.
void universal_waste(LimitSheet& sheet) {
  const RuleValue* most = sheet.value("universal-waste.small-handler.max-mass");
  OnSite all;
  for (const OnHand& h : sheet.on_hand) {
    if (group_of(h) == "universal-waste") all.add(h);
  }
  if (most == nullptr || all.counted.empty()) return;
  LimitLine& l = sheet.line("on hand", "universal waste on site, small handler", most);
  l.figures = kg_beside(all.best, most->n) + ", less than " + most->text;
  compare(l, all.best, all.high, most->n, true, kg_beside(all.high, most->n));
  if (all.unweighed) {
    l.figures += "; some of it has no weight in the book";
    if (l.state == State::fine) l.state = State::near;
  }
  l.settle = "baybook pickup";
}

}  // namespace

void counts(LimitSheet& sheet) {
  std::int64_t airbags = 0;
  std::int64_t filters = 0;
  for (const OnHand& h : sheet.on_hand) {
    if (group_of(h) == "airbags") airbags += h.pieces;
    if (h.facts.name == "oil-filters") filters += h.ug;
  }
  if (const RuleValue* most = sheet.value("airbags.max-count"); most != nullptr && airbags > 0) {
    LimitLine& l = sheet.line("on hand", "airbag modules and inflators", most);
    l.figures = std::to_string(airbags) + " of " + most->text;
    l.state = airbags > most->n ? State::over : near_to(airbags, most->n) ? State::near : State::fine;
    l.settle = "baybook pickup";
  }
  if (const RuleValue* most = sheet.value("filters.crushed.max-mass"); most != nullptr && filters > 0) {
    LimitLine& l = sheet.line("on hand", "crushed oil filters under the exemption", most);
    l.figures = kg_beside(filters, most->n) + " of " + most->text;
    compare(l, filters, filters, most->n, false, kg_beside(filters, most->n));
    l.settle = "baybook pickup";
  }
  universal_waste(sheet);
}

}  // namespace baybook::book
