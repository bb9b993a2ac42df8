#include "entries.hpp"

#include "../context.hpp"
#include "receipt.hpp"
#include "table.hpp"
#include "text.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::render {

void entry_object(Json& j, const EntryView& e) {
  j.begin_object();
  entry_ref(j, "entry", e.ref);
  j.member("happened", to_string(e.happened));
  j.member("day", to_string(e.happened));
  j.key("at");
  if (e.at) j.string(to_string(e.at->minute));
  else j.null();
  if (e.at) j.member("utc_offset", to_string(*e.at).substr(5));
  j.member("recorded", to_string(e.recorded));
  j.member("kind", e.kind);
  j.member("verb", e.verb);
  j.member("by", e.by);
  j.member("job", e.job);
  j.member("car", e.car);
  if (!e.fault_code.empty()) j.member("fault_code", e.fault_code);
  if (!e.came_back.empty()) j.member("came_back", e.came_back);
  if (!e.came_off.empty()) j.member("came_off", e.came_off);
  j.member("summary", e.summary);
  if (!e.compared.empty()) j.member("compared", e.compared);
  j.member("text", e.text);
  j.key("withdrawn").boolean(e.withdrawn);
  j.key("corrected_by").begin_array();
  for (const EntryRef& r : e.corrected_by) {
    j.begin_object();
    j.key("number").number(r.number());
    j.member("tag", r.tag);
    j.end_object();
  }
  j.end_array();
  if (!e.waits.empty()) j.member("waits", e.waits);
  j.member("digest", e.digest);
  j.member("body", e.body);
  j.key("private").begin_object();
  for (const auto& [field, text] : e.private_values) {
    j.key(field);
    if (text.empty()) j.null();
    else j.string(text);
  }
  j.end_object();
  j.end_object();
}

std::string entry_lines(Context& c, const std::vector<EntryView>& list, bool with_car, bool with_day, int indent) {
  const std::string own = c.book().settings().tag;
  Table t;
  t.column("entry", Align::right);
  if (with_day) t.column("day");
  t.column("time");
  t.column("by");
  if (with_car) t.column("car");
  t.column("job");
  t.column("what");
  for (const EntryView& e : list) {
    const EntryLine line = line_of(e, own);
    std::vector<std::string> row = {line.entry};
    if (with_day) row.push_back(line.day);
    row.push_back(line.time);
    row.push_back(visible(line.by));
    if (with_car) row.push_back(visible(line.car));
    row.push_back(visible(line.job));
    row.push_back(visible(line.what));
    t.row(std::move(row));
  }
  return t.text(indent);
}

void entry_text(Context& c, const EntryView& e) {
  const std::string own = c.book().settings().tag;
  Out& out = c.out();
  out.line("entry " + ref_text(e.ref, own) + "  " + visible(e.verb) + "  " + when(e.happened, e.at) + (e.withdrawn ? "  WITHDRAWN" : ""));
  if (!e.summary.empty()) out.text(wrapped("  ", visible(e.summary)));
  Table t;
  t.column("");
  t.column("");
  if (!e.car.empty()) t.row({"car", visible(e.car)});
  if (!e.job.empty()) t.row({"job", visible(e.job)});
  if (!e.by.empty()) t.row({"by", visible(e.by)});
  for (const auto& [field, text] : e.private_values) t.row({visible(field), text.empty() ? "(erased)" : visible(text)});
  if (!e.corrected_by.empty()) t.row({"corrections", corrections_of(e, own)});
  if (!e.came_off.empty()) t.row({"came off", visible(e.came_off)});
  if (!e.waits.empty()) t.row({"no effect", visible(e.waits)});
  t.row({"recorded", to_string(e.recorded)});
  t.row({"digest", e.digest});
  t.row({"body", visible(e.body)});
  out.text(t.text(2));
}

}  // namespace baybook::tool::render
