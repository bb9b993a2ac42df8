#include "exchange_file.hpp"

#include "ask.hpp"
#include "given_file.hpp"
#include "terminal.hpp"
#include "render/text.hpp"
#include "verbs.hpp"
#include "whole_file.hpp"

#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <sys/stat.h>

namespace baybook::tool {

namespace {

// Lines of a file, read piece by piece; a line that is too long is handed over as far as it was
// read, and refused by its length.
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

// What its last line can be long: two numbers and their names.
constexpr std::size_t kEnds = 512;

ExchangeIn read_file(Context& c, const std::string& path, const TakeIn& how, bool dry_run,
                     const std::vector<std::string>& meet) {
  const Typed& t = c.typed();
  FileLines lines(c, path);
  ExchangeOptions o;
  o.call = t.all("call");
  if (how.accept) o.accept = t.all("accept");
  o.accept_those_there = how.of_a_folder;
  o.dry_run = dry_run;
  o.ask_of_sites = true;
  o.meet = meet;
  // That it was met is nobody's doing; who accepts it is somebody.
  Stamp stamp;
  if (o.accept.empty()) stamp.now = c.now();
  else stamp = c.stamp();
  Past past;
  return past.need(exchange_in(
      c.book(), past.keep([&](std::string& line) { return lines.next(line); }),
      visible(path == "-" ? "standard input" : path), stamp, o));
}

void ask_of_texts(Context& c, const std::string& path, const TakeIn& how) {
  if (path == "-")
    refuse(Code::wrong_usage,
           "what is accepted may erase texts, and standard input is read once only",
           "what is erased does not come back", "a file, or --yes");
  const ExchangeIn would = read_file(c, path, how, true, {});
  if (would.texts_erased == 0) return;
  const std::string texts =
      std::to_string(would.texts_erased) + (would.texts_erased == 1 ? " text" : " texts");
  ask_first(c, "", "what is accepted would erase " + texts + " for good",
            "what is erased does not come back", "take it in and erase " + texts + " for good?",
            "nothing was taken");
}

std::vector<std::string> strangers_in(const Refusal& r) {
  std::vector<std::string> out;
  for (const Figure& f : r.figures) {
    if (f.name == "stranger") out.push_back(f.value);
  }
  return out;
}

// What to type is a whole command, with the file or the folder that was meant.
Refusal with_command(const Context& c, Refusal r, const std::vector<std::string>& strangers) {
  std::string typed = "baybook " + std::string(c.verb().name) + " " + as_typed(c.operand(0));
  for (const std::string& tag : strangers) typed += " --meet " + visible(tag);
  r.instead = typed + " --dry-run  # shows what they are; without --dry-run it takes them in, and "
                      "accepts nothing that they do to entries of this book";
  return r;
}

}  // namespace

ExchangeGlance glance_at(Context& c, const std::string& path) {
  const GivenFile file = need(GivenFile::open(path, c.book_if_said()));
  const auto [first, last] = need(file.ends(kEnds));
  const std::string head = first.substr(0, first.find('\n'));
  std::string tail;
  if (!last.empty() && last.back() == '\n') {
    const std::size_t before =
        last.size() < 2 ? std::string::npos : last.rfind('\n', last.size() - 2);
    if (before != std::string::npos) tail = last.substr(before + 1, last.size() - before - 2);
  }
  if (first.empty())
    refuse(Code::unclear, visible(path) + " is empty", "", "the file again, once it is whole");
  auto seen = glance_at_exchange(c.book(), head, tail);
  if (seen.ok()) return std::move(seen).value();
  Refusal r = std::move(seen).refusal();
  r.what = visible(path) + ": " + r.what;
  throw Refused{std::move(r)};
}

ExchangeIn take_file(Context& c, const std::string& path, const TakeIn& how) {
  const Typed& t = c.typed();
  if (!how.dry_run && how.accept && t.has("accept") && !t.has("yes")) ask_of_texts(c, path, how);
  std::vector<std::string> meet = t.all("meet");
  for (;;) {
    try {
      return read_file(c, path, how, how.dry_run, meet);
    } catch (const Refused& refused) {
      const Refusal& r = refused.refusal;
      const std::vector<std::string> strangers = strangers_in(r);
      if (strangers.empty()) throw;
      const bool again = std::find(meet.begin(), meet.end(), strangers.front()) != meet.end();
      if (again || !how.ask || path == "-" || !can_ask())
        throw Refused{with_command(c, r, strangers)};
      c.err().text(wrapped("check: ", visible(path) + ": " + r.what));
      c.err().text("take in what they wrote? type yes: ");
      (void)c.err().flush();
      if (typed_line() != "yes") throw Refused{with_command(c, r, strangers)};
      meet.insert(meet.end(), strangers.begin(), strangers.end());
    }
  }
}

std::string own_identity(Context& c) {
  const std::vector<Peer> all = need(peers(c.book()));
  return all.front().identity;  // its own comes first
}

void must_hold_all_of(Context& c, const std::string& path) {
  struct stat st {};
  if (::stat(path.c_str(), &st) != 0 || !S_ISREG(st.st_mode)) return;
  std::vector<Lacking> all;
  try {
    if (!glance_at(c, path).own) return;
    FileLines lines(c, path);
    Past past;
    all = past.need(
        lacking(c.book(), past.keep([&](std::string& line) { return lines.next(line); })));
  } catch (const Refused& r) {
    // What is damaged cannot be taken in by anybody.
    if (r.refusal.code == Code::unclear || r.refusal.code == Code::unreadable) return;
    throw;
  }
  if (all.empty()) return;
  const auto own = std::find_if(all.begin(), all.end(), [](const Lacking& l) { return l.own; });
  const std::string file = visible(path) + ", which this book wrote, ";
  if (own == all.end())
    refuse(Code::not_allowed,
           file + "holds " + (all.front().entries == 1 ? "an entry" : "entries") + " of " +
               visible(all.front().tag) + " that it does not have",
           "the file may be the only one that has them",
           "baybook exchange in " + as_typed(path) + "  # then the same again");
  const bool longer = own->in_file > own->last;
  refuse(Code::not_allowed,
         file + (longer ? "goes to its entry " + std::to_string(own->in_file) +
                              ", and the book ends at " + std::to_string(own->last)
                        : "has other entries of it than the book"),
         longer ? "the book was put back to an older copy, and the file may be the only one that "
                  "has the rest"
                : "a copy of the book was written in, and the file may be the only one that has "
                  "its entries",
         longer ? "baybook exchange in " + as_typed(path) + " --accept " + visible(own->tag) +
                      " --dry-run  # and without --dry-run if no other copy was written in; "
                      "else another name"
                : "another name");
}

WrittenFile write_exchange(Context& c, const std::string& path,
                           const std::vector<std::string>& since, bool in_shared_folder) {
  Placing how = c.placing("another name");
  how.own_exchange = own_identity(c);
  if (!how.force) must_hold_all_of(c, path);
  WholeFile file(path, std::move(how));
  if (in_shared_folder) file.share_as_the_folder();
  Past past;
  WrittenFile w;
  w.out = past.need(exchange_out(
      c.book(), since, past.keep([&](std::string_view bytes) { file.write(bytes); })));
  file.finish();
  w.bytes = file.bytes();
  return w;
}

}  // namespace baybook::tool
