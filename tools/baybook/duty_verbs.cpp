// What the authority hears of and grants: filings, episodic events, enforcement holds, extensions.
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "sheet/sheet.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"

#include <baybook/returns.hpp>
#include <baybook/text.hpp>

namespace baybook::tool {

namespace {

// The paper of a pick-up is named by its number, a firm by its code, anything else by its entry.
EntryId about_what(Context& c, const std::string& what, const std::string& typed) {
  if (what == "exception-report") return need(c.book().find_pickup(typed));
  if (what == "return-received") return EntryId{need(c.book().find_firm(typed)).n};
  return need(c.book().find_entry(typed));
}

int end_of(Context& c) {
  Circumstance d;
  d.what = Circumstance::What::end;
  d.about = need(c.book().find_entry(c.operand(0)));
  d.day = c.day(c.required("last"));
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

}  // namespace

int run_filing_add(Context& c) {
  const Typed& t = c.typed();
  Filing d;
  d.what = c.operand(0);
  d.period = t.text("period");
  d.on = c.day(c.required("filed"));
  if (const std::string* about = t.get("about")) d.about = about_what(c, d.what, *about);
  if (t.has("electronic") && t.has("on-paper"))
    refuse(Code::wrong_usage, "it was filed electronically and on paper", "", "one of the two");
  if (t.has("electronic")) d.way = Filing::Way::electronic;
  if (t.has("on-paper")) d.way = Filing::Way::paper;
  d.note = t.text("note");
  return c.write(d, d.note);
}

int run_filing_list(Context& c) {
  const std::vector<FilingView> list = need(filings(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.objects("filings", list, [&](const FilingView& f) {
      j.member("what", f.what);
      j.member("period", f.period);
      j.member("filed", to_string(f.filed));
      j.member("day", to_string(f.filed));
      j.key("about");
      if (f.about) {
        j.begin_object();
        j.key("number").number(f.about->number());
        j.member("tag", f.about->tag);
        j.end_object();
      } else {
        j.null();
      }
      j.member("note", f.note);
      render::entry_ref(j, "entry", f.entry);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Table t;
  t.column("what");
  t.column("for");
  t.column("filed");
  t.column("about");
  t.column("entry");
  const std::string& tag = c.book().settings().tag;
  for (const FilingView& f : list)
    t.row({visible(f.what), f.period, to_string(f.filed),
           f.about ? "entry " + ref_text(*f.about, tag) : "", ref_text(f.entry, tag)});
  c.out().text(list.empty() ? "nothing is on record as filed\n" : t.text());
  return 0;
}

int run_event_add(Context& c) {
  const Typed& t = c.typed();
  Circumstance d;
  d.what = Circumstance::What::event;
  if (t.has("planned") == t.has("unplanned"))
    refuse(Code::wrong_usage, "an event is planned or unplanned", "its notice follows from that",
           "--planned or --unplanned");
  d.planned = t.has("planned");
  d.petitioned = t.has("petitioned");
  d.day = c.day(c.required("from"));
  for (const std::string& place : t.all("container")) d.containers.push_back(c.place(place));
  d.note = t.text("note");
  return c.write(d, d.note);
}

int run_event_end(Context& c) { return end_of(c); }

int run_hold_add(Context& c) {
  Circumstance d;
  d.what = Circumstance::What::hold;
  d.day = c.day(c.required("from"));
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

int run_hold_end(Context& c) { return end_of(c); }

int run_extension_add(Context& c) {
  Circumstance d;
  d.what = Circumstance::What::extension;
  d.containers = {c.place(c.operand(0))};
  d.days = whole(c.required("days"), "--days", "--days 14");
  d.day = c.day(c.required("granted"));
  d.note = c.typed().text("note");
  return c.write(d, d.note);
}

}  // namespace baybook::tool
