#include "returns/category.hpp"

#include <cstdio>

namespace baybook::returns {

int category(const RuleSet& rules, Day day, std::int64_t non_acute_ug, std::int64_t acute_ug, std::int64_t residue_ug) {
  const RuleValue* very_small = rules.value("category.very-small.max-non-acute", day);
  const RuleValue* large = rules.value("category.large.min-non-acute", day);
  if (very_small == nullptr || large == nullptr) return 0;
  int out = non_acute_ug <= very_small->n ? 1 : non_acute_ug < large->n ? 2 : 3;
  const RuleValue* acute = rules.value("category.very-small.max-acute", day);
  const RuleValue* residue = rules.value("category.very-small.max-residue", day);
  if (acute != nullptr && acute_ug > acute->n) out = 3;
  if (residue != nullptr && residue_ug > residue->n) out = 3;
  return out;
}

std::string category_title(const RuleSet& rules, Day day, int category) {
  const RuleValue* v = rules.value(category == 3 ? "category.large.title" : category == 2 ? "category.small.title" : "category.very-small.title", day);
  return v != nullptr && category != 0 ? v->text : std::string();
}

std::string rounding_notice(const RuleSet& rules, Day day, std::int64_t ug) {
  const auto band = [&](const char* pounds, const char* kilograms) -> std::string {
    const RuleValue* lb = rules.value(pounds, day);
    const RuleValue* kg = rules.value(kilograms, day);
    if (lb == nullptr || kg == nullptr) return "";
    const std::int64_t low = lb->n < kg->n ? lb->n : kg->n;
    const std::int64_t high = lb->n < kg->n ? kg->n : lb->n;
    if (ug <= low || ug > high || ug == kg->n) return "";
    return "the total lies between " + lb->text + " and " + kg->text + ": the rule's pounds are rounded, kilograms are primary (" + kg->source.section + ")";
  };
  const std::string first = band("category.very-small.pounds", "category.very-small.max-non-acute");
  return first.empty() ? band("category.large.pounds", "category.large.min-non-acute") : first;
}

namespace {

// One day less where the rules' named setting has the first day as day one.
std::int32_t first_day(const RuleSet& rules, Day start) {
  const RuleValue* convention = rules.value("clock.day-zero", start);
  return convention != nullptr && convention->text == "first" ? 1 : 0;
}

}  // namespace

Day last_permitted(const RuleSet& rules, Day start, std::int64_t n) {
  return Day{static_cast<std::int32_t>(start.n + n - first_day(rules, start))};
}

Day last_permitted_month(const RuleSet& rules, Day start, std::int64_t months) {
  return Day{add_months(start, static_cast<int>(months)).n - first_day(rules, start)};
}

Day purge_day(Day start, std::int64_t months) {
  Day out = add_months(start, static_cast<int>(months));
  // add_months goes back to the month's last day; a record is kept to the end of the full period.
  const auto day_of_month = [](Day d) { return d.n - first_of(month_of(d)).n; };
  if (day_of_month(out) < day_of_month(start)) out.n += 1;
  return out;
}

std::vector<std::int64_t> category_edges(const RuleSet& rules, Day day) {
  std::vector<std::int64_t> out;
  for (const char* key : {"category.very-small.max-non-acute", "category.large.min-non-acute",
                          "category.very-small.max-acute", "category.very-small.max-residue"}) {
    if (const RuleValue* v = rules.value(key, day)) out.push_back(v->n);
  }
  return out;
}

Day next_in_cycle(Day day, std::int64_t day_of_year, std::int64_t first_year, std::int64_t every_years) {
  for (std::int64_t year = first_year; year < 3000; year += every_years > 0 ? every_years : 1) {
    char text[40];
    std::snprintf(text, sizeof text, "%04d-%02d-%02d", static_cast<int>(year), static_cast<int>(day_of_year / 100), static_cast<int>(day_of_year % 100));
    const auto d = read_day(text);
    if (d && *d >= day) return *d;
  }
  return day;
}

}  // namespace baybook::returns
