#include "spill.hpp"

#include "../context.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

namespace {

void refs(Json& j, std::string_view name, const std::vector<EntryRef>& list) {
  j.objects(name, list, [&](const EntryRef& r) {
    j.key("number").number(r.number());
    j.member("tag", r.tag);
  });
}

}  // namespace

void spill_members(Json& j, const SpillAdvice& advice) {
  j.strings("advice", advice.lines);
  j.objects("comparisons", advice.substances, [&](const SpillComparison& c) {
    j.member("substance", c.substance);
    j.strings("fluids_in", c.fluids);
    j.key("quantity").exact(c.quantity.n, Dimension::mass);
    j.member("quantity_shown", c.typed);
    j.member("within", c.window);
    j.member("section", c.section);
    j.member("sure", name_of(c.sure));
    j.key("weight").bounded(c.low_ug, c.best_ug, c.high_ug, Dimension::mass);
    j.member("weight_shown", c.mass);
    j.key("weight_may_be").exact(c.may_high_ug, Dimension::mass);
    j.key("weighed").boolean(!c.unweighed);
    j.member("state", name_of(c.state));
    j.member("share", c.share);
    j.member("told", c.told);
    refs(j, "entries", c.entries);
    refs(j, "entries_may_be", c.may);
  });
  j.strings("notes", advice.notes);
}

void spill_text(Context& c, const SpillAdvice& advice) {
  if (!advice.is_spill) return;
  if (!advice.substances.empty()) c.out().line("  beside the rules");
  for (const SpillComparison& s : advice.substances) c.out().text(wrapped("    ", visible(s.told)));
  for (const std::string& n : advice.notes) c.out().text(wrapped("    ", visible(n)));
  if (!advice.oil.empty()) c.out().text(wrapped("    ", visible(advice.oil)));
  if (!advice.call.empty()) c.out().text(wrapped("    ", visible(advice.call)));
}

}  // namespace baybook::tool::render
