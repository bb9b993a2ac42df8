// A power cut of a real file system: mounted over a loop device and shut down, its journal unwritten, at a system call of the command.
#include "calls.hpp"
#include "mounts.hpp"
#include "threats.hpp"

#include <cerrno>
#include <cstdlib>
#include <cstring>
#include <fcntl.h>
#include <filesystem>
#include <fstream>
#include <sys/ioctl.h>
#include <sys/syscall.h>
#include <unistd.h>

namespace baybook::faults {

namespace {

// EXT4_IOC_SHUTDOWN and XFS_IOC_GOINGDOWN are one number, and so are their flags: no flush of the log. (linux/fs/ext4/ext4.h, xfs_fs.h)
constexpr unsigned long kGoingDown = _IOR('X', 125, std::uint32_t);
constexpr std::uint32_t kNoLogFlush = 2;

bool shut_down(const std::string& folder) {
  const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  if (fd < 0) return false;
  std::uint32_t how = kNoLogFlush;
  const bool done = ::ioctl(fd, kGoingDown, &how) == 0;
  ::close(fd);
  return done;
}

bool sync_all(const std::string& folder) {
  const int fd = ::open(folder.c_str(), O_RDONLY | O_DIRECTORY | O_CLOEXEC);
  const bool done = fd >= 0 && ::syncfs(fd) == 0;
  if (fd >= 0) ::close(fd);
  return done;
}

void power_cut(const Setting& s, Row& row, const std::string& type, const std::string& make, std::size_t megabytes) {
  const Work work;
  Shop shop(work, s.plan);
  const std::string image = work.path() + "/disk";
  { std::ofstream(image, std::ios::binary); }
  std::filesystem::resize_file(image, megabytes << 20);
  if (std::system((make + " " + image + " >" + work.path() + "/made 2>&1").c_str()) != 0) return row.skip("no " + type + " can be made here: " + make);
  Mounts mounts;
  const std::string device = mounts.loop_over(image);
  if (device.empty()) return row.skip("no loop device: " + mounts.why());
  const std::string folder = work.folder("disk-mounted");
  const auto mount = [&] { return mounts.mount(device, folder, type, ""); };
  if (!mount()) return row.skip(type + " cannot be mounted here: " + mounts.why());
  const std::string shop_folder = folder + "/shop";
  for (const bool ripe : {true, false}) {
    for (const Known& k : shop.known(ripe, s.only)) {
      if (s.only.empty() && !writes_otherwise(k)) continue;
      shop.lay_out(ripe);
      int calls = 0;
      {
        Running r(k.command(shop.folder()), true);
        for (Running::Stop stop = r.next(); stop != Running::Stop::ended; stop = r.next()) calls += stop == Running::Stop::entry && (changes_something(r.call()) || prints(r.call()) || r.call().number == SYS_exit_group);
      }
      const int step = s.full ? (calls > 150 ? 4 : 1) : calls > 150 ? 60 : 14;
      for (int nth = s.full ? 0 : static_cast<int>(s.seed) % step; nth < calls; nth += step) {
        std::filesystem::create_directories(shop_folder);
        write_files(shop_folder, shop.files(ripe));
        if (!sync_all(folder)) return row.skip(type + " cannot be synced here");
        Ended e;
        {
          Running r(k.command(shop_folder), true);
          int n = 0;
          bool down = false;
          for (Running::Stop stop = r.next(); stop != Running::Stop::ended; stop = r.next()) {
            if (stop != Running::Stop::entry || !(changes_something(r.call()) || prints(r.call()) || r.call().number == SYS_exit_group) || n++ != nth) continue;
            down = shut_down(folder);
            if (!down) break;
          }
          if (!down) {
            r.kill();
            return row.skip(type + " cannot be shut down here: " + std::strerror(errno));
          }
          e = r.result();  // what it says after the cut nobody reads; what it said before, somebody may have
        }
        // The receipt counts whenever it came: the command runs on over a dead disk, and must not say "done" for what did not reach it.
        if (!mounts.unmount(folder) || !mount()) {
          row.found(Fault::unsound, type + " did not come back: " + mounts.why());
          return;
        }
        row.ran();
        const std::string how = type + " shut down at call " + std::to_string(nth) + (ripe ? ", log left beside" : "");
        if (e.died()) row.found(Fault::died, k.name() + ", " + how + ": signal " + std::to_string(e.signal));
        if (!e.died() && e.status != 0 && e.err.empty()) row.found(Fault::silent, k.name() + ", " + how);
        if (e.status == 0) row.figure("acknowledged", 1);
        const After a = judge(row, k, shop_folder, e, e.status == 0, how);
        if (a.stored) row.figure("stored", 1);
        judge_retry(row, k, shop_folder, a, how);
      }
    }
    if (!s.full) break;
  }
}

}  // namespace

void power_cut_ext4(const Setting& s, Row& row) { power_cut(s, row, "ext4", "mkfs.ext4 -q -F", 64); }
void power_cut_xfs(const Setting& s, Row& row) { power_cut(s, row, "xfs", "mkfs.xfs -q -f", 320); }

}  // namespace baybook::faults
