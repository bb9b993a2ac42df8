#include "mounts.hpp"

#include <algorithm>
#include <cerrno>
#include <cstring>
#include <fcntl.h>
#include <linux/loop.h>
#include <sched.h>
#include <sys/ioctl.h>
#include <sys/mount.h>
#include <unistd.h>

namespace baybook::faults {

bool Mounts::failed(const char* what) {
  why_ = std::string(what) + ": " + std::strerror(errno);
  return false;
}

Mounts::Mounts() {
  static bool alone = false;  // once for the process
  if (!alone) {
    if (::unshare(CLONE_NEWNS) != 0) {
      failed("no mounts of its own");
      return;
    }
    if (::mount("none", "/", nullptr, MS_REC | MS_PRIVATE, nullptr) != 0) {
      failed("no private mounts");
      return;
    }
    alone = true;
  }
  own_ = true;
}

Mounts::~Mounts() {
  release_loops();
  std::reverse(mounted_.begin(), mounted_.end());
  for (const std::string& m : mounted_) ::umount2(m.c_str(), MNT_DETACH);
}

bool Mounts::mount(const std::string& what, const std::string& where, const std::string& type, const std::string& options) {
  if (!own_) return false;
  if (::mount(what.c_str(), where.c_str(), type.c_str(), 0, options.c_str()) != 0) return failed("mount");
  mounted_.push_back(where);
  return true;
}

bool Mounts::remount(const std::string& where, const std::string& options) {
  if (::mount("none", where.c_str(), nullptr, MS_REMOUNT, options.c_str()) != 0) return failed("remount");
  return true;
}

bool Mounts::unmount(const std::string& where) {
  if (::umount2(where.c_str(), 0) != 0) return failed("unmount");
  mounted_.erase(std::remove(mounted_.begin(), mounted_.end(), where), mounted_.end());
  return true;
}

std::string Mounts::loop_over(const std::string& file) {
  if (!own_) return "";
  const int control = ::open("/dev/loop-control", O_RDWR | O_CLOEXEC);
  if (control < 0) {
    failed("no loop devices");
    return "";
  }
  std::string out;
  const int backing = ::open(file.c_str(), O_RDWR | O_CLOEXEC);
  // Another one may take the free device in between.
  for (int attempt = 0; attempt < 20 && out.empty() && backing >= 0; ++attempt) {
    const int number = ::ioctl(control, LOOP_CTL_GET_FREE);
    if (number < 0) {
      failed("no free loop device");
      break;
    }
    const std::string device = "/dev/loop" + std::to_string(number);
    const int loop = ::open(device.c_str(), O_RDWR | O_CLOEXEC);
    if (loop < 0) {
      failed("the loop device cannot be opened");
      break;
    }
    loop_config how{};
    how.fd = static_cast<__u32>(backing);
    how.info.lo_flags = LO_FLAGS_AUTOCLEAR;
    if (::ioctl(loop, LOOP_CONFIGURE, &how) == 0) {
      out = device;
      // Held open until it is mounted, or it would be given back at once.
      held_.push_back(loop);
    } else {
      const bool taken = errno == EBUSY;
      failed("the loop device cannot be set up");
      ::close(loop);
      if (!taken) break;
    }
  }
  if (backing >= 0) ::close(backing);
  ::close(control);
  return out;
}

void Mounts::release_loops() {
  for (const int fd : held_) ::close(fd);
  held_.clear();
}

}  // namespace baybook::faults
