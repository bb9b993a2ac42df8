#include "store/queue.hpp"

#include "store/paths.hpp"

#include <cerrno>
#include <ctime>
#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

namespace baybook::store {

namespace {

// 2^34 microseconds are 4.7 hours: when the count begins anew, those who wait at that moment may stand
// in another order, no more.
constexpr int kTicketBits = 34;
constexpr int kRegionBits = kTicketBits + 1;
constexpr std::uint64_t kRegions = std::uint64_t{1} << (62 - kRegionBits);

// The first of the queue looks often; who stands behind it has time.
constexpr long kLongNap = 1'000'000;  // nanoseconds

off_t region_of(const struct stat& st) {
  // Mixes the bits (the finalizer of splitmix64, from memory): neighbouring inodes fall far apart.
  std::uint64_t x = st.st_ino + 0x9e3779b97f4a7c15U * (st.st_dev + 1);
  x = (x ^ x >> 30) * 0xbf58476d1ce4e5b9U;
  x = (x ^ x >> 27) * 0x94d049bb133111ebU;
  return static_cast<off_t>((x ^ x >> 31) % kRegions << kRegionBits);
}

off_t ticket_of_now() {
  timespec t{};
  ::clock_gettime(CLOCK_MONOTONIC, &t);
  const std::uint64_t us = static_cast<std::uint64_t>(t.tv_sec) * 1'000'000 +
                           static_cast<std::uint64_t>(t.tv_nsec) / 1000;
  return static_cast<off_t>(us & ((std::uint64_t{1} << kTicketBits) - 1));
}

}  // namespace

Queue::~Queue() {
  // Closing lets go of every lock.
  if (fd_ >= 0) ::close(fd_);
}

void Queue::open(const std::string& file) noexcept {
  struct stat st {};
  if (fd_ >= 0 || ::stat(file.c_str(), &st) != 0) return;
  base_ = region_of(st);
  fd_ = open_folder_of(file);
}

bool Queue::lock(off_t byte) noexcept {
  struct flock l {};
  l.l_type = F_RDLCK;
  l.l_whence = SEEK_SET;
  l.l_start = base_ + byte;
  l.l_len = 1;
  return ::fcntl(fd_, F_OFD_SETLK, &l) == 0;
}

void Queue::unlock(off_t byte) noexcept {
  struct flock l {};
  l.l_type = F_UNLCK;
  l.l_whence = SEEK_SET;
  l.l_start = base_ + byte;
  l.l_len = 1;
  (void)::fcntl(fd_, F_OFD_SETLK, &l);
}

bool Queue::others(off_t first, off_t count) const noexcept {
  if (count <= 0) return false;
  struct flock l {};
  l.l_type = F_WRLCK;  // would a write lock be in the way of anybody's read lock?
  l.l_whence = SEEK_SET;
  l.l_start = base_ + first;
  l.l_len = count;
  return ::fcntl(fd_, F_OFD_GETLK, &l) == 0 && l.l_type != F_UNLCK;
}

// `behind_writer`: the naps for which somebody who writes is waited for.
Queue::Turn Queue::wait(long behind_writer, bool to_write) noexcept {
  if (fd_ < 0) return Turn::none;
  const off_t ticket = ticket_of_now();
  if (!lock(first_ticket + ticket)) return Turn::none;
  Turn out = Turn::in_vain;
  for (long naps = 0; naps < kMostNaps;) {
    if (naps >= behind_writer && others(writes, 1)) {
      out = Turn::with_writer;
      break;
    }
    const bool first = !others(first_ticket, ticket);
    if (first && lock(at_work)) {
      // Two who came in the same moment may both take themselves for the first: then both step back.
      if (!others(at_work, 1)) {
        out = Turn::mine;
        break;
      }
      unlock(at_work);
    }
    const timespec nap{0, first ? kShortNap : kLongNap};
    ::nanosleep(&nap, nullptr);
    naps += first ? 1 : kLongNap / kShortNap;
  }
  if (out == Turn::mine && to_write && !lock(writes)) {
    unlock(at_work);
    out = Turn::none;
  }
  unlock(first_ticket + ticket);
  return out;
}

void Queue::leave() noexcept {
  if (fd_ < 0) return;
  unlock(writes);
  unlock(at_work);
}

bool Queue::read_file_alone() noexcept {
  if (fd_ < 0) return true;
  if (wait_to_settle() != Turn::mine) return false;
  const bool said = lock(file_alone);
  unlock(at_work);
  return said;
}

void Queue::stop_reading_alone() noexcept {
  if (fd_ >= 0) unlock(file_alone);
}

bool Queue::file_is_read_alone() const noexcept { return fd_ >= 0 && others(file_alone, 1); }
bool Queue::somebody_writes() const noexcept { return fd_ >= 0 && others(writes, 1); }

}  // namespace baybook::store
