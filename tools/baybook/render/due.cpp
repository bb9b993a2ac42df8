#include "due.hpp"

#include "../context.hpp"
#include "../sheet/sheet.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

namespace {

constexpr std::string_view token(DueLine::State s) {
  switch (s) {
    case DueLine::State::over: return "over";
    case DueLine::State::soon: return "soon";
    case DueLine::State::later: return "later";
    case DueLine::State::no_day: break;
  }
  return "no-day";
}

}  // namespace

void due_text(Context& c, const DueList& list) {
  Out& out = c.out();
  out.line(visible(c.book().settings().site) + "  due on " + to_string(list.day) + ", " + (c.typed().has("car") ? std::string("all of one car") : "within " + std::to_string(list.within) + " days"));
  out.line();
  std::string_view heading;
  const auto head = [&](const DueLine& d) {
    const std::string_view word = d.state == DueLine::State::over     ? "OVER"
                                  : d.about_now                       ? "ABOUT NOW"
                                  : d.state == DueLine::State::no_day ? "NO DAY KNOWN"
                                                                      : "TO COME";
    if (word == heading) return;
    if (!heading.empty()) out.line();
    out.line(word);
    heading = word;
  };
  for (const DueLine& d : list.lines) {
    head(d);
    const std::string group(name_of(d.group));
    out.text(wrapped((d.day ? to_string(*d.day) : std::string("          ")) + "  " + group + std::string(11 - group.size(), ' '), visible(d.what)));
    const auto more = [&](const std::string& text) {
      if (!text.empty()) out.text(wrapped("                       ", visible(text)));
    };
    more(d.figures);
    more(d.why);
    more(d.note);
    if (!d.source.empty() && d.group != DueGroup::recheck) more("from: " + d.source);
    out.text(to_be_typed("                       type: ", visible(d.settle)));
  }
  if (list.lines.empty()) out.line("nothing is due");
  out.line();
  if (list.cut) out.text(wrapped("", "There is more than is shown: --within fewer days, or --car."));
  if (list.no_day > 0) out.text(wrapped("", std::to_string(list.no_day) + (list.no_day == 1 ? " task of a car is" : " tasks of cars are") + " scheduled and the book knows no day for " + (list.no_day == 1 ? "it" : "them") + ": baybook due --car CAR shows why."));
  if (!list.range.told.empty()) out.text(wrapped("", list.range.told));
  for (const std::string& caution : list.cautions) out.text(wrapped("", visible(caution)));
  if (!list.aid.empty()) out.text(wrapped("", "rules " + list.rules + ". " + visible(list.aid)));
  out.line("seal " + list.seal);
}

void due_members(Context& c, Json& j, const DueList& list) {
  j.member("site", c.book().settings().site);
  j.member("day", to_string(list.day));
  j.key("within").number(list.within);
  j.objects("due", list.lines, [&](const DueLine& d) {
    j.member("group", name_of(d.group));
    j.member("state", token(d.state));
    j.key("about_now").boolean(d.about_now);
    j.day("day", d.day);
    j.key("projected").boolean(d.projected);
    j.day("early", d.early);
    j.day("late", d.late);
    j.key("width_percent");
    if (d.width_percent != 0) j.number(d.width_percent);
    else j.null();
    j.member("about", d.about);
    j.member("what", d.what);
    j.member("why", d.why);
    j.member("figures", d.figures);
    j.member("source", d.source);
    j.member("note", d.note);
    j.member("settle", d.settle);
    j.objects("entries", d.entries, [&](const EntryRef& e) {
      j.key("number").number(e.number());
      j.member("tag", e.tag);
    });
    j.member("key", d.key);
  });
  j.key("over").number(list.over);
  j.key("about_now").number(list.about_now);
  j.key("no_day").number(list.no_day);
  j.key("more").boolean(list.cut);
  j.key("range").begin_object();
  j.key("percent").number(list.range.percent);
  j.key("cars").number(list.range.cars);
  j.key("forecasts").number(list.range.forecasts);
  j.end_object();
  j.member("rules", list.rules);
  j.strings("cautions", list.cautions);
  j.member("seal", list.seal);
}

}  // namespace baybook::tool::render
