// last, history, levels, totals, entries, entry.
#include "context.hpp"
#include "render/entries.hpp"
#include "render/last.hpp"
#include "render/levels.hpp"
#include "render/office.hpp"
#include "render/receipt.hpp"
#include "render/spill.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "span.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::tool {

namespace {

void print_entries(Context& c, const std::vector<EntryView>& list) {
  Json j = c.document();
  j.key("entries").begin_array();
  for (const EntryView& e : list) render::entry_object(j, e);
  j.end_array();
  c.print(j);
}

}  // namespace

int run_last(Context& c) {
  const CarId id = c.car(c.operand(0));
  const std::string circuit = c.operands() > 1 ? c.operand(1) : "";
  const LastDone v = need(last(c.book(), id, circuit, c.as_of(), c.json()));
  DueFilter of_car;
  of_car.car = id;
  of_car.as_of = c.as_of().has_value();
  const DueList due = need(due_list(c.book(), c.as_of_or_today(), of_car));
  if (c.json()) {
    Json j = c.document();
    render::last_members(j, v, due, c.units());
    c.print(j);
    return 0;
  }
  if (!c.quiet()) render::last_text(c, v, due, !circuit.empty());
  return 0;
}

int run_history(Context& c) {
  const CarId id = c.car(c.operand(0));
  if (c.typed().has("out") || c.typed().has("form")) return sheet::deliver(c, sheet::car(c, id, c.as_of()));
  const std::vector<EntryView> list = need(history(c.book(), id, c.as_of()));
  if (c.json()) {
    print_entries(c, list);
    return 0;
  }
  if (c.quiet()) return 0;
  const CarView v = need(car(c.book(), id, c.as_of()));
  std::string head = visible(v.plate);
  if (const std::string type = render::car_type(v); !type.empty()) head += "  " + type;
  if (!v.earlier_plates.empty()) head += "  earlier " + visible(joined(v.earlier_plates));
  c.out().line(head);
  c.out().line();
  c.out().text(render::entry_lines(c, list, false));
  return 0;
}

int run_levels(Context& c) {
  const std::vector<LevelRow> rows = need(levels(c.book(), c.as_of(), c.typed().has("circuits")));
  if (c.json()) {
    Json j = c.document();
    render::levels_members(j, rows);
    c.print(j);
    return 0;
  }
  if (!c.quiet()) render::levels_text(c, rows);
  return 0;
}

int run_totals(Context& c) {
  const Span span = read_span(c, c.operands() > 0 ? c.operand(0) : "");
  if (const std::string* by = c.typed().get("split")) {
    if (*by != "car" && *by != "job" && *by != "person") refuse(Code::wrong_usage, "--split " + visible(*by) + " is not known", "it is one of: car, job, person", "--split car");
    return sheet::deliver(c, sheet::split(c, span.from, std::min(span.until, c.as_of().value_or(span.until)), *by == "car" ? SplitBy::car : *by == "job" ? SplitBy::job : SplitBy::person, *by));
  }
  const Totals t = need(totals(c.book(), span.from, span.until, c.typed().has("by-product"), c.as_of()));
  if (c.typed().has("out") || c.typed().has("form")) return sheet::deliver(c, sheet::totals(c, t));
  // What is judged and what was closed follows the form of fluids: the same blocks as on paper.
  report::Report judged = sheet::begin(c, "judged", "", "");
  sheet::add_streams(c, judged, t.from, t.until);
  sheet::add_judgements(c, judged, t.from, t.until);
  sheet::add_closings(c, judged, t.from, t.until);
  if (c.json()) {
    Json j = c.document();
    render::totals_members(j, t);
    j.key("judged");
    report::as_json(j, judged);
    const bool amended = render::closed_member(c, j, t.from, t.until);
    j.key("amended").boolean(amended);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  const bool told_below = !judged.rules.empty() || judged.amended;
  const std::vector<std::string> amended =
      judged.amended ? sheet::amendments(c, t.from, t.until) : std::vector<std::string>();
  render::totals_text(
      c, t, amended,
      told_below ? std::vector<std::string>() : sheet::remarks(c, t.from, t.until, false));
  if (!judged.rules.empty() || judged.amended || judged.blocks.size() > 0) {
    judged.title = "Waste of the period, and what the rules make of it";
    judged.site = t.site;
    judged.period = to_string(t.from) + " to " + to_string(t.until);
    if (!judged.rules.empty() || judged.amended) {
      c.out().line();
      c.out().text(report::as_text(judged, static_cast<std::size_t>(text_width())));
    }
  }
  return 0;
}

int run_entries(Context& c) {
  const Typed& t = c.typed();
  EntryFilter f;
  if (t.has("car")) f.car = c.car(t.text("car"));
  if (t.has("place")) f.place = c.place(t.text("place"));
  f.from = c.day_option("from");
  f.until = c.day_option("until");
  if (const auto day = c.day_option("day")) {
    if (f.from || f.until) refuse(Code::wrong_usage, "--day excludes --from and --until", "", "--day alone, or --from and --until");
    f.from = f.until = day;
  }
  f.as_of = c.as_of();
  if (const std::string* words = t.get("saying")) {
    if (words->empty()) refuse(Code::wrong_usage, "--saying says nothing", "", "baybook entries --saying \"water pump\"");
    f.words = *words;
  }
  if (const std::string* newest = t.get("newest")) {
    std::size_t n = 0;
    const auto [end, error] = std::from_chars(newest->data(), newest->data() + newest->size(), n);
    if (error != std::errc() || end != newest->data() + newest->size() || n == 0) refuse(Code::wrong_usage, "--newest " + visible(*newest) + " is not a number of entries", "", "--newest 40");
    f.newest = n;
  }
  const std::vector<EntryView> list = need(entries(c.book(), f));
  if (c.json()) {
    print_entries(c, list);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line("no entry fits");
    return 0;
  }
  c.out().text(render::entry_lines(c, list, true));
  if (list.size() == f.newest) c.out().line("the newest " + std::to_string(f.newest) + "; more with --newest " + std::to_string(f.newest * 10));
  return 0;
}

int run_entry(Context& c) {
  const EntryView e = need(entry(c.book(), need(c.book().find_entry(c.operand(0)))));
  if (const AsOf as_of = c.as_of(); as_of && e.happened > *as_of) {
    refuse(Code::not_found, "entry " + visible(c.operand(0)) + " happened on " + to_string(e.happened) + ", after " + to_string(*as_of), "", "baybook entry " + visible(c.operand(0)));
  }
  if (c.json()) {
    Json j = c.document();
    j.key("entry");
    render::entry_object(j, e);
    if (e.verb == "spill" && !e.withdrawn)
      render::spill_members(j, need(spill_advice(c.book(), e.ref.id)));
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  render::entry_text(c, e);
  if (e.verb == "spill" && !e.withdrawn)
    render::spill_text(c, need(spill_advice(c.book(), e.ref.id)));
  return 0;
}

}  // namespace baybook::tool
