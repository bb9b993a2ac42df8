#include "receipt.hpp"

#include "../context.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

void entry_ref(Json& j, std::string_view name, const EntryRef& ref) {
  j.key(name).begin_object();
  j.key("number").number(ref.number());
  j.member("tag", ref.tag);
  j.end_object();
}

void level_object(Json& j, const LevelAfter& l) {
  j.begin_object();
  j.member("place", l.name);
  j.member("role", name_of(l.role));
  j.key("level").bounded(l.low, l.best, l.high, l.dimension);
  j.key("size");
  if (l.size) j.exact(*l.size, l.dimension);
  else j.null();
  j.end_object();
}

void closed_months_member(Json& j, const std::vector<ClosedReach>& closed) {
  j.objects("closed_months", closed, [&](const ClosedReach& m) {
    j.member("month", to_string(m.month));
    entry_ref(j, "entry", m.entry);
    j.key("changes").boolean(m.changes);
    j.key("amended").boolean(m.amended);
  });
}

void receipt_members(Json& j, const Receipt& r) {
  entry_ref(j, "entry", r.entry);
  j.member("digest", r.digest);
  j.member("summary", r.summary);
  j.key("job");
  if (r.job_number != 0) j.number(r.job_number);
  else j.null();
  j.key("levels").begin_array();
  for (const LevelAfter& l : r.levels) level_object(j, l);
  j.end_array();
  j.strings("warnings", r.warnings);
  std::vector<std::string> cautions;
  for (const Caution& x : r.cautions) cautions.push_back(x.text);
  j.strings("cautions", cautions);
  closed_months_member(j, r.closed_months);
  if (!r.was.empty() || !r.now.empty()) {
    j.member("was", r.was);
    j.member("now", r.now);
  }
  if (!r.no_effect.empty()) j.member("no_effect", r.no_effect);
  if (r.clock.is != ClockCheck::Is::fits) {
    j.key("clock").begin_object();
    j.member("is", name_of(r.clock.is));
    j.member("now", to_string(r.clock.now));
    j.member("last", to_string(r.clock.last));
    j.end_object();
  }
  j.key("repeated").boolean(r.repeated);
  j.key("dry_run").boolean(r.dry_run);
  j.member("body", r.body);
}

void receipt_text(Context& c, const Receipt& r) {
  // What may need a second look is said even when the answer itself is not wanted.
  for (const std::string& w : r.warnings) c.err().text(wrapped("check: ", visible(w)));
  if (c.quiet()) return;
  Out& out = c.out();
  const Units& units = c.units();
  std::string head = "entry " + ref_text(r.entry, c.book().settings().tag) + "  " + short_digest(r.digest);
  if (r.repeated) head += "  written before under this --once key; nothing new was written";
  if (r.dry_run) head = "would be " + head + "  nothing was written";
  out.line(head);
  if (!r.summary.empty()) out.text(wrapped("  ", visible(r.summary)));
  if (!r.was.empty()) out.text(wrapped("  was  ", visible(r.was)));
  if (!r.now.empty()) out.text(wrapped("  now  ", visible(r.now)));
  if (!r.no_effect.empty()) out.text(wrapped("  ", visible(r.no_effect)));
  Table levels;
  levels.column("");
  levels.column("");
  for (const LevelAfter& l : r.levels) levels.row({visible(l.name), level_text(l, units)});
  out.text(levels.text(2));
  if (r.dry_run) out.line(visible(r.body));
  // Said once a day at each place and for each class, or nobody reads it any more; --json has it every time.
  for (const Caution& x : r.cautions) {
    if (!x.again) c.err().text(wrapped("care:  ", visible(x.text)));
  }
}

void receipt(Context& c, const Receipt& r) {
  if (c.json()) {
    Json j = c.document();
    receipt_members(j, r);
    c.print(j);
    return;
  }
  receipt_text(c, r);
}

}  // namespace baybook::tool::render
