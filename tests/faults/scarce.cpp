// Not enough of something: memory, descriptors, size of a file, address space.
#include "calls.hpp"
#include "threats.hpp"

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <fstream>
#include <sys/mman.h>
#include <sys/resource.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace baybook::faults {

namespace {

void judge_scarce(Row& row, const Known& k, const std::string& folder, const Ended& e, const std::string& how) {
  const std::string what = k.name() + ", " + how;
  if (e.died()) row.found(Fault::died, what + ": signal " + std::to_string(e.signal) + " " + e.err);
  const After a = judge(row, k, folder, e, e.status == 0, how);
  if (!e.died() && e.status != 0) {
    if (e.err.empty()) row.found(Fault::silent, what + ": status " + std::to_string(e.status) + " without a word");
    if (e.status != 3 && e.status != 4) row.found(Fault::lies, what + ": status " + std::to_string(e.status) + ": " + e.err);
    if (a.stored && has(e.err, "nothing was written")) row.found(Fault::lies, what + ": said that nothing was written, and it is there: " + e.err);
    row.figure("refused", 1);
  } else {
    row.figure("done all the same", 1);
  }
  judge_retry(row, k, folder, a, how);
}

}  // namespace

void no_memory(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  const std::vector<std::string> verbs = !s.only.empty() ? std::vector<std::string>{s.only} : s.full ? std::vector<std::string>{"drain", "start", "job close", "correct", "paper add"} : std::vector<std::string>{"drain"};
  for (const std::string& verb : verbs) {
    for (const Known& k : shop.known(true, verb)) {
      // An allocation that fails, in a copy of the command that can be told which.
      if (!s.scarce.empty()) {
        const std::string counted = work.path() + "/count";
        shop.lay_out(true);
        Command c = k.command(shop.folder());
        c.program = s.scarce;
        c.variables = {{"SCARCE_COUNT", counted}};
        const Ended whole = run(c);
        long all = 0;
        std::ifstream(counted) >> all;
        if (whole.status != 0 || all < 100) {
          row.found(Fault::silent, k.name() + ": the copy of the command that counts its allocations does not count: " + std::to_string(all) + ", status " + std::to_string(whole.status) + " " + whole.err);
          continue;
        }
        row.figure("allocations of " + k.name(), all);
        const long most = s.full ? 700 : 40;  // spread over the run, the first and the last among them
        for (long i = 0; i < std::min(most, all); ++i) {
          const long nth = all <= most ? i + 1 : 1 + i * (all - 1) / (most - 1);
          for (const bool for_good : {false, true}) {
            shop.lay_out(true);
            c.variables = {{"SCARCE_NTH", std::to_string(nth)}};
            if (for_good) c.variables.emplace_back("SCARCE_FOR_GOOD", "1");
            const Ended e = run(c);
            row.ran();
            judge_scarce(row, k, shop.folder(), e, "allocation " + std::to_string(nth) + " fails" + (for_good ? " and all after it" : ""));
          }
        }
      }
      // The same from before main on: what is made there has nobody to catch what it throws.
      for (long nth = 1; !s.scarce.empty() && nth <= (s.full ? 200 : 24); ++nth) {
        for (const bool for_good : {false, true}) {
          shop.lay_out(true);
          Command c = k.command(shop.folder());
          c.program = s.scarce;
          c.variables = {{"SCARCE_EARLY", "1"}, {"SCARCE_NTH", std::to_string(nth)}};
          if (for_good) c.variables.emplace_back("SCARCE_FOR_GOOD", "1");
          const Ended e = run(c);
          row.ran();
          judge_scarce(row, k, shop.folder(), e,
                       "allocation " + std::to_string(nth) + " before main fails" +
                           (for_good ? " and all after it" : ""));
        }
      }
      // The kernel gives no more: what the command itself asks for, as it is shipped.
      int asks = 0;
      const auto run_with = [&](int nth, bool for_good) {
        shop.lay_out(true);
        Running r(k.command(shop.folder()), true);
        int n = 0;
        bool in_main = false;  // before that the C library sets itself up, and has nobody to tell
        std::uint64_t top = 0;
        for (Running::Stop stop = r.next(); stop != Running::Stop::ended; stop = r.next()) {
          const Call& call = r.call();
          if (stop == Running::Stop::exit) {
            if (call.number == SYS_brk) top = static_cast<std::uint64_t>(r.answer());
            continue;
          }
          in_main = in_main || (call.number == SYS_fcntl && call.arg[0] == 0);
          const bool more = (call.number == SYS_brk && call.arg[0] > top) || (call.number == SYS_mmap && (call.arg[3] & MAP_ANONYMOUS) != 0);
          if (!in_main || !more) continue;
          const int mine = n++;
          if (mine != nth && !(for_good && mine > nth)) continue;
          if (call.number == SYS_brk) r.pretend(static_cast<std::int64_t>(top));
          else r.fail(ENOMEM);
        }
        asks = std::max(asks, n);
        return r.result();
      };
      (void)run_with(-1, false);
      for (int nth = 0; nth < asks; ++nth) {
        for (const bool for_good : {false, true}) {
          const Ended e = run_with(nth, for_good);
          row.ran();
          judge_scarce(row, k, shop.folder(), e, "the kernel gives no memory, request " + std::to_string(nth) + (for_good ? " and after it" : ""));
        }
      }
    }
  }
  if (s.scarce.empty()) row.figure("without the copy that counts allocations", 1);
}

void few_files(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  for (const Known& k : shop.known(true, s.only)) {
    if (!s.full && s.only.empty() && !writes_otherwise(k)) continue;
    for (rlim_t most = 3; most <= 12; ++most) {
      shop.lay_out(true);
      const Ended e = run_limited(k.command(shop.folder()), RLIMIT_NOFILE, most);
      row.ran();
      judge_scarce(row, k, shop.folder(), e, "at most " + std::to_string(most) + " files open");
    }
  }
}

void size_limit(const Setting& s, Row& row) {
  const Work work;
  Shop shop(work, s.plan);
  for (const bool ripe : {false, true}) {
    for (const Known& k : shop.known(ripe, s.only)) {
      if (s.only.empty() && !k.c.is("drain") && !k.c.is("start") && !(s.full && writes_otherwise(k))) continue;
      // From less than the index beside the book needs to more than any of its files has.
      std::size_t longest = 0;
      for (const auto& [name, bytes] : shop.files(ripe)) longest = std::max(longest, bytes.size());
      const std::size_t step = s.full ? 4096 - 512 : k.c.makes.empty() ? 16 * 4096 - 512 : 24 * 4096 - 512;
      // What is said on standard error goes into a file as well here, and needs its bytes.
      for (std::size_t most = 1024; most < longest + 40 * 4096; most += step) {
        shop.lay_out(ripe);
        const Ended e = run_limited(k.command(shop.folder()), RLIMIT_FSIZE, most);
        row.ran();
        row.figure("file sizes", 1);
        judge_scarce(row, k, shop.folder(), e, "files of at most " + std::to_string(most) + " bytes");
      }
      // Address space, from what the loaded program has to what it needs.
      bool enough = false;
      int times = 0;
      for (rlim_t more = 0; !enough && times < 400; more += s.full ? 32'768 : 262'144) {
        shop.lay_out(ripe);
        Running r(k.command(shop.folder()), true);
        std::ifstream statm("/proc/" + std::to_string(r.pid()) + "/statm");
        rlim_t pages = 0;
        statm >> pages;
        // The C library's own start needs some: from main on it is the program's affair.
        bool in_main = false;
        for (Running::Stop stop = r.next(); stop != Running::Stop::ended && !in_main; stop = r.next()) in_main = stop == Running::Stop::entry && r.call().number == SYS_fcntl && r.call().arg[0] == 0;
        std::ifstream again("/proc/" + std::to_string(r.pid()) + "/statm");
        again >> pages;
        const rlimit both{pages * 4096 + more, pages * 4096 + more};
        if (::prlimit(r.pid(), RLIMIT_AS, &both, nullptr) != 0) return row.skip("limits cannot be set on this machine");
        r.let_go();
        const Ended e = r.wait();
        row.ran();
        row.figure("address spaces", 1);
        ++times;
        enough = e.status == 0;
        judge_scarce(row, k, shop.folder(), e, "address space of " + std::to_string(more) + " bytes more than at its start");
      }
    }
  }
}

}  // namespace baybook::faults
