// Used oil whose analysis does not meet the fuel specification: who may burn it is limited.
#include "book/limits.hpp"

#include "returns/determination.hpp"

namespace baybook::book {

void off_specification(LimitSheet& sheet) {
  for (const OnHand& h : sheet.on_hand) {
    if (h.stream == nullptr || h.stream->name != "used-oil" || h.facts.hazardous == YesNo::yes) continue;
    const Office::Decided by = sheet.office.decided(*h.stream, h.place->id, sheet.day);
    // An analysis from before this filling is of other oil.
    if (by.entry.n == 0 || (by.of_place && log::day_of_moment(by.moment) < h.since)) continue;
    const returns::Said said = returns::read_determination(log::read_fact(sheet.in.db, by.entry).details);
    for (const std::string& off : returns::off_specification(*sheet.rules, sheet.day, said.found)) {
      LimitLine& l = sheet.line("used oil", h.name() + ", " + h.facts.title + ", does not meet the fuel specification", nullptr);
      l.figures = off;
      l.state = State::near;
      l.settle = "only to whoever may burn or re-refine oil off the specification";
      l.entries.push_back(ref_of(sheet.in, by.entry));
    }
  }
}

}  // namespace baybook::book
