// The faults that a book must outlive, one after the other: what was run, and what was lost.
//   baybook_faults PROGRAM PLAN [--full] [--seed N] [--only VERB] [--json FILE] [--scarce PROGRAM] [--list] [THREAT...]
// Ends with 0 when nothing was found, 1 when something was, 77 when every threat asked for had to be skipped.
#include "threats.hpp"

#include <cstdio>
#include <cstdlib>
#include <exception>
#include <fstream>

using namespace baybook::faults;

namespace {

struct Threat {
  const char* name;     ///< as it is asked for
  const char* threat;   ///< as it stands in the table
  const char* promise;
  void (*run)(const Setting&, Row&);
  bool traced;          ///< it stops the command at its system calls
};

constexpr Threat kThreats[] = {
    {"verbs", "a new verb", "every verb that writes is tried here", every_verb_is_known, false},
    {"killed", "killed at a system call", "an entry reported as stored is there; any other is whole or absent", killed_at_every_call, true},
    {"killed-two", "two writers killed at a random moment", "the same", killed_at_random, false},
    {"disk", "EIO, ENOSPC, EDQUOT at a write, sync, truncate, open", "never done for what is not stored; never silent; sound afterwards", disk_errors, true},
    {"full", "a small disk fills up", "the same", disk_fills_up, false},
    {"printing", "the answer cannot be printed", "status 3, and the number of what is stored", nothing_can_be_printed, false},
    {"power", "power cut, modelled by sectors", "an entry reported as stored is there; the book is sound", power_cut_model, true},
    {"power-ext4", "power cut, ext4 shut down mid-write", "the same", power_cut_ext4, true},
    {"power-xfs", "power cut, xfs shut down mid-write", "the same", power_cut_xfs, true},
    {"writers", "8 writers and 2 readers", "nothing lost or doubled, no gap; readers never fail", many_writers, false},
    {"lock", "another program holds the lock", "status 4, and nothing was written; readers read on", lock_held, true},
    {"memory", "no memory", "an error, no crash; the book is sound", no_memory, true},
    {"files", "few files", "an error, no crash; the book is sound", few_files, true},
    {"size", "size limits of files and of memory", "an error, no crash; the book is sound", size_limit, true},
    {"clock", "the clock leaps", "the chain's order is the number; no recorded time runs backwards without a note", clock_leaps, false},
    {"share", "network share", "refused for a new book, a warning for one that is there", network_share, true},
};

}  // namespace

int main(int count, char** values) {
  Setting setting;
  std::vector<std::string> wanted;
  std::string json;
  std::vector<std::string> given;
  for (int i = 1; i < count; ++i) {
    const std::string a = values[i];
    const auto value = [&]() -> std::string { return i + 1 < count ? values[++i] : ""; };
    if (a == "--full") setting.full = true;
    else if (a == "--blind") setting.blind = true;
    else if (a == "--seed") setting.seed = static_cast<std::uint32_t>(std::strtoul(value().c_str(), nullptr, 10));
    else if (a == "--only") setting.only = value();
    else if (a == "--json") json = value();
    else if (a == "--scarce") setting.scarce = value();
    else if (a == "--list") {
      for (const Threat& t : kThreats) std::printf("%s\n", t.name);
      return 0;
    } else given.push_back(a);
  }
  if (given.size() < 2) {
    std::fprintf(stderr, "baybook_faults PROGRAM PLAN [--full] [--seed N] [--only VERB] [--json FILE] [--scarce PROGRAM] [--list] [THREAT...]\n");
    return 2;
  }
  program = given[0];
  setting.plan = given[1];
  wanted.assign(given.begin() + 2, given.end());
  for (const std::string& w : wanted) {
    bool there = false;
    for (const Threat& t : kThreats) there = there || w == t.name;
    if (!there) {
      std::fprintf(stderr, "there is no threat named %s; --list names them\n", w.c_str());
      return 2;
    }
  }
  const std::string no_trace = cannot_trace();
  std::fputs(Row::head().c_str(), stdout);
  bool good = true;
  bool all_skipped = true;
  for (const Threat& t : kThreats) {
    bool asked = wanted.empty();
    for (const std::string& w : wanted) asked = asked || w == t.name;
    if (!asked) continue;
    Row row(t.threat, t.promise);
    if (t.traced && !no_trace.empty()) row.skip(no_trace);
    else {
      try {
        t.run(setting, row);
      } catch (const std::exception& e) {
        std::fprintf(stderr, "%s: %s\n", t.name, e.what());
        good = false;
      }
    }
    std::fputs(row.text().c_str(), stdout);
    std::fflush(stdout);
    if (!json.empty()) std::ofstream(json, std::ios::app) << row.json();
    good = good && row.good();
    all_skipped = all_skipped && row.skipped();
  }
  if (!good) return 1;
  return all_skipped ? 77 : 0;
}
