#include "sheet.hpp"

#include "../render/text.hpp"

#include <baybook/exchange.hpp>
#include <baybook/text.hpp>

namespace baybook::tool::sheet {

report::Report begin(Context& c, std::string kind, std::string title, std::string period) {
  report::Report r;
  r.kind = std::move(kind);
  r.title = std::move(title);
  r.site = c.book().settings().site;
  r.period = std::move(period);
  r.program = "baybook " BAYBOOK_VERSION;
  const Seals s = need(seals(c.book()));
  r.seal = s.seal;
  r.seal_digest = s.digest;
  if (s.all.size() > 1) {
    r.seals = s.all;
    for (std::string& told : need(differing_settings(c.book(), true)))
      r.notes.push_back("This book is of several: " + std::move(told) + ".");
  }
  return r;
}

void by_rules(report::Report& r, const std::string& rules, const std::string& digest, const std::string& aid) {
  r.rules = rules;
  r.rules_digest = digest;
  if (!aid.empty()) r.notes.push_back(aid);
}

report::Cell text(std::string s, bool strong) { return {std::move(s), {}, strong}; }

// In the unit of the column's heading: by itself a small mass is shown in grams.
std::string exact_number(std::int64_t n, Dimension d, const Units& units) {
  if (d != Dimension::mass) {
    const std::string shown = show(n, d, units, true);
    return shown.substr(0, shown.find(' '));
  }
  std::string out = show_number(n, d, units, 9);
  out.erase(out.find_last_not_of('0') + 1);
  if (out.ends_with('.')) out.pop_back();
  return out;
}

report::Cell figure(std::int64_t n, Dimension d, const Units& units, bool estimated, bool strong, bool show_zero) {
  if (n == 0 && !show_zero) return {};
  const bool two = n % 10'000'000 == 0;
  const int decimals = d == Dimension::count ? 0 : two ? 2 : 3;
  const bool rounded = !shows_exactly(n, d, units, decimals);
  return {show_number(n, d, units, decimals) + (estimated || rounded ? "~" : ""), exact_number(n, d, units), strong};
}

report::Cell mass(const std::optional<std::int64_t>& ug) {
  if (!ug) return {"not weighed", {}, false};
  Units kilograms;
  report::Cell c;
  c.text = show_number(*ug, Dimension::mass, kilograms, 1);
  c.exact = show_number(*ug, Dimension::mass, kilograms, 9);
  return c;
}

report::Cell mass_beside(std::int64_t ug, const std::vector<std::int64_t>& edges) {
  report::Cell c = mass(ug);
  const Units kilograms;
  const int decimals = decimals_beside(ug, Dimension::mass, kilograms, 1, edges);
  c.text = show_number(ug, Dimension::mass, kilograms, decimals);
  return c;
}

report::Column figures(std::string heading, std::string unit, std::string key) { return {std::move(heading), std::move(unit), true, std::move(key)}; }

std::string amount(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units) { return bounded(low, best, high, d, units); }

report::Cell amount_cell(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units) { return {amount(low, best, high, d, units), bounded(low, best, high, d, units, true), false}; }

std::string hazard_word(const StreamFacts& s) {
  if (!s.known) return "not in the rules";
  return s.hazardous == YesNo::yes ? "hazardous" : s.hazardous == YesNo::no ? "not hazardous" : "not determined";
}

std::string refs(Context& c, const std::vector<EntryRef>& list) {
  std::string out;
  for (const EntryRef& r : list) out += (out.empty() ? "" : ", ") + ref_text(r, c.book().settings().tag);
  return out;
}

}  // namespace baybook::tool::sheet
