// What the office looks at and prints: limits, register, inspections, deadlines, closing, labels.
#include "context.hpp"
#include "render/office.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "span.hpp"
#include "typed_values.hpp"
#include "unsettled.hpp"
#include "verb_list.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

// On a screen a line of a list is read faster than a table of seven columns: the day and how near it is, what, the figures, the way out.
void limits_text(Context& c, const Limits& l) {
  Out& out = c.out();
  out.line(visible(c.book().settings().site) + "  limits and deadlines on " + to_string(l.day));
  if (!l.category_title.empty()) out.line(to_string(month_of(l.day)) + " so far: " + l.category_title);
  const auto under = [&](const LimitLine& x, bool settle) {
    std::string more = x.figures;
    if (!x.section.empty()) more += "; " + with_words(x.section, x.sure);
    if (!x.entries.empty()) more += "; entry " + sheet::refs(c, x.entries);
    out.text(wrapped("                  ", visible(more)));
    if (settle && !x.settle.empty()) out.text(to_be_typed("                  type: ", visible(x.settle)));
  };
  out.line();
  for (const LimitLine& x : l.lines) {
    const char* state = x.state == LimitLine::State::over ? "OVER  " : x.state == LimitLine::State::near ? "near  " : "      ";
    out.text(wrapped((x.due ? to_string(*x.due) : std::string("no date   ")) + "  " + state, visible(x.group + ": " + x.what)));
    under(x, x.state != LimitLine::State::fine || x.due || x.group == "hold");
  }
  if (l.lines.empty()) out.line("nothing stands against a limit or a date");
  if (!l.keep.empty()) {
    out.line("\nkept until");
    for (const LimitLine& x : l.keep) out.text(wrapped((x.due ? to_string(*x.due) : std::string("no date   ")) + "        ", visible(x.what + ", " + x.figures + "; " + with_words(x.section, x.sure))));
  }
  out.line();
  if (l.rules.empty()) out.text(wrapped("", "The book goes by no rule set, so nothing is judged: baybook rules set NAME --from DATE."));
  else out.text(wrapped("", "rules " + l.rules + " " + l.rules_digest.substr(0, 16) + ". " + visible(l.aid)));
  out.text(wrapped("", "\"near\" is within 14 days or from 80 percent on: common practice, no source."));
  out.line("seal " + c.book().seal());
}

}  // namespace

int run_inspect(Context& c) {
  Inspection d;
  d.area = c.operand(0);
  d.faults = c.typed().has("found");
  d.findings = d.faults ? c.typed().text("found") : c.typed().text("note");
  d.next = c.day_option("next");
  return c.write(d, d.findings);
}

int run_deadline_add(Context& c) {
  const Typed& t = c.typed();
  Deadline d;
  d.code = c.operand(0);
  // A deadline is as a rule in the future, so it is no day on which something happened.
  const auto day = read_day(c.operand(1));
  if (!day) refuse(Code::unclear, visible(c.operand(1)) + " is not a day", "", "2027-03-01");
  d.due = *day;
  if (t.has("every")) {
    std::string every = t.text("every");
    if (!every.ends_with("mo")) refuse(Code::wrong_usage, "--every " + visible(every) + " is no number of months", "", "--every 12mo");
    every.resize(every.size() - 2);
    d.every_months = whole(every, "--every", "--every 12mo");
  }
  d.section = t.text("section");
  d.what = t.text("what");
  return c.write(d, d.what);
}

int run_deadline_done(Context& c) {
  DeadlineDone d;
  d.deadline = need(c.book().find_deadline(c.operand(0)));
  if (const std::string* next = c.typed().get("next")) {
    d.next = read_day(*next);
    if (!d.next) refuse(Code::unclear, visible(*next) + " is not a day", "", "--next 2027-03-01");
  }
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

int run_deadline_list(Context& c) {
  const std::vector<DeadlineView> list = need(deadlines(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.objects("deadlines", list, [&](const DeadlineView& d) {
      j.member("code", d.code);
      j.member("due", to_string(d.due));
      j.member("day", to_string(d.due));
      j.key("months").number(d.months);
      j.member("what", d.what);
      j.member("section", d.section);
      j.key("settled").boolean(d.settled);
      render::entry_ref(j, "entry", d.entry);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("code");
  t.column("due");
  t.column("every");
  t.column("what");
  for (const DeadlineView& d : list) t.row({visible(d.code), d.settled ? "settled" : to_string(d.due), d.months > 0 ? std::to_string(d.months) + " months" : "once", visible(d.what)});
  c.out().text(list.empty() ? "no deadline was set\n" : t.text());
  return 0;
}

int run_limits(Context& c) {
  const Limits l = need(limits(c.book(), c.as_of_or_today()));
  if (c.typed().has("out") || c.typed().has("form")) return sheet::deliver(c, sheet::limits(c, l));
  if (c.json()) {
    Json j = c.document();
    render::limits_members(c, j, l);
    c.print(j);
    return 0;
  }
  if (!c.quiet()) limits_text(c, l);
  return 0;
}

int run_register(Context& c) {
  const Span span = read_span(c, c.operands() > 0 ? c.operand(0) : "");
  const Day until = std::min(span.until, c.as_of().value_or(span.until));
  if (!c.json() || c.typed().has("out") || c.typed().has("form")) return sheet::deliver(c, sheet::register_of(c, span.from, until));
  Json j = c.document();
  render::register_members(c, j, span.from, until);
  // As on paper: what was closed and has changed since is not read as if it had not.
  const bool amended = render::closed_member(c, j, span.from, until);
  j.key("amended").boolean(amended);
  c.print(j);
  return 0;
}

int run_close(Context& c) {
  CloseMonth d;
  d.month = c.month(c.operand(0));
  d.note = c.typed().text("note");
  const Receipt r = c.append(d);
  const Unsettled unsettled = unsettled_of(c, d.month);
  if (!c.json()) {
    const int status = c.say(r, d.note);
    if (!r.repeated) say_unsettled(c, unsettled, d.month);
    return status;
  }
  std::vector<JobLine> open = need(jobs(c.book(), true));
  std::erase_if(open, [&](const JobLine& j) { return j.opened > last_of(d.month); });
  Json j = c.document();
  render::receipt_members(j, r);
  j.objects("open_jobs", open, [&](const JobLine& l) {
    j.key("number").number(l.number);
    j.member("job", l.ref);
    j.member("car", l.plate);
    j.member("opened", to_string(l.opened));
  });
  unsettled_members(j, c, unsettled);
  c.print(j);
  return 0;
}

int run_label(Context& c) {
  const Day day = c.as_of_or_today();
  std::vector<report::Label> labels;
  std::vector<LabelFacts> facts;
  for (std::size_t i = 0; i < c.operands(); ++i) facts.push_back(need(label(c.book(), c.place(c.operand(i)), day)));
  for (const LabelFacts& f : facts) {
    report::Label l;
    l.words = f.words;
    l.stream = f.stream.title + (f.code.empty() ? "" : ", " + f.code);
    l.hazards = f.hazard;
    if (f.since) l.since = to_string(*f.since);
    l.place = f.place;
    l.filling = f.filling;
    l.site = f.site;
    l.payload = f.payload;
    l.cautions = f.cautions;
    labels.push_back(std::move(l));
  }
  const std::string out = c.typed().text("out");
  if (out.empty()) {
    if (c.json()) {
      Json j = c.document();
      j.objects("labels", facts, [&](const LabelFacts& f) {
        j.member("place", f.place);
        j.member("filling", f.filling);
        j.member("container", f.filling);
        j.strings("words", f.words);
        j.member("stream", f.stream.title);
        j.member("code", f.code);
        j.strings("hazard", f.hazard);
        j.day("since", f.since);
        j.strings("cautions", f.cautions);
        j.member("payload", f.payload);
        j.member("rules", f.rules);
      });
      c.print(j);
      return 0;
    }
    for (const LabelFacts& f : facts) {
      if (c.quiet()) break;
      c.out().line(visible(f.filling) + "  " + visible(joined(f.words, " / ")));
      c.out().text(wrapped("  ", visible(f.stream.title + (f.code.empty() ? "" : ", " + f.code) + (f.hazard.empty() ? "" : "; " + joined(f.hazard)))));
      for (const std::string& caution : f.cautions) c.out().text(wrapped("  ", visible(caution)));
      c.out().line("  since " + (f.since ? to_string(*f.since) : std::string("(no day yet: to be written on it)")) + "  " + f.payload);
    }
    if (!c.quiet()) c.out().text(wrapped("", visible(facts.front().aid)));
    return 0;
  }
  const report::Labels how = c.typed().has("sheet") ? report::Labels::eight_on_a_sheet : report::Labels::one_on_a_page;
  std::string bytes;
  if (out.ends_with(".pdf")) bytes = report::labels_pdf(labels, sheet::paper_of(c), how, "baybook " BAYBOOK_VERSION);
  else if (out.ends_with(".html")) bytes = report::labels_html(labels, sheet::paper_of(c), how);
  else refuse(Code::wrong_usage, visible(out) + " is neither a PDF nor a page", "", "--out labels.pdf, or labels.html");
  sheet::write_file(out, bytes, c.placing("another --out"));
  if (!c.quiet() && !c.json()) c.out().line("written to " + visible(out) + ", " + std::to_string(labels.size()) + " label" + (labels.size() == 1 ? "" : "s"));
  if (c.json()) {
    Json j = c.document();
    j.member("out", out);
    c.print(j);
  }
  return 0;
}

}  // namespace baybook::tool
