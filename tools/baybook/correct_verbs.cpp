// correct, prove.
#include "context.hpp"
#include "render/receipt.hpp"
#include "render/text.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/text.hpp>

#include <charconv>

namespace baybook::tool {

int run_correct(Context& c) {
  const Typed& t = c.typed();
  Correction d;
  d.why = c.required("why");
  d.target = need(c.book().find_entry(c.operand(0)));
  d.withdraw = t.has("withdraw");
  d.with_dependants = t.has("with-dependants");
  Patch& p = d.patch;
  bool patched = false;
  const auto text = [&](std::string_view name, std::optional<std::string>& into) {
    if (const std::string* v = t.get(name)) {
      into = *v;
      patched = true;
    }
  };
  p.amount = c.amount_option("amount");
  p.odometer = c.distance_option("odo");
  if (t.has("from")) p.from = c.place(t.text("from"));
  if (t.has("into")) p.into = c.place(t.text("into"));
  if (t.has("torque")) p.torque = need(parse_torque(t.text("torque"), c.units()));
  text("text", p.text);
  text("code", p.code);
  text("part", p.part);
  text("lot", p.lot);
  text("doc", p.document);
  patched = patched || p.amount || p.odometer || p.from || p.into || p.torque;
  if (const std::string* line = t.get("line")) {
    const auto [end, error] = std::from_chars(line->data(), line->data() + line->size(), p.line);
    if (error != std::errc() || end != line->data() + line->size() || p.line < 1) refuse(Code::wrong_usage, "--line " + visible(*line) + " is not the number of a line", "lines are counted from 1", "--line 1");
  }
  if (d.withdraw && patched) refuse(Code::wrong_usage, "--withdraw and new details exclude each other", "an entry is withdrawn, or its details are replaced", "one of the two");
  if (!d.withdraw && !patched) refuse(Code::wrong_usage, "it is not said what is right instead", "an entry is withdrawn, or its details are replaced", "baybook correct " + visible(c.operand(0)) + " --withdraw --why \"...\", or --amount, --from, --into, --odo, --text, --code, --part, --lot, --doc, --torque");
  return c.write(d);
}

int run_prove(Context& c) {
  const Typed& t = c.typed();
  if (t.has("as-of")) refuse(Code::wrong_usage, "prove looks at the whole log", "a chain is proved from its first entry to its last", "baybook prove");
  std::string seal;
  if (const std::string* typed = t.get("seal")) {
    if (typed->empty()) refuse(Code::wrong_usage, "--seal needs a seal", "it stands at the end of every printed page", "--seal bay:214:3f9a0c12d4e5b678");
    seal = *typed;
  }
  // The log is never touched by this: only what is derived from it is made anew.
  if (t.has("rebuild")) need(c.book().rebuild());
  const Proof p = need(prove(c.book(), seal));
  const std::string own = c.book().settings().tag;
  const int status = p.findings.empty() ? 0 : 1;
  if (c.json()) {
    Json j = c.document();
    j.key("sound").boolean(p.findings.empty());
    j.key("entries").number(p.entries);
    j.key("good").number(p.good);
    j.strings("seals", p.seals);
    j.key("seal_checked").boolean(p.seal_checked);
    j.key("tables_compared").boolean(p.tables_compared);
    j.key("findings").begin_array();
    for (const Finding& f : p.findings) {
      j.begin_object();
      j.member("what", f.what);
      j.key("entry");
      if (f.entry) {
        j.begin_object();
        j.key("number").number(f.entry->number());
        j.member("tag", f.entry->tag);
        j.end_object();
      } else {
        j.null();
      }
      j.member("instead", f.instead);
      j.end_object();
    }
    j.end_array();
    c.print(j);
    return status;
  }
  if (c.quiet()) return status;
  Out& out = c.out();
  if (p.findings.empty()) {
    out.text(wrapped("", "sound: " + std::to_string(p.entries) + (p.entries == 1 ? " entry" : " entries") + ", every digest follows from the one before" + (p.tables_compared ? ", every table agrees with the log" : "")));
    if (p.seal_checked) out.line("the seal agrees: nothing up to it was cut off or written anew");
  } else {
    out.line("NOT SOUND: " + std::to_string(p.findings.size()) + (p.findings.size() == 1 ? " finding" : " findings") + " in " + std::to_string(p.entries) + " entries; good before the first: " + std::to_string(p.good));
    for (const Finding& f : p.findings) {
      out.text(wrapped("  - ", (f.entry ? "entry " + ref_text(*f.entry, own) + ": " : std::string()) + visible(f.what)));
      if (!f.instead.empty()) out.text(wrapped("    type: ", visible(f.instead)));
    }
  }
  for (const std::string& s : p.seals) out.line("seal " + s);
  if (!p.seal_checked) out.text(wrapped("", "The chain alone does not show whether its end was cut off: compare a printed seal with --seal."));
  return status;
}

}  // namespace baybook::tool
