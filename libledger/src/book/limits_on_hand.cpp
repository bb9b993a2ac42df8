// How much stands on the site: weight, satellite areas, pieces, the size of oil containers.
#include "book/kept_since.hpp"
#include "book/limits.hpp"

#include "log/sum.hpp"

#include <algorithm>
#include <optional>

namespace baybook::book {

namespace {

std::string kg(std::int64_t ug) { return show(ug, Dimension::mass, Units{}); }

bool near_to(std::int64_t n, std::int64_t limit) { return n * 100 / (limit > 0 ? limit : 1) >= kNearPercent; }

void percent(LimitLine& l, std::int64_t best, std::int64_t high, std::int64_t limit, bool at_least, const std::string& high_shown) {
  const bool over = at_least ? best >= limit : best > limit;
  const bool may = at_least ? high >= limit : high > limit;
  l.state = over ? State::over : may || near_to(best, limit) ? State::near : State::fine;
  if (!over && may) l.figures += "; may be over: " + high_shown + " with the upper bounds";
}
void percent(LimitLine& l, std::int64_t best, std::int64_t high, std::int64_t limit, bool at_least) { percent(l, best, high, limit, at_least, kg(high)); }

/// The day and the entry since which the sum over these places has been at a limit or over it without a break.
std::optional<std::pair<Day, EntryId>> crossing(LimitSheet& sheet, const std::vector<const OnHand*>& places, std::int64_t limit, bool at_least, bool volume) {
  struct Event { log::Effect effect; std::int64_t delta; };
  std::vector<Event> events;
  for (const OnHand* h : places) {
    auto q = sheet.in.db.query(
        "SELECT l.moment, l.recorded, l.entry, f.dimension, f.fluid, CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END FROM leg l JOIN flow f ON f.entry = l.entry "
        "WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1)");
    q.bind(h->place->id.n).bind(log::last_moment(sheet.day));
    while (q.step()) {
      const std::int64_t n = q.num(5);
      const auto weight = sheet.office.weight(q.num(4), h->stream);
      const std::int64_t delta = (volume ? Office::volume(n, q.num(3), weight) : Office::mass(n, q.num(3), weight)).value_or(0);
      events.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, delta});
    }
  }
  std::sort(events.begin(), events.end(), [](const Event& a, const Event& b) { return a.effect < b.effect; });
  std::int64_t sum = 0;
  std::optional<std::pair<Day, EntryId>> out;
  for (const Event& e : events) {
    sum += e.delta;
    const bool over = at_least ? sum >= limit : sum > limit;
    if (over && !out) out = {log::day_of_moment(e.effect.moment), e.effect.id};
    if (!over) out.reset();
  }
  return out;
}

}  // namespace

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
      h.since = kept_since(sheet.in, p.id, until).value_or(log::day_of_moment(q.num(1)));
      h.first = ref_of(sheet.in, EntryId{q.num(2)});
    }
    h.facts = sheet.office.facts(p.stream, p.id, sheet.day);
    h.stream = sheet.office.stream_for(p.stream, sheet.day);
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
      const auto weight = sheet.office.weight(x.fluid, h.stream);
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

void weight_on_site(LimitSheet& sheet) {
  std::int64_t best = 0;
  std::int64_t high = 0;
  bool unweighed = false;
  std::vector<const OnHand*> counted;
  for (const OnHand& h : sheet.on_hand) {
    if (!h.counts()) continue;
    log::add_to(best, 1, h.ug);
    log::add_to(high, 1, h.high_ug);
    unweighed = unweighed || h.unweighed;
    counted.push_back(&h);
  }
  const int now = sheet.out.category;
  const RuleValue* most = sheet.value(now == 2 ? "limit.small.max-on-site" : "limit.very-small.max-on-site");
  if (now == 1 || now == 2) {
    if (most != nullptr) {
      LimitLine& l = sheet.line("on hand", "hazardous waste on site", most);
      l.figures = kg(best) + " of " + most->text;
      percent(l, best, high, most->n, false);
      if (unweighed) l.figures += "; some of it has no weight in the book";
      l.settle = "baybook pickup";
    }
  }
  const RuleValue* trigger = sheet.value("limit.very-small.trigger");
  const RuleValue* days = sheet.value("clock.very-small.days");
  if (now == 1 && trigger != nullptr && days != nullptr) {
    LimitLine& l = sheet.line("on hand", "hazardous waste on site, very small quantity generator's trigger", trigger);
    l.figures = kg(best) + " of " + trigger->text;
    percent(l, best, high, trigger->n, true);
    l.settle = "baybook pickup";
    if (best >= trigger->n) {
      const auto passed = crossing(sheet, counted, trigger->n, true, false);
      if (passed) {
        const RuleValue* n = clock_days(sheet, days, counted);
        l.due = returns::last_permitted(*sheet.rules, passed->first, n->n);
        l.state = state_of_day(*l.due, sheet.day);
        l.section = days->source.section;
        l.figures += ", reached on " + to_string(passed->first) + "; " + std::to_string(n->n) +
                     " days, " + days_left(*l.due, sheet.day) +
                     (counted.empty() ? "" : haul_told(sheet, *counted.front(), n));
        l.entries.push_back(ref_of(sheet.in, passed->second));
      }
    }
  }
}

void satellites(LimitSheet& sheet) {
  const RuleValue* most = sheet.value("satellite.max-volume");
  const RuleValue* days = sheet.value("satellite.excess-days");
  if (most == nullptr || days == nullptr) return;
  std::map<std::string, std::vector<const OnHand*>> by;
  for (const OnHand& h : sheet.on_hand) {
    if (h.place->satellite && h.hazardous() && h.facts.counted != YesNo::no) by[h.place->area].push_back(&h);
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
    const auto shown = [&](std::int64_t nl) { return show(nl, Dimension::volume, sheet.in.settings.units); };
    LimitLine& l = sheet.line("satellite", "area " + area + ", at the point of generation", most);
    l.figures = shown(volume) + " of " + most->text;
    percent(l, volume, high, most->n, false, shown(high));
    if (by_density) l.figures += "; what was weighed, by its density";
    if (unmeasured) {
      l.figures += "; some of it has no volume in the book";
      if (l.state == State::fine) l.state = State::near;
    }
    l.settle = "baybook decant ... --into a container in the central area";
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

void counts(LimitSheet& sheet) {
  std::int64_t airbags = 0;
  std::int64_t filters = 0;
  for (const OnHand& h : sheet.on_hand) {
    if (h.stream != nullptr && h.stream->group == "airbags") airbags += h.pieces;
    if (h.facts.name == "oil-filters") filters += h.ug;
  }
  if (const RuleValue* most = sheet.value("airbags.max-count"); most != nullptr && airbags > 0) {
    LimitLine& l = sheet.line("on hand", "airbag modules and inflators", most);
    l.figures = std::to_string(airbags) + " of " + most->text;
    l.state = airbags > most->n ? State::over : airbags * 100 / most->n >= kNearPercent ? State::near : State::fine;
    l.settle = "baybook pickup";
  }
  if (const RuleValue* most = sheet.value("filters.crushed.max-mass"); most != nullptr && filters > 0) {
    LimitLine& l = sheet.line("on hand", "crushed oil filters under the exemption", most);
    l.figures = kg(filters) + " of " + most->text;
    percent(l, filters, filters, most->n, false);
    l.settle = "baybook pickup";
  }
}

void oil_plan(LimitSheet& sheet) {
  const RuleValue* limit = sheet.value("oil-plan.limit");
  const RuleValue* least = sheet.value("oil-plan.min-container");
  const RuleValue* word = sheet.value("oil-plan.comparison");
  if (limit == nullptr || least == nullptr || word == nullptr) return;
  std::int64_t sum = 0;
  struct P { std::string takes; std::int64_t size; };
  std::vector<P> places;
  {
    auto q = sheet.in.db.query("SELECT takes, size FROM place WHERE role BETWEEN 2 AND 4 AND dimension = 0 AND size > 0");
    while (q.step()) places.push_back({q.text(0), q.num(1)});
  }
  for (const P& p : places) {
    const FluidClass* c = find_class(std::string_view(p.takes).substr(0, p.takes.find(' ')));
    const bool oil = c != nullptr && (c->group == "oil" || c->group == "petrol" || c->group == "diesel");
    if (oil && p.size >= least->n) sum += p.size;
  }
  if (sum == 0) return;
  LimitLine& l = sheet.line("oil plan", "above-ground oil containers of " + least->text + " or more, by their size", limit);
  l.figures = show(sum, Dimension::volume, sheet.in.settings.units) + " of " + limit->text + " (" + (word->text == "at-least" ? "applies at that or more" : "exempt at that or less") + ")";
  const bool over = word->text == "at-least" ? sum >= limit->n : sum > limit->n;
  l.state = over ? State::over : sum * 100 / limit->n >= kNearPercent ? State::near : State::fine;
  l.settle = "a storage plan, if oil could reach navigable water";
}

}  // namespace baybook::book
