// How much universal waste a small handler may have on the site (40 CFR 273.9).
#include "book/limits.hpp"

#include "log/sum.hpp"

namespace baybook::book {

void universal_waste(LimitSheet& sheet) {
  const RuleValue* most = sheet.value("universal-waste.small-handler.max-mass");
  if (most == nullptr) return;
  std::int64_t best = 0;
  std::int64_t high = 0;
  bool any = false;
  bool unweighed = false;
  for (const OnHand& h : sheet.on_hand) {
    if (h.stream == nullptr || h.stream->group != "universal-waste") continue;
    any = true;
    unweighed = unweighed || h.unweighed || h.pieces != 0;
    log::add_to(best, 1, h.ug);
    log::add_to(high, 1, h.high_ug);
  }
  if (!any) return;
  LimitLine& l = sheet.line("on hand", "universal waste, small handler", most);
  const auto kg = [&](std::int64_t ug) { return show_as_typed(ug, "1 kg", most->n); };
  l.figures = kg(best) + ", less than " + most->text + " at any time";
  // Under 5,000 kg: from that on it is another handler.
  l.state = best >= most->n                                ? State::over
            : high >= most->n || near_limit(best, most->n) ? State::near
                                                           : State::fine;
  if (best < most->n && high >= most->n)
    l.figures += "; may be over: " + kg(high) + " with the upper bounds";
  if (unweighed) l.figures += "; some of it has no weight in the book";
  l.settle = "baybook pickup";
}

}  // namespace baybook::book
