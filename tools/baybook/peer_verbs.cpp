// exchange list, accept, agree, forget: the installations of a book, and a word about one of them.
#include "ask.hpp"
#include "context.hpp"
#include "render/meeting.hpp"
#include "render/receipt.hpp"
#include "render/table.hpp"
#include "render/text.hpp"
#include "verb_list.hpp"
#include "whole_file.hpp"

#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <charconv>
#include <sys/stat.h>

namespace baybook::tool {

namespace {

std::string_view state_in_words(Peer::State s) {
  switch (s) {
    case Peer::State::own: return "this book";
    case Peer::State::before: return "this book goes on from it";
    case Peer::State::accepted: return "accepted";
    case Peer::State::met: return "not accepted";
    case Peer::State::known: break;
  }
  return "known, without a word";
}

std::string entries_of(std::int64_t n) {
  return std::to_string(n) + (n == 1 ? " entry" : " entries");
}
std::string texts_of(std::int64_t n) { return std::to_string(n) + (n == 1 ? " text" : " texts"); }

std::string plan_text(Context& c, const WordPlan& plan) {
  const std::string own = c.book().settings().tag;
  std::string out;
  for (std::size_t n = 0; n < plan.said.size(); ++n)
    out += wrapped("  ", "entry " + ref_text(plan.entries[n], own) + " " + visible(plan.said[n]));
  return out;
}

// The entry, what it brings into effect, and the receipt of it.
int say(Context& c, const PeerWord& word, const std::string& what) {
  const bool dry = c.typed().has("dry-run");
  const WordPlan plan = need(plan_word(c.book(), word, c.now()));
  if (!dry && plan.texts > 0) {
    ask_first(c, plan_text(c, plan), what + " would erase " + texts_of(plan.texts) + " for good",
              "what is erased does not come back",
              what + " and erase " + texts_of(plan.texts) + " for good?", "nothing was written");
  }
  const Receipt r = c.append(word);
  const int status = r.unfinished ? 1 : 0;
  if (c.json()) {
    Json j = c.document();
    render::receipt_members(j, r);
    j.member("tag", plan.tag);
    j.member("site", plan.site);
    j.member("first", plan.first);
    j.strings("takes_effect", plan.said);
    j.key("texts").number(plan.texts);
    j.key("finished").boolean(!r.unfinished);
    c.print(j);
    return status;
  }
  render::receipt(c, r);
  if (c.quiet() || r.repeated) return status;
  Out& out = c.out();
  if (word.what == PeerWord::What::accept) {
    out.text(wrapped("  ", visible(plan.tag) +
                               (plan.site.empty() ? "" : ", " + visible(plan.site)) +
                               "; the digest of its entry 1:"));
    out.text(wrapped("  ", render::read_aloud(plan.first)));
    if (dry)
      out.text(
          wrapped("  ", "It must be the one that baybook exchange list prints in the book of " +
                            visible(plan.tag) +
                            ". It is for good: what it corrects, settles and erases from now on "
                            "takes effect as well."));
  }
  out.line(plan.said.empty() ? "  nothing was waiting"
           : dry             ? "  what would take effect:"
                             : "  what takes effect:");
  out.text(plan_text(c, plan));
  if (dry && plan.texts > 0) out.line("  " + texts_of(plan.texts) + " would be erased for good");
  return status;
}

bool taken(const std::string& path) {
  struct stat st {};
  return ::lstat(path.c_str(), &st) == 0;
}

// Beside the book, a name that is free.
std::string name_beside(const std::string& book, const ForgetPlan& p) {
  const std::string base = book + ".forgotten-" + p.from.tag + "-" +
                           std::to_string(p.from.number()) + "-" + std::to_string(p.last.number());
  std::string name = base + ".exchange";
  for (int n = 2; taken(name); ++n) name = base + "-" + std::to_string(n) + ".exchange";
  return name;
}

void check_named(Context& c, const ForgetPlan& p) {
  if (p.named_by == 0) return;
  std::string list;
  for (const EntryRef& r : p.names)
    list += (list.empty() ? "" : ", ") + ref_text(r, c.book().settings().tag);
  if (p.named_by > std::ssize(p.names))
    list += " and " + std::to_string(p.named_by - std::ssize(p.names)) + " more";
  refuse(Code::has_dependants,
         entries_of(p.named_by) +
             (p.named_by == 1 ? " of another installation names" : " of other installations name") +
             " what would be thrown out: " + list,
         "they would name something that is not there",
         "--from with a later number; what does not hold is withdrawn instead: baybook correct "
         "ENTRY --withdraw --why \"...\"");
}

}  // namespace

int run_exchange_list(Context& c) {
  if (c.typed().has("as-of"))
    refuse(Code::wrong_usage, "the installations are those of the book as it is", "",
           "baybook exchange list");
  const std::vector<Peer> all = need(peers(c.book()));
  const std::string own = c.book().settings().tag;
  if (c.json()) {
    Json j = c.document();
    j.objects("installations", all, [&](const Peer& p) {
      j.member("tag", p.tag);
      j.member("site", p.site);
      j.member("installation", p.identity);
      j.key("entries").number(p.entries);
      j.member("first", p.first);
      j.member("state", name_of(p.state));
      j.key("word");
      if (p.word)
        j.string(ref_text(*p.word, own));
      else
        j.null();
      j.key("waiting").number(p.waiting);
    });
    c.print(j);
    return 0;
  }
  if (c.quiet()) return 0;
  Out& out = c.out();
  for (const Peer& p : all) {
    std::string line = visible(p.tag) + "  " + visible(p.site) + ", " + entries_of(p.entries) +
                       ", " + std::string(state_in_words(p.state));
    if (p.word) line += " (entry " + ref_text(*p.word, own) + ")";
    if (p.waiting > 0)
      line += ", " + std::to_string(p.waiting) +
              " without effect until agreed: baybook due --for papers";
    out.text(wrapped("", line));
    out.text(wrapped("  entry 1  ", render::read_aloud(p.first)));
  }
  return 0;
}

int run_exchange_accept(Context& c) {
  PeerWord d;
  d.what = PeerWord::What::accept;
  d.entry = need(find_installation(c.book(), c.operand(0)));
  return say(c, d, "accepting " + visible(c.operand(0)));
}

int run_exchange_agree(Context& c) {
  PeerWord d;
  d.what = PeerWord::What::agree;
  d.entry = need(c.book().find_entry(c.operand(0)));
  return say(c, d, "agreeing to entry " + visible(c.operand(0)));
}

int run_exchange_forget(Context& c) {
  const Typed& t = c.typed();
  std::int64_t from = 1;
  if (const std::string* text = t.get("from")) {
    const auto [end, error] = std::from_chars(text->data(), text->data() + text->size(), from);
    if (error != std::errc() || end != text->data() + text->size() || from < 1)
      refuse(Code::wrong_usage, "--from " + visible(*text) + " is no number of an entry", "",
             "--from 31");
  }
  if (t.has("once"))
    refuse(Code::wrong_usage, "--once is not needed here",
           "what is thrown out is not there a second time", "baybook exchange forget TAG");
  const ForgetPlan plan = need(plan_forget(c.book(), c.operand(0), from));
  check_named(c, plan);
  const std::string what = entries_of(plan.entries) + " of " + visible(plan.from.tag) +
                           ", numbers " + std::to_string(plan.from.number()) + " to " +
                           std::to_string(plan.last.number());
  const std::string path = name_beside(c.book().path(), plan);
  const bool dry = t.has("dry-run");
  Stamp stamp = c.stamp();
  if (!dry) {
    ask_first(
        c,
        wrapped("", what + ", would be thrown out of this book; they are kept as " + visible(path)),
        what + ", would be thrown out", "its figures change with every one of them",
        "throw them out?", "nothing was thrown out");
    WholeFile file(path, c.placing("another name"));
    Past past;
    past.need(forget_out(c.book(), plan,
                         past.keep([&](std::string_view bytes) { file.write(bytes); })));
    file.finish();
  }
  const Receipt r = need(forget_installation(c.book(), plan, stamp));
  if (!r.dry_run) c.note_stored(std::to_string(r.entry.number()));
  if (c.json()) {
    Json j = c.document();
    render::receipt_members(j, r);
    j.key("entries").number(plan.entries);
    j.member("kept_as", dry ? std::string() : path);
    c.print(j);
    return 0;
  }
  render::receipt(c, r);
  if (c.quiet()) return 0;
  Out& out = c.out();
  if (dry) {
    out.text(wrapped("  ", "would throw out " + what + ", and keep them as " + visible(path)));
    return 0;
  }
  out.text(wrapped("  ", "kept as " + visible(path) + ": it holds names, plates and texts"));
  out.text(wrapped("  ",
                   "Files of other books that still have them do not bring them back. The true "
                   "ones: baybook exchange in FILE."));
  return 0;
}

}  // namespace baybook::tool
