// SIGKILL, at every system call and at random moments.
#include "calls.hpp"
#include "threats.hpp"

#include <csignal>
#include <algorithm>
#include <ctime>
#include <optional>
#include <set>
#include <sys/syscall.h>

namespace baybook::faults {

namespace {

struct Point {
  int stop;        ///< before the n-th call
  int cut = 0;     ///< 1: that write is made by half; 2: but for its last byte
};

// The calls of one run, and where it is worth being killed.
std::vector<Point> points_of(const Known& k, const std::string& folder, bool all, bool cut) {
  std::vector<Point> out;
  Running r(k.command(folder), true);
  r.steady();
  int n = 0;
  bool after_change = true;
  for (Running::Stop s = r.next(); s != Running::Stop::ended; s = r.next()) {
    if (s != Running::Stop::entry) continue;
    const Call& c = r.call();
    const bool counts = changes_something(c) || prints(c) || c.number == SYS_exit_group;
    // Before a call that changes nothing the disk is as it was after the one before it.
    if (all || after_change || counts) out.push_back({n});
    after_change = counts;
    if (cut && class_of(c) == Class::write && c.arg[2] > 1) {
      if (all || c.arg[2] > 100) out.push_back({n, 1});
      if (all) out.push_back({n, 2});
    }
    ++n;
  }
  return out;
}

Ended killed_at(const Known& k, const std::string& folder, const Point& at) {
  Running r(k.command(folder), true);
  r.steady();
  int n = 0;
  for (Running::Stop s = r.next(); s != Running::Stop::ended; s = r.next()) {
    if (s != Running::Stop::entry || n++ != at.stop) continue;
    if (at.cut != 0) {
      const std::uint64_t size = r.call().arg[2];
      r.set_argument(2, at.cut == 1 ? size / 2 : size - 1);
      (void)r.next();
    }
    r.kill();
    break;
  }
  return r.result();
}

}  // namespace

void every_verb_is_known(const Setting& s, Row& row) {
  const Work work;
  const Plan plan = read_plan(s.plan);
  std::set<std::string> tried;
  const std::vector<KnownVerb> verbs = known_verbs(work.path());
  for (const KnownVerb& v : verbs) {
    row.ran();
    bool writes = false;
    for (const Case& c : plan.cases) {
      const std::string one = c.args[0];
      const std::string two = c.args.size() > 1 ? one + " " + c.args[1] : one;
      bool longer = false;  // `due done` is no case of `due`
      for (const KnownVerb& w : verbs) longer = longer || w.name == two;
      writes = writes || v.name == two || (v.name == one && !longer);
    }
    bool reads = false;
    for (const std::string& r : plan.reads) reads = reads || r == v.name;
    for (const std::string& e : plan.elsewhere) writes = writes || e == v.name;
    if (!writes && !reads) row.found(Fault::silent, "baybook " + v.name + " is new: it needs a line in tests/faults/verbs.txt, under [writes] or [reads]");
    if (reads && (writes || v.once)) row.found(Fault::lies, "baybook " + v.name + " writes, and stands under [reads] of tests/faults/verbs.txt");
  }
}

void killed_at_every_call(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  // A book whose log is about to be folded in has all calls of one whose log is not; the full run does both, and is killed at every
  // call, where the short one leaves out those before which nothing has changed.
  for (const bool ripe : s.full ? std::vector<bool>{true, false} : std::vector<bool>{true}) {
    int nth = 0;
    for (const Known& k : shop.known(ripe, s.only)) {
      ++nth;
            shop.lay_out(ripe);
      std::vector<Point> points = points_of(k, shop.folder(), s.full && ripe, !s.full || writes_otherwise(k));
      std::set<std::size_t> seen;
      int mine = 0;
      for (const Point& at : points) {
        // The short run takes every verb, and of each every thirteenth point, others at each verb.
        if (!s.full && s.only.empty() && (mine++ + nth) % 13 != 0) continue;
        shop.lay_out(ripe);
        const Ended e = killed_at(k, shop.folder(), at);
        row.ran();
        const std::string how = "killed at call " + std::to_string(at.stop) + (at.cut != 0 ? ", a write cut short" : "") + (ripe ? ", log left beside" : "");
        if (e.signal != 0 && e.signal != SIGKILL) row.found(Fault::died, k.name() + ", " + how + ": signal " + std::to_string(e.signal));
        const bool acknowledged = !e.out.empty();
        if (acknowledged) row.figure("acknowledged", 1);
        // The same bytes on the disk and the same word given: judged already.
        if (!seen.insert(std::hash<std::string>()(bytes_below(shop.folder())) + (acknowledged ? 1 : 0)).second) continue;
        row.figure("different states of the disk", 1);
        const After a = judge(row, k, shop.folder(), e, acknowledged, how);
        judge_retry(row, k, shop.folder(), a, how);
      }
    }
  }
}

void killed_at_random(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  std::mt19937 random(s.seed);
  const int runs = s.full ? 2000 : 60;
  struct Hand {
    std::optional<Running> running;
    int next = 0;
    std::vector<int> acknowledged;
  };
  for (int i = 0; i < runs; ++i) {
    const bool ripe = random() % 2 == 0;
    shop.lay_out(ripe);
    const Proof before = prove(shop.folder());
    Hand hands[2];
    const auto text = [&](int h, int n) { return std::string(h == 0 ? "left " : "right ") + std::to_string(n); };
    const auto command = [&](int h, int n) { return Command{shop.folder(), {"work", "2", text(h, n), "--book", "m.baybook", "--once", text(h, n)}}; };
    // A moment after some entries were taken, so that it does not depend on how fast the machine is.
    const int goal = static_cast<int>(random() % 6);
    const long after_that = static_cast<long>(random() % 20'000);  // microseconds
    int taken = 0;
    bool reached = false;
    timespec start{};
    for (;;) {
      timespec t{};
      ::clock_gettime(CLOCK_MONOTONIC, &t);
      if (!reached && taken >= goal) {
        reached = true;
        start = t;
      }
      const long passed = (t.tv_sec - start.tv_sec) * 1'000'000 + (t.tv_nsec - start.tv_nsec) / 1000;
      const bool over = reached && passed >= after_that;
      for (int h = 0; h < 2; ++h) {
        Hand& hand = hands[h];
        if (hand.running && hand.running->poll()) {
          const Ended e = hand.running->result();
          if (e.died()) row.found(Fault::died, "a writer beside another one: signal " + std::to_string(e.signal));
          else if (e.status == 0) {
            hand.acknowledged.push_back(hand.next++);
            ++taken;
          }
          else if (e.status != 4) {
            row.found(Fault::lies, "a writer beside another one answered " + std::to_string(e.status) + ": " + e.err);
            ++taken;
          }
          hand.running.reset();
        }
        if (!hand.running && !over) hand.running.emplace(command(h, hand.next));
      }
      if (over) break;
      const timespec nap{0, 200'000};
      ::nanosleep(&nap, nullptr);
    }
    row.ran();
    for (int h = 0; h < 2; ++h) {
      Hand& hand = hands[h];
      if (!hand.running) continue;
      hand.running->kill();
      if (!hand.running->result().out.empty()) hand.acknowledged.push_back(hand.next);
    }
    const std::string how = "two writers killed, run " + std::to_string(i) + " of seed " + std::to_string(s.seed);
    const Proof after = prove(shop.folder(), "m.baybook", before.seal);
    if (!after.sound) row.found(Fault::unsound, how + ": " + after.said);
    const Ended all = run(Command{shop.folder(), {"entries", "--json", "--newest", "1000", "--book", "m.baybook"}});
    std::int64_t seen = 0;
    for (int h = 0; h < 2; ++h) {
      const Hand& hand = hands[h];
      row.figure("acknowledged", static_cast<std::int64_t>(hand.acknowledged.size()));
      for (int n = 0; n <= hand.next; ++n) {
        const std::string quoted = text(h, n) + "\"";
        int times = 0;
        for (std::size_t at = 0; (at = all.out.find(quoted, at)) != std::string::npos; ++at) ++times;
        const bool known = std::find(hand.acknowledged.begin(), hand.acknowledged.end(), n) != hand.acknowledged.end();
        const bool there = times > 0;
        if (there) ++seen;
        if (known && !there) row.found(Fault::lost, how + ": " + text(h, n) + " was acknowledged");
      }
    }
    if (after.sound && after.entries != before.entries + seen) row.found(Fault::lost, how + ": " + std::to_string(after.entries - before.entries) + " entries, of " + std::to_string(seen) + " that were typed");
    // What was under way is typed again under its key: one entry each.
    for (int h = 0; h < 2; ++h) {
      const Ended again = run(command(h, hands[h].next));
      if (again.status != 0) row.found(Fault::lost, how + ": the retry answered " + std::to_string(again.status) + ": " + again.err);
    }
    const Proof end = prove(shop.folder(), "m.baybook", before.seal);
    const std::int64_t wanted = before.entries + hands[0].next + hands[1].next + 2;
    if (!end.sound) row.found(Fault::unsound, how + ": after the retry: " + end.said);
    else if (end.entries != wanted) row.found(Fault::lost, how + ": after the retries " + std::to_string(end.entries) + " entries, not " + std::to_string(wanted));
  }
}

}  // namespace baybook::faults
