// Registrations: of carriers, which are renewed, and of premises with much hazardous waste.
#include "book/limits.hpp"

#include "log/sum.hpp"

#include <iterator>

namespace baybook::book {

namespace {

void carriers(LimitSheet& sheet) {
  const RuleValue* rule = sheet.value("carrier.upper-tier.renew-months");
  if (rule == nullptr) return;
  std::vector<std::int64_t> ids;
  {
    auto q = sheet.in.db.query("SELECT id FROM firm WHERE carries <> 0 ORDER BY code, id");
    while (q.step()) ids.push_back(q.num(0));
  }
  for (const std::int64_t id : ids) {
    const log::Fact fact = log::read_fact(sheet.in.db, EntryId{id});
    const log::Value* day = fact.details.find("registered");
    const auto registered = day != nullptr ? read_day(day->as_string()) : std::nullopt;
    if (!registered || *registered > sheet.day) continue;
    const std::string code(fact.details.str("code"));
    LimitLine& l =
        sheet.line("registration", "carrier " + code + ", renewed as one of the upper tier", rule);
    l.due = add_months(*registered, static_cast<int>(rule->n));
    l.state = state_of_day(*l.due, sheet.day);
    l.figures =
        rule->text + " from " + to_string(*registered) + ", " + days_left(*l.due, sheet.day);
    l.settle = "baybook firm change " + code + " --registered DATE";
    l.entries.push_back(ref_of(sheet.in, fact.source));
  }
}

// The program's files hold for all of their country: a shop in Wales says so by a value in its own
// file.
bool is_of_the_shop(const RuleSet& rules, const RuleValue& rule) {
  // The shop's own file is read last, whatever it is called.
  const auto plain = read_rules(rules.name);
  return plain.ok() && &rule - rules.values.data() >= std::ssize(plain->values);
}

void premises(LimitSheet& sheet) {
  const RuleValue* rule = sheet.value("registration.wales.mass");
  if (rule == nullptr || !is_of_the_shop(*sheet.rules, *rule)) return;
  constexpr int months = 12;
  std::int64_t best = 0;
  std::int64_t high = 0;
  bool unweighed = false;
  for (int back = 0; back < months; ++back) {
    std::vector<JudgedLine> lines;
    (void)read_month(sheet.office, Month{month_of(sheet.day).n - back}, "decided", &lines, nullptr);
    for (const JudgedLine& l : lines) {
      if (l.stream.hazardous == YesNo::no || l.source == "found by gauges") continue;
      unweighed = unweighed || (!l.best_ug && l.best != 0);
      log::add_to(best, 1, l.best_ug.value_or(0));
      log::add_to(high, 1, l.high_ug.value_or(0));
    }
  }
  LimitLine& l =
      sheet.line("registration", "premises, hazardous waste of the last 12 months", rule);
  const auto kg = [&](std::int64_t ug) { return show_as_typed(ug, "1 kg", rule->n); };
  l.figures = kg(best) + " of " + rule->text + ", what nobody determined among it";
  l.state = best >= rule->n                                ? State::over
            : high >= rule->n || near_limit(best, rule->n) ? State::near
                                                           : State::fine;
  if (best < rule->n && high >= rule->n)
    l.figures += "; may be over: " + kg(high) + " with the upper bounds";
  if (unweighed) l.figures += "; some of it has no weight in the book";
  l.settle = "the regulator's form; baybook deadline add CODE DATE keeps the next day";
}

}  // namespace

void registrations(LimitSheet& sheet) {
  carriers(sheet);
  premises(sheet);
}

}  // namespace baybook::book
