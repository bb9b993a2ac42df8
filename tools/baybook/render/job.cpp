#include "job.hpp"

#include "../context.hpp"
#include "entries.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

namespace {

using Figure = JobAccount::Figure;

bool nothing(const Figure& f) { return f.low == 0 && f.best == 0 && f.high == 0; }

void figure(Json& j, std::string_view name, const Figure& f, Dimension d) { j.key(name).bounded(f.low, f.best, f.high, d); }

/// The fewest decimals with which every figure of the form is exact, at most six.
int decimals_for(const JobAccount& a) {
  if (a.dimension == Dimension::count) return 0;
  std::int64_t step = a.dimension == Dimension::volume ? 10'000'000 : 10'000'000;  // 0.01 L, 0.01 kg
  int decimals = 2;
  const auto exact = [&] {
    for (const Figure& f : {a.left, a.put_back, a.kept, a.undecided, a.to_waste, a.shipped, a.gone, a.missing, a.difference, a.entered_back, a.entered_new, a.change}) {
      if (f.low % step != 0 || f.best % step != 0 || f.high % step != 0) return false;
    }
    return true;
  };
  while (decimals < 3 && !exact()) {
    step /= 10;
    ++decimals;
  }
  return decimals;
}

}  // namespace

void job_object(Json& j, const JobView& v, const Units& units) {
  j.begin_object();
  j.key("number").number(v.number);
  j.member("job", v.ref);
  j.member("car", v.plate);
  j.member("opened", to_string(v.opened));
  j.key("closed");
  if (v.closed) j.string(to_string(*v.closed));
  else j.null();
  j.member("complaint", v.complaint);
  j.member("result", v.result);
  j.key("odometer_m");
  if (v.odometer_metres) j.string(std::to_string(*v.odometer_metres));
  else j.null();
  j.key("accounts").begin_array();
  for (const JobAccount& a : v.accounts) {
    j.begin_object();
    j.member("circuit", a.circuit);
    figure(j, "left", a.left, a.dimension);
    figure(j, "put_back", a.put_back, a.dimension);
    figure(j, "kept", a.kept, a.dimension);
    figure(j, "undecided", a.undecided, a.dimension);
    figure(j, "to_waste", a.to_waste, a.dimension);
    figure(j, "shipped", a.shipped, a.dimension);
    figure(j, "gone", a.gone, a.dimension);
    figure(j, "missing", a.missing, a.dimension);
    figure(j, "lost", a.lost, a.dimension);
    figure(j, "difference", a.difference, a.dimension);
    figure(j, "entered_back", a.entered_back, a.dimension);
    figure(j, "entered_new", a.entered_new, a.dimension);
    figure(j, "change", a.change, a.dimension);
    j.key("was_low").boolean(a.was_low);
    j.strings("undecided_in", a.undecided_in);
    j.end_object();
  }
  j.end_array();
  j.key("rechecks").begin_array();
  for (const Recheck& r : v.rechecks) {
    j.begin_object();
    j.member("what", r.what);
    j.key("after_days");
    if (r.after_days) j.number(*r.after_days);
    else j.null();
    j.key("after_m");
    if (r.after_distance) j.string(std::to_string(r.after_distance->metres));
    else j.null();
    j.member("when", recheck_when(r, units));
    j.end_object();
  }
  j.end_array();
  j.key("lines").begin_array();
  for (const EntryView& e : v.lines) entry_object(j, e);
  j.end_array();
  j.end_object();
}

void job_accounts(Context& c, const JobView& v) {
  const Units& units = c.units();
  Out& out = c.out();
  for (const JobAccount& a : v.accounts) {
    const int decimals = decimals_for(a);
    // A gallon is no decimal number of litres: what is rounded says so, and claims nothing.
    const auto number = [&](const Figure& f) {
      return show_number(f.best, a.dimension, units, decimals) +
             (shows_exactly(f.best, a.dimension, units, decimals) ? "" : "~");
    };
    const auto bounds = [&](const Figure& f) {
      if (f.low == f.high) return std::string();
      // A sum of worst cases may be below nothing; what went somewhere is not.
      return show_number(f.best >= 0 && &f != &a.change && &f != &a.difference ? std::max<std::int64_t>(0, f.low) : f.low, a.dimension, units, decimals) + " to " + show_number(f.high, a.dimension, units, decimals);
    };
    out.line();
    out.line("  " + visible(a.circuit) + ", in " + std::string(unit_name(a.dimension, units)));
    Table t;
    t.column("");
    t.column("", Align::right);
    t.column("");
    const auto part = [&](const std::string& name, const Figure& f) {
      if (!nothing(f)) t.row({"  " + name, number(f), bounds(f)});
    };
    t.row({"out of the circuit", number(a.left), bounds(a.left)});
    part("put back into a car", a.put_back);
    part("filtered and kept", a.kept);
    part("undecided" + (a.undecided_in.empty() ? std::string() : " in " + visible(joined(a.undecided_in))), a.undecided);
    part("to waste", a.to_waste);
    part("picked up by a carrier", a.shipped);
    part("gone to the ground", a.gone);
    part("missing", a.missing);
    // The sum of both, where there are both.
    if (!nothing(a.gone) && !nothing(a.missing)) part("  lost, together", a.lost);
    part("settled by a gauge", a.difference);
    t.row({"into the circuit", number(Figure{a.entered_back.low + a.entered_new.low, a.entered_back.best + a.entered_new.best, a.entered_back.high + a.entered_new.high}),
           bounds(Figure{a.entered_back.low + a.entered_new.low, a.entered_back.best + a.entered_new.best, a.entered_back.high + a.entered_new.high})});
    part("put back", a.entered_back);
    part("new", a.entered_new);
    // The bounds of what is missing may lie on both sides of nothing: each end says which side it is on.
    const auto side = [&](std::int64_t n) { return show_number(n < 0 ? -n : n, a.dimension, units, decimals) + (n < 0 ? " short" : n > 0 ? " over" : ""); };
    const std::int64_t off = a.change.best < 0 ? -a.change.best : a.change.best;
    t.row({a.change.best == 0 ? "the circuit is as it was" : a.change.best < 0 ? "the circuit is short by" : a.was_low ? "it was low when it came by" : "the circuit has more by",
           a.change.best == 0 ? "" : number(Figure{off, off, off}), a.change.low == a.change.high ? "" : side(a.change.low) + " to " + side(a.change.high)});
    out.text(t.text(4));
  }
}

void job_text(Context& c, const JobView& v) {
  const Units& units = c.units();
  Out& out = c.out();
  std::string head = "job " + visible(v.ref) + "  " + visible(v.plate) + "  ";
  head += v.closed ? (*v.closed == v.opened ? "on " + to_string(v.opened) : to_string(v.opened) + " to " + to_string(*v.closed)) : "open since " + to_string(v.opened);
  if (v.odometer_metres) head += "  " + show_distance(*v.odometer_metres, units);
  out.line(head);
  if (!v.complaint.empty()) out.text(wrapped("  came for  ", visible(v.complaint)));
  if (!v.result.empty()) out.text(wrapped("  result    ", visible(v.result)));
  for (const Recheck& r : v.rechecks) {
    const std::string at = recheck_when(r, units);
    out.text(wrapped("  watch     ", visible(r.what) + (at.empty() ? "" : ", " + at)));
  }
  if (!v.lines.empty()) {
    out.line();
    out.text(entry_lines(c, v.lines, false, true, 2));
  }
  job_accounts(c, v);
}

}  // namespace baybook::tool::render
