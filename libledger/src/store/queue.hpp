// The queue of those who write in one book or bring its log into the file, whatever program they are.
//
// SQLite lets writers nap and try again, each for itself: on a slow disk one that writes without a
// pause keeps the lock from all others for seconds. Here the one who came first goes first. Who waits
// or works holds read locks (fcntl, open file description) on bytes of the FOLDER of the book: a folder
// can be locked so without making a file, a lock goes with its holder however that ends, and the book's
// own file is never opened a second time, which would drop SQLite's locks on it.
//
//   byte base        somebody is at work: writes, or brings the log into the file
//   byte base + 1    that one writes, and will bring the log in when it closes
//   byte base + 2    somebody reads the file alone, without its log: it must not change now
//   base + 16 + t    somebody waits since t (microseconds of the machine's steady clock)
//
// `base` is made of the book's device and inode, so that books of one folder do not wait for each other.
// Where a folder cannot be opened or locked (a share, no right to read it), there is no queue, and
// SQLite's own lock decides alone, as it does against programs that know nothing of this.
#pragma once

#include <cstdint>
#include <string>
#include <sys/types.h>

namespace baybook::store {

class Queue {
 public:
  Queue() = default;
  Queue(const Queue&) = delete;
  Queue& operator=(const Queue&) = delete;
  ~Queue();

  /// Joins the queue of the book `file` in its folder. Nothing is locked yet.
  void open(const std::string& file) noexcept;

  /// How a wait ended.
  enum class Turn {
    mine,         ///< nobody else is at work until leave()
    none,         ///< there is no queue here
    in_vain,      ///< 5 s went by
    with_writer,  ///< somebody writes, and brings the log in at its own end
  };
  /// Waits for the turn to write, 5 s at most.
  [[nodiscard]] Turn wait_to_write() noexcept { return wait(kMostNaps, true); }
  /// Waits for the turn to bring the log into the file, but not at all behind somebody who writes.
  [[nodiscard]] Turn wait_to_settle() noexcept { return wait(0, false); }
  /// The same, and waits out writes of less than 50 ms.
  [[nodiscard]] Turn wait_long_to_settle() noexcept { return wait(kMostNaps / 100, false); }
  /// Gives the turn back; nothing without one.
  void leave() noexcept;

  /// Says that the file is read without its log, until the end. False when somebody is at work now.
  [[nodiscard]] bool read_file_alone() noexcept;
  void stop_reading_alone() noexcept;
  /// Whether somebody else reads the file without its log.
  [[nodiscard]] bool file_is_read_alone() const noexcept;
  /// Whether somebody else writes.
  [[nodiscard]] bool somebody_writes() const noexcept;

 private:
  enum Byte : off_t { at_work = 0, writes = 1, file_alone = 2, first_ticket = 16 };
  // Naps are counted, not timed: 5 s in short ones.
  static constexpr long kShortNap = 100'000;  // nanoseconds
  static constexpr long kMostNaps = 5'000'000'000 / kShortNap;
  [[nodiscard]] Turn wait(long behind_writer, bool to_write) noexcept;
  [[nodiscard]] bool lock(off_t byte) noexcept;
  void unlock(off_t byte) noexcept;
  [[nodiscard]] bool others(off_t first, off_t count) const noexcept;
  int fd_ = -1;
  off_t base_ = 0;
};

}  // namespace baybook::store
