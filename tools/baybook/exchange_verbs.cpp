// exchange, settle: bringing two books together, and what a person has to decide afterwards.
#include "context.hpp"
#include "exchange_file.hpp"
#include "render/exchanged.hpp"
#include "render/receipt.hpp"
#include "render/text.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/exchange.hpp>
#include <baybook/text.hpp>

namespace baybook::tool {

using render::count_of;

namespace {

std::string pad(const std::string& s, std::size_t width) { return s + std::string(s.size() < width ? width - s.size() : 1, ' '); }

}  // namespace

int run_exchange_out(Context& c) {
  const Typed& t = c.typed();
  if (t.has("as-of")) refuse(Code::wrong_usage, "an exchange file carries entries, not a day's view", "the other book needs every entry", "baybook exchange out FILE");
  const std::string path = c.operand(0);
  if (path == "-") {
    Past past;
    (void)past.need(exchange_out(c.book(), t.all("since"),
                                 past.keep([&](std::string_view bytes) { c.out().text(bytes); })));
    return 0;
  }
  const WrittenFile w = write_exchange(c, path, t.all("since"));
  const ExchangeOut& e = w.out;
  if (c.json()) {
    Json j = c.document();
    j.member("file", path);
    j.key("entries").number(e.entries);
    j.key("bytes").number(w.bytes);
    j.member("sha256", e.digest);
    j.strings("seals", e.seals);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  out.line(count_of(e.entries, "entry", "entries") + " written to " + visible(path) + ", " + std::to_string(w.bytes) + " bytes");
  out.line("sha256 " + e.digest);
  for (const std::string& s : e.seals) out.line("as far as seal " + s);
  out.text(wrapped("", "It holds names, plates and texts: hand it to nobody but the other book."));
  return 0;
}

int run_exchange_in(Context& c) {
  const Typed& t = c.typed();
  if (t.has("on") || t.has("at") || t.has("by")) refuse(Code::wrong_usage, "entries of another book carry their own day and hand", "they are taken as they were written", "baybook exchange in FILE");
  if (t.has("once")) refuse(Code::wrong_usage, "--once is not needed here", "the same file again changes nothing", "baybook exchange in FILE");
  const std::string path = c.operand(0);
  TakeIn how;
  how.dry_run = t.has("dry-run");
  const ExchangeIn e = take_file(c, path, how);
  const int status = e.left > 0 ? 1 : 0;
  for (const Exchanged& x : e.installations) {
    if (x.taken > 0 && !e.dry_run) c.note_stored(std::to_string(x.last) + "@" + x.tag);
  }
  if (!e.noted.empty()) c.err().text(wrapped("check: ", visible(e.noted)));
  if (c.json()) {
    Json j = c.document();
    j.key("conflicts").number(e.conflicts);
    j.key("waiting").number(e.waiting);
    j.strings("differs", need(differing_settings(c.book())));
    render::exchanged_members(j, c, e);
    c.print(j);
    return status;
  }
  // What may need a second look is said even when the answer itself is not wanted.
  for (const std::string& told : e.closed_told) c.err().text(wrapped("check: ", visible(told)));
  if (c.quiet()) {
    for (const Meeting& m : e.met) {
      if (m.accepted) continue;
      c.err().text(wrapped("check: ", visible(m.tag) + " is new here and not accepted: "
                                      "baybook exchange list, and compare its digest"));
    }
    return status;
  }
  Out& out = c.out();
  if (e.taken == 0 && e.left == 0)
    out.text(wrapped("", render::nothing_new(c, e)));
  else
    out.line((e.dry_run ? "would take " : "took ") + count_of(e.taken, "entry", "entries"));
  for (const Exchanged& x : e.installations) {
    std::string line = "  " + pad(x.tag, 12) + " " + std::to_string(x.taken) + " new, " + std::to_string(x.known) + " known";
    if (x.left > 0) line += ", " + std::to_string(x.left) + " NOT TAKEN";
    out.line(line + "; now " + std::to_string(x.last));
    if (!x.why_left.empty()) out.text(wrapped("    ", visible(x.why_left)));
    for (const std::string& next : x.what_next) out.text(wrapped("      ", visible(next)));
  }
  render::exchanged(c, e);
  render::differing(c);
  render::to_be_settled(c, e.conflicts, e.waiting);
  if (e.dry_run) out.line("nothing was written");
  return status;
}

int run_exchange_none(Context& c) {
  const bool dry = c.typed().has("dry-run");
  const std::vector<std::string> tags = need(waits_for(c.book()));
  if (!dry && !tags.empty()) (void)need(waits_no_more(c.book()));
  if (c.json()) {
    Json j = c.document();
    j.strings("waits_for", dry ? tags : std::vector<std::string>());
    j.key("dry_run").boolean(dry);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  if (tags.empty()) {
    c.out().line("this book waits for no other");
    return 0;
  }
  c.out().text(wrapped(
      "", std::string(dry ? "would wait" : "waits") + " no more for " + joined(tags) +
              ": what was written in the lost book after the backup, and is not here, is entered "
              "again from the paper slips"));
  if (dry) c.out().line("nothing was written");
  return 0;
}

int run_settle_list(Context& c) {
  const std::vector<Conflict> all = need(conflicts(c.book()));
  const std::string own = c.book().settings().tag;
  if (c.json()) {
    Json j = c.document();
    j.objects("conflicts", all, [&](const Conflict& x) {
      j.member("what", name_of(x.what));
      j.member("text", x.text);
      std::vector<std::string> refs;
      for (const EntryRef& r : x.entries) refs.push_back(ref_text(r, own));
      j.strings("entries", refs);
      j.strings("said", x.said);
      std::vector<std::string> choices;
      for (const EntryRef& r : x.choices) choices.push_back(ref_text(r, own));
      j.strings("choices", choices);
      j.strings("instead", x.instead);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  if (all.empty()) {
    out.line("nothing has to be settled");
    return 0;
  }
  for (const Conflict& x : all) {
    out.text(wrapped("", x.text));
    for (std::size_t n = 0; n < x.said.size(); ++n) out.text(wrapped("  ", "entry " + ref_text(x.entries[n], own) + ", " + x.said[n]));
    for (std::size_t n = 0; n < x.instead.size(); ++n) out.text(to_be_typed(n == 0 ? "  type: " : "    or: ", x.instead[n]));
    out.line();
  }
  out.line(count_of(static_cast<std::int64_t>(all.size()), "thing", "things") + " to be settled");
  return 0;
}

namespace {

int settle(Context& c, bool join) {
  Settle d;
  d.keep = need(c.book().find_entry(c.operand(0)));
  d.other = need(c.book().find_entry(c.operand(1)));
  d.join = join;
  d.why = c.typed().text("why");
  if (!join && d.why.empty()) refuse(Code::wrong_usage, "it is not said why they are two", "whoever sees the two later must find it", "--why \"two cars, the plate was moved over\"");
  return c.write(d);
}

}  // namespace

int run_settle_join(Context& c) { return settle(c, true); }
int run_settle_apart(Context& c) { return settle(c, false); }

int run_settle_keep(Context& c) {
  Choice d;
  d.holds = need(c.book().find_entry(c.operand(0)));
  d.why = c.typed().text("why");
  return c.write(d);
}

int run_settle_rename(Context& c) {
  Correction d;
  d.target = need(c.book().find_entry(c.operand(0)));
  const EntryView e = need(entry(c.book(), d.target));
  if (e.kind == "person") d.patch.text = c.operand(1);
  else d.patch.code = c.operand(1);
  if (e.kind == "code") refuse(Code::not_allowed, "entry " + visible(c.operand(0)) + " is a fault code", "places, fluids, firms, deadlines and people have names", "baybook correct " + visible(c.operand(0)) + " --code CODE --why \"...\"");
  d.why = c.typed().has("why") ? c.typed().text("why") : std::string("two things had one name");
  return c.write(d);
}

}  // namespace baybook::tool
