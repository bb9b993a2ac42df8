// Episodic events with their notices and days, and enforcement actions that are not resolved.
#include "book/limits.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

std::string name_of(const Event& e) {
  return std::string(e.spell.planned ? "planned" : "unplanned") + " event of " +
         to_string(e.spell.day);
}

void notice(LimitSheet& sheet, const Event& e) {
  if (e.noticed) return;
  LimitLine& l = sheet.line("paper", "notice of the " + name_of(e), e.notice);
  l.due = e.notice_due;
  l.state = state_of_day(*l.due, sheet.day);
  l.figures = e.spell.planned
                  ? std::to_string(e.notice->n) + " days before it begins, "
                  : "within " + std::to_string(e.notice->n) +
                        " hours of its start, whose time of day is not in the book, ";
  l.figures += days_left(*l.due, sheet.day);
  l.settle = "baybook filing add event-notice --about " + entry_name(sheet.in, e.spell.entry) +
             " --filed DATE";
  l.entries.push_back(ref_of(sheet.in, e.spell.entry));
}

void run(LimitSheet& sheet, const Event& e) {
  std::string places;
  for (const PlaceId p : e.spell.containers)
    places += (places.empty() ? "" : ", ") + place_name(sheet.in, p);
  LimitLine& l = sheet.line("event", name_of(e) + ", in " + places, e.length);
  l.entries.push_back(ref_of(sheet.in, e.spell.entry));
  l.due = e.until;
  l.state = state_of_day(e.until, sheet.day);
  l.figures = std::to_string(e.length->n) + " days from its start to be finished and sent off, " +
              days_left(e.until, sheet.day);
  if (e.counts.empty()) {
    l.figures += "; its waste does not count while it keeps its terms (40 CFR 262.13(c)(8)): what "
                 "went into these containers in its days";
  } else {
    l.state = State::over;
    l.figures += "; its waste counts: " + e.counts;
  }
  l.settle = "baybook event end " + entry_name(sheet.in, e.spell.entry) + " --last DATE";
}

}  // namespace

void episodic_events(LimitSheet& sheet) {
  for (const Event& e : sheet.events) {
    notice(sheet, e);
    if (!e.spell.ended) run(sheet, e);
  }
}

void enforcement_holds(LimitSheet& sheet) {
  for (const Spell& s : sheet.spells) {
    if (s.what != Circumstance::What::hold || s.ended) continue;
    LimitLine& l = sheet.line("hold", "enforcement action since " + to_string(s.day), nullptr);
    l.figures = "while it is not resolved what must still be kept is kept (40 CFR 262.40(d))";
    l.settle = "baybook hold end " + entry_name(sheet.in, s.entry) + " --last DATE";
    l.entries.push_back(ref_of(sheet.in, s.entry));
  }
}

}  // namespace baybook::book
