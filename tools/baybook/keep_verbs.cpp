// backup, and what is said of a book that is a backup or lies on a network share.
#include "context.hpp"
#include "progress.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"
#include "verbs.hpp"

#include <baybook/exchange.hpp>
#include <baybook/keep.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <cstdlib>
#include <optional>

namespace baybook::tool {

namespace {

void findings_json(Json& j, const std::vector<Finding>& all) {
  j.objects("findings", all, [&](const Finding& f) {
    j.member("what", f.what);
    j.member("instead", f.instead);
  });
}

void print(Context& c, const Backup& b, const Rotation* rotation) {
  const bool beside = c.close_book();
  std::vector<Finding> findings = b.findings;
  if (rotation != nullptr) findings.insert(findings.end(), rotation->findings.begin(), rotation->findings.end());
  if (c.json()) {
    Json j = c.document();
    j.member("backup", b.path);
    j.member("seal", b.seal);
    j.strings("seals", b.seals);
    j.key("entries").number(b.entries);
    j.key("bytes").number(b.bytes);
    j.key("papers").number(b.papers);
    j.key("conflicts").number(b.conflicts);
    j.key("was_there").boolean(b.was_there);
    j.key("log_beside").boolean(beside);
    if (rotation != nullptr) {
      j.strings("kept", rotation->kept);
      j.strings("removed", rotation->removed);
    }
    findings_json(j, findings);
    c.print(j);
    return;
  }
  if (c.quiet() && findings.empty()) return;
  Out& out = c.out();
  if (!c.quiet()) {
    out.line((b.was_there ? "nothing new since backup " : "backup ") + visible(b.path));
    out.text(wrapped("  ", std::to_string(b.entries) + (b.entries == 1 ? " entry, " : " entries, ") + std::to_string(b.bytes) + " bytes" +
                               (b.papers == 0 ? "" : b.papers == 1 ? ", 1 paper" : ", " + std::to_string(b.papers) + " papers") + "; read again from the first entry to the last, and sound"));
    out.text(conflicts_line(b.conflicts));
    if (rotation != nullptr) {
      for (const std::string& path : rotation->removed) out.line("  removed " + visible(path));
      out.line("  " + std::to_string(rotation->kept.size()) + (rotation->kept.size() == 1 ? " backup of this book in that folder" : " backups of this book in that folder"));
    }
    for (const std::string& seal : b.seals) out.line("seal " + seal);
    out.text(wrapped("", "Note the seal on paper: neither the book nor a copy shows by itself that its end was cut off."));
  }
  for (const Finding& f : findings) {
    out.text(wrapped("  - ", visible(f.what)));
    if (!f.instead.empty()) out.text(to_be_typed("    type: ", visible(f.instead)));
  }
}

// What the copy still has although it was erased, and what to type to erase it again.
void tell_erasures(Context& c, const std::vector<UnknownErasure>& all) {
  for (const UnknownErasure& u : all) {
    std::string texts;
    std::string last;
    for (const auto& [entry, field] : u.texts) {
      if (entry != last) texts += (texts.empty() ? "entry " : "; entry ") + entry + " " + field;
      else texts += ", " + field;
      last = entry;
    }
    c.err().text(wrapped("check: ", "erased on " + to_string(u.day) + (u.erasure.empty() ? "" : " by entry " + u.erasure) + ", which this copy does not know, and there again: " + texts));
    for (const auto& [entry, field] : u.texts)
      c.err().text(to_be_typed("type:  ", "baybook erase entry " + entry + " " + field));
  }
}

void erasures_json(Json& j, const std::vector<UnknownErasure>& all) {
  j.objects("unknown_erasures", all, [&](const UnknownErasure& u) {
    j.member("erasure", u.erasure);
    j.member("day", to_string(u.day));
    j.objects("texts", u.texts, [&](const std::pair<std::string, std::string>& t) {
      j.member("entry", t.first);
      j.member("field", t.second);
    });
  });
}

// A copy of a book that goes on as well: the book accepts it at once, so that nobody has to be asked
// when their first files come. None when there is no book to tell; what was wrong, "" when nothing.
std::optional<std::string> introduce(Context& c, const Backup& made) {
  if (c.book().backup()) return std::nullopt;
  try {
    const Book copy = need(Book::open(made.path, Access::read, system_random));
    const std::string tag = copy.settings().tag;
    std::vector<std::string> known = made.seals;
    std::erase(known, made.seal);
    std::string file;
    (void)need(exchange_out(copy, known, [&](std::string_view bytes) { file += bytes; }));
    std::size_t at = 0;
    const Lines lines = [&](std::string& line) {
      if (at >= file.size()) return false;
      const std::size_t end = std::min(file.find('\n', at), file.size());
      line = file.substr(at, end - at);
      at = end + 1;
      return true;
    };
    ExchangeOptions o;
    o.accept = {tag};
    const Stamp stamp = c.stamp();
    (void)need(exchange_in(c.book_for_writing(), lines, made.path, stamp, o));
    return std::string();
  } catch (const Refused& refused) {
    return refused.refusal.what;
  }
}

// For whom a book in the place of a lost one waits.
std::vector<std::string> waits_of(const std::string& path) {
  const auto book = Book::open(path, Access::read, system_random);
  return book.ok() ? need(waits_for(*book)) : std::vector<std::string>();
}

void say_waits(Context& c, const std::vector<std::string>& tags) {
  if (tags.empty()) return;
  c.out().text(wrapped("  ", joined(tags) + " may hold what was written after it: a file of " +
                                 (tags.size() == 1 ? std::string("it") : "one of them") +
                                 " has to come in before this book is written in"));
  c.out().line("  next: baybook exchange with FOLDER, or baybook exchange in FILE");
  c.out().text(wrapped("        ", "if no other book is left: baybook exchange none"));
}

int go_on(Context& c) {
  const Typed& t = c.typed();
  if (c.operands() > 0 || t.has("into") || t.has("keep")) refuse(Code::wrong_usage, "a copy that goes on is made by itself", "it is a book, not a backup", "baybook backup --continue NEW.baybook --tag TAG");
  const std::string& path = t.text("continue");
  const std::string& tag = c.required("tag");
  BackupOptions o;
  o.now = c.now();
  o.force = t.has("force");
  ProgressLine line;
  o.progress = line.callback();
  const std::string before = c.book().seal();
  const Backup b = need(continue_as(c.book(), path, tag, o));
  const std::optional<std::string> told = introduce(c, b);
  const std::vector<std::string> waits = waits_of(b.path);
  if (c.json()) {
    Json j = c.document();
    j.member("book", b.path);
    j.member("continues", before);
    j.member("seal", b.seal);
    j.strings("seals", b.seals);
    j.key("entries").number(b.entries);
    j.key("bytes").number(b.bytes);
    j.key("papers").number(b.papers);
    j.key("accepted").boolean(told && told->empty());
    j.strings("waits_for", waits);
    erasures_json(j, b.erasures);
    findings_json(j, b.findings);
    c.print(j);
  } else if (!c.quiet()) {
    Out& out = c.out();
    out.line("book " + visible(b.path) + " goes on from seal " + before);
    out.text(wrapped("  ", std::to_string(b.entries) + " entries; its own begin with seal " + b.seal));
    if (told && told->empty())
      out.text(wrapped("  ", "the book that it was copied from accepts it: neither has to be asked "
                             "when their files come"));
    else
      out.text(wrapped("  ", "what was written after " + before + " in another copy is not in it: exchange in brings it, or it is entered again"));
    out.line("  next: export BAYBOOK_BOOK=" + as_typed(b.path));
    say_waits(c, waits);
  }
  if (told && !told->empty())
    c.err().text(wrapped("check: ", "the book that it was copied from could not be told of it: " +
                                        visible(*told) + "; when its first file comes: baybook "
                                        "exchange with FOLDER --accept " + visible(tag)));
  tell_erasures(c, b.erasures);
  for (const Finding& f : b.findings) {
    c.err().text(wrapped("check: ", visible(f.what)));
  }
  return b.findings.empty() && b.erasures.empty() ? 0 : 1;
}

}  // namespace

int run_backup_restore(Context& c) {
  const Typed& t = c.typed();
  const std::string path = c.book_path();
  const Book from = need(Book::open(c.operand(0), Access::read, system_random));
  RestoreOptions o;
  o.now = c.now();
  o.over_newer = t.has("over-newer");
  if (const std::string* tag = t.get("tag")) o.tag = *tag;
  ProgressLine line;
  o.progress = line.callback();
  const std::string before = from.seal();
  const Restored r = need(restore(from, path, o));
  const std::vector<std::string> waits = waits_of(r.made.path);
  if (c.json()) {
    Json j = c.document();
    j.member("book", r.made.path);
    j.member("continues", before);
    j.member("tag", r.tag);
    j.member("aside", r.aside);
    j.key("only_there").number(r.only_there);
    j.strings("waits_for", waits);
    j.member("seal", r.made.seal);
    j.key("entries").number(r.made.entries);
    erasures_json(j, r.made.erasures);
    findings_json(j, r.made.findings);
    c.print(j);
  } else if (!c.quiet()) {
    Out& out = c.out();
    out.line("book " + visible(r.made.path) + " goes on from seal " + before);
    out.text(wrapped("  ", std::to_string(r.made.entries) + " entries; its own begin with seal " + r.made.seal));
    if (!r.aside.empty()) out.text(wrapped("  ", "what lay there before is " + visible(r.aside) + " now" + (r.only_there < 0 ? ", which does not open" : "")));
    if (r.only_there > 0) {
      out.text(wrapped("  ", std::to_string(r.only_there) + (r.only_there == 1 ? " entry is" : " entries are") + " only there, and can be brought in"));
      out.line("  next: baybook exchange out aside.exchange --book " + as_typed(r.aside));
      out.line("        baybook exchange in aside.exchange --book " + as_typed(r.made.path));
    }
    say_waits(c, waits);
  }
  tell_erasures(c, r.made.erasures);
  for (const Finding& f : r.made.findings) c.err().text(wrapped("check: ", visible(f.what)));
  return r.made.findings.empty() && r.made.erasures.empty() ? 0 : 1;
}

int run_backup(Context& c) {
  const Typed& t = c.typed();
  if (t.has("as-of")) refuse(Code::wrong_usage, "a backup is the book as it is now", "entries are never left out of a copy", "baybook backup marsh-copy.baybook");
  if (t.has("continue")) return go_on(c);
  if (t.has("tag")) refuse(Code::wrong_usage, "--tag is for a copy that goes on", "a backup has the tag of its book", "baybook backup --continue NEW.baybook --tag " + visible(t.text("tag")));
  const bool into = t.has("into");
  if (into == (c.operands() > 0)) {
    refuse(Code::wrong_usage,
           into ? "a file and a folder exclude each other" : "it is not said where the backup goes",
           "a backup is one file, or one of several in a folder",
           "baybook backup /media/stick/marsh.baybook  # or baybook backup --into /media/stick");
  }
  if (!into && t.has("keep"))
    refuse(Code::wrong_usage, "--keep is for a folder",
           "the oldest backups of a folder go, never a file that was named",
           "--into FOLDER with it, or no --keep");
  const int keep = t.has("keep") ? whole(t.text("keep"), "the number of backups",
                                         "--keep N: so many stay, and the oldest beyond them go")
                                 : 0;
  BackupOptions o;
  o.now = c.now();
  o.force = t.has("force");
  ProgressLine line;
  o.progress = line.callback();
  if (!into) {
    const Backup b = need(backup(c.book(), c.operand(0), o));
    print(c, b, nullptr);
    return b.findings.empty() ? 0 : 1;
  }
  const Rotation r = need(backup_into(c.book(), t.text("into"), keep, o));
  print(c, r.made, &r);
  return r.made.findings.empty() && r.findings.empty() ? 0 : 1;
}

void say_where_it_lies(const Book& book, bool writes, Out& err) {
  if (const auto& mark = book.backup()) {
    const std::string made = to_string(mark->made);
    err.text(wrapped("check: ", "this is a backup, made " + made.substr(0, 10) + " " + made.substr(11, 5) + " UTC" + (mark->seal.empty() ? "" : " at seal " + mark->seal) + "; it can be read, not written in"));
  }
  const char* override = std::getenv("BAYBOOK_NETWORK_SHARE");
  if (override != nullptr && *override != '\0') return;
  const Share share = network_share(book.path());
  if (share == Share::network) {
    err.text(wrapped("check: ", "this book lies on a network share: locks cannot be relied on there, and two programs that write can lose entries. Move it to a disk of one machine, or set BAYBOOK_NETWORK_SHARE=1 if only one machine ever opens it"));
  } else if (share == Share::unsure && writes) {
    err.text(wrapped("check: ", "this book lies on a file system of a program (FUSE): whether its locks hold is not known. BAYBOOK_NETWORK_SHARE=1 if they do"));
  }
}

}  // namespace baybook::tool
