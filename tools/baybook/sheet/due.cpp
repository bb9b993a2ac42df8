// The week's sheet of what is due, and its calendar.
#include "sheet.hpp"

#include "../render/due.hpp"
#include "../render/text.hpp"
#include "../report/calendar.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::sheet {

namespace {

// A table that a program reads keeps each thing in a column of its own. On paper the words that settle a line stand below its reason: of
// two columns for them, each with a long name in it, little is left for the others.
bool for_programs(const Typed& t) {
  const std::string form = t.has("form") ? t.text("form") : t.text("out").substr(t.text("out").rfind('.') + 1);
  return form == "csv" || form == "json";
}

}  // namespace

report::Report due(Context& c, const DueList& list) {
  const bool apart = for_programs(c.typed());
  report::Report r = begin(c, "due", c.typed().has("car") ? "What is due on one car, " + to_string(list.day) : "What is due, " + to_string(list.day) + " to " + to_string(Day{list.day.n + list.within}), c.typed().has("car") ? to_string(list.day) : to_string(list.day) + " to " + to_string(Day{list.day.n + list.within}));
  if (!list.rules.empty()) {
    if (const auto set = if_there(rules(c.book(), list.day))) by_rules(r, set->name, set->digest, set->aid);
  }
  // One table: of two, the one with the shorter texts would be set smaller, and what is over must not be the smaller one.
  report::Table t;
  t.caption = "Over first, then what is about now, then by day";
  t.columns = {{"state", {}, false, "state", true}, {"by", {}, false, "day", true}, {"what", {}, false, "what"}, {"figures", {}, false, "figures"}, {apart ? "why" : "why, and what settles it", {}, false, "why"}};
  if (apart) t.columns.insert(t.columns.end(), {{"settled by", {}, false, "settle"}, {"entries", {}, false, "entries"}});
  t.columns.push_back({"done, initials", {}, false, "done"});
  for (const DueLine& d : list.lines) {
    const bool over = d.state == DueLine::State::over;
    std::string why = d.why;
    if (!d.source.empty() && d.group != DueGroup::recheck) why += "; " + d.source;
    if (!d.note.empty()) why += "; " + d.note;
    // A standing limit names its own kind already: "paper: F-2001", "deadline: tank-test".
    const std::string what = d.key.starts_with("limit-") ? d.what : std::string(name_of(d.group)) + ": " + d.what;
    t.rows.push_back({text(over ? "OVER" : d.about_now ? "about now" : d.day ? "to come" : "no day", over), text(d.day ? to_string(*d.day) : std::string(), over), text(what, over), text(d.figures), text(apart ? why : why + ". Type: " + d.settle)});
    if (apart) t.rows.back().insert(t.rows.back().end(), {text(d.settle), text(refs(c, d.entries))});
    t.rows.back().push_back(text(""));
  }
  t.empty = "nothing is due in these days";
  r.blocks.emplace_back(std::move(t));
  if (list.no_day > 0) r.notes.push_back(std::to_string(list.no_day) + (list.no_day == 1 ? " scheduled task of a car has no day, for the book does not say when it was" : " scheduled tasks of cars have no day, for the book does not say when they were") + " last done: baybook due --car CAR.");
  if (list.cut) r.notes.emplace_back("There is more than is printed: fewer days, or one car.");
  if (!list.range.told.empty()) r.notes.push_back(list.range.told);
  r.notes.insert(r.notes.end(), list.cautions.begin(), list.cautions.end());
  return r;
}

std::string calendar(Context& c, const DueList& list, bool with_personal) {
  report::Calendar out;
  out.name = "Due at " + c.book().settings().site;
  out.description = with_personal ? "With plates and texts: keep it among those who may read the book." : "Without plates, names and texts.";
  for (const std::string& caution : list.cautions) out.description += " " + caution;
  for (const DueLine& d : list.lines) {
    if (!d.day) continue;
    report::CalendarEvent e;
    e.uid = d.key + "@" + c.book().settings().tag + ".baybook";
    e.day = *d.day;
    e.summary = (d.state == DueLine::State::over ? "OVER: " : d.about_now ? "ABOUT NOW: " : "") + (with_personal ? d.what : d.bare);
    e.description = d.figures.empty() ? d.why : d.figures + "\n" + d.why;
    // A limit's figures count the days that are left today: in a calendar they would be wrong tomorrow. Its day says the same.
    if (d.key.starts_with("limit-")) e.description = d.why + (with_personal && !d.source.empty() ? "\n" + d.source : std::string());
    if (d.projected) e.description += "\nprojected from readings";
    if (with_personal) {
      if (!d.note.empty()) e.description += "\n" + d.note;
      e.description += "\n" + d.settle;
    }
    e.category = std::string(name_of(d.group));
    e.stamp = d.entries.empty() ? Instant{0} : need(entry(c.book(), d.entries.front().id)).recorded;
    // A day that moved is a later edition of the same event: told by the newest entry that made it.
    for (const EntryRef& ref : d.entries) e.stamp = std::max(e.stamp, need(entry(c.book(), ref.id)).recorded);
    out.events.push_back(std::move(e));
  }
  return report::render_calendar(out, BAYBOOK_VERSION);
}

}  // namespace baybook::tool::sheet
