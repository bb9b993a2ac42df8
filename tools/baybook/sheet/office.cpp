// The register, the standing limits, a car's service history.
#include "sheet.hpp"

#include "../render/text.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool::sheet {

report::Report register_of(Context& c, Day from, Day until) {
  const Units& units = c.units();
  report::Report r = begin(c, "register", "Chronological register of waste", to_string(from) + " to " + to_string(until));
  const std::vector<RegisterRow> rows = need(waste_register(c.book(), from, until));
  report::Table t;
  t.caption = "What went into waste containers, and what was collected";
  t.columns = {{"entry", {}, false, "entry"},     {"day", {}, false, "day"},       {"container", {}, false, "container"}, {"in or out", {}, false, "way"}, {"nature", {}, false, "nature"},      {"code", {}, false, "code", true},         {"hazard", {}, false, "hazard"},
               {"quantity", {}, true, "quantity", false, "amount"}, {"weight", "kg", true, "kg", false, "weight"},   {"origin", {}, false, "origin"},       {"destination", {}, false, "destination"}, {"carrier, transport", {}, false, "carrier"}, {"paper", {}, false, "document", true}, {"treatment", {}, false, "treatment"}, {"measured", {}, true, "measured"}, {"signed copy", {}, false, "confirmed"}};
  std::map<std::string, int> collections;
  std::vector<std::string> mixtures;
  for (const RegisterRow& x : rows) {
    if (const auto& m = x.stream.mixture) {
      const std::string told = x.place + " was mixed with " + m->with + " by entry " + ref_text(m->entry, c.book().settings().tag) + (m->reason.empty() ? "" : ", \"" + m->reason + "\"") + ": " + m->told;
      if (std::find(mixtures.begin(), mixtures.end(), told) == mixtures.end()) mixtures.push_back(told);
    }
    const bool collected = x.out && !x.document.empty();
    if (collected) ++collections[x.stream.title];
    const std::string carrier = x.carrier + (x.transport.empty() ? "" : ", " + x.transport);
    std::string treatment = x.treatment;
    if (collected) treatment += (treatment.empty() ? "" : ", ") + x.fate;
    t.rows.push_back({text(ref_text(x.entry, c.book().settings().tag)), text(to_string(x.day)), text(x.place), text(x.out ? "out" : "in"), text(x.stream.title), text(x.stream.code), text(hazard_word(x.stream)), amount_cell(x.low, x.best, x.high, x.dimension, units), mass(x.best_ug), text(x.origin), text(x.destination),
                      text(carrier), text(x.document), text(treatment), x.measured ? amount_cell(x.measured->best, x.measured->best, x.measured->best, x.measured->dimension, units) : report::Cell{}, text(x.confirmed ? to_string(*x.confirmed) : collected ? "not yet" : "")});
  }
  t.empty = "no waste was put by or collected in this period";
  r.blocks.emplace_back(std::move(t));
  if (!collections.empty()) {
    report::Facts f;
    f.heading = "Collections in this period";
    for (const auto& [stream, n] : collections) f.rows.emplace_back(stream, std::to_string(n));
    r.blocks.emplace_back(std::move(f));
  }
  for (std::string& m : mixtures) r.notes.push_back(std::move(m) + ".");
  add_closings(c, r, from, until);
  if (const auto set = if_there(rules(c.book(), until))) by_rules(r, set->name, set->digest, set->aid);
  else r.notes.emplace_back("An aid to the workshop's own records: local codes and the authority have the last word.");
  r.notes.emplace_back("Each row leads back to its entry: baybook entry NUMBER. Weights of volumes are worked out with the densities that `baybook totals` names.");
  return r;
}

report::Report limits(Context& c, const Limits& l) {
  report::Report r = begin(c, "limits", "Limits and deadlines on " + to_string(l.day), to_string(l.day));
  by_rules(r, l.rules, l.rules_digest, l.aid);
  if (!l.category_title.empty()) r.blocks.emplace_back(report::Facts{"", {{"category of " + to_string(month_of(l.day)) + " so far", l.category_title}}});
  const auto table = [&](std::string caption, const std::vector<LimitLine>& lines, bool state) {
    report::Table t;
    t.caption = std::move(caption);
    t.columns = {{"by", {}, false, "due", false, "day"}};
    if (state) t.columns.push_back({"state", {}, false, "state"});
    t.columns.push_back({"what", {}, false, "what"});
    t.columns.push_back({"figures", {}, false, "figures"});
    t.columns.push_back({"section", {}, false, "section"});
    if (state) t.columns.push_back({"settle it with", {}, false, "settle"});
    t.columns.push_back({"entries", {}, false, "entries"});
    for (const LimitLine& x : lines) {
      const bool over = x.state == LimitLine::State::over;
      std::vector<report::Cell> row = {text(x.due ? to_string(*x.due) : "no date", over)};
      if (state) row.push_back(text(over ? "OVER" : x.state == LimitLine::State::near ? "near" : "fine", over));
      row.push_back(text(state ? x.group + ": " + x.what : x.what));
      row.push_back(text(x.figures));
      row.push_back(text(x.section.empty() ? "" : with_words(x.section, x.sure)));
      if (state) row.push_back(text(x.settle));
      row.push_back(text(refs(c, x.entries)));
      t.rows.push_back(std::move(row));
    }
    r.blocks.emplace_back(std::move(t));
  };
  table("What stands against a limit or a date, the nearest first", l.lines, true);
  if (!l.keep.empty()) table("Until when records are kept", l.keep, false);
  if (l.rules.empty()) r.notes.emplace_back("The book goes by no rule set: baybook rules set NAME --from DATE. Nothing is judged.");
  r.notes.emplace_back("\"near\": within 14 days or from 80 percent on (common practice, no source). The last permitted day follows the named setting clock.day-zero.");
  return r;
}

report::Report car(Context& c, CarId id, AsOf as_of) {
  const Units& units = c.units();
  const CarView v = need(baybook::car(c.book(), id, as_of));
  const std::vector<EntryView> list = need(history(c.book(), id, as_of));
  report::Report r = begin(c, "car", "Service history of " + v.plate, list.empty() ? "" : to_string(list.front().happened) + " to " + to_string(list.back().happened));
  report::Facts f;
  f.heading = "The car";
  const auto add = [&](const char* name, const std::string& value) {
    if (!value.empty()) f.rows.emplace_back(name, value);
  };
  add("plate", v.plate);
  add("earlier plates", joined(v.earlier_plates));
  add("VIN", v.vin);
  add("make and model", v.make + (v.model.empty() ? "" : " " + v.model) + (v.year > 0 ? ", " + std::to_string(v.year) : ""));
  add("engine", v.engine);
  if (v.odometer_day) add("odometer", show_distance(v.odometer_metres, units) + " on " + to_string(*v.odometer_day));
  for (const CarView::CircuitView& x : v.circuits) f.rows.emplace_back(x.name, (x.capacity ? show(*x.capacity, units) : std::string("capacity not said")) + (x.specification.empty() ? "" : ", " + x.specification));
  r.blocks.emplace_back(std::move(f));
  report::Table t;
  t.caption = "What was done";
  t.columns = {{"day", {}, false, "day", false, "happened"}, {"job", {}, false, "job"}, {"what", {}, false, "what", false, "summary"}, {"in words", {}, false, "text"}, {"by", {}, false, "by"}, {"entry", {}, false, "entry"}};
  std::string job;
  for (const EntryView& e : list) {
    t.rows.push_back({text(to_string(e.happened)), text(e.job), text(e.summary + (e.came_back.empty() ? "" : " (" + e.came_back + ")") + (e.came_off.empty() ? "" : " (" + e.came_off + ")")), text(e.text), text(e.by), text(ref_text(e.ref, c.book().settings().tag))});
  }
  t.empty = "nothing yet";
  r.blocks.emplace_back(std::move(t));
  const LastDone last_done = need(last(c.book(), id, {}, as_of, false));
  report::Table next;
  next.caption = "What is next";
  next.columns = {{"what to look at", {}, false, "what"}, {"when", {}, false, "when"}, {"left by job", {}, false, "job"}, {"closed on", {}, false, "closed"}};
  for (const LastDone::Watch& w : last_done.watch) next.rows.push_back({text(w.recheck.what), text(recheck_when(w.recheck, units)), text(w.job), text(to_string(w.closed))});
  next.empty = "nothing was left to watch";
  r.blocks.emplace_back(std::move(next));
  r.notes.emplace_back("Written from the workshop's own book. A cooling system is opened only when it is cold; coolant is poisonous and tastes sweet; refrigerant is for trained people. Local codes and licensed practice come first.");
  return r;
}

}  // namespace baybook::tool::sheet
