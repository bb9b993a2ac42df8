// A power cut in user space: what a run did to its files is recorded, and played back up to any point with what was not synced left out,
// put in another order or torn.
#include "recorder.hpp"
#include "threats.hpp"

#include <algorithm>
#include <set>
#include <stdexcept>

namespace baybook::faults {

void power_cut_model(const Setting& s, Row& row) {
  const Work work;
  const Plan plan = read_plan(s.plan);
  const std::string folder = work.folder("recorded");
  write_files(folder, plan.files);

  // A book from its first byte on: the shop, every verb that can follow, small entries until the log was folded in several times.
  Recorder recorder(folder);
  std::vector<std::string> seals = {""};
  std::vector<std::int64_t> entries = {0};  // after each command: some write several at once
  const auto record = [&](const std::vector<std::string>& args, const std::string& now) {
    Command c{folder, args, now};
    const int command = static_cast<int>(seals.size());
    const Ended e = recorder.run(c, command);
    if (e.status != 0) return false;
    const Proof p = prove(folder);
    if (!p.sound) throw std::runtime_error("not sound with nothing in the way: " + p.said);
    seals.push_back(p.seal);
    entries.push_back(p.entries);
    return true;
  };
  for (const Plan::Line& line : plan.shop) {
    std::vector<std::string> args = line.args;
    if (args.front() != "start") args.insert(args.end(), {"--book", "m.baybook"});
    if (!record(args, line.now)) throw std::runtime_error("the shop could not be kept: " + joined(args));
  }
  int more = 0;
  for (const Case& c : plan.cases) {
    if (!c.makes.empty()) continue;
    // One case may forbid the next (a plate that was changed): those are passed over, most are not.
    std::vector<std::string> args = c.args;
    args.insert(args.end(), {"--book", "m.baybook"});
    if (!s.full && more > 12 && c.args.front() != "paper") continue;
    more += record(args, "2026-03-05T09:40:00.000Z") ? 1 : 0;
  }
  if (more < (s.full ? 25 : 10)) throw std::runtime_error("too few of the verbs could follow one another");
  for (int i = 0; i < (s.full ? 40 : 15); ++i) record({"discard", "absorbent", "0.1kg", "--into", "drum-absorb", "--book", "m.baybook"}, "2026-03-05T09:40:00.000Z");

  const std::vector<Event>& events = recorder.events();
  row.figure("commands recorded", static_cast<std::int64_t>(seals.size()) - 1);
  row.figure("events recorded", static_cast<std::int64_t>(events.size()));
  const int images = s.full ? 6000 : 250;
  std::mt19937 random(s.seed);
  std::vector<std::size_t> cuts;
  for (int i = 0; i < images; ++i) cuts.push_back(1 + random() % events.size());
  // Right after a receipt, before anything else happens: the moment that counts most. A quarter of all.
  std::vector<std::size_t> receipts;
  for (std::size_t i = 0; i < events.size(); ++i) {
    if (events[i].what == Event::What::acknowledged) receipts.push_back(i + 1);
  }
  for (std::size_t i = 0; i < cuts.size(); i += 4) cuts[i] = receipts[random() % receipts.size()];
  std::sort(cuts.begin(), cuts.end());
  Disk disk(events);
  const std::string after = work.folder("after");
  int last = 0;  // the command that was acknowledged last
  std::size_t looked = 0;
  for (std::size_t i = 0; i < cuts.size(); ++i) {
    for (; looked < cuts[i]; ++looked) {
      if (events[looked].what == Event::What::acknowledged) last = events[looked].entry;
    }
    disk.go_to(cuts[i], !s.blind);
    constexpr Disk::Way ways[] = {Disk::Way::nothing, Disk::Way::sectors, Disk::Way::one, Disk::Way::all_but_one, Disk::Way::sectors, Disk::Way::everything};
    const std::size_t w = random() % std::size(ways);
    Files image = disk.image(ways[w], random);
    for (const auto& [name, bytes] : plan.files) image[name] = bytes;
    write_files(after, image);
    row.ran();
    const std::string how = "cut after event " + std::to_string(cuts[i]) + " of " + std::to_string(events.size()) + ", way " + std::to_string(w) + ", seed " + std::to_string(s.seed);
    const Proof p = prove(after, "m.baybook", seals[static_cast<std::size_t>(last)]);
    if (p.signal != 0) {
      row.found(Fault::died, how + ": prove: signal " + std::to_string(p.signal));
      continue;
    }
    if (last == 0 && !p.sound) {
      if (p.status != 3) row.found(Fault::unsound, how + ": before the first receipt, neither a book nor refused: " + p.said);
      continue;
    }
    const std::int64_t told = entries[static_cast<std::size_t>(last)];
    const std::int64_t next = entries[std::min(entries.size() - 1, static_cast<std::size_t>(last) + 1)];
    if (!p.sound && p.entries == 0) row.found(Fault::lost, how + ": the book cannot be opened: " + p.said);
    else if (!p.sound) row.found(has(p.said, "seal") && p.entries < told ? Fault::lost : Fault::unsound, how + ": " + p.said);
    // More than was acknowledged may be there, what the command under way writes: all of it or nothing.
    else if (p.entries < told) row.found(Fault::lost, how + ": " + std::to_string(p.entries) + " entries, acknowledged " + std::to_string(told));
    else if (p.entries != told && p.entries != next) row.found(Fault::unsound, how + ": " + std::to_string(p.entries) + " entries, neither " + std::to_string(told) + " nor " + std::to_string(next));
    else if (i % 6 == 0) {
      // It can be written on.
      const Ended e = run(Command{after, {"person", "add", "Nobody Else", "--book", "m.baybook"}, "2026-03-06T09:00:00.000Z"});
      const Proof q = prove(after, "m.baybook", seals[static_cast<std::size_t>(last)]);
      if (e.status != 0 || !q.sound || q.entries != p.entries + 1) row.found(Fault::unsound, how + ": it cannot be written on: " + e.err + q.said);
    }
  }
}

}  // namespace baybook::faults
