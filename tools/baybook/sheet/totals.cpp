// The month, the quarter, the year: fluids, streams, what the rules make of it, and what changed after closing.
#include "sheet.hpp"

#include "../render/levels.hpp"
#include "../render/text.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::tool::sheet {

namespace {

// A gallon is no decimal number of litres: its figures claim nothing, in a form for programs either.
std::string unit_note(const Units& units) {
  const std::string marks =
      "A ~ in what comes in and goes out marks a figure that is rounded or has an estimate in it";
  if (units.volume == VolumeUnit::litre)
    return marks + "; a row without it closes. The CSV and JSON forms carry every digit, and to the "
                   "last digit they close.";
  return marks + "; figures in " + std::string(unit_name(Dimension::volume, units)) +
         " claim nothing. What is in litres, kilograms or pieces is exact and closes.";
}

// Thousandths of `whole`, rounded once. Both are halved of digits that cannot be seen before a product could run over.
std::int64_t per_mille(std::int64_t part, std::int64_t whole) {
  while (std::max(part, whole) > 4'000'000'000'000'000 && whole > 10) {
    part /= 10;
    whole /= 10;
  }
  return (part * 1000 + whole / 2) / whole;
}

// For programs; at least one decimal, as on paper.
std::string percent_exact(std::int64_t part, std::int64_t whole) {
  char digits[64];
  const auto [end, error] = std::to_chars(digits, digits + sizeof digits, static_cast<double>(part) * 100.0 / static_cast<double>(whole), std::chars_format::fixed, 6);
  std::string out(digits, error == std::errc() ? end : digits);
  while (out.ends_with('0') && !out.ends_with(".0")) out.pop_back();
  return out;
}

struct Part {
  const char* heading;
  const char* key;
  Sum TotalsRow::*sum;
};
constexpr Part kParts[] = {
    {"+drained", "drained", &TotalsRow::drained},   {"+received", "received", &TotalsRow::received}, {"+brought in", "brought_in", &TotalsRow::brought_in}, {"gauge ±", "gauge", &TotalsRow::gauge},
    {"−put back", "put_back", &TotalsRow::put_back}, {"−new used", "new_used", &TotalsRow::new_used}, {"−lost", "lost", &TotalsRow::lost_here},             {"−recycled", "recycled", &TotalsRow::recycled},
    {"−disposed", "disposed", &TotalsRow::disposed}, {"−shipped", "shipped_other", &TotalsRow::shipped_other}, {"−used up", "used_up", &TotalsRow::used_up},
};

std::string dimension_word(Dimension d) { return d == Dimension::volume ? "volumes" : d == Dimension::mass ? "weights" : "pieces"; }

std::vector<Month> months_of(Day from, Day until) {
  std::vector<Month> out;
  for (Month m = month_of(from); m <= month_of(until); m.n += 1) out.push_back(m);
  return out;
}

bool ahead(Month month, Day today) { return first_of(month) > today; }
bool running(Month month, Day today) { return !ahead(month, today) && last_of(month) >= today; }

// A month's name for people; programs get it bare, and the remark among the notes.
report::Cell month_cell(Month month, Day today) {
  const std::string name = to_string(month);
  return {name + (ahead(month, today) ? " (ahead)" : running(month, today) ? " so far" : ""), name, false};
}

void add_remarks(Context& c, report::Report& r, Day from, Day until, bool judged) {
  for (std::string& line : remarks(c, from, until, judged)) r.notes.push_back(std::move(line));
}

}  // namespace

std::vector<std::string> remarks(Context& c, Day from, Day until, bool judged) {
  const Day today = c.as_of_or_today();
  std::vector<std::string> out;
  std::vector<Month> to_come;
  for (const Month m : months_of(from, until)) {
    if (ahead(m, today)) to_come.push_back(m);
    if (running(m, today))
      out.push_back(to_string(m) + " is not over: its figures" +
                    (judged ? ", and what the rules make of it," : "") + " are so far, up to " +
                    to_string(today) + ".");
  }
  if (to_come.empty()) return out;
  const std::string which = to_come.size() == 1 ? to_string(to_come.front()) + " lies" : to_string(to_come.front()) + " to " + to_string(to_come.back()) + " lie";
  out.push_back(which + " ahead of " + to_string(today) +
                ": nothing has happened there yet, and what is printed of it is no result.");
  return out;
}

void add_streams(Context& c, report::Report& r, Day from, Day until) {
  const std::vector<StreamRow> rows = need(streams(c.book(), from, until));
  const Units& units = c.units();
  struct P {
    const char* heading;
    const char* key;
    Sum StreamRow::*sum;
  };
  static constexpr P parts[] = {
      {"+from cars", "from_cars", &StreamRow::from_cars}, {"+decided", "decided", &StreamRow::from_shop}, {"+brought in", "brought_in", &StreamRow::brought_in}, {"+moved in", "moved_in", &StreamRow::moved_in},
      {"gauge ±", "gauge", &StreamRow::gauge},           {"−recycled", "recycled", &StreamRow::recycled}, {"−disposed", "disposed", &StreamRow::disposed},    {"−shipped", "shipped_other", &StreamRow::shipped_other},
      {"−lost", "lost", &StreamRow::lost},                {"−moved out", "moved_out", &StreamRow::moved_out}, {"−taken back", "taken_back", &StreamRow::taken_back},
  };
  for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
    const auto of_d = [&](const StreamRow& x) { return x.dimension == d; };
    if (!std::any_of(rows.begin(), rows.end(), of_d)) continue;
    report::Table t;
    const std::string unit(unit_name(d, units));
    t.caption = "Waste by stream, " + dimension_word(d) + " in " + unit;
    t.columns = {{"stream", {}, false, "stream"}, {"code", {}, false, "code", true}, figures("start", unit, "opening")};
    std::vector<const P*> used;
    for (const P& p : parts) {
      if (std::any_of(rows.begin(), rows.end(), [&](const StreamRow& x) { return of_d(x) && (x.*(p.sum)).best != 0; })) used.push_back(&p);
    }
    for (const P* p : used) t.columns.push_back(figures(p->heading, unit, p->key));
    t.columns.push_back(figures("end", unit, "closing"));
    t.columns.push_back(figures("new waste", "kg", "generated_kg"));
    t.columns.push_back(figures("shipped", "kg", "shipped_kg"));
    t.columns.push_back(figures("end", "kg", "closing_kg"));
    std::vector<std::string> densities;
    for (const StreamRow& x : rows) {
      if (!of_d(x)) continue;
      std::vector<report::Cell> row = {text(x.stream.title), text(x.stream.code.empty() ? hazard_word(x.stream) : x.stream.code), figure(x.opening.best, d, units, x.opening.low != x.opening.high)};
      for (const P* p : used) row.push_back(figure((x.*(p->sum)).best, d, units, rough(x.*(p->sum))));
      row.push_back(figure(x.closing.best, d, units, x.closing.low != x.closing.high, true, true));
      row.push_back(mass(x.generated_ug));
      row.push_back(mass(x.shipped_ug));
      row.push_back(mass(x.closing_ug));
      t.rows.push_back(std::move(row));
      if (!x.density.empty()) densities.push_back(x.stream.title + " at " + x.density);
    }
    r.blocks.emplace_back(std::move(t));
    if (!densities.empty()) {
      report::Text lines;
      lines.lines.push_back("Weights were worked out from volumes: " + joined(densities, "; ") + ".");
      r.blocks.emplace_back(std::move(lines));
    }
  }
}

void add_judgements(Context& c, report::Report& r, Day from, Day until) {
  add_remarks(c, r, from, until, true);
  const Day today = c.as_of_or_today();
  std::vector<Judgement> all;
  for (const Month m : months_of(from, until)) {
    auto j = judge(c.book(), m);
    if (j.ok()) all.push_back(std::move(*j));
    else if (j.refusal().code != Code::not_found) throw Refused{std::move(j).refusal()};
  }
  if (all.empty()) {
    r.notes.emplace_back("No rule set was chosen for this period, so nothing is judged: baybook rules set NAME --from DATE.");
    return;
  }
  const Units& units = c.units();
  if (all.front().scheme == "us") {
    report::Table t;
    t.caption = "Generator category by month, " + all.front().rules_title;
    t.columns = {{"month", {}, false, "month"}, figures("counted", "kg", "counted_kg"), figures("at most", "kg", "counted_high_kg"), figures("acute", "kg", "acute_kg"), figures("acute-spill residue", "kg", "residue_kg"), {"category", {}, false, "category"}, {"read otherwise", {}, false, "other_reading"}};
    for (const Judgement& j : all) {
      std::string other;
      if (j.other) other = "counted when " + j.other->which + ": " + mass_beside(j.other->best_ug, j.edges_ug).text + " kg, " + j.other->title;
      t.rows.push_back({month_cell(j.month, today), mass_beside(j.reading.best_ug, j.edges_ug), mass_beside(j.reading.high_ug, j.edges_ug), mass_beside(j.reading.acute_ug, j.edges_ug), mass_beside(j.reading.residue_ug, j.edges_ug), text(j.reading.title, true), text(other)});
    }
    r.blocks.emplace_back(std::move(t));
  } else {
    report::Table t;
    t.caption = "New waste by code and hazard, " + all.front().rules_title;
    t.columns = {{"month", {}, false, "month"}, figures("hazardous", "kg", "hazardous_kg"), figures("not hazardous", "kg", "not_hazardous_kg"), figures("not determined", "kg", "not_determined_kg")};
    for (const Judgement& j : all) t.rows.push_back({month_cell(j.month, today), mass(j.hazardous_ug), mass(j.not_hazardous_ug), mass(j.undetermined_ug)});
    r.blocks.emplace_back(std::move(t));
  }
  // Line by line, what was counted and what was recorded but not counted, and why; of a long span by month only.
  std::vector<std::string> unsure;
  for (const Judgement& j : all) {
    if (all.size() <= 3) {
      report::Table t;
      const bool us = j.scheme == "us";
      t.caption = us ? "What " + to_string(j.month) + " was judged by" : "New waste of " + to_string(j.month) + " by code";
      t.columns = {{"stream", {}, false, "stream"}, {us ? "hazard" : "code", {}, false, us ? "hazard" : "code", !us}, {"from", {}, false, "source"}, {"amount", {}, true, "amount"}, figures("weight", "kg", "kg"), {us ? "counts" : "hazard", {}, false, us ? "counts" : "hazard"}, {"why", {}, false, "why"}};
      for (const JudgedLine& l : j.lines) {
        t.rows.push_back({text(l.stream.title), text(us ? hazard_word(l.stream) : l.stream.code.empty() ? "none" : l.stream.code), text(l.source), amount_cell(l.low, l.best, l.high, l.dimension, units), mass(l.best_ug),
                          text(us ? (l.counts ? "counted" : "not counted") : hazard_word(l.stream), us && l.counts), text(l.why)});
      }
      t.empty = "no new waste in this month";
      r.blocks.emplace_back(std::move(t));
    }
    for (const std::string& n : j.notices) {
      const std::string line = to_string(j.month) + ": " + n;
      if (n.find(": ") != std::string::npos && std::find(r.notes.begin(), r.notes.end(), n) == r.notes.end() && n.starts_with("may be over") == false && n.starts_with("the total") == false) r.notes.push_back(n);
      else if (n.starts_with("may be over") || n.starts_with("the total")) r.notes.push_back(line);
    }
    for (const std::string& u : j.unsure) {
      if (std::find(unsure.begin(), unsure.end(), u) == unsure.end()) unsure.push_back(u);
    }
  }
  by_rules(r, all.back().rules, all.back().rules_digest, all.back().aid);
  for (const Judgement& j : all) {
    if (j.rules_digest != all.back().rules_digest) r.notes.push_back(to_string(j.month) + " was judged by " + j.rules + ", digest " + j.rules_digest.substr(0, 16) + ".");
  }
  for (const std::string& u : unsure) r.notes.push_back("Not confirmed in the rule's own text: " + u + ".");
}

void add_closings(Context& c, report::Report& r, Day from, Day until) {
  const Units& units = c.units();
  for (const Month m : months_of(from, until)) {
    const auto closed = need(closed_month(c.book(), m));
    if (!closed) continue;
    report::Facts f;
    f.heading = "Closing of " + to_string(m);
    f.rows = {{"closed", "entry " + ref_text(closed->entry, c.book().settings().tag) + " on " + to_string(closed->closed_on) + (closed->by.empty() ? "" : " by " + closed->by)}, {"seal at closing", closed->seal}};
    if (!closed->rules.empty()) f.rows.emplace_back("rules at closing", closed->rules + ", digest " + closed->rules_digest.substr(0, 16));
    if (!closed->category.empty()) f.rows.emplace_back("category at closing", closed->category);
    const std::size_t n = closed->differences.size();
    std::string since = n == 0 ? "" : std::to_string(n) + (n == 1 ? " figure differs" : " figures differ");
    if (closed->judged_now) since += (since.empty() ? "" : ", ") + std::string("judged otherwise");
    f.rows.emplace_back("since then", since.empty() ? "unchanged" : "AMENDED, " + since);
    if (const auto& now = closed->judged_now) {
      if (!closed->category.empty() || !now->category.empty()) {
        f.rows.emplace_back("counted at closing", show(closed->counted_ug, Dimension::mass, units, true));
        f.rows.emplace_back("counted now", show(now->counted_ug, Dimension::mass, units, true));
        f.rows.emplace_back("category now", now->category.empty() ? "none" : now->category);
      }
      f.rows.emplace_back("rules now", now->rules.empty() ? "none" : now->rules + ", digest " + now->rules_digest.substr(0, 16));
    }
    r.blocks.emplace_back(std::move(f));
    if (since.empty()) continue;
    r.amended = true;
    report::Table t;
    t.caption = "What changed in " + to_string(m) + " after it was closed";
    t.columns = {{"fluid", {}, false, "fluid"}, {"figure", {}, false, "figure"}, {"at closing", {}, true, "at_closing", false, "closed_at"}, {"now", {}, true, "now"}, {"difference", {}, true, "difference"}};
    for (const Difference& d : closed->differences) {
      // Where the bounds alone moved, the best figure would say that nothing did.
      // The difference is one to the last digit, so all three are in litres.
      const auto exact = [&](std::int64_t base) {
        return show(base, d.dimension, exact_units(units), true);
      };
      const auto told = [&](std::int64_t best, std::int64_t low, std::int64_t high) {
        const std::string text = exact(best);
        return d.closed_at != d.now ? text : text + ", " + exact(low) + " to " + exact(high);
      };
      t.rows.push_back({text(d.fluid), text(d.column), text(told(d.closed_at, d.closed_low, d.closed_high)), text(told(d.now, d.now_low, d.now_high)), text(exact(d.now - d.closed_at), true)});
    }
    if (n > 0) r.blocks.emplace_back(std::move(t));
    report::Table why;
    why.caption = "Entries after the closing that reach into " + to_string(m);
    why.columns = {{"entry", {}, false, "entry"}, {"written", {}, false, "recorded"}, {"happened", {}, false, "happened"}, {"by", {}, false, "by"}, {"what", {}, false, "what"}, {"its text", {}, false, "why"}};
    for (const EntryView& e : closed->causes) why.rows.push_back({text(ref_text(e.ref, c.book().settings().tag)), text(to_string(e.recorded).substr(0, 10)), text(to_string(e.happened)), text(e.by.empty() ? "not said" : e.by), text(e.summary), text(e.text)});
    r.blocks.emplace_back(std::move(why));
  }
}

namespace {

// Of a row with a rounded figure the sentence that closes, beside the form that cannot.
report::Text exactly(const Totals& t, Dimension d, const Units& units) {
  report::Text out;
  for (const TotalsRow& x : t.rows) {
    if (x.dimension != d) continue;
    const auto rounded = [&](const Sum& s) { return !shows_exactly(s.best, d, units, 3); };
    const bool any = rounded(x.opening) || rounded(x.closing) ||
                     std::any_of(std::begin(kParts), std::end(kParts),
                                 [&](const Part& p) { return rounded(x.*(p.sum)); });
    if (any) out.lines.push_back(x.fluid + ", exactly: " + render::exact_line(x, units));
  }
  return out;
}

}  // namespace

std::vector<std::string> amendments(Context& c, Day from, Day until) {
  std::vector<std::string> out;
  for (const Month m : months_of(from, until)) {
    const auto closed = need(closed_month(c.book(), m));
    if (!closed) continue;
    const std::size_t n = closed->differences.size();
    std::string since;
    if (n > 0) since = std::to_string(n) + (n == 1 ? " figure differs now" : " figures differ now");
    if (closed->judged_now)
      since += (since.empty() ? "" : ", and ") + std::string("the rules judge it otherwise");
    if (since.empty()) continue;
    out.push_back("AMENDED: " + to_string(m) + " was closed by entry " +
                  ref_text(closed->entry, c.book().settings().tag) + " on " +
                  to_string(closed->closed_on) + "; " + since +
                  ". What changed stands at the end.");
  }
  return out;
}

report::Report totals(Context& c, const Totals& t) {
  const Units& units = c.units();
  const bool one_month = t.from == first_of(month_of(t.from)) && t.until == last_of(month_of(t.from));
  report::Report r = begin(c, "totals", one_month ? "Fluids of " + to_string(month_of(t.from)) : "Fluids from " + to_string(t.from) + " to " + to_string(t.until), to_string(t.from) + " to " + to_string(t.until));
  for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
    const auto of_d = [&](const TotalsRow& x) { return x.dimension == d; };
    if (!std::any_of(t.rows.begin(), t.rows.end(), of_d)) continue;
    const std::string unit(unit_name(d, units));
    report::Table form;
    const bool closes = d != Dimension::volume || units.volume == VolumeUnit::litre;
    form.caption = "In and out, " + dimension_word(d) + " in " + unit + (closes ? ": start and everything with + is everything with − and end" : ", rounded");
    form.columns = {{"fluid", {}, false, "fluid"}, figures("start", unit, "opening")};
    std::vector<const Part*> used;
    for (const Part& p : kParts) {
      if (std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& x) { return of_d(x) && (x.*(p.sum)).best != 0; })) used.push_back(&p);
    }
    for (const Part* p : used) {
      form.columns.push_back(figures(p->heading, unit, p->key));
      if (p->sum == &TotalsRow::lost_here) form.columns.back().also = "lost_here";
    }
    form.columns.push_back(figures("end", unit, "closing"));
    report::Table beside;
    beside.caption = "How sure, and where it is at the end, in " + unit;
    beside.columns = {{"fluid", {}, false, "fluid"},          figures("drained, measured", unit, "drained_measured"), figures("drained, estimated", unit, "drained_estimated"), figures("end, at least", unit, "closing_low"), figures("end, at most", unit, "closing_high"),
                      figures("undecided in pans", unit, "undecided"), figures("kept to go back", unit, "kept"),   figures("new in stock", unit, "stock"),              figures("waste", unit, "waste"),           figures("filtered", unit, "filtered"), figures("lost from cars", unit, "lost_from_cars")};
    // What is lost is told in its parts where something is missing; else it went to the ground.
    const bool missing = std::any_of(t.rows.begin(), t.rows.end(), [&](const TotalsRow& x) {
      return of_d(x) && x.missing_from_cars.high != 0;
    });
    if (missing) {
      beside.columns.push_back(figures("of it to the ground", unit, "ground_from_cars"));
      beside.columns.push_back(figures("of it missing", unit, "missing_from_cars"));
    }
    beside.columns.push_back({"put back of drained", "%", true, "put_back_percent"});
    for (const TotalsRow& x : t.rows) {
      if (!of_d(x)) continue;
      std::vector<report::Cell> row = {text(x.fluid), figure(x.opening.best, d, units, x.opening.low != x.opening.high)};
      for (const Part* p : used) row.push_back(figure((x.*(p->sum)).best, d, units, rough(x.*(p->sum))));
      row.push_back(figure(x.closing.best, d, units, x.closing.low != x.closing.high, true, true));
      form.rows.push_back(std::move(row));
      std::string share, share_exact;
      if (x.drained.best > 0 && d == Dimension::volume) {
        const std::int64_t tenths = per_mille(x.put_back.best, x.drained.best);
        share = std::to_string(tenths / 10) + "." + std::to_string(tenths % 10);
        share_exact = percent_exact(x.put_back.best, x.drained.best);
      }
      beside.rows.push_back({text(x.fluid), figure(x.drained.measured, d, units), figure(x.drained.estimated, d, units), figure(x.closing.best >= 0 ? std::max<std::int64_t>(0, x.closing.low) : x.closing.low, d, units), figure(x.closing.high, d, units), figure(x.closing_undecided, d, units), figure(x.closing_kept, d, units),
                             figure(x.closing_stock, d, units), figure(x.closing_waste, d, units), figure(x.filtered.best, d, units, rough(x.filtered)), figure(x.lost_from_cars.best, d, units, rough(x.lost_from_cars))});
      if (missing) {
        for (const Sum* s : {&x.ground_from_cars, &x.missing_from_cars})
          beside.rows.back().push_back(figure(s->best, d, units, rough(*s)));
      }
      beside.rows.back().push_back({share, share_exact, false});
    }
    r.blocks.emplace_back(std::move(form));
    if (auto exact = exactly(t, d, units); !exact.lines.empty()) r.blocks.emplace_back(std::move(exact));
    r.blocks.emplace_back(std::move(beside));
  }
  if (t.rows.empty()) r.blocks.emplace_back(report::Text{"", {"No fluid moved, and none is on hand."}});
  // A year, or any span of three months and more, has a plot.
  const std::vector<Month> months = months_of(t.from, t.until);
  if (months.size() >= 3 && months.size() <= 24) {
    report::Bars bars;
    bars.unit = unit_name(Dimension::volume, units);
    bars.caption = "Drained, put back and shipped by month, all fluids together";
    bars.series = {{"drained", {}, {}}, {"put back", {}, {}}, {"shipped", {}, {}}};
    for (const Month m : months) {
      bars.categories.push_back(to_string(m));
      std::int64_t sums[3] = {0, 0, 0};
      const Day a = std::max(first_of(m), t.from);
      const Day z = std::min(last_of(m), t.until);
      const Totals one = need(baybook::totals(c.book(), a, z, false, c.as_of()));
      for (const TotalsRow& x : one.rows) {
        if (x.dimension != Dimension::volume) continue;
        sums[0] += x.drained.best;
        sums[1] += x.put_back.best;
        sums[2] += x.recycled.best + x.disposed.best + x.shipped_other.best;
      }
      for (std::size_t i = 0; i < 3; ++i) {
        const std::string shown = show_number(sums[i], Dimension::volume, units, 1);
        bars.series[i].values.push_back(std::stod(shown));
        bars.series[i].texts.push_back(shown);
        bars.series[i].exact.push_back(exact_number(sums[i], Dimension::volume, units));
      }
    }
    r.blocks.emplace_back(std::move(bars));
  }
  add_streams(c, r, t.from, t.until);
  add_judgements(c, r, t.from, t.until);
  add_closings(c, r, t.from, t.until);
  r.notes.insert(r.notes.begin(), unit_note(units) + " A percentage has up to six decimals there.");
  if (r.rules.empty()) r.notes.emplace_back("An aid to the workshop's own records: local codes and the authority have the last word.");
  return r;
}

report::Report split(Context& c, Day from, Day until, SplitBy by, const std::string& word) {
  const Units& units = c.units();
  report::Report r = begin(c, "totals-by-" + word, "Fluids by " + word, to_string(from) + " to " + to_string(until));
  const std::vector<SplitRow> rows = need(split_totals(c.book(), from, until, by));
  for (const Dimension d : {Dimension::volume, Dimension::mass, Dimension::count}) {
    if (std::none_of(rows.begin(), rows.end(), [&](const SplitRow& x) { return x.dimension == d; })) continue;
    const std::string unit(unit_name(d, units));
    report::Table t;
    t.caption = "By " + word + ", " + dimension_word(d) + " in " + unit;
    t.columns = {{word, {}, false, word}, {"fluid", {}, false, "fluid"}, figures("drained", unit, "drained"), figures("put back", unit, "put_back"), figures("new", unit, "new"), figures("lost", unit, "lost"), figures("of it to the ground", unit, "to_ground"), figures("of it missing", unit, "missing"), figures("to waste", unit, "to_waste")};
    t.columns[4].also = "entered_new";
    for (const SplitRow& x : rows) {
      if (x.dimension != d) continue;
      t.rows.push_back({text(x.key), text(x.fluid), figure(x.drained.best, d, units, rough(x.drained)), figure(x.put_back.best, d, units, rough(x.put_back)), figure(x.new_used.best, d, units, rough(x.new_used)), figure(x.lost.best, d, units, rough(x.lost)), figure(x.to_ground.best, d, units, rough(x.to_ground)), figure(x.missing.best, d, units, rough(x.missing)), figure(x.to_waste.best, d, units, rough(x.to_waste))});
    }
    r.blocks.emplace_back(std::move(t));
  }
  if (rows.empty()) r.blocks.emplace_back(report::Text{"", {"Nothing moved."}});
  add_closings(c, r, from, until);
  add_remarks(c, r, from, until, true);
  r.notes.emplace_back(unit_note(units));
  r.notes.emplace_back("An aid to the workshop's own records: local codes and the authority have the last word.");
  return r;
}

}  // namespace baybook::tool::sheet
