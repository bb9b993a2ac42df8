// Two programs at once: many writers and readers, and one that keeps the lock.
#include "calls.hpp"
#include "threats.hpp"

#include <ctime>
#include <optional>
#include <sys/syscall.h>

namespace baybook::faults {

void many_writers(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  shop.lay_out(false);
  const std::string& folder = shop.folder();
  const Proof before = prove(folder);
  constexpr int kWriters = 8;
  const int each = s.full ? 50 : 15;
  struct Writer {
    std::optional<Running> running;
    int next = 0;
  };
  Writer writers[kWriters];
  std::optional<Running> readers[2];
  const std::vector<std::vector<std::string>> readings = {{"levels"}, {"totals", "2026-03"}, {"prove"}, {"entries", "--newest", "10"}};
  const auto text = [&](int w, int n) { return "hand " + std::to_string(w) + " entry " + std::to_string(n); };
  int reading = 0;
  int busy_in_a_row = 0;
  for (;;) {
    bool going = false;
    for (int w = 0; w < kWriters; ++w) {
      Writer& hand = writers[w];
      if (hand.running && hand.running->poll()) {
        const Ended e = hand.running->result();
        row.ran();
        const std::string what = text(w, hand.next);
        if (e.died()) row.found(Fault::died, what + ": signal " + std::to_string(e.signal));
        else if (e.status == 0) {
          ++hand.next;
          busy_in_a_row = 0;
        } else if (e.status == 4) {
          row.figure("answered busy, and repeated", 1);
          if (++busy_in_a_row > 500) {
            row.found(Fault::silent, "the writers stand in each other's way for good");
            return;
          }
        } else {
          row.found(Fault::lies, what + ": status " + std::to_string(e.status) + ": " + e.err);
          ++hand.next;
        }
        hand.running.reset();
      }
      if (!hand.running && hand.next < each) hand.running.emplace(Command{folder, {"work", "2", text(w, hand.next) + ".", "--book", "m.baybook", "--once", text(w, hand.next)}});
      going = going || hand.running;
    }
    if (!going) break;
    for (std::optional<Running>& reader : readers) {
      if (reader && reader->poll()) {
        const Ended e = reader->result();
        row.figure("readings meanwhile", 1);
        if (e.died()) row.found(Fault::died, "a reader: signal " + std::to_string(e.signal));
        else if (e.status != 0) row.found(Fault::lies, "a reader answered " + std::to_string(e.status) + ": " + e.out + e.err);
        reader.reset();
      }
      if (!reader) {
        Command c{folder, readings[static_cast<std::size_t>(reading++) % readings.size()]};
        c.args.insert(c.args.end(), {"--book", "m.baybook"});
        reader.emplace(c);
      }
    }
    const timespec nap{0, 300'000};
    ::nanosleep(&nap, nullptr);
  }
  for (std::optional<Running>& reader : readers) {
    if (!reader) continue;
    const Ended e = reader->wait();
    if (e.status != 0) row.found(Fault::lies, "a reader answered " + std::to_string(e.status) + ": " + e.out + e.err);
  }
  const Proof after = prove(folder, "m.baybook", before.seal);
  if (!after.sound) row.found(Fault::unsound, after.said);
  if (after.entries != before.entries + kWriters * each) row.found(Fault::lost, std::to_string(after.entries - before.entries) + " entries of " + std::to_string(kWriters * each));
  const Ended all = run(Command{folder, {"entries", "--json", "--newest", "100000", "--book", "m.baybook"}});
  for (int w = 0; w < kWriters; ++w) {
    for (int n = 0; n < each; ++n) {
      int times = 0;
      const std::string whole = "\"" + text(w, n) + ".\"";
      for (std::size_t at = 0; (at = all.out.find(whole, at)) != std::string::npos; ++at) ++times;
      if (times == 0) row.found(Fault::lost, text(w, n));
      row.figure("found again", times > 0 ? 1 : 0);
    }
  }
}

void lock_held(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  for (const Known& k : shop.known(false, s.only.empty() ? "drain" : s.only)) {
    shop.lay_out(false);
    const std::string& folder = shop.folder();
    // Another writer, stopped where it begins to write: it has the lock, and keeps it.
    Running other(Command{folder, {"work", "2", "the other one", "--book", "m.baybook"}}, true);
    bool holds = false;
    for (Running::Stop stop = other.next(); stop != Running::Stop::ended; stop = other.next()) {
      // The log's pages, not the few bytes of the index beside it.
      if (stop == Running::Stop::entry && other.call().number == SYS_pwrite64 && other.call().arg[2] >= 24) {
        holds = true;
        break;
      }
    }
    if (!holds) {
      row.found(Fault::silent, "the other writer never wrote");
      continue;
    }
    row.ran();
    const Ended e = run(k.command(folder));
    if (e.died()) row.found(Fault::died, k.name());
    else if (e.status != 4) row.found(Fault::lies, k.name() + ": status " + std::to_string(e.status) + ", not 4: " + e.err);
    else if (e.err.empty()) row.found(Fault::silent, k.name());
    for (const std::vector<std::string>& reading : {std::vector<std::string>{"levels"}, {"totals", "2026-03"}, {"prove"}}) {
      Command c{folder, reading};
      c.args.insert(c.args.end(), {"--book", "m.baybook"});
      const Ended r = run(c);
      row.figure("readings meanwhile", 1);
      if (r.status != 0) row.found(Fault::lies, joined(reading) + " beside a writer answered " + std::to_string(r.status) + ": " + r.err);
    }
    const Proof meanwhile = prove(folder, "m.baybook", k.before.seal);
    if (meanwhile.entries != k.before.entries) row.found(Fault::lies, "something was written beside the lock");
    while (other.next() != Running::Stop::ended) {
    }
    const Ended o = other.result();
    const Proof p = prove(folder, "m.baybook", k.before.seal);
    if (o.status != 0 || !p.sound || p.entries != k.before.entries + 1) row.found(Fault::lost, "the one with the lock: status " + std::to_string(o.status) + ": " + o.err + p.said);
    // And then it goes.
    const Ended again = run(k.command(folder));
    const Proof q = prove(folder, "m.baybook", k.before.seal);
    if (again.status != 0 || !q.sound || q.entries != k.before.entries + 2) row.found(Fault::lost, k.name() + ", again: status " + std::to_string(again.status) + ": " + again.err + q.said);
  }
}

}  // namespace baybook::faults
