// schedule, due, recheck, comebacks: what must happen next, and what settles it.
#include "context.hpp"
#include "render/due.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <array>
#include <charconv>
#include <map>

namespace baybook::tool {

namespace {

constexpr std::size_t kMostSchedule = 512 * 1024;

int percent(const std::string& text) {
  int n = 0;
  const char* end = text.data() + text.size();
  const auto [rest, error] = std::from_chars(text.data(), end, n);
  if (error != std::errc() || (rest != end && std::string_view(rest, static_cast<std::size_t>(end - rest)) != "%") || n < 1 || n > 100) refuse(Code::wrong_usage, "--filtered " + visible(text) + " is no share of an interval", "between 1 and 100 percent", "--filtered 50%");
  return n;
}

// "30d", "4w", "2mo": how far ahead.
int within(Context& c) {
  if (!c.typed().has("within")) return DueFilter{}.within;
  const std::string text = c.typed().text("within");
  int n = 0;
  const char* end = text.data() + text.size();
  const auto [rest, error] = std::from_chars(text.data(), end, n);
  std::string_view unit(rest, static_cast<std::size_t>(end - rest));
  if (unit.starts_with(' ')) unit.remove_prefix(1);
  const auto is = [&](std::string_view brief, std::string_view one) { return unit == brief || unit == one || (unit.ends_with('s') && unit.substr(0, unit.size() - 1) == one); };
  const Day today = c.as_of_or_today();
  if (error == std::errc() && n >= 0 && n <= 3660) {
    if (is("d", "day")) return n;
    if (is("w", "week") && n <= 520) return n * 7;
    if (is("mo", "month") && n <= 120) return add_months(today, n).n - today.n;
  }
  refuse(Code::wrong_usage, "--within " + (text.empty() ? std::string("\"\"") : visible(text)) + " is not clear", "some days, weeks or months, ten years at most", "--within 30d");
}

std::optional<DueGroup> group_of(const Typed& t) {
  if (!t.has("for")) return std::nullopt;
  const std::string word = t.text("for");
  for (const DueGroup g : {DueGroup::car, DueGroup::recheck, DueGroup::container, DueGroup::paper}) {
    if (word == name_of(g) || word == std::string(name_of(g)) + "s") return g;
  }
  refuse(Code::wrong_usage, "--for " + (word.empty() ? std::string("\"\"") : visible(word)) + " is not known", "it is one of: cars, rechecks, containers, papers", "--for cars");
}

bool is_calendar(const Typed& t) {
  if (t.has("form")) {
    const std::string& form = t.text("form");
    constexpr std::array<std::string_view, 6> forms = {"text", "csv", "json", "html", "pdf", "ics"};
    if (std::find(forms.begin(), forms.end(), form) == forms.end()) refuse(Code::wrong_usage, "--form " + visible(form) + " is not known", "it is one of: text, csv, json, html, pdf, ics", "--form ics");
  }
  const bool calendar = t.has("form") ? t.text("form") == "ics" : t.text("out").ends_with(".ics");
  if (!calendar && t.has("personal")) refuse(Code::wrong_usage, "--personal is for a calendar", "every other form holds plates and texts as it is", "--out due.ics --personal");
  return calendar;
}

}  // namespace

int run_schedule_set(Context& c) {
  const Typed& t = c.typed();
  Interval i;
  i.car = c.car(c.operand(0));
  i.task = c.operand(1);
  for (const std::string& text : t.all("every")) need(add_limit(i, text, c.units()));
  i.circuit = t.text("circuit");
  i.parts = t.all("part");
  if (t.has("filtered")) i.filtered_percent = percent(t.text("filtered"));
  i.source = t.text("source");
  if (i.source.empty()) refuse(Code::wrong_usage, "an interval has a source", "without it nobody can check the figures", "--source \"workshop booklet, page 12\"");
  Schedule s;
  s.intervals.push_back(std::move(i));
  return c.write(s);
}

int run_schedule_load(Context& c) {
  const std::string& path = c.operand(0);
  const std::string text = read_file(c, path, kMostSchedule);
  return c.write(need(read_schedule(c.book(), text, file_name(path))));
}

int run_schedule_list(Context& c) {
  std::optional<CarId> car;
  if (c.typed().has("car")) car = c.car(c.typed().text("car"));
  const std::vector<ScheduleView> list = need(schedules(c.book(), car));
  if (c.json()) {
    Json j = c.document();
    j.key("schedules").begin_array();
    for (const ScheduleView& v : list) {
      j.begin_object();
      j.member("entry", ref_text(v.entry, c.book().settings().tag));
      j.member("name", v.name);
      j.key("cars").number(v.cars);
      j.key("intervals").begin_array();
      for (std::size_t n = 0; n < v.intervals.size(); ++n) {
        const Interval& i = v.intervals[n];
        j.begin_object();
        j.member("task", i.task);
        j.member("for", v.scopes[n]);
        j.member("limits", v.limits[n]);
        j.key("months").number(i.months);
        j.key("metres").number(i.distance ? i.distance->metres : 0);
        j.key("hours").number(i.hours);
        j.member("circuit", i.circuit);
        j.strings("parts", i.parts);
        j.key("filtered_percent").number(i.circuit.empty() ? 0 : i.filtered_percent != 0 ? i.filtered_percent : kFilteredPercent);
        j.member("source", i.source);
        j.end_object();
      }
      j.end_array();
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line(car ? "no schedule holds for that car: baybook schedule set CAR TASK --every 12mo --source \"...\"" : "no schedule is in the book: baybook schedule load FILE, or schedule set CAR TASK --every 12mo --source \"...\"");
    return 0;
  }
  for (const ScheduleView& v : list) {
    c.out().text(wrapped("", visible((v.name.empty() ? "set by hand for " + v.about : v.name) + " (entry " + ref_text(v.entry, c.book().settings().tag) + ")" + (car ? "" : ", " + std::to_string(v.cars) + (v.cars == 1 ? " car" : " cars")))));
    for (std::size_t n = 0; n < v.intervals.size(); ++n) {
      const Interval& i = v.intervals[n];
      std::string line = i.task + ", " + v.scopes[n] + ": " + v.limits[n];
      std::string done;
      if (!i.circuit.empty()) done = "done when " + i.circuit + " is drained and filled";
      for (const std::string& p : i.parts) done += (done.empty() ? "done when " : " or ") + p + " is fitted";
      if (!done.empty()) line += "; " + done;
      c.out().text(wrapped("  ", visible(line)));
      c.out().text(wrapped("      ", visible("from: " + i.source)));
    }
  }
  return 0;
}

int run_due(Context& c) {
  const Typed& t = c.typed();
  DueFilter f;
  f.within = within(c);
  if (t.has("car")) f.car = c.car(t.text("car"));
  f.group = group_of(t);
  const AsOf as_of = c.as_of();
  f.as_of = as_of.has_value();
  const DueList list = need(due_list(c.book(), c.as_of_or_today(), f));
  const int status = t.has("fail-if-overdue") && list.over > 0 ? 1 : 0;
  if (is_calendar(t)) {
    sheet::hand_over(c, sheet::calendar(c, list, t.has("personal")), list.seal);
    return status;
  }
  if (t.has("out") || t.has("form")) {
    sheet::deliver(c, sheet::due(c, list));
    return status;
  }
  if (c.json()) {
    Json j = c.document();
    render::due_members(c, j, list);
    c.print(j);
    return status;
  }
  if (!c.quiet()) render::due_text(c, list);
  return status;
}

int run_due_done(Context& c) {
  const Typed& t = c.typed();
  TaskDone d;
  d.car = c.car(c.operand(0));
  d.task = c.operand(1);
  if (t.has("job")) d.job = c.job(t.text("job"));
  d.when = c.day_option("when");
  d.odometer = c.distance_option("odo");
  if (t.has("hours")) d.engine_minutes = need(parse_hours(t.text("hours")));
  d.note = t.text("note");
  return c.write(d, d.note);
}

int run_due_put_off(Context& c) {
  const Typed& t = c.typed();
  PutOff d;
  const std::string& what = c.operand(0);
  // A recheck is named 17/2; anything else is a car and its task.
  const std::size_t slash = what.find('/');
  const bool recheck = c.operands() == 1 && slash != std::string::npos && slash > 0 && slash + 1 < what.size() && what.find_first_not_of("0123456789", slash + 1) == std::string::npos;
  if (recheck) {
    const RecheckRef r = need(find_recheck(c.book(), what, Match::part));
    d.closing = r.closing;
    d.recheck = r.number;
  } else {
    if (c.operands() < 2) refuse(Code::wrong_usage, "what is put off is a task of a car, or a recheck", "what the rules or a paper ask for by a day is not ours to move", "baybook due put-off CAR TASK --until DATE --why \"...\"  # or baybook due put-off 17/1 ...");
    d.car = c.car(what);
    d.task = c.operand(1);
  }
  const std::string until = c.required("until");
  // A day to come: the words for days that have passed do not fit here.
  const auto day = read_day(until);
  if (!day) refuse(Code::unclear, "--until " + visible(until) + " is not a day to come", "year, month and day", "--until " + to_string(Day{c.today().n + 14}));
  d.until = *day;
  d.why = t.text("why");
  return c.write(d, d.why);
}

int run_recheck(Context& c) {
  const Typed& t = c.typed();
  if (t.has("good") == t.has("bad")) refuse(Code::wrong_usage, t.has("good") ? "a recheck is good or bad, not both" : "was it good or bad?", "the outcome is what settles it", "--good, or --bad --found \"...\"");
  const RecheckRef r = need(find_recheck(c.book(), c.operand(0), Match::part));
  RecheckDone d;
  d.closing = r.closing;
  d.number = r.number;
  d.good = t.has("good");
  if (t.has("job")) d.job = c.job(t.text("job"));
  d.note = t.text("found");
  return c.write(d, d.note);
}

int run_comebacks(Context& c) {
  std::optional<CarId> car;
  if (c.typed().has("car")) car = c.car(c.typed().text("car"));
  const std::string by = c.typed().text("by");
  if (!by.empty() && by != "part" && by != "kind") refuse(Code::wrong_usage, "--by " + visible(by) + " is not known", "it is one of: part, kind", "--by part");
  const std::vector<Comeback> list = need(comebacks(c.book(), car, c.as_of()));
  const std::string& tag = c.book().settings().tag;
  const Units& units = c.units();
  // One of several parts or kinds of a job cannot be told guilty: each is counted.
  std::map<std::string, std::vector<const Comeback*>> groups;
  for (const Comeback& b : list) {
    const std::vector<std::string>& names = by == "part" ? b.parts : b.kinds;
    if (names.empty()) groups[by == "part" ? "no part fitted" : "no work written"].push_back(&b);
    for (const std::string& n : names) {
      std::vector<const Comeback*>& group = groups[n];
      if (std::find(group.begin(), group.end(), &b) == group.end()) group.push_back(&b);
    }
  }
  if (c.json()) {
    Json j = c.document();
    j.key("comebacks").begin_array();
    for (const Comeback& b : list) {
      j.begin_object();
      j.member("car", b.plate);
      j.member("code", b.code);
      j.member("day", to_string(b.day));
      j.member("job", b.job);
      j.member("entry", ref_text(b.entry, tag));
      j.member("cleared_day", to_string(b.cleared_day));
      j.member("cleared_job", b.cleared_job);
      j.member("cleared_entry", ref_text(b.cleared, tag));
      j.key("days").number(b.day.n - b.cleared_day.n);
      j.key("metres");
      if (b.metres) j.number(*b.metres);
      else j.null();
      j.strings("parts", b.parts);
      j.strings("kinds", b.kinds);
      j.end_object();
    }
    j.end_array();
    if (!by.empty()) {
      j.key("groups").begin_array();
      for (const auto& [name, members] : groups) {
        j.begin_object();
        j.member(by, name);
        j.key("comebacks").number(static_cast<std::int64_t>(members.size()));
        j.end_object();
      }
      j.end_array();
    }
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line("no code came back after a job had cleared it");
    return 0;
  }
  const auto tell = [&](const Comeback& b, const std::string& indent) {
    const std::int32_t days = b.day.n - b.cleared_day.n;
    std::string parts;
    for (const std::string& p : b.parts) parts += (parts.empty() ? "" : ", ") + p;
    std::string kinds;
    for (const std::string& k : b.kinds) kinds += (kinds.empty() ? "" : ", ") + k;
    c.out().text(wrapped(indent + to_string(b.day) + "  ", visible(b.plate + "  " + b.code + " back on job " + b.job + " (entry " + ref_text(b.entry, tag) + "), cleared on job " + b.cleared_job + ", " + std::to_string(days) + (days == 1 ? " day" : " days") +
                                                                    (b.metres ? " and " + show_distance(*b.metres, units) : std::string()) + " before")));
    if (by.empty()) {
      const std::string did = (parts.empty() ? "" : "fitted then: " + parts) + (parts.empty() || kinds.empty() ? "" : "; ") + (kinds.empty() ? "" : "done then: " + kinds);
      if (!did.empty()) c.out().text(wrapped(indent + "            ", visible(did)));
    }
  };
  if (by.empty()) {
    for (const Comeback& b : list) tell(b, "");
    return 0;
  }
  std::vector<std::pair<std::string, std::vector<const Comeback*>>> sorted(groups.begin(), groups.end());
  std::stable_sort(sorted.begin(), sorted.end(), [](const auto& a, const auto& b) { return a.second.size() > b.second.size(); });
  for (const auto& [name, members] : sorted) {
    c.out().text(wrapped("", visible(name) + ": " + std::to_string(members.size()) + (members.size() == 1 ? " comeback" : " comebacks")));
    for (const Comeback* b : members) tell(*b, "  ");
  }
  return 0;
}

}  // namespace baybook::tool
