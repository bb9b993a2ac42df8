// exchange, settle: bringing two books together, and what a person has to decide afterwards.
#include "ask.hpp"
#include "context.hpp"
#include "given_file.hpp"
#include "render/meeting.hpp"
#include "render/receipt.hpp"
#include "render/text.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"
#include "whole_file.hpp"

#include <baybook/exchange.hpp>
#include <baybook/returns.hpp>
#include <baybook/text.hpp>

namespace baybook::tool {

namespace {

// Lines of a file, read piece by piece; a line that is too long is handed over as far as it was read, and refused by its length.
class FileLines {
 public:
  FileLines(const Context& c, const std::string& path)
      : file_(need(GivenFile::open(path, c.book_if_said(), true))) {}

  bool next(std::string& line) {
    line.clear();
    for (;;) {
      const std::size_t end = held_.find('\n', at_);
      if (end != std::string::npos) {
        line.append(held_, at_, end - at_);
        at_ = end + 1;
        return true;
      }
      line.append(held_, at_, std::string::npos);
      held_.clear();
      at_ = 0;
      if (line.size() > kLongestExchangeLine) return true;
      held_ = need(file_.next());
      if (held_.empty()) return !line.empty();
    }
  }

 private:
  GivenFile file_;
  std::string held_;
  std::size_t at_ = 0;
};

std::string count_of(std::int64_t n, const char* one, const char* many) { return std::to_string(n) + " " + (n == 1 ? one : many); }

std::string pad(const std::string& s, std::size_t width) { return s + std::string(s.size() < width ? width - s.size() : 1, ' '); }

}  // namespace

int run_exchange_out(Context& c) {
  const Typed& t = c.typed();
  if (t.has("as-of")) refuse(Code::wrong_usage, "an exchange file carries entries, not a day's view", "the other book needs every entry", "baybook exchange out FILE");
  const std::string path = c.operand(0);
  const Book& book = c.book();
  std::optional<WholeFile> file;
  if (path != "-") file.emplace(path, c.placing("another name"));
  Past past;
  const ExchangeOut e =
      past.need(exchange_out(book, t.all("since"), past.keep([&](std::string_view bytes) {
        if (file) file->write(bytes);
        else c.out().text(bytes);
      })));
  if (!file) return 0;
  file->finish();
  if (c.json()) {
    Json j = c.document();
    j.member("file", path);
    j.key("entries").number(e.entries);
    j.key("bytes").number(file->bytes());
    j.member("sha256", e.digest);
    j.strings("seals", e.seals);
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  out.line(count_of(e.entries, "entry", "entries") + " written to " + visible(path) + ", " + std::to_string(file->bytes()) + " bytes");
  out.line("sha256 " + e.digest);
  for (const std::string& s : e.seals) out.line("as far as seal " + s);
  out.text(wrapped("", "It holds names, plates and texts: hand it to nobody but the other book."));
  return 0;
}

namespace {

ExchangeIn read_file(Context& c, const std::string& path, bool dry_run) {
  const Typed& t = c.typed();
  FileLines lines(c, path);
  ExchangeOptions o;
  o.call = t.all("call");
  o.accept = t.all("accept");
  o.dry_run = dry_run;
  // That it was met is nobody's doing; who accepts it is somebody.
  Stamp stamp;
  if (o.accept.empty())
    stamp.now = c.now();
  else
    stamp = c.stamp();
  Past past;
  return past.need(exchange_in(
      c.book(), past.keep([&](std::string& line) { return lines.next(line); }),
      visible(path == "-" ? "standard input" : path), stamp, o));
}

ExchangeIn take_in(Context& c, const std::string& path) {
  const Typed& t = c.typed();
  const bool dry = t.has("dry-run");
  if (!dry && t.has("accept") && !t.has("yes")) {
    if (path == "-")
      refuse(Code::wrong_usage,
             "what is accepted may erase texts, and standard input is read once only",
             "what is erased does not come back", "a file, or --yes");
    const ExchangeIn would = read_file(c, path, true);
    if (would.texts_erased > 0) {
      const std::string texts = count_of(would.texts_erased, "text", "texts");
      ask_first(c, "", "what is accepted would erase " + texts + " for good",
                "what is erased does not come back", "take it in and erase " + texts + " for good?",
                "nothing was taken");
    }
  }
  return read_file(c, path, dry);
}

}  // namespace

int run_exchange_in(Context& c) {
  const Typed& t = c.typed();
  if (t.has("on") || t.has("at") || t.has("by")) refuse(Code::wrong_usage, "entries of another book carry their own day and hand", "they are taken as they were written", "baybook exchange in FILE");
  if (t.has("once")) refuse(Code::wrong_usage, "--once is not needed here", "the same file again changes nothing", "baybook exchange in FILE");
  const std::string path = c.operand(0);
  const ExchangeIn e = take_in(c, path);
  const int status = e.left > 0 ? 1 : 0;
  for (const Exchanged& x : e.installations) {
    if (x.taken > 0 && !e.dry_run) c.note_stored(std::to_string(x.last) + "@" + x.tag);
  }
  if (!e.noted.empty()) c.err().text(wrapped("check: ", visible(e.noted)));
  if (c.json()) {
    Json j = c.document();
    j.key("taken").number(e.taken);
    j.key("left").number(e.left);
    j.key("conflicts").number(e.conflicts);
    j.key("papers_wanted").number(e.papers_wanted);
    j.strings("pickups_moved", e.pickups_moved);
    j.strings("erased_while_held", e.erased_while_held);
    j.strings("erased_at_work", e.erased_at_work);
    render::closed_months_member(j, e.closed_months);
    j.strings("closed_told", e.closed_told);
    j.key("waiting").number(e.waiting);
    j.key("texts_erased").number(e.texts_erased);
    j.key("dry_run").boolean(e.dry_run);
    j.objects("met", e.met, [&](const Meeting& m) { render::meeting_members(j, m); });
    j.objects("installations", e.installations, [&](const Exchanged& x) {
      j.member("tag", x.tag);
      j.key("taken").number(x.taken);
      j.key("known").number(x.known);
      j.key("left").number(x.left);
      j.key("last").number(x.last);
      j.key("fork").boolean(x.fork);
      j.member("why_left", x.why_left);
      j.strings("what_next", x.what_next);
    });
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
  out.line((e.dry_run ? "would take " : "took ") + count_of(e.taken, "entry", "entries") + (e.taken == 0 && e.left == 0 ? ": all of them were here" : ""));
  for (const Exchanged& x : e.installations) {
    std::string line = "  " + pad(x.tag, 12) + " " + std::to_string(x.taken) + " new, " + std::to_string(x.known) + " known";
    if (x.left > 0) line += ", " + std::to_string(x.left) + " NOT TAKEN";
    out.line(line + "; now " + std::to_string(x.last));
    if (!x.why_left.empty()) out.text(wrapped("    ", visible(x.why_left)));
    for (const std::string& next : x.what_next) out.text(wrapped("      ", visible(next)));
  }
  if (e.papers_wanted > 0) out.text(wrapped("", count_of(e.papers_wanted, "paper lies", "papers lie") + " beside the other book: copy the files of its folder of papers into " + visible(papers_folder(c.book().path()))));
  for (const std::string& erased : e.erased_at_work) out.text(wrapped("check: ", visible(erased)));
  for (const std::string& erased : e.erased_while_held) out.text(wrapped("check: ", visible(erased)));
  for (const std::string& moved : e.pickups_moved) out.text(wrapped("check: ", visible(moved)));
  if (e.texts_erased > 0)
    out.text(wrapped("", count_of(e.texts_erased, "text", "texts") + " of entries that were here " +
                             (e.dry_run ? "would be erased" : "are erased") + " by it"));
  out.text(conflicts_line(e.conflicts));
  if (e.waiting > 0)
    out.text(wrapped("", count_of(e.waiting, "entry has", "entries have") +
                             " no effect until somebody agrees: baybook due --for papers"));
  for (const Meeting& m : e.met) render::meeting(c, m, e.dry_run);
  if (e.dry_run) out.line("nothing was written");
  return status;
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
