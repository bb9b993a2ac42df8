// job, odo, code, torque.
#include "context.hpp"
#include "render/entries.hpp"
#include "render/job.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/due.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <charconv>

namespace baybook::tool {

namespace {

/// `3d`, `3 days`, `2w`, or a distance.
void read_after(Context& c, Recheck& r, const std::string& text) {
  for (const std::string_view unit : {"d", " day", " days"}) {
    if (const auto n = number_before(text, unit)) {
      if (r.after_days) refuse(Code::wrong_usage, "a recheck has two times: " + visible(text), "one time and one distance at most", "--after 3d --after 200km");
      r.after_days = n;
      return;
    }
  }
  for (const std::string_view unit : {"w", " week", " weeks"}) {
    if (const auto n = number_before(text, unit)) {
      if (*n > 5000) refuse(Code::not_allowed, visible(text) + " is too far away", "", "--after 3d");
      r.after_days = std::max(*n, 0) * 7;
      return;
    }
  }
  auto distance = parse_distance(text, c.units());
  if (!distance.ok()) {
    Refusal refusal = std::move(distance).refusal();
    refuse(Code::unclear, "after " + visible(text) + " is not clear", "a recheck is after some days, or some distance", "--after 3d, or --after 200km");
  }
  if (r.after_distance) refuse(Code::wrong_usage, "a recheck has two distances: " + visible(text), "one time and one distance at most", "--after 3d --after 200km");
  r.after_distance = std::move(distance).value();
}

std::vector<Recheck> rechecks(Context& c) {
  std::vector<Recheck> out;
  for (const auto& [name, value] : c.typed().options) {
    if (name == "recheck") {
      out.push_back({value, {}, {}});
    } else if (name == "after") {
      if (out.empty()) refuse(Code::wrong_usage, "--after " + visible(value) + " stands before any --recheck", "each --after belongs to the --recheck before it", "--recheck \"coolant level\" --after " + visible(value));
      read_after(c, out.back(), value);
    }
  }
  return out;
}

}  // namespace

int run_job_open(Context& c) {
  OpenJob d;
  d.car = c.car(c.operand(0));
  d.odometer = c.distance_option("odo");
  d.odometer_reason = c.typed().text("odo-reason");
  d.dial = dial_option(c.typed());
  d.complaint = c.typed().text("for");
  return c.write(d, c.book().plate_of(d.car) + (d.complaint.empty() ? "" : ", " + d.complaint));
}

int run_job_close(Context& c) {
  CloseJob d;
  d.job = c.job(c.operand(0));
  d.result = c.typed().text("result");
  d.rechecks = rechecks(c);
  d.book_missing = c.typed().has("missing") || c.typed().has("lost");
  d.was_low = c.typed().has("was-low");
  d.as_is = c.typed().text("as-is");
  const Receipt r = c.append(d);
  const JobView v = need(job(c.book(), d.job));
  if (c.json()) {
    Json j = c.document();
    render::receipt_members(j, r);
    j.key("closed_job");
    render::job_object(j, v, c.units());
    c.print(j);
    return 0;
  }
  render::receipt_text(c, r);
  if (c.quiet()) return 0;
  render::job_accounts(c, v);
  return 0;
}

int run_job_show(Context& c) {
  const JobView v = need(job(c.book(), c.job(c.operand(0)), c.as_of()));
  if (c.json()) {
    Json j = c.document();
    j.key("job");
    render::job_object(j, v, c.units());
    c.print(j);
    return 0;
  }
  if (!c.quiet()) render::job_text(c, v);
  return 0;
}

int run_job_list(Context& c) {
  const bool only_open = c.typed().has("open");
  const std::vector<JobLine> list = need(jobs(c.book(), only_open, c.as_of()));
  if (c.json()) {
    Json j = c.document();
    j.key("jobs").begin_array();
    for (const JobLine& l : list) {
      j.begin_object();
      j.key("number").number(l.number);
      j.member("job", l.ref);
      j.member("car", l.plate);
      j.member("complaint", l.complaint);
      j.member("opened", to_string(l.opened));
      j.key("closed");
      if (l.closed) j.string(to_string(*l.closed));
      else j.null();
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (list.empty()) {
    c.out().line(only_open ? "no job is open" : "no job yet: baybook job open MARSH-07 --odo 88210km --for \"...\"");
    return 0;
  }
  Table t;
  t.column("job", Align::right);
  t.column("car");
  t.column("opened");
  t.column("closed");
  t.column("came for");
  for (const JobLine& l : list) t.row({visible(l.ref), visible(l.plate), to_string(l.opened), l.closed ? to_string(*l.closed) : "open", visible(l.complaint)});
  c.out().text(t.text());
  return 0;
}

int run_odo(Context& c) {
  Odometer d;
  // A number is a job when there is one, as everywhere else; anything else is a car.
  const std::string& name = c.operand(0);
  const bool numeric = !name.empty() && name.substr(0, name.find('@')).find_first_not_of("0123456789") == std::string::npos;
  if (!numeric) {
    d.car = c.car(name);
  } else {
    const auto the_job = if_there(c.book().find_job(name, Match::part));
    if (the_job) {
      d.job = *the_job;
      d.car = need(c.book().car_of_job(d.job));
    } else {
      d.car = c.car(name);
    }
  }
  // A reading of today belongs to the job that the car is in for, if there is one and only one.
  if (!d.job && !c.typed().has("on")) {
    d.job = c.job_of_retry(d.car);
    if (!d.job) {
      const auto open = if_there(c.book().find_job(c.book().plate_of(d.car)));
      if (open) d.job = *open;
    }
  }
  // The counter of the engine's hours stands beside the odometer: 1250h.
  if (const std::string& typed = c.operand(1); meant_as_hours(typed)) {
    EngineHours h;
    h.car = d.car;
    h.job = d.job;
    h.minutes = need(parse_hours(typed));
    h.typed = typed;
    h.reason = c.typed().text("reason");
    h.dial = dial_option(c.typed());
    return c.write(h, c.book().plate_of(d.car));
  }
  d.reading = need(parse_distance(c.operand(1), c.units()));
  d.reason = c.typed().text("reason");
  d.dial = dial_option(c.typed());
  return c.write(d, c.book().plate_of(d.car));
}

int run_code(Context& c) {
  const Typed& t = c.typed();
  if (t.has("read") + t.has("cleared") + t.has("returned") > 1) refuse(Code::wrong_usage, "a code was read, cleared or came back: one of them", "--read, --cleared and --returned exclude each other", "one entry for each");
  CodeNote d;
  d.job = c.job(c.operand(0));
  d.what = t.has("cleared") ? CodeNote::What::cleared : t.has("returned") ? CodeNote::What::returned : CodeNote::What::read;
  d.code = c.operand(1);
  d.note = t.text("note");
  return c.write(d, d.note);
}

int run_torque(Context& c) {
  TorqueNote d;
  d.job = c.job(c.operand(0));
  d.fastener = c.operand(1);
  d.torque = need(parse_torque(c.operand(2), c.units()));
  return c.write(d, d.fastener);
}

}  // namespace baybook::tool
