#include "../context.hpp"
#include "levels.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

#include <algorithm>

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
    {"ground_from_cars", "of it\nto ground", &TotalsRow::ground_from_cars},
    {"missing_from_cars", "of it\nmissing", &TotalsRow::missing_from_cars},
    {"direct_new", "new straight into cars", &TotalsRow::direct_new},
};

// What is lost is told in its parts where something is missing; else all of it went to the ground.
bool told(const Part& p, const Totals& t, Dimension d) {
  const bool part = p.sum == &TotalsRow::ground_from_cars || p.sum == &TotalsRow::missing_from_cars;
  return !part || std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& r) {
    const Sum& missing = r.missing_from_cars;
    return r.dimension == d && (missing.low != 0 || missing.best != 0 || missing.high != 0);
  });
}

/// A heading in a sentence.
std::string in_words(std::string_view heading) {
  std::string out(heading);
  std::replace(out.begin(), out.end(), '\n', ' ');
  return out;
}

bool nothing(const Sum& s) { return s.low == 0 && s.best == 0 && s.high == 0; }

// What is on hand has bounds; which part of it was once measured is not told apart, so `split` is for what moved.
void sum_member(Json& j, std::string_view name, const Sum& s, Dimension d, bool split = true) {
  j.key(name).begin_object();
  j.member(base_unit(d), std::to_string(s.best));
  j.key("low").exact(s.low, d);
  j.key("high").exact(s.high, d);
  if (split) {
    j.key("measured").exact(s.measured, d);
    j.key("estimated").exact(s.estimated, d);
  }
  j.end_object();
}

/// A heading of two lines, so that a whole month fits a page: "+brought" over "in".
std::string stacked(const char* sign, std::string_view heading, bool marked) {
  // A blank at the end stands over the mark of an estimate.
  std::string out = heading.starts_with("gauge") ? std::string(heading) : sign + std::string(heading);
  std::size_t at = out.find('\n');
  if (at == std::string::npos) at = out.find(' ');
  if (at != std::string::npos) out.replace(at, 1, marked ? " \n" : "\n");
  return marked ? out + " " : out;
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

}  // namespace

std::string exact_line(const TotalsRow& r, const Units& book) {
  const Units units = exact_units(book);
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

std::string closing_note(const Units& units) {
  const std::string marks = "~ marks a figure that is rounded or has an estimate in it";
  if (units.volume == VolumeUnit::litre)
    return marks + ". The sentences are exact and close; so does a row of a form without ~.";
  return marks + ": figures in " + std::string(unit_name(Dimension::volume, units)) +
         " claim nothing. The sentences are in litres, kilograms and pieces, exact, and close.";
}

void totals_members(Json& j, const Totals& t) {
  j.member("site", t.site);
  j.member("from", to_string(t.from));
  j.member("until", to_string(t.until));
  j.key("rows").begin_array();
  for (const TotalsRow& r : t.rows) {
    j.begin_object();
    j.member("fluid", r.fluid);
    j.member("class", r.of_class);
    sum_member(j, "opening", r.opening, r.dimension, false);
    j.key("in").begin_object();
    for (const Part& p : kIn) sum_member(j, p.key, r.*(p.sum), r.dimension);
    j.end_object();
    j.key("out").begin_object();
    for (const Part& p : kOut) sum_member(j, p.key, r.*(p.sum), r.dimension);
    j.end_object();
    sum_member(j, "closing", r.closing, r.dimension, false);
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
  j.member("note", t.caution);
}

void totals_text(Context& c, const Totals& t, const std::vector<std::string>& amended,
                 const std::vector<std::string>& remarks) {
  const Units& units = c.units();
  Out& out = c.out();
  out.line(visible(t.site) + "  fluids from " + to_string(t.from) + " to " + to_string(t.until));
  // Before any figure: whoever reads no further has read that these are not those of the closing.
  for (const std::string& line : amended) out.text(wrapped("", visible(line)));
  if (t.rows.empty()) out.line("\nno fluid moved, and none is on hand");
  // Litres, kilograms and pieces are never added up: each has its own form.
  for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
    const int decimals = decimals_for(t, d);
    const auto number = [&](std::int64_t n) { return show_number(n, d, units, decimals); };
    // What is rounded is marked like what is estimated: a row without a mark closes as it is printed.
    const auto rounded = [&](std::int64_t n) { return !shows_exactly(n, d, units, decimals); };
    const auto tilde = [&](const Sum& s) { return rough(s) || rounded(s.best); };
    // A column with an estimate in it keeps a place for the mark, so that its digits stay below each other.
    const auto marked = [&](const Part& p) { return std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& r) { return r.dimension == d && !nothing(r.*(p.sum)) && tilde(r.*(p.sum)); }); };
    const auto cell = [&](const Part& p, const TotalsRow& r) {
      const Sum& s = r.*(p.sum);
      return nothing(s) ? std::string() : number(s.best) + (tilde(s) ? "~" : marked(p) ? " " : "");
    };
    // What is on hand is a sum of many days: it is marked when its bounds are apart, as on the printed sheet.
    const auto loose = [&](const Sum& s) { return s.low != s.high || rounded(s.best); };
    const auto any_loose = [&](Sum TotalsRow::*sum) { return std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& r) { return r.dimension == d && loose(r.*sum); }); };
    const auto held = [&](Sum TotalsRow::*sum, const TotalsRow& r) { return number((r.*sum).best) + (loose(r.*sum) ? "~" : any_loose(sum) ? " " : ""); };
    const auto sum_in = [](const TotalsRow& r) {
      std::int64_t together = r.opening.best;
      for (const Part& p : kIn) together += (r.*(p.sum)).best;
      return together;
    };
    const bool any_together = std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& r) {
      return r.dimension == d && rounded(sum_in(r));
    });
    const auto together_of = [&](const TotalsRow& r) {
      const std::int64_t n = sum_in(r);
      return number(n) + (rounded(n) ? "~" : any_together ? " " : "");
    };
    // One form when it fits the screen; else one of what came in and one of what went out, with the sum in between carried over.
    const auto form = [&](bool in, bool out_too) {
      Table t_form;
      t_form.column((in ? "in " : "out, in ") + std::string(unit_name(d, units)));
      t_form.column(in ? stacked("", "start", any_loose(&TotalsRow::opening)) : stacked("", "together", any_together), Align::right);
      if (in) {
        for (const Part& p : kIn) t_form.column(stacked("+", p.heading, marked(p)), Align::right);
      }
      if (in && !out_too) t_form.column(stacked("", "together", any_together), Align::right);
      if (out_too) {
        for (const Part& p : kOut) t_form.column(stacked("-", p.heading, marked(p)), Align::right);
        t_form.column(stacked("", "end", any_loose(&TotalsRow::closing)), Align::right);
      }
      for (const TotalsRow& r : t.rows) {
        if (r.dimension != d) continue;
        std::vector<std::string> row = {visible(r.fluid), in ? held(&TotalsRow::opening, r) : together_of(r)};
        if (in) {
          for (const Part& p : kIn) row.push_back(cell(p, r));
        }
        if (in && !out_too) row.push_back(together_of(r));
        if (out_too) {
          for (const Part& p : kOut) row.push_back(cell(p, r));
          row.push_back(held(&TotalsRow::closing, r));
        }
        t_form.row(std::move(row));
      }
      return t_form;
    };
    bool any = false;
    for (const TotalsRow& r : t.rows) any = any || r.dimension == d;
    if (!any) continue;
    out.line();
    const std::string whole = form(true, true).text();
    std::size_t widest = 0;
    for (std::size_t at = 0; at < whole.size();) {
      const std::size_t end = whole.find('\n', at);
      widest = std::max(widest, static_cast<std::size_t>(display_width(std::string_view(whole).substr(at, end - at))));
      at = end + 1;
    }
    if (widest <= static_cast<std::size_t>(text_width())) {
      out.text(whole);
    } else {
      out.text(form(true, false).text());
      out.line();
      out.text(form(false, true).text());
    }
    Table beside;
    beside.column("beside the balance, in " + std::string(unit_name(d, units)));
    for (const Part& p : kBeside) beside.column(stacked("", p.heading, marked(p)), Align::right);
    bool any_beside = false;
    for (const TotalsRow& r : t.rows) {
      if (r.dimension != d) continue;
      std::vector<std::string> row = {visible(r.fluid)};
      bool here = false;
      for (const Part& p : kBeside) {
        const Sum& s = r.*(p.sum);
        here = here || !nothing(s);
        row.push_back(told(p, t, d) ? cell(p, r) : std::string());
      }
      any_beside = any_beside || here;
      if (here) beside.row(std::move(row));
    }
    if (any_beside) {
      out.line();
      out.text(beside.text());
    }
    for (const TotalsRow& r : t.rows) {
      if (r.dimension != d) continue;
      out.line();
      out.text(wrapped(visible(r.fluid) + ": ", exact_line(r, units)));
      std::vector<std::string> parts;
      for (const auto& [name, n] : {std::pair<const char*, std::int64_t>{"undecided in pans", r.closing_undecided}, {"kept to go back", r.closing_kept}, {"new in stock", r.closing_stock}, {"waste", r.closing_waste}}) {
        if (n != 0) parts.push_back(show(n, d, exact_units(units), true) + " " + name);
      }
      if (!parts.empty()) out.text(wrapped("  at the end     ", joined(parts)));
      std::vector<std::string> estimates;
      const auto estimate = [&](std::string_view name, const Sum& s) {
        if (s.low == s.high) return;
        // What is on hand has bounds; which part of it was once measured is no longer told apart. A sum of worst cases may be below nothing, a place is not.
        const bool on_hand = &s == &r.opening || &s == &r.closing;
        // What a gauge changed has its bounds the other way round.
        const auto [low, high] = std::minmax(s.low, s.high);
        std::string e = std::string(name) + " " + show(on_hand && s.best >= 0 ? std::max<std::int64_t>(0, low) : low, d, units) + " to " + show(high, d, units);
        if (!on_hand && s.measured != 0 && s.estimated != 0) e += " (" + show(s.measured, d, units) + " measured, " + show(s.estimated, d, units) + " estimated)";
        estimates.push_back(std::move(e));
      };
      estimate("start", r.opening);
      for (const Part& p : kIn) estimate(p.heading == "gauge +-" ? "gauge" : p.heading, r.*(p.sum));
      for (const Part& p : kOut) estimate(p.heading, r.*(p.sum));
      for (const Part& p : kBeside) {
        if (told(p, t, d)) estimate(in_words(p.heading), r.*(p.sum));
      }
      estimate("end", r.closing);
      if (!estimates.empty()) out.text(wrapped("  ~ estimated    ", joined(estimates, "; ")));
    }
  }
  out.line();
  if (!t.rows.empty()) out.text(wrapped("", closing_note(units)));
  for (const std::string& line : remarks) out.text(wrapped("", line));
  out.line("seal " + t.seal);
  out.text(wrapped("", visible(t.caution)));
}

}  // namespace baybook::tool::render
