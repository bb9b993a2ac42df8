// A clock that leaps, and a folder on a network share.
#include "calls.hpp"
#include "threats.hpp"

#include <algorithm>
#include <filesystem>
#include <sys/syscall.h>

namespace baybook::faults {

namespace {

std::string value_of(const std::string& json, const std::string& key) {
  const std::string mark = "\"" + key + "\":\"";
  const std::size_t at = json.find(mark);
  return at == std::string::npos ? "" : json.substr(at + mark.size(), json.find('"', at + mark.size()) - at - mark.size());
}

// A year in which no clock can stand is refused; the edges are named in <baybook/clock.hpp>.
bool can_be(const std::string& instant) { return instant >= "2025" && instant < "2100"; }

}  // namespace

void clock_leaps(const Setting& s, Row& row) {
  const Work work;
  const std::string folder = work.folder("clock");
  // As the clock of a machine may stand: right, ahead by years, at the epoch after its battery died, around changes of summer time, on leap
  // days, on both sides of the last second that fits 32 bits, and the same instant twice.
  const std::vector<std::string> instants = {
      "2026-03-05T09:40:00.000Z", "2026-03-05T09:40:00.000Z", "2026-03-05T09:39:59.999Z", "1970-01-01T00:00:00.000Z", "2026-03-29T00:59:59.999Z", "2026-03-29T01:00:00.000Z",
      "2026-10-25T00:30:00.000Z", "2026-10-25T01:30:00.000Z", "2028-02-28T23:59:59.000Z", "2028-02-29T12:00:00.000Z", "2028-03-01T00:00:00.000Z", "2000-02-29T12:00:00.000Z",
      "2038-01-19T03:14:07.000Z", "2038-01-19T03:14:08.000Z", "2026-03-06T09:00:00.000Z", "2100-02-28T23:59:59.000Z", "2100-03-01T00:00:00.000Z", "2027-01-01T00:00:00.000Z"};
  const std::vector<std::string> zones = s.full ? std::vector<std::string>{"Europe/Lisbon", "America/St_Johns", "Asia/Kathmandu", "Pacific/Apia", "Pacific/Kiritimati", "Australia/Lord_Howe", "America/Nuuk", "UTC"}
                                                 : std::vector<std::string>{"Europe/Lisbon", "Australia/Lord_Howe"};
  std::mt19937 random(s.seed);
  for (const std::string& zone : zones) {
    for (int round = 0; round < (s.full ? 4 : 1); ++round) {
      std::vector<std::string> order = instants;
      if (round > 0) std::shuffle(order.begin(), order.end(), random);
      write_files(folder, {});
      const auto type = [&](std::vector<std::string> args, const std::string& now) {
        if (args.front() != "start") args.insert(args.end(), {"--book", "m.baybook"});
        return run(Command{folder, args, now});
      };
      const std::string first = *std::find_if(order.begin(), order.end(), can_be);
      const Ended start = type(
          {"start", "m.baybook", "--site", "Saltmarsh Motor Works", "--tag", "bay", "--zone", zone},
          first);
      if (start.status != 0) {
        row.found(Fault::lies, zone + ", " + first + ": start: " + start.err);
        continue;
      }
      std::string recorded = first;
      std::string seal;
      int entries = 1;
      for (const std::string& now : order) {
        const Ended e = type({"person", "add", "Person " + std::to_string(entries), "--json"}, now);
        row.ran();
        const std::string how = zone + ", the clock at " + now;
        if (e.died()) row.found(Fault::died, how);
        if (e.status == 0) {
          if (!can_be(now)) row.found(Fault::lies, how + ": written in a year that cannot be");
          ++entries;
          const std::string mine = value_of(type({"entry", "last", "--json"}, now).out, "recorded");
          const bool noted = has(e.out, "clock-behind");
          if (mine < recorded) row.found(Fault::unsound, how + ": recorded " + mine + " after " + recorded);
          if (now < recorded && (!noted || mine != recorded)) row.found(Fault::silent, how + ": the clock ran backwards without a note: " + e.out);
          if (now >= recorded && noted) row.found(Fault::lies, how + ": a note that the clock is behind, and it is not");
          row.figure("with a note", noted ? 1 : 0);
          recorded = mine;
        } else if (!can_be(now) && e.status == 1 && has(e.out, "cannot be")) {
          row.figure("refused", 1);
        } else if (e.err.empty() && e.out.empty()) {
          row.found(Fault::silent, how);
        } else {
          row.found(Fault::lies, how + ": status " + std::to_string(e.status) + " " + e.out + e.err);
        }
        // The clock of whoever looks has no say in whether the book is sound.
        Command look{folder, {"prove", "--json", "--book", "m.baybook"}, now};
        if (!seal.empty()) look.args.insert(look.args.end(), {"--seal", seal});
        const Ended p = run(look);
        if (p.status != 0 || !has(p.out, "\"entries\":" + std::to_string(entries))) row.found(Fault::unsound, how + ": " + p.out + p.err);
        const std::size_t at = p.out.find("\"seals\":[\"");
        if (at != std::string::npos) seal = p.out.substr(at + 10, p.out.find('"', at + 10) - at - 10);
        // Every report can be asked for, whatever the clock says.
        for (const std::vector<std::string>& reading : {std::vector<std::string>{"due"}, {"levels"}, {"totals"}}) {
          const Ended r = type(reading, now);
          if (r.died() || (r.status != 0 && r.err.empty())) row.found(Fault::died, how + ": " + joined(reading) + " answered " + std::to_string(r.status));
        }
      }
    }
  }
}

void network_share(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  // The program is told by the kernel what it stands on; here it is told something else.
  const auto run_on = [&](const Command& c, std::uint64_t kind) {
    Running r(c, true);
    int asked = 0;
    for (Running::Stop stop = r.next(); stop != Running::Stop::ended; stop = r.next()) {
      if (stop != Running::Stop::exit || (r.call().number != SYS_statfs && r.call().number != SYS_fstatfs) || r.answer() != 0) continue;
      ++asked;
      r.write_memory(r.call().arg[1], std::string_view(reinterpret_cast<const char*>(&kind), sizeof kind));
    }
    return std::pair(r.result(), asked);
  };
  const Ended help = run(Command{shop.folder(), {"help", "start"}});
  if (!has(help.out, "network")) return row.skip("this program does not look at the kind of file system yet");
  struct Kind {
    const char* name;
    std::uint64_t magic;
    bool refused;
  };
  // linux/magic.h; cifs and smb2 from statfs(2).
  constexpr Kind kinds[] = {{"NFS", 0x6969, true}, {"SMB", 0xfe534d42, true}, {"CIFS", 0xff534d42, true}, {"9P", 0x01021997, true}, {"FUSE", 0x65735546, false}, {"ext4", 0xef53, false}};
  for (const Kind& kind : kinds) {
    const bool usual = std::string_view(kind.name) == "ext4";
    shop.lay_out(false);
    const auto [made, asked] = run_on(Command{shop.folder(), {"start", "new.baybook", "--site", "Fen Road Works", "--tag", "fen", "--zone", "Europe/Lisbon"}}, kind.magic);
    row.ran();
    const std::string how = std::string("start on ") + kind.name;
    if (asked == 0) row.found(Fault::silent, how + ": the program never asked");
    if (made.died()) row.found(Fault::died, how);
    if (kind.refused && (made.status == 0 || std::filesystem::exists(shop.folder() + "/new.baybook"))) row.found(Fault::lies, how + ": a book was made there");
    if (kind.refused && made.err.empty()) row.found(Fault::silent, how);
    if (!kind.refused && made.status != 0) row.found(Fault::lies, how + ": refused: " + made.err);
    shop.lay_out(false);
    const auto [opened, asked_too] = run_on(Command{shop.folder(), {"discard", "absorbent", "0.1kg", "--into", "drum-absorb", "--book", "m.baybook"}}, kind.magic);
    row.ran();
    if (opened.status != 0) row.found(Fault::lies, std::string("a book on ") + kind.name + " is refused: " + opened.err);
    const bool warned = has(opened.err, "network") || has(opened.err, "share") || has(opened.err, "FUSE") || has(opened.err, "locks");
    if (!usual && !warned) row.found(Fault::silent, std::string("a book on ") + kind.name + " is written without a word");
    if (usual && !opened.err.empty() && warned) row.found(Fault::lies, "a warning on a disk of this machine");
  }
}

}  // namespace baybook::faults
