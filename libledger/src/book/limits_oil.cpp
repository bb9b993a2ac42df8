// Above-ground oil, by the size of its containers: what the rules count is the shell, not what is in it.
#include "book/limits.hpp"

#include "fluids/build.hpp"
#include "log/sum.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

/// A container for oil that stands on the site.
struct Shell {
  PlaceId id;
  Role role = Role::stock;
  std::int64_t size = 0;
};

bool holds_anything(LimitSheet& sheet, PlaceId place) {
  auto q = sheet.in.db.query("SELECT f.dimension, f.fluid, sum(CASE WHEN f.source = ?1 THEN -f.best ELSE f.best END) FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND l.moment <= ?2 AND (f.source = ?1 OR f.target = ?1) GROUP BY f.dimension, f.fluid");
  q.bind(place.n).bind(log::last_moment(sheet.day));
  bool any = false;
  while (q.step()) any = any || q.num(2) != 0;
  return any;
}

// One that is retired and empty stands closed for good (40 CFR 112.1: permanently closed ones do not
// count); one that still holds something does not.
std::vector<Shell> shells(LimitSheet& sheet) {
  std::vector<std::pair<Shell, std::string>> all;
  {
    auto q = sheet.in.db.query("SELECT id, role, takes, size FROM place WHERE role BETWEEN 2 AND 4 AND dimension = 0 AND size > 0");
    while (q.step()) all.push_back({{PlaceId{q.num(0)}, static_cast<Role>(q.num(1)), q.num(3)}, q.text(2)});
  }
  std::vector<Shell> out;
  for (const auto& [shell, takes] : all) {
    const FluidClass* c = find_class(std::string_view(takes).substr(0, takes.find(' ')));
    const bool oil = c != nullptr && (c->group == "oil" || c->group == "petrol" || c->group == "diesel");
    if (!oil) continue;
    const bool retired = fluids::marks_of(sheet.in.db, shell.id, log::last_moment(sheet.day)).retired;
    if (!retired || holds_anything(sheet, shell.id)) out.push_back(shell);
  }
  return out;
}

// A drum is sold as 208 L and named as 55 gal: a size that is less than 1 percent short of the one
// that a rule names is that size. Common practice, no source; never to the shop's advantage.
std::int64_t as_named(std::int64_t size, std::int64_t named) {
  const bool short_of_it = size < named && named - size <= named / 100;
  return short_of_it ? named : size;
}

}  // namespace

void oil_plan(LimitSheet& sheet) {
  const RuleValue* limit = sheet.value("oil-plan.limit");
  const RuleValue* least = sheet.value("oil-plan.min-container");
  const RuleValue* word = sheet.value("oil-plan.comparison");
  if (limit == nullptr || least == nullptr || word == nullptr) return;
  std::int64_t sum = 0;
  int taken = 0;
  for (const Shell& s : shells(sheet)) {
    const std::int64_t size = as_named(s.size, least->n);
    if (size < least->n) continue;
    if (size != s.size) ++taken;
    log::add_to(sum, 1, size);
  }
  if (sum == 0) return;
  const bool at_least = word->text == "at-least";
  LimitLine& l = sheet.line("oil plan", "above-ground oil containers of " + least->text + " or more, by their size", limit);
  l.figures = show_beside(sum, Dimension::volume, sheet.in.settings.units, std::span(&limit->n, 1)) + " of " + limit->text + " (" + (at_least ? "applies at that or more" : "exempt at that or less") + ")";
  compare(l, sum, sum, limit->n, at_least, "");
  if (taken > 0)
    l.figures += "; " + std::to_string(taken) + (taken == 1 ? " container" : " containers") + " less than 1 percent short of " + least->text + " taken as that size (common practice, no source)";
  const RuleValue* water = sheet.value("oil-plan.only-near-water");
  l.settle = water != nullptr && water->n == 0 ? "a storage plan" : "a storage plan, if oil could reach navigable water";
}

// England, SI 2001/2954: containers over that size, outdoors; waste oil is not meant. Whether one
// stands outdoors, and what its bund holds, the book does not know.
void oil_storage(LimitSheet& sheet) {
  const RuleValue* over = sheet.value("oil-storage.min-container");
  const RuleValue* largest = sheet.value("oil-storage.bund.percent");
  const RuleValue* total = sheet.value("oil-storage.bund.total-percent");
  if (over == nullptr || largest == nullptr || total == nullptr) return;
  struct Sum {
    std::int64_t all = 0, greatest = 0;
    int n = 0;
    void add(std::int64_t size) {
      log::add_to(all, 1, size);
      greatest = std::max(greatest, size);
      ++n;
    }
  };
  Sum product, with_waste;
  for (const Shell& s : shells(sheet)) {
    if (s.size <= over->n) continue;
    with_waste.add(s.size);
    if (s.role != Role::waste) product.add(s.size);
  }
  if (with_waste.n == 0) return;
  const auto bund = [&](const Sum& s) {
    const std::int64_t n = std::max(s.greatest / 100 * largest->n, s.all / 100 * total->n);
    return std::to_string(s.n) + (s.n == 1 ? " container, a bund of " : " containers, a bund of ") +
           show(n, Dimension::volume, sheet.in.settings.units);
  };
  LimitLine& l = sheet.line("oil storage", "oil in containers over " + over->text + ", where they stand outdoors", over);
  l.figures = product.n > 0 ? bund(product) : std::string("none but waste oil, which is not meant in England");
  l.figures += "; " + largest->text + " % of the only or largest, or " + total->text + " % of the total, whichever is more; drums: " + total->text + " % of the total";
  if (with_waste.n > product.n) l.figures += "; with waste oil, as in Scotland: " + bund(with_waste);
  l.figures += "; where they stand and what their bund holds is not in the book";
  l.settle = "look at the bund";
}

}  // namespace baybook::book
