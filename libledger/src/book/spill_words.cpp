#include "book/spill_words.hpp"

#include "quantity/decimal.hpp"

#include <algorithm>

namespace baybook {

std::string_view name_of(SpillComparison::State state) noexcept {
  switch (state) {
    case SpillComparison::State::below:
      return "below";
    case SpillComparison::State::unknown:
      return "unknown";
    case SpillComparison::State::near:
      return "near";
    case SpillComparison::State::may_be:
      return "may-be";
    case SpillComparison::State::at_or_over:
      break;
  }
  return "at-or-over";
}

namespace book {

namespace {

using Compared = SpillComparison::State;

// In kilograms and in the unit of the rule, each with the digits that decide.
std::string both_units(std::int64_t ug, const SpillComparison& c) {
  const std::string kg = show_as_typed(ug, "1 kg", c.quantity.n);
  const std::string rule = show_as_typed(ug, c.typed, c.quantity.n);
  return kg + (rule.empty() || rule == kg ? "" : " (" + rule + ")");
}

std::string names_of(const std::vector<EntryRef>& refs, Book::Inside& in) {
  std::string out = refs.size() == 1 ? "entry " : "entries ";
  for (std::size_t i = 0; i < refs.size(); ++i)
    out += (i == 0 ? "" : i + 1 == refs.size() ? " and " : ", ") + entry_name(in, refs[i].id);
  return out;
}

std::string percent_of(const SpillComparison& c) {
  const std::int64_t ug = std::max(c.best_ug, c.may_best_ug);
  const quantity::i128 n = std::max<std::int64_t>(1, c.quantity.n);
  return quantity::whole_text(static_cast<quantity::i128>(ug) * 100 / n) + " %";
}

// "40 CFR 302.4, from memory": within brackets already.
std::string section_told(const std::string& section, Sure sure) {
  return section +
         (sure == Sure::confirmed || sure == Sure::shop ? "" : ", " + std::string(words_for(sure)));
}

std::string verdict(const SpillComparison& c) {
  switch (c.state) {
    case Compared::at_or_over:
      return "AT OR OVER " + c.typed;
    case Compared::may_be:
      return "MAY BE AT OR OVER " + c.typed;
    case Compared::near:
      return "near " + c.typed + ", " + percent_of(c) + " of it";
    case Compared::unknown:
      return "not compared with " + c.typed + ", for nothing of it has a weight";
    case Compared::below:
      break;
  }
  return "below " + c.typed;
}

}  // namespace

std::string unsaid_share(const std::string& fluid, const std::vector<const Reportable*>& rules) {
  const FluidClass* c = find_class(std::string_view(fluid));
  std::size_t named = 0;
  for (const Reportable* r : rules) named += c != nullptr && r->classes == c->name ? 1U : 0U;
  return "no share of " + fluid + " is said: the whole mass is compared" +
         (named > 1 ? ", an unknown mixture with the lowest quantity first" : "");
}

void put_into_words(SpillComparison& c, const std::string& typed, Book::Inside& in) {
  c.mass = both_units(c.best_ug, c);
  if (c.high_ug > c.best_ug) c.mass += ", up to " + both_units(c.high_ug, c);
  std::string fluids;
  for (const std::string& f : c.fluids) fluids += (fluids.empty() ? "" : " + ") + f;
  c.told = c.substance + ": " + (typed.empty() ? "" : typed + " of ") + fluids + " got out";
  const bool several = c.entries.size() > 1;
  if (several) c.told += ", summed over " + names_of(c.entries, in);
  c.told += ", " + c.mass + ": " + verdict(c) + (c.window.empty() ? "" : " " + c.window);
  c.told += " (" + section_told(c.section, c.sure) + "); " + c.share;
  if (!c.may.empty() && (c.state != Compared::at_or_over))
    c.told += "; " + names_of(c.may, in) +
              " may be within it, for a time of day is missing: up to " +
              both_units(c.may_high_ug, c) + " with that";
  if (c.unweighed && c.state != Compared::unknown)
    c.told += "; some of it has no weight in the book";
}

void say_aloud(SpillAdvice& advice, const Spill& spill, const RuleSet& rules, Book::Inside& in) {
  for (const SpillComparison& c : advice.substances) {
    if (c.state != Compared::below) advice.lines.push_back(c.told);
  }
  bool oil = false;
  for (const GotOut& g : spill.out) {
    const FluidClass* c = find_class(FluidId{in.ledger.class_of(g.fluid)});
    oil = oil ||
          (c != nullptr && (c->group == "oil" || c->group == "petrol" || c->group == "diesel"));
  }
  const RuleValue* water = rules.value("spill.oil.report-when", spill.day);
  if (water != nullptr && oil && (spill.reached == "water" || spill.reached == "drain")) {
    advice.oil = "it reached " + std::string(spill.reached == "drain" ? "a drain" : "water") +
                 ": " + water->text + " (" +
                 section_told(water->source.section, water->source.sure) + ")";
    advice.lines.push_back(advice.oil);
  }
  if (advice.lines.empty()) return;
  for (const std::string& n : advice.notes) advice.lines.push_back(n);
  if (const RuleValue* call = rules.value("spill.call", spill.day)) {
    advice.call = "to report: " + call->text + " (" +
                  section_told(call->source.section, call->source.sure) + ")";
    advice.lines.push_back(advice.call);
  }
  advice.lines.emplace_back(
      "this compares figures; whether a report is due, and to whom, is for the authority and local "
      "rules to say");
}

std::string in_short(const SpillAdvice& advice) {
  const SpillComparison* worst = nullptr;
  for (const SpillComparison& c : advice.substances) {
    if (c.state != Compared::below && (worst == nullptr || c.state > worst->state)) worst = &c;
  }
  if (worst == nullptr) return "";
  return worst->substance + " " + worst->mass + ": " + verdict(*worst) + " " + worst->window;
}

}  // namespace book

}  // namespace baybook
