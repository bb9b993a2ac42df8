// exchange with: one folder, in which each book of a workshop has one file of its own.
#include "context.hpp"
#include "exchange_file.hpp"
#include "exchange_folder.hpp"
#include "render/exchanged.hpp"
#include "render/moment.hpp"
#include "render/refusal.hpp"
#include "render/text.hpp"
#include "typed_values.hpp"
#include "verb_list.hpp"

#include <baybook/exchange.hpp>
#include <baybook/peers.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <ctime>
#include <map>
#include <set>
#include <sys/stat.h>

namespace baybook::tool {

namespace {

// What became of one file.
struct FileTold {
  std::string name;
  std::optional<ExchangeIn> in{};       ///< taken in, or nothing new in it
  std::optional<Refusal> refusal{};     ///< not taken, or not whole
  bool is_book = false;
};

struct Round {
  std::string folder;
  bool dry_run = false;
  std::vector<FileTold> files{};
  std::map<std::string, std::int64_t> fresh{};  ///< new entries by tag
  std::int64_t taken = 0, left = 0, conflicts = 0, waiting = 0;
  std::vector<Peer> others{};
  std::string own_file{};                 ///< path
  std::int64_t entries = 0;               ///< in it
  bool written = false;                   ///< anew
  std::optional<Refusal> not_written{};
  std::vector<std::string> waits{};       ///< for these the book still waits
};

void count(Round& r, const ExchangeIn& in) {
  for (const Exchanged& x : in.installations) r.fresh[x.tag] += x.taken;
  r.taken += in.taken;
}

// Takes in one file; what is wrong with it is kept, what is wrong with the book is thrown.
void take(Context& c, const FolderFile& f, const TakeIn& how, Round& r) {
  FileTold told{f.name, {}, {}, false};
  try {
    told.in = take_file(c, f.path, how);
    count(r, *told.in);
  } catch (const Refused& refused) {
    switch (refused.refusal.code) {
      case Code::unclear:
      case Code::unreadable:
      case Code::not_allowed:
      case Code::ambiguous:
      case Code::has_dependants: told.refusal = refused.refusal; break;
      default: throw;
    }
  }
  r.files.push_back(std::move(told));
}

// What a file left may rest on what a later one brought.
void take_again_what_was_left(Context& c, const std::vector<FolderFile>& all, const TakeIn& how,
                              Round& r) {
  if (how.dry_run) return;
  std::vector<FileTold> first = std::move(r.files);
  r.files.clear();
  for (FileTold& told : first) {
    const auto f = std::find_if(all.begin(), all.end(),
                                [&](const FolderFile& x) { return x.name == told.name; });
    if (!told.in || told.in->left == 0 || f == all.end() || r.taken == told.in->taken) {
      r.files.push_back(std::move(told));
      continue;
    }
    take(c, *f, how, r);
  }
  for (const FileTold& told : r.files) r.left += told.in ? told.in->left : 0;
}

void take_all(Context& c, const std::vector<FolderFile>& all, const TakeIn& how, Round& r) {
  using Is = FolderFile::Is;
  const bool again = c.typed().has("accept");
  const std::string own = c.book().settings().tag;
  const std::vector<std::string> accept = c.typed().all("accept");
  const bool own_too = std::find(accept.begin(), accept.end(), own) != accept.end();
  for (const FolderFile& f : all) {
    if (f.path == r.own_file && !own_too) continue;
    if (f.is == Is::book) r.files.push_back({f.name, {}, {}, true});
    if (f.is == Is::bad)
      r.files.push_back({f.name,
                         {},
                         Refusal{Code::unclear, f.why, "it is taken once it is whole", "", {}},
                         false});
    const bool read = f.is == Is::to_read || (f.is == Is::unchanged && again) ||
                      (f.is == Is::own && own_too);
    if (read) take(c, f, how, r);
  }
  take_again_what_was_left(c, all, how, r);
}

// --accept of one that is in no file, or was accepted without one.
void check_accepted(Context& c, const std::vector<Peer>& all) {
  for (const std::string& tag : c.typed().all("accept")) {
    const bool known = std::any_of(all.begin(), all.end(),
                                   [&](const Peer& p) { return p.tag == tag; });
    if (!known)
      refuse(Code::not_found,
             "there is no installation " + visible(tag) +
                 " to accept, in the files of the folder or in this book",
             "its tag is the one it has here",
             "baybook exchange list  # or the same with --dry-run and without --accept");
  }
}

std::int64_t size_of(const std::string& path) {
  struct stat st {};
  return ::stat(path.c_str(), &st) == 0 ? st.st_size : -1;
}

bool is_written_already(Context& c, Round& r) {
  std::int64_t bytes = 0;
  Past past;
  const ExchangeOut would = past.need(exchange_out(c.book(), {}, [&](std::string_view piece) {
    bytes += static_cast<std::int64_t>(piece.size());
  }));
  r.entries = would.entries;
  try {
    return glance_at(c, r.own_file).digest == would.digest && size_of(r.own_file) == bytes;
  } catch (const Refused&) {
    return false;
  }
}

void write_own(Context& c, Round& r) {
  try {
    if (is_written_already(c, r) || r.dry_run) return;
    r.entries = write_exchange(c, r.own_file, {}, true).out.entries;
    r.written = true;
  } catch (const Refused& refused) {
    r.not_written = refused.refusal;
  }
}

Round one_round(Context& c, bool ask) {
  Round r;
  r.folder = c.operand(0);
  r.dry_run = c.typed().has("dry-run");
  const std::vector<FolderFile> all = look_into(c, r.folder);
  r.own_file = own_path(c, r.folder);
  if (!r.dry_run) remove_leftovers(r.own_file, all);
  TakeIn how;
  how.dry_run = r.dry_run;
  how.ask = ask;
  how.of_a_folder = true;
  take_all(c, all, how, r);
  write_own(c, r);
  const std::vector<Peer> peers_now = need(peers(c.book()));
  if (!r.dry_run) check_accepted(c, peers_now);
  for (const Peer& p : peers_now) r.waiting += p.waiting;
  r.others = render::others(c);
  r.conflicts = std::ssize(need(conflicts(c.book())));
  r.waits = need(waits_for(c.book()));
  return r;
}

int status_of(const Round& r) {
  if (r.not_written) return render::status_of(r.not_written->code);
  const bool all = std::none_of(r.files.begin(), r.files.end(),
                                [](const FileTold& f) { return f.refusal.has_value(); });
  return all && r.left == 0 ? 0 : 1;
}

std::string line_of(Context& c, const Round& r, const Peer& p) {
  const auto fresh = r.fresh.find(p.tag);
  const std::int64_t n = fresh == r.fresh.end() ? 0 : fresh->second;
  std::string line = visible(p.tag) + ": " + render::freshness(c, p);
  if (n > 0) line += ", " + std::to_string(n) + (r.dry_run ? " would be new" : " new");
  else if (line.find("nothing") == std::string::npos) line += ", nothing new";
  if (p.state == Peer::State::met) line += "; not accepted: baybook exchange list";
  return line;
}

std::string own_told(const Round& r) {
  const std::string file = visible(r.own_file);
  const std::string n = render::count_of(r.entries, "entry", "entries");
  if (r.written) return "wrote " + file + ", " + n;
  if (r.dry_run) return "would write " + file + " with " + n + ", and what is taken in first";
  return file + " is as it was, " + n;
}

void say_file(Context& c, const FileTold& f) {
  const std::string name = visible(f.name);
  if (f.is_book) {
    if (!c.quiet())
      c.out().text(wrapped("", name + " is a book, left alone: what another book takes in is its "
                                      "file of exchange with"));
    return;
  }
  if (f.refusal) {
    c.err().text(render::check_text(printable(*f.refusal)));
    return;
  }
  if (!f.in) return;
  for (const std::string& told : f.in->closed_told)
    c.err().text(wrapped("check: ", visible(told)));
  if (c.quiet()) return;
  for (const Exchanged& x : f.in->installations) {
    if (x.left == 0) continue;
    c.out().text(wrapped("check: ", name + ": " + render::count_of(x.left, "entry", "entries") +
                                        " of " + visible(x.tag) + " NOT TAKEN: " +
                                        visible(x.why_left)));
    for (const std::string& next : x.what_next) c.out().text(wrapped("  ", visible(next)));
  }
  // An older file of a book that is fresher here; the same once more is not worth a word.
  const bool older = std::any_of(
      f.in->installations.begin(), f.in->installations.end(),
      [&](const Exchanged& x) { return x.tag == f.in->by && x.in_file < x.last; });
  if (f.in->taken == 0 && f.in->left == 0 && older)
    c.out().text(wrapped(name + ": ", render::nothing_new(c, *f.in)));
  render::exchanged(c, *f.in);
}

void say(Context& c, const Round& r) {
  Out& out = c.out();
  // Of a stranger in several files it is said once.
  std::set<std::string> said;
  for (const FileTold& f : r.files) {
    if (!f.refusal || said.insert(f.refusal->what).second) say_file(c, f);
  }
  if (!c.quiet()) {
    for (const Peer& p : r.others) out.text(wrapped("", line_of(c, r, p)));
    if (r.others.empty() && r.files.empty())
      out.text(wrapped("", "no other book has a file in " + visible(r.folder) + " yet"));
  }
  if (r.not_written) c.err().text(render::check_text(printable(*r.not_written)));
  else if (!c.quiet()) out.text(wrapped("", own_told(r)));
  if (!r.waits.empty())
    c.err().text(wrapped("check: ", "this book stands in the place of a lost one and waits for a "
                                    "file of " + joined(r.waits) + " before it is written in"));
  if (!c.quiet()) render::differing(c);
  if (!c.quiet()) render::to_be_settled(c, r.conflicts, r.waiting);
  if (r.dry_run && !c.quiet()) out.line("nothing was written");
}

void print_json(Context& c, const Round& r) {
  Json j = c.document();
  j.member("folder", r.folder);
  j.key("taken").number(r.taken);
  j.key("left").number(r.left);
  j.objects("installations", r.others, [&](const Peer& p) {
    render::fresh_members(j, c, p);
    const auto fresh = r.fresh.find(p.tag);
    j.key("taken").number(fresh == r.fresh.end() ? 0 : fresh->second);
    j.member("state", name_of(p.state));
  });
  j.objects("files", r.files, [&](const FileTold& f) {
    j.member("file", f.name);
    j.member("is", f.is_book ? "book" : f.refusal ? "refused" : "exchange");
    if (f.refusal) {
      j.key("error").begin_object();
      render::refusal_members(j, *f.refusal);
      j.end_object();
    }
    if (f.in) render::exchanged_members(j, c, *f.in);
  });
  j.member("own_file", r.own_file);
  j.key("entries").number(r.entries);
  j.key("written").boolean(r.written);
  if (r.not_written) {
    j.key("not_written").begin_object();
    render::refusal_members(j, *r.not_written);
    j.end_object();
  }
  j.key("conflicts").number(r.conflicts);
  j.key("waiting").number(r.waiting);
  j.strings("differs", need(differing_settings(c.book())));
  j.strings("waits_for", r.waits);
  j.key("dry_run").boolean(r.dry_run);
  c.print(j);
}

// ---- again and again ----

volatile std::sig_atomic_t stopped = 0;
void stop(int) { stopped = 1; }

// While a round is at work the signals wait for its end.
class UntilStopped {
 public:
  UntilStopped() {
    ::sigemptyset(&held_);
    ::sigaddset(&held_, SIGINT);
    ::sigaddset(&held_, SIGTERM);
    struct sigaction action {};
    action.sa_handler = stop;
    ::sigaction(SIGINT, &action, nullptr);
    ::sigaction(SIGTERM, &action, nullptr);
    ::sigprocmask(SIG_BLOCK, &held_, &before_);
  }
  UntilStopped(const UntilStopped&) = delete;
  UntilStopped& operator=(const UntilStopped&) = delete;
  ~UntilStopped() { ::sigprocmask(SIG_SETMASK, &before_, nullptr); }

  /// False when it was stopped meanwhile.
  [[nodiscard]] bool wait(int seconds) const {
    timespec time{};
    time.tv_sec = seconds;
    return ::sigtimedwait(&held_, nullptr, &time) < 0 && errno == EAGAIN && stopped == 0;
  }

 private:
  sigset_t held_{}, before_{};
};

int seconds_of(const std::string& text) {
  constexpr int kLeast = 1;
  constexpr int kMost = 24 * 3600;
  for (const auto& [unit, times] : {std::pair<const char*, int>{"s", 1}, {"m", 60}, {"min", 60},
                                    {"h", 3600}}) {
    const auto n = number_before(text, unit);
    if (n && *n >= kLeast && *n <= kMost / times) return *n * times;
  }
  refuse(Code::wrong_usage, "--every " + visible(text) + " is no time between two rounds",
         "from 1s to 24h", "--every 10m");
}

// What is wrong, as long as it is not what was wrong in the round before.
std::string problems(const Round& r) {
  std::string out;
  for (const FileTold& f : r.files) {
    if (f.refusal) out += "; not taken: " + visible(f.refusal->what);
  }
  if (r.not_written) out += "; not written: " + visible(r.not_written->what);
  return out.empty() ? out : out.substr(2);
}

// One line: only what is new.
std::string round_line(Context& c, const Round& r) {
  std::string line;
  const auto add = [&](const std::string& more) { line += (line.empty() ? "" : "; ") + more; };
  for (const Peer& p : r.others) {
    const auto fresh = r.fresh.find(p.tag);
    if (fresh != r.fresh.end() && fresh->second > 0) add(line_of(c, r, p));
  }
  for (const FileTold& f : r.files) {
    if (!f.in) continue;
    for (const Exchanged& x : f.in->installations)
      if (x.left > 0) add(visible(f.name) + ": " + std::to_string(x.left) + " NOT TAKEN");
    for (const std::string& told : f.in->closed_told) add(visible(told));
    for (const std::string& told : f.in->erased_at_work) add(visible(told));
    for (const Changed& x : f.in->changed) add(visible(x.text));
  }
  if (r.written) add(own_told(r));
  if (r.taken > 0 && r.conflicts > 0)
    add(render::count_of(r.conflicts, "thing", "things") + " to be settled: baybook settle list");
  return line.empty() ? "nothing new" : line;
}

int rounds(Context& c, int seconds) {
  const UntilStopped until;
  std::string zone = "UTC";  // until the book could be opened
  std::string before;        // what was wrong
  do {
    std::string line;
    try {
      zone = c.book().settings().zone;
      const Round r = one_round(c, false);
      if (c.json()) print_json(c, r);
      else line = round_line(c, r);
      std::string now = problems(r);
      if (!c.json() && now != before && !now.empty())
        line = line == "nothing new" ? now : line + "; " + now;
      before = std::move(now);
    } catch (const Refused& refused) {
      if (refused.refusal.code == Code::wrong_usage) throw;
      if (c.json()) c.out().text(render::refusal_json(printable(refused.refusal)));
      else line = visible(refused.refusal.what) + "; tried again in " + c.typed().text("every");
    }
    if (!line.empty() && !(c.quiet() && line == "nothing new")) {
      c.out().line(render::time_of_day(c.now(), zone) + "  " + line);
    }
    (void)c.err().flush();
    if (!c.out().flush()) return 3;
    c.begin_again();
  } while (until.wait(seconds));
  return 0;
}

}  // namespace

int run_exchange_with(Context& c) {
  const Typed& t = c.typed();
  if (t.has("on") || t.has("at"))
    refuse(Code::wrong_usage, "entries of another book carry their own day",
           "they are taken as they were written", "baybook exchange with FOLDER");
  if (t.has("once"))
    refuse(Code::wrong_usage, "--once is not needed here", "the same file again changes nothing",
           "baybook exchange with FOLDER");
  if (t.has("every")) {
    if (t.has("accept") || t.has("meet") || t.has("dry-run"))
      refuse(Code::wrong_usage, "what is said once does not go with --every",
             "who is accepted is said by somebody who is there",
             "baybook exchange with FOLDER --accept TAG  # then the same with --every alone");
    return rounds(c, seconds_of(t.text("every")));
  }
  const Round r = one_round(c, true);
  if (c.json()) print_json(c, r);
  else say(c, r);
  for (const FileTold& f : r.files) {
    if (!f.in || r.dry_run) continue;
    for (const Exchanged& x : f.in->installations)
      if (x.taken > 0) c.note_stored(std::to_string(x.last) + "@" + x.tag);
  }
  return status_of(r);
}

}  // namespace baybook::tool
