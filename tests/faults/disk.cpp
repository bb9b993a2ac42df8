// The disk says no: each call once and for good, a disk that fills up, and an answer that cannot be printed.
#include "calls.hpp"
#include "mounts.hpp"
#include "threats.hpp"

#include <cerrno>
#include <cstring>
#include <filesystem>
#include <set>
#include <sys/syscall.h>

namespace baybook::faults {

namespace {

struct Trouble {
  Class what;
  int nth;          ///< of its class
  int error;        ///< 0: a write that is made by half
  bool for_good;
};

std::string words(const Trouble& t) {
  return std::string(name_of(t.what)) + " " + std::to_string(t.nth) + (t.error == 0 ? " by half" : std::string(" ") + std::strerror(t.error)) + (t.for_good ? ", and from then on" : "");
}

std::map<Class, int> calls_of(const Known& k, const std::string& folder) {
  std::map<Class, int> out;
  Running r(k.command(folder), true);
  r.steady();
  for (Running::Stop s = r.next(); s != Running::Stop::ended; s = r.next()) {
    if (s == Running::Stop::entry) ++out[class_of(r.call())];
  }
  return out;
}

Ended run_in(const Command& command, const Trouble& t) {
  Running r(command, true);
  r.steady();
  int n = 0;
  for (Running::Stop s = r.next(); s != Running::Stop::ended; s = r.next()) {
    if (s != Running::Stop::entry) continue;
    // What waits for a lock counts its naps, not the clock: they need not be slept.
    if (r.call().number == SYS_nanosleep || r.call().number == SYS_clock_nanosleep) r.pretend(0);
    if (class_of(r.call()) != t.what) continue;
    const int mine = n++;
    if (mine != t.nth && !(t.for_good && mine > t.nth)) continue;
    if (t.error != 0) r.fail(t.error);
    else if (r.call().arg[2] > 1) r.set_argument(2, r.call().arg[2] / 2);
  }
  return r.result();
}

// A line that was broken to fit the screen, whole again.
std::string unwrapped(const std::string& text) {
  std::string out;
  for (const char c : text) {
    const char one = c == '\n' ? ' ' : c;
    if (one != ' ' || out.empty() || out.back() != ' ') out += one;
  }
  return out;
}

/// What was answered is compared with what is there.
void judge_answer(Row& row, const Known& k, const std::string& folder, const Ended& e, const std::string& how) {
  const std::string what = k.name() + ", " + how;
  if (e.died()) row.found(Fault::died, what + ": signal " + std::to_string(e.signal) + " " + e.err);
  const After a = judge(row, k, folder, e, e.status == 0, how);
  if (!e.died() && e.status != 0) {
    if (e.err.empty()) row.found(Fault::silent, what + ": status " + std::to_string(e.status) + " without a word");
    // A fault of the disk is no refusal of what was typed.
    // The erasure is stored, the file could not be written anew yet: told so, with what to type
    // (docs/command-line.md).
    if (e.status == 1 && k.c.verb.starts_with("erase") && has(unwrapped(e.err), "baybook erase finish")) row.figure("erased, and the file to be written anew later", 1);
    else if (e.status != 3 && e.status != 4) row.found(Fault::lies, what + ": status " + std::to_string(e.status) + ": " + e.err);
    if (a.stored && has(e.err, "nothing was written")) row.found(Fault::lies, what + ": said that nothing was written, and it is there: " + e.err);
    if (a.stored) row.figure("failed, and stored", 1);
    if (has(e.err, "may or may not")) row.figure("answered as unknown", 1);
  }
  if (e.status == 0) row.figure("done all the same", 1);
  judge_retry(row, k, folder, a, how);
}

}  // namespace

void disk_errors(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  for (const bool ripe : s.full ? std::vector<bool>{true, false} : std::vector<bool>{true}) {
    for (const Known& k : shop.known(ripe, s.only)) {
      if (s.only.empty() && !s.full && !writes_otherwise(k)) continue;
      shop.lay_out(ripe);
      int mine = 0;
      std::set<std::size_t> seen;
      for (const auto& [what, times] : calls_of(k, shop.folder())) {
        if (what == Class::other) continue;
        std::vector<int> errors = {EIO};
        if (what == Class::write || what == Class::sync || what == Class::truncate || what == Class::open || what == Class::name) errors = {EIO, ENOSPC, EDQUOT};
        if (what == Class::write) errors.push_back(0);
        if (what == Class::map) errors = {ENOMEM, EIO};
        if (what == Class::open) errors.push_back(EMFILE);
        for (int nth = 0; nth < times; ++nth) {
          for (const int error : errors) {
            for (const bool for_good : {false, true}) {
              // `start` alone has some hundred writes: the short run takes each call with one error in turn.
              if (!s.full && mine++ % (times > 30 ? 37 : what == Class::read || what == Class::lock ? 13 : 5) != 0) continue;
              const Trouble t{what, nth, error, for_good};
              shop.lay_out(ripe);
              const Ended e = run_in(k.command(shop.folder()), t);
              row.ran();
              // The same bytes on the disk and the same answer: judged already.
              const std::string end = std::to_string(e.status) + " " + std::to_string(e.signal) + "\n" + e.out + "\n" + e.err + "\n" + bytes_below(shop.folder());
              if (!seen.insert(std::hash<std::string>()(end)).second) continue;
              row.figure("different endings", 1);
              judge_answer(row, k, shop.folder(), e, words(t) + (ripe ? ", log left beside" : ""));
            }
          }
        }
      }
    }
  }
}

void disk_fills_up(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  const std::vector<Known> fresh = shop.known(false, s.only);
  const std::vector<Known> ripe = shop.known(true, s.only);
  Mounts mounts;
  const std::string folder = work.folder("small");
  if (!mounts.mount("tmpfs", folder, "tmpfs", "size=64m")) return row.skip("a small disk cannot be mounted here: " + mounts.why());
  for (const bool nearly : {false, true}) {
    for (const Known& k : nearly ? ripe : fresh) {
      if (s.only.empty() && !s.full && !writes_otherwise(k)) continue;
      std::size_t pages = 0;
      for (const auto& [name, bytes] : shop.files(nearly)) pages += (bytes.size() + 4095) / 4096;
      // From not a page of room to more than any verb needs.
      const std::size_t most = k.c.makes.empty() ? 90 : 190;
      for (std::size_t room = 0; room < most; room += (s.full ? 1U : k.c.makes.empty() ? 13U : 31U)) {
        if (!mounts.remount(folder, "size=64m")) return row.skip("a small disk cannot be made larger here: " + mounts.why());
        write_files(folder, shop.files(nearly));
        if (!mounts.remount(folder, "size=" + std::to_string((pages + room) * 4096))) continue;  // smaller than what is in it
        const Ended e = run(k.command(folder));
        // Read while it is full: it may be refused, and must not be wrong.
        const Ended look = run(Command{folder, {"levels", "--book", "m.baybook"}});
        if (look.died()) row.found(Fault::died, "levels on a full disk: signal " + std::to_string(look.signal));
        if (look.status != 0) row.figure("not readable while the disk is full", 1);
        if (look.status != 0 && look.err.empty()) row.found(Fault::silent, "levels on a full disk");
        if (!mounts.remount(folder, "size=64m")) return row.skip("a small disk cannot be made larger here: " + mounts.why());
        row.ran();
        judge_answer(row, k, folder, e, "with " + std::to_string(room) + " pages of room" + (nearly ? ", log left beside" : ""));
      }
    }
  }
}

void nothing_can_be_printed(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  for (const Known& k : shop.known(false, s.only)) {
    for (const bool both : {false, true}) {
      for (const bool json : {false, true}) {
        shop.lay_out(false);
        Command c = k.command(shop.folder());
        c.out_to = "/dev/full";
        if (both) c.err_to = "/dev/full";
        if (json) c.args.emplace_back("--json");
        const Ended e = run(c);
        row.ran();
        const std::string how = std::string("standard output") + (both ? " and error" : "") + " full" + (json ? ", --json" : "");
        const std::string what = k.name() + ", " + how;
        if (e.died()) row.found(Fault::died, what + ": signal " + std::to_string(e.signal));
        else if (e.status == 0) row.found(Fault::lies, what + ": status 0, and nobody could read it");
        else if (e.status != 3) row.found(Fault::lies, what + ": status " + std::to_string(e.status));
        const After a = judge(row, k, shop.folder(), e, false, how);
        if (!a.stored) row.found(Fault::lost, what + ": it is not there");
        if (!both && e.err.empty()) row.found(Fault::silent, what);
        // Entries of another installation carry their own number and its tag.
        const std::string number = k.c.verb == "exchange in" ? "@office is stored" : "entry " + std::to_string(k.after.entries);
        if (!both && k.c.makes.empty() && !has(e.err, number)) row.found(Fault::silent, what + ": the number of the entry is not told: " + e.err);
        judge_retry(row, k, shop.folder(), a, how);
      }
    }
  }
  shop.lay_out(false);
  const std::vector<std::vector<std::string>> readings = {{"levels"}, {"totals", "2026-03"}, {"entries"}, {"entry", "last"}, {"prove"}, {"due"}, {"limits"}, {"job", "list"}, {"history", "MARSH-07"}, {"label", "drum-coolant"}, {"register"}, {"help"}, {"--version"}};
  for (const auto& args : readings) {
    for (const bool json : {false, true}) {
      Command c{shop.folder(), args};
      if (args[0] != "help" && args[0] != "--version") c.args.insert(c.args.end(), {"--book", "m.baybook"});
      if (json) c.args.emplace_back("--json");
      c.out_to = "/dev/full";
      const Ended e = run(c);
      row.ran();
      const std::string what = joined(args) + (json ? " --json" : "") + " into a full file";
      if (e.died()) row.found(Fault::died, what);
      else if (e.status != 3) row.found(Fault::lies, what + ": status " + std::to_string(e.status));
      else if (e.err.empty()) row.found(Fault::silent, what);
    }
  }
}

}  // namespace baybook::faults
