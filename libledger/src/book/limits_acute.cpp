// Acute waste and the residues of it: limits and days of their own, beside those of all other waste.
#include "book/limits.hpp"

#include "fluids/solids.hpp"
#include "log/sum.hpp"

#include <span>

namespace baybook::book {

namespace {

struct Sums {
  std::int64_t best = 0, high = 0;
  bool unweighed = false;
  std::vector<const OnHand*> places{};
};

Sums sum_of(const LimitSheet& sheet, bool residue) {
  Sums out;
  for (const OnHand& h : sheet.on_hand) {
    if (!h.counts() || h.event != nullptr || !(residue ? is_acute_residue(h) : is_acute(h))) continue;
    log::add_to(out.best, 1, h.ug);
    log::add_to(out.high, 1, h.high_ug);
    out.unweighed = out.unweighed || h.unweighed;
    out.places.push_back(&h);
  }
  return out;
}

// 40 CFR 262.14(a)(3): what a very small generator may have on the site is what it may generate in
// a month; past it the days run from that day, under the conditions of a large one.
void on_site(LimitSheet& sheet, const char* what, const Sums& sums, const char* key) {
  const RuleValue* most = sheet.value(key);
  const RuleValue* days = sheet.value("clock.very-small-acute.days");
  if (most == nullptr || days == nullptr || sums.places.empty()) return;
  LimitLine& l = sheet.line("on hand", what, days);
  l.sure = std::max(most->source.sure, days->source.sure);
  l.figures = kg_beside(sums.best, most->n) + " of " + most->text;
  compare(l, sums.best, sums.high, most->n, false, kg_beside(sums.high, most->n));
  if (sums.unweighed) {
    l.figures += "; some of it has no weight in the book";
    if (l.state == State::fine) l.state = State::near;
  }
  l.settle = "baybook pickup";
  if (sums.best <= most->n) return;
  sheet.passed_acute = true;
  const auto passed = crossing(sheet, sums.places, most->n, false, false);
  if (!passed) return;
  l.due = returns::last_permitted(*sheet.rules, passed->first, days->n);
  l.state = state_of_day(*l.due, sheet.day);
  l.figures += ", passed on " + to_string(passed->first) + "; " + std::to_string(days->n) +
               " days, " + days_left(*l.due, sheet.day) +
               ", under the conditions of a large generator";
  l.entries.push_back(ref_of(sheet.in, passed->second));
}

// What is poured is liquid, whether it was weighed or not.
bool is_liquid(LimitSheet& sheet, const OnHand& h) {
  auto q = sheet.in.db.query("SELECT f.fluid, f.dimension FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND f.target = ?1 AND l.moment <= ?2");
  q.bind(h.place->id.n).bind(log::last_moment(sheet.day));
  bool liquid = false;
  std::vector<std::int64_t> fluids;
  while (q.step()) {
    liquid = liquid || q.num(1) == 0;
    fluids.push_back(q.num(0));
  }
  for (const std::int64_t fluid : fluids) {
    const FluidClass* c = find_class(FluidId{sheet.in.ledger.class_of(fluid)});
    liquid = liquid || (c != nullptr && !fluids::is_solid(c->name));
  }
  return liquid;
}

struct Area {
  std::vector<const OnHand*> liquid{}, solid{};
};

void satellite(LimitSheet& sheet, const std::string& area, const std::vector<const OnHand*>& places,
               bool liquid) {
  const RuleValue* most = sheet.value(liquid ? "satellite.max-acute-liquid" : "satellite.max-acute-solid");
  const RuleValue* days = sheet.value("satellite.excess-days");
  if (most == nullptr || days == nullptr || places.empty()) return;
  std::int64_t best = 0, high = 0;
  bool unknown = false;
  for (const OnHand* h : places) {
    log::add_to(best, 1, liquid ? h->volume : h->ug);
    log::add_to(high, 1, liquid ? h->high_volume : h->high_ug);
    unknown = unknown || (liquid ? h->unmeasured : h->unweighed);
  }
  const auto shown = [&](std::int64_t n) {
    return show_beside(n, liquid ? Dimension::volume : Dimension::mass, sheet.in.settings.units, std::span(&most->n, 1));
  };
  LimitLine& l = sheet.line("satellite", "area " + area + ", acute waste at the point of generation, " + (liquid ? "liquid" : "solid"), most);
  l.figures = shown(best) + " of " + most->text;
  compare(l, best, high, most->n, false, shown(high));
  if (unknown) {
    l.figures += liquid ? "; some of it has no volume in the book" : "; some of it has no weight in the book";
    if (l.state == State::fine) l.state = State::near;
  }
  l.settle = "baybook decant PLACE all --into DRUM  # one in the central area";
  if (best <= most->n) return;
  const auto passed = crossing(sheet, places, most->n, false, liquid);
  if (!passed) return;
  l.due = returns::last_permitted(*sheet.rules, passed->first, days->n);
  const State by_day = state_of_day(*l.due, sheet.day);
  l.state = by_day == State::fine ? State::near : by_day;
  l.section = days->source.section;
  l.figures += ", over since " + to_string(passed->first) + "; " + std::to_string(days->n) + " days, " + days_left(*l.due, sheet.day) + "; mark the container with that date";
  l.entries.push_back(ref_of(sheet.in, passed->second));
}

}  // namespace

void acute_on_site(LimitSheet& sheet) {
  if (sheet.out.category != 1) return;
  on_site(sheet, "acute hazardous waste on site, very small quantity generator", sum_of(sheet, false), "category.very-small.max-acute");
  on_site(sheet, "residues of acute waste on site, very small quantity generator", sum_of(sheet, true), "category.very-small.max-residue");
}

void acute_satellites(LimitSheet& sheet) {
  std::map<std::string, Area> by;
  std::map<std::string, std::vector<const OnHand*>> residues;
  for (const OnHand& h : sheet.on_hand) {
    if (!h.place->satellite || !h.counts()) continue;
    if (is_acute_residue(h)) residues[h.place->area].push_back(&h);
    if (!is_acute(h)) continue;
    Area& a = by[h.place->area];
    (is_liquid(sheet, h) ? a.liquid : a.solid).push_back(&h);
  }
  for (const auto& [area, a] : by) {
    satellite(sheet, area, a.liquid, true);
    satellite(sheet, area, a.solid, false);
  }
  for (const auto& [area, places] : residues) {
    LimitLine& l = sheet.line("satellite", "area " + area + ", residues of acute waste at the point of generation", nullptr);
    std::int64_t best = 0;
    for (const OnHand* h : places) {
      log::add_to(best, 1, h->ug);
      l.entries.push_back(h->first);
    }
    l.figures = show(best, Dimension::mass, sheet.in.settings.units) + "; the rules name no figure for them here";
  }
}

}  // namespace baybook::book
