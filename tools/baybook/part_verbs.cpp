// work, fit, fitted: what was done, which parts went in and which came off.
#include "part_verbs.hpp"

#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

/// How many parts. Parts are counted, so that a bare number is pieces, and so is the example in a refusal.
Amount pieces(Context& c, const std::string& text) {
  const bool bare = !text.empty() && text.find_first_not_of("0123456789., '~-") == std::string::npos;
  auto read = parse_amount(bare ? text + "pcs" : text, c.units());
  if (read.ok()) return std::move(read).value();
  Refusal refusal = std::move(read).refusal();
  if (refusal.instead.find(", like ") != std::string::npos) refusal.instead = "a number of pieces, like 1pcs";
  throw Refused{std::move(refusal)};
}

/// Remembers a warranty of one kind, and refuses a second one of it: the first would be gone without a word.
void one_warranty(std::string_view kind, std::string& first, const std::string& typed) {
  if (!first.empty()) {
    refuse(Code::wrong_usage, "the part has two warranties of a " + std::string(kind) + ": " + visible(first) + " and " + visible(typed), "one time and one distance at most", "the one that holds: --warranty " + visible(first) + ", or --warranty " + visible(typed));
  }
  first = typed;
}

bool names_entry(std::string_view name) {
  const std::string_view number = name.substr(0, name.find('@'));
  return name == "last" ||
         (!number.empty() && number.find_first_not_of("0123456789") == std::string_view::npos);
}

std::string entries_of(Context& c, const std::vector<FittedRow>& rows) {
  std::vector<std::string> names;
  for (const FittedRow& r : rows)
    names.push_back(ref_text(r.entry, c.book().settings().tag));
  return joined(names);
}

// What of a part's number is in that car by the book.
std::vector<FittedRow> in_car(Context& c, const std::string& part, CarId car) {
  std::vector<FittedRow> rows = need(fitted(c.book(), part));
  std::erase_if(rows, [&](const FittedRow& r) {
    return r.car != car || r.state == FittedRow::State::out;
  });
  return rows;
}

EntryId fit_named(Context& c, const std::string& name, CarId car) {
  const std::vector<FittedRow> rows = in_car(c, name, car);
  if (names_entry(name)) {
    const EntryId entry = need(c.book().find_entry(name));
    // The number of a part may be one of figures alone.
    const bool both = std::any_of(rows.begin(), rows.end(),
                                  [&](const FittedRow& r) { return r.entry.id != entry; });
    if (both)
      refuse(Code::ambiguous,
             visible(name) + " is the number of a part in that car and of an entry",
             "the part was fitted by " + entries_of(c, rows), "--takes-out with that entry");
    return entry;
  }
  if (rows.empty())
    refuse(Code::not_found,
           "no part " + visible(name) + " is in " + visible(c.book().plate_of(car)) +
               " by the book",
           "what comes out was written with fit", "baybook fitted " + as_typed(name));
  if (rows.size() > 1)
    refuse(Code::ambiguous,
           visible(name) + " is in " + visible(c.book().plate_of(car)) +
               " more than once: entries " + entries_of(c, rows),
           "", "--takes-out with one of these entries");
  return rows.front().entry.id;
}

}  // namespace

std::vector<TakenOut> taken_out(Context& c, CarId car) {
  std::vector<TakenOut> out;
  for (const std::string& typed : c.typed().all("takes-out")) {
    const std::size_t equals = typed.find('=');
    TakenOut t;
    t.fit = fit_named(c, typed.substr(0, equals), car);
    if (equals != std::string::npos) t.amount = pieces(c, typed.substr(equals + 1));
    out.push_back(std::move(t));
  }
  return out;
}

int run_work(Context& c) {
  Work d{c.job(c.operand(0)), c.operand(1), c.typed().text("kind")};
  d.takes_out = taken_out(c, need(c.book().car_of_job(d.job)));
  return c.write(d, d.text);
}

int run_fit(Context& c) {
  const Typed& t = c.typed();
  Fit d;
  d.job = c.job(c.operand(0));
  d.part = c.operand(1);
  d.description = t.text("what");
  d.lot = t.text("lot");
  d.quantity = pieces(c, t.has("qty") ? t.text("qty") : "1pcs");
  std::string time;
  std::string far;
  for (const std::string& w : t.all("warranty")) {
    std::optional<int> months;
    for (const std::string_view unit : {"mo", " month", " months"}) {
      if (!months) months = number_before(w, unit);
    }
    if (!months) {
      if (const auto years = number_before(w, "y"); years && *years <= 100) months = std::max(*years, 0) * 12;
    }
    if (months) {
      if (*months <= 0 || *months > 1200) refuse(Code::not_allowed, "a warranty of " + visible(w) + " is not likely", "", "--warranty 24mo");
      one_warranty("time", time, w);
      d.warranty_months = *months;
      continue;
    }
    auto distance = parse_distance(w, c.units());
    if (!distance.ok()) refuse(Code::unclear, "warranty " + visible(w) + " is not clear", "a warranty is for some months, or some distance", "--warranty 24mo, or --warranty 20000km");
    one_warranty("distance", far, w);
    d.warranty_distance = std::move(distance).value();
  }
  if (const std::string* old = t.get("old")) {
    if (old->starts_with("waste:")) {
      d.old = Fit::Old::waste;
      d.old_into = c.place(std::string_view(*old).substr(6));
    } else if (*old == "core") {
      d.old = Fit::Old::core;
    } else if (*old == "customer") {
      d.old = Fit::Old::customer;
    } else if (*old == "none") {
      d.old = Fit::Old::none;
    } else {
      refuse(Code::wrong_usage, "--old " + visible(*old) + " is not known", "it is one of: waste:PLACE, core, customer, none", "--old core");
    }
  }
  if (d.old != Fit::Old::waste && (t.has("old-amount") || t.has("old-class"))) refuse(Code::wrong_usage, "--old-amount and --old-class go with --old waste:PLACE", "", "--old waste:PLACE");
  d.old_amount = c.amount_option("old-amount");
  d.old_class = t.text("old-class");
  d.takes_out = taken_out(c, need(c.book().car_of_job(d.job)));
  return c.write(d, d.description);
}

namespace {

void fitted_members(Json& j, const FittedRow& f) {
  j.member("car", f.plate);
  j.member("part", f.part);
  j.member("lot", f.lot);
  j.member("description", f.description);
  j.member("quantity", f.quantity);
  j.member("job", f.job);
  j.member("day", to_string(f.day));
  j.key("odometer_m");
  if (f.odometer_metres) j.string(std::to_string(*f.odometer_metres));
  else j.null();
  render::entry_ref(j, "entry", f.entry);
  j.member("state", name_of(f.state));
  j.key("left").bounded(f.left.low, f.left.best, f.left.high, f.left.dimension);
  j.objects("came_off", f.came_off, [&](const FittedRow::Out& o) {
    render::entry_ref(j, "entry", o.entry);
    j.member("day", to_string(o.day));
    j.member("job", o.job);
    j.member("quantity", o.quantity);
  });
  j.key("fitted_again");
  if (f.again) {
    j.begin_object();
    render::entry_ref(j, "entry", *f.again);
    j.member("day", to_string(*f.again_on));
    j.end_object();
  } else {
    j.null();
  }
  j.key("scrapped").boolean(f.scrapped);
}

// What became of it, and what the book does not know of that.
std::string told(Context& c, const FittedRow& f) {
  const std::string own = c.book().settings().tag;
  std::vector<std::string> out;
  for (const FittedRow::Out& o : f.came_off)
    out.push_back((f.came_off.size() == 1 && f.state == FittedRow::State::out
                       ? std::string("OUT")
                       : o.quantity + " OUT") +
                  " by entry " + ref_text(o.entry, own) + " on " + to_string(o.day));
  if (f.again)
    out.push_back("may be out: fitted again by entry " + ref_text(*f.again, own) + " on " +
                  to_string(*f.again_on));
  if (f.scrapped) out.push_back("car scrapped");
  if (!f.description.empty()) out.insert(out.begin(), f.description);
  return joined(out, "; ");
}

void fitted_table(Context& c, const std::vector<FittedRow>& list) {
  Table t;
  t.column("entry", Align::right);
  t.column("car");
  t.column("part");
  t.column("lot");
  t.column("quantity", Align::right);
  t.column("day");
  t.column("at", Align::right);
  t.column("job");
  t.column("what");
  for (const FittedRow& f : list) {
    t.row({ref_text(f.entry, c.book().settings().tag), visible(f.plate), visible(f.part),
           visible(f.lot), visible(f.quantity), to_string(f.day),
           f.odometer_metres ? show_distance(*f.odometer_metres, c.units()) : "", visible(f.job),
           visible(told(c, f))});
  }
  c.out().text(t.text());
}

}  // namespace

int run_fitted(Context& c) {
  const std::string lot = c.typed().text("lot");
  std::vector<FittedRow> list = need(fitted(c.book(), c.operand(0), lot, c.as_of()));
  if (c.json()) {
    Json j = c.document();
    j.objects("fitted", list, [&](const FittedRow& f) { fitted_members(j, f); });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  const std::string what =
      "part " + visible(c.operand(0)) + (lot.empty() ? "" : ", lot " + visible(lot));
  if (list.empty()) {
    c.out().line("no car carries " + what + " by this book");
    return 0;
  }
  const auto out = std::stable_partition(list.begin(), list.end(), [](const FittedRow& f) {
    return f.state != FittedRow::State::out;
  });
  const std::vector<FittedRow> came_off(out, list.end());
  list.erase(out, list.end());
  if (list.empty()) c.out().line("no car carries " + what + " any more by this book");
  else fitted_table(c, list);
  if (!came_off.empty()) {
    c.out().line("\ntaken out again");
    fitted_table(c, came_off);
  }
  if (list.empty()) return 0;
  c.out().line();
  c.out().text(
      wrapped("", "As far as it was written here: what came off elsewhere, or for a part of another "
                  "number, is still in the list. It is ended by: baybook work JOB \"...\" "
                  "--takes-out ENTRY"));
  return 0;
}

}  // namespace baybook::tool
