#include "../context.hpp"
#include "levels.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

namespace {

struct Part {
  std::string_view key;      ///< in JSON
  std::string_view heading;  ///< in the form
  Sum TotalsRow::*sum;
};

// In and out of the shop's places. opening + all of these in = all of these out + closing, for every fluid, exactly.
constexpr Part kIn[] = {
    {"drained", "drained", &TotalsRow::drained},
    {"received", "received", &TotalsRow::received},
    {"brought_in", "brought in", &TotalsRow::brought_in},
    {"gauge", "gauge +-", &TotalsRow::gauge},
};
constexpr Part kOut[] = {
    {"put_back", "put back", &TotalsRow::put_back},
    {"new_used", "new used", &TotalsRow::new_used},
    {"lost_here", "lost", &TotalsRow::lost_here},
    {"recycled", "recycled", &TotalsRow::recycled},
    {"disposed", "disposed", &TotalsRow::disposed},
    {"shipped_other", "shipped", &TotalsRow::shipped_other},
    {"used_up", "used up", &TotalsRow::used_up},
};
// Beside the balance: what never stood in a place of the shop, or only moved between them.
constexpr Part kBeside[] = {
    {"filtered", "filtered and kept", &TotalsRow::filtered},
    {"to_waste", "moved to waste", &TotalsRow::to_waste},
    {"lost_from_cars", "lost from cars", &TotalsRow::lost_from_cars},
    {"direct_new", "new straight into cars", &TotalsRow::direct_new},
};

bool nothing(const Sum& s) { return s.low == 0 && s.best == 0 && s.high == 0; }

void sum_member(Json& j, std::string_view name, const Sum& s, Dimension d) {
  j.key(name).begin_object();
  j.member(base_unit(d), std::to_string(s.best));
  j.key("low").exact(s.low, d);
  j.key("high").exact(s.high, d);
  j.key("measured").exact(s.measured, d);
  j.key("estimated").exact(s.estimated, d);
  j.end_object();
}

/// A heading of two lines, so that a whole month fits a page: "+brought" over "in".
std::string stacked(const char* sign, std::string_view heading) {
  // A blank at the end stands under the mark of an estimate.
  std::string out = heading.starts_with("gauge") ? std::string(heading) : sign + std::string(heading);
  if (const std::size_t blank = out.find(' '); blank != std::string::npos) out.replace(blank, 1, " \n");
  return out + " ";
}

/// Decimals of the form: two, or three when a figure needs them to be exact. Pieces have none.
int decimals_for(const Totals& t, Dimension d) {
  if (d == Dimension::count) return 0;
  for (const TotalsRow& r : t.rows) {
    if (r.dimension != d) continue;
    for (const auto* parts : {&kIn[0], &kOut[0]}) {
      const std::size_t n = parts == &kIn[0] ? std::size(kIn) : std::size(kOut);
      for (std::size_t i = 0; i < n; ++i) {
        if ((r.*(parts[i].sum)).best % 10'000'000 != 0) return 3;
      }
    }
    if (r.opening.best % 10'000'000 != 0 || r.closing.best % 10'000'000 != 0) return 3;
  }
  return 2;
}

std::string exact_line(const TotalsRow& r, const Units& units) {
  std::string out = show(r.opening.best, r.dimension, units, true);
  const auto add = [&](std::string_view name, const Sum& s, bool first) {
    if (s.best == 0) return;
    const std::int64_t n = s.best < 0 ? -s.best : s.best;
    out += (s.best < 0 ? " - " : first ? " " : " + ") + show(n, r.dimension, units, true) + " " + std::string(name);
  };
  out += " at the start";
  for (const Part& p : kIn) add(p.heading == "gauge +-" ? "gauge" : p.heading, r.*(p.sum), false);
  out += " = " + show(r.closing.best, r.dimension, units, true) + " at the end";
  for (const Part& p : kOut) add(p.heading, r.*(p.sum), false);
  return out;
}

}  // namespace

void totals_members(Json& j, const Totals& t) {
  j.member("site", t.site);
  j.member("from", to_string(t.from));
  j.member("until", to_string(t.until));
  j.key("rows").begin_array();
  for (const TotalsRow& r : t.rows) {
    j.begin_object();
    j.member("fluid", r.fluid);
    j.member("class", r.of_class);
    sum_member(j, "opening", r.opening, r.dimension);
    j.key("in").begin_object();
    for (const Part& p : kIn) sum_member(j, p.key, r.*(p.sum), r.dimension);
    j.end_object();
    j.key("out").begin_object();
    for (const Part& p : kOut) sum_member(j, p.key, r.*(p.sum), r.dimension);
    j.end_object();
    sum_member(j, "closing", r.closing, r.dimension);
    j.key("closing_parts").begin_object();
    j.key("undecided").exact(r.closing_undecided, r.dimension);
    j.key("kept").exact(r.closing_kept, r.dimension);
    j.key("stock").exact(r.closing_stock, r.dimension);
    j.key("waste").exact(r.closing_waste, r.dimension);
    j.end_object();
    j.key("beside").begin_object();
    for (const Part& p : kBeside) sum_member(j, p.key, r.*(p.sum), r.dimension);
    j.end_object();
    j.end_object();
  }
  j.end_array();
  j.member("seal", t.seal);
  j.member("note", "an aid to the workshop's own records; local codes and the authority have the last word");
}

void totals_text(Context& c, const Totals& t) {
  const Units& units = c.units();
  Out& out = c.out();
  out.line(visible(t.site) + "  fluids from " + to_string(t.from) + " to " + to_string(t.until));
  if (t.rows.empty()) out.line("\nno fluid moved, and none is on hand");
  // Litres, kilograms and pieces are never added up: each has its own form.
  for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
    const int decimals = decimals_for(t, d);
    bool any = false;
    Table form;
    form.column("in " + std::string(unit_name(d, units)));
    form.column("start ", Align::right);
    for (const Part& p : kIn) form.column(stacked("+", p.heading), Align::right);
    for (const Part& p : kOut) form.column(stacked("-", p.heading), Align::right);
    form.column("end ", Align::right);
    for (const TotalsRow& r : t.rows) {
      if (r.dimension != d) continue;
      any = true;
      const auto number = [&](const Sum& s) { return show_number(s.best, d, units, decimals); };
      const auto cell = [&](const Sum& s) { return nothing(s) ? std::string() : number(s) + (s.estimated != 0 ? "~" : " "); };
      std::vector<std::string> row = {visible(r.fluid), number(r.opening) + " "};
      for (const Part& p : kIn) row.push_back(cell(r.*(p.sum)));
      for (const Part& p : kOut) row.push_back(cell(r.*(p.sum)));
      row.push_back(number(r.closing) + " ");
      form.row(std::move(row));
    }
    if (!any) continue;
    out.line();
    out.text(form.text());
    for (const TotalsRow& r : t.rows) {
      if (r.dimension != d) continue;
      out.line();
      out.text(wrapped(visible(r.fluid) + ": ", exact_line(r, units)));
      std::vector<std::string> parts;
      for (const auto& [name, n] : {std::pair<const char*, std::int64_t>{"undecided in pans", r.closing_undecided}, {"kept to go back", r.closing_kept}, {"new in stock", r.closing_stock}, {"waste", r.closing_waste}}) {
        if (n != 0) parts.push_back(show(n, d, units, true) + " " + name);
      }
      if (!parts.empty()) out.text(wrapped("  at the end     ", joined(parts)));
      std::vector<std::string> beside;
      for (const Part& p : kBeside) {
        const Sum& s = r.*(p.sum);
        if (!nothing(s)) beside.push_back(show(s.best, d, units, true) + " " + std::string(p.heading));
      }
      if (!beside.empty()) out.text(wrapped("  on the way     ", joined(beside)));
      std::vector<std::string> estimates;
      const auto estimate = [&](std::string_view name, const Sum& s) {
        if (s.low == s.high && s.estimated == 0) return;
        std::string e = std::string(name) + " " + show(s.low, d, units) + " to " + show(s.high, d, units);
        if (s.measured != 0 && s.estimated != 0) e += " (" + show(s.measured, d, units) + " measured, " + show(s.estimated, d, units) + " estimated)";
        estimates.push_back(std::move(e));
      };
      estimate("start", r.opening);
      for (const Part& p : kIn) estimate(p.heading == "gauge +-" ? "gauge" : p.heading, r.*(p.sum));
      for (const Part& p : kOut) estimate(p.heading, r.*(p.sum));
      for (const Part& p : kBeside) estimate(p.heading, r.*(p.sum));
      estimate("end", r.closing);
      if (!estimates.empty()) out.text(wrapped("  ~ estimated    ", joined(estimates, "; ")));
    }
  }
  out.line();
  out.line("seal " + t.seal);
  out.line("An aid to the workshop's own records: local codes and the authority have the last word.");
}

}  // namespace baybook::tool::render
