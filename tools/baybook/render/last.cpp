#include "last.hpp"

#include "../context.hpp"
#include "entries.hpp"
#include "job.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool::render {

void last_members(Json& j, const LastDone& v, const DueList& due, const Units& units) {
  j.key("car");
  car_object(j, v.car);
  j.key("last_job");
  if (v.last_job) job_object(j, *v.last_job, units);
  else j.null();
  j.key("circuits").begin_array();
  for (const auto& t : v.circuits) {
    j.begin_object();
    j.member("circuit", t.circuit);
    j.member("day", to_string(t.day));
    j.member("job", t.job);
    j.member("by", t.by);
    j.key("odometer_m");
    if (t.odometer_metres) j.string(std::to_string(*t.odometer_metres));
    else j.null();
    j.key("drained").exact(t.drained, t.dimension);
    j.key("put_back").exact(t.put_back, t.dimension);
    j.key("new_in").exact(t.new_in, t.dimension);
    j.key("entered_back").exact(t.put_back, t.dimension);
    j.key("entered_new").exact(t.new_in, t.dimension);
    j.key("lost").exact(t.lost, t.dimension);
    j.key("missing").exact(t.missing, t.dimension);
    j.strings("fluids_in", t.fluids_in);
    j.key("lines").begin_array();
    for (const EntryView& e : t.lines) entry_object(j, e);
    j.end_array();
    j.end_object();
  }
  j.end_array();
  j.key("parts").begin_array();
  for (const EntryView& e : v.parts) entry_object(j, e);
  j.end_array();
  j.key("codes").begin_array();
  for (const EntryView& e : v.codes) entry_object(j, e);
  j.end_array();
  j.key("watch").begin_array();
  for (const LastDone::Watch& w : v.watch) {
    j.begin_object();
    j.member("what", w.recheck.what);
    j.member("when", recheck_when(w.recheck, units));
    const auto day = w.recheck.after_days ? std::optional(Day{w.closed.n + *w.recheck.after_days})
                                          : std::nullopt;
    j.day("due_day", day);
    j.day("day", day);
    j.key("due_odometer_m");
    if (w.due_metres && *w.due_metres >= 0) j.number(*w.due_metres);
    else j.null();
    if (w.put_off_until) j.member("put_off_until", to_string(*w.put_off_until));
    j.member("closed", to_string(w.closed));
    j.member("job", w.job);
    j.member("recheck", w.name);
    j.end_object();
  }
  j.end_array();
  j.key("due").begin_array();
  for (const DueLine& d : due.lines) {
    if (d.group != DueGroup::car) continue;
    j.begin_object();
    j.member("task", d.task);
    j.key("day");
    if (d.day) j.string(to_string(*d.day));
    else j.null();
    j.key("over").boolean(d.state == DueLine::State::over);
    j.key("about_now").boolean(d.about_now);
    j.key("projected").boolean(d.projected);
    j.member("why", d.why);
    j.member("figures", d.figures);
    j.end_object();
  }
  j.end_array();
}

void last_text(Context& c, const LastDone& v, const DueList& due, bool one_circuit) {
  const Units& units = c.units();
  Out& out = c.out();
  std::string head = visible(v.car.plate);
  if (const std::string type = car_type(v.car); !type.empty()) head += "  " + type;
  if (v.car.odometer_day) head += "  " + show_distance(v.car.odometer_metres, units) + " on " + to_string(*v.car.odometer_day);
  if (v.car.scrapped) head += "  SCRAPPED";
  out.line(head);

  if (v.last_job && !one_circuit) {
    const JobView& job = *v.last_job;
    out.line();
    std::string line = "last job " + visible(job.ref) + "  ";
    line += job.closed ? (*job.closed == job.opened ? to_string(job.opened) : to_string(job.opened) + " to " + to_string(*job.closed)) : "open since " + to_string(job.opened);
    if (job.odometer_metres) line += "  " + show_distance(*job.odometer_metres, units);
    if (!job.people.empty()) line += "  by " + visible(joined(job.people));
    out.line(line);
    if (!job.complaint.empty()) out.text(wrapped("  came for  ", visible(job.complaint)));
    for (const EntryView& e : job.lines) {
      if (e.kind != "work" || e.withdrawn) continue;
      const std::size_t took_out = e.summary.find(", took out ");
      const std::string parts = took_out == std::string::npos ? "" : e.summary.substr(took_out);
      out.text(wrapped("  done      ", visible(e.text + parts)));
    }
    if (!job.result.empty()) out.text(wrapped("  result    ", visible(job.result)));
  } else if (!v.last_job && v.circuits.empty()) {
    out.line("nothing was done to it yet: baybook job open " + as_typed(v.car.plate) + " --odo ... --for \"...\"");
  }
  // One line for a code: read and cleared in one job is one story.
  std::vector<std::string> told;
  for (const EntryView& e : v.codes) {
    if (std::find(told.begin(), told.end(), e.fault_code) != told.end()) continue;
    told.push_back(e.fault_code);
    std::string line = e.fault_code;
    for (const EntryView& x : v.codes) {
      if (x.fault_code != e.fault_code) continue;
      line += (line == e.fault_code ? " " : ", ") + x.summary.substr(e.fault_code.size() + 1);
      if (!x.text.empty()) line += " (" + x.text + ")";
      if (!x.came_back.empty()) line += " - CAME BACK, " + x.came_back;
    }
    out.text(wrapped("  code      ", visible(line)));
  }
  for (const EntryView& e : v.parts) {
    const std::string what = e.summary.starts_with("fitted ") ? e.summary.substr(7) : e.summary;
    const std::string off = e.came_off.empty() ? "" : " - " + e.came_off;
    const std::string named = e.text.empty() ? what : e.text + ": " + what;
    out.text(wrapped("  fitted    ", visible(named + off)));
  }

  if (!v.circuits.empty()) {
    out.line();
    Table t;
    t.column("circuit");
    t.column("last");
    t.column("job");
    t.column("at", Align::right);
    t.column("by");
    t.column("drained", Align::right);
    t.column("back", Align::right);
    t.column("new", Align::right);
    t.column("lost", Align::right);
    t.column("of it\nmissing", Align::right);
    for (const auto& x : v.circuits) {
      const auto cell = [&](std::int64_t n) { return n == 0 ? std::string() : show(n, x.dimension, units); };
      t.row({x.circuit, to_string(x.day), visible(x.job), x.odometer_metres ? show_distance(*x.odometer_metres, units) : "", visible(x.by), cell(x.drained), cell(x.put_back), cell(x.new_in), cell(x.lost), cell(x.missing)});
    }
    out.text(t.text());
  }
  Table takes;
  takes.column("circuit");
  takes.column("holds", Align::right);
  takes.column("takes");
  takes.column("its maker asks for");
  takes.column("went in last");
  for (const auto& x : v.car.circuits) {
    bool wanted = !one_circuit;
    std::string went_in;
    for (const auto& touched : v.circuits) {
      if (touched.circuit != x.name) continue;
      wanted = true;
      went_in = joined(touched.fluids_in);
    }
    if (wanted) takes.row({x.name, x.capacity ? show(x.capacity->best, x.capacity->dimension, units) : "not said", x.takes, visible(x.specification), visible(went_in)});
  }
  if (!takes.empty()) {
    out.line();
    out.text(takes.text());
  }
  if (one_circuit) {
    for (const auto& x : v.circuits) {
      if (x.lines.empty()) continue;
      out.line();
      out.text(entry_lines(c, x.lines, false));
    }
    if (v.circuits.empty()) out.line("\nnot touched in this book yet");
  }
  // What is over, what comes within a month, and at least the next one.
  std::size_t shown = 0;
  std::size_t tasks = 0;
  for (const DueLine& d : due.lines) {
    if (d.group != DueGroup::car || one_circuit) continue;
    ++tasks;
    const bool urgent = d.state == DueLine::State::over || d.state == DueLine::State::soon;
    if (shown >= 5 || (!urgent && shown >= 1)) continue;
    if (shown++ == 0) out.line();
    const std::string when = !d.day ? std::string("no day known") : d.state == DueLine::State::over ? "OVER since " + to_string(*d.day) : d.about_now ? "about now, likely since " + to_string(*d.day) : (d.projected ? "about " : "by ") + to_string(*d.day);
    out.text(wrapped("due    ", visible(d.task + ", " + when + (d.figures.empty() || d.figures == when ? "" : ": " + d.figures))));
  }
  if (tasks > shown) out.text(wrapped("       ", "and " + std::to_string(tasks - shown) + " more: baybook due --car " + as_typed(v.car.plate)));
  if (!v.watch.empty()) {
    if (shown == 0) out.line();
    const std::string newest = v.last_job ? v.last_job->ref : std::string();
    // What nobody has settled stays; the newest ones fit on the screen, the rest is told of.
    constexpr std::size_t most = 5;
    for (std::size_t i = 0; i < v.watch.size() && i < most; ++i) {
      const LastDone::Watch& w = v.watch[i];
      std::string at = recheck_when(w.recheck, units);
      if (!at.empty()) at = ", " + at;
      if (w.recheck.after_days) at += ": from " + to_string(Day{w.closed.n + *w.recheck.after_days});
      if (w.due_metres) at += (w.recheck.after_days ? " or " : ": from ") + (*w.due_metres >= 0 ? show_distance(*w.due_metres, units) : std::string("before the instrument was replaced or began again"));
      if (w.put_off_until) at += ", put off until " + to_string(*w.put_off_until);
      if (!w.recheck.after_days && !w.recheck.after_distance) at += ", job closed " + to_string(w.closed);
      out.text(wrapped("watch  ", visible(w.recheck.what) + at + (w.job == newest ? "" : " (job " + visible(w.job) + ")") + (v.car.scrapped ? "" : "; settle: baybook recheck " + visible(w.name))));
    }
    if (v.watch.size() > most) {
      std::string jobs;
      for (std::size_t i = most; i < v.watch.size(); ++i) {
        if (jobs.empty() || v.watch[i].job != v.watch[i - 1].job) jobs += (jobs.empty() ? "" : ", ") + v.watch[i].job;
      }
      out.text(wrapped("       ", "and " + std::to_string(v.watch.size() - most) + " older, of jobs " + visible(jobs) + ": baybook job show " + visible(v.watch[most].job)));
    }
  }
}

}  // namespace baybook::tool::render
