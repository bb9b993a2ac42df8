// Everything that a run does to the files of one folder, as a disk gets to know it.
#pragma once

#include "shop.hpp"
#include "traced.hpp"

#include <cstdint>
#include <map>
#include <string>
#include <vector>

namespace baybook::faults {

struct Event {
  enum class What { make, folder, write, truncate, sync, sync_folder, link, rename, unlink, acknowledged };
  What what;
  int file = -1;             ///< for make, write, truncate, sync, link
  std::string name, to;      ///< names below the folder
  std::uint64_t at = 0;      ///< of a write; the size of a truncation
  std::string bytes;
  int entry = 0;             ///< of an acknowledgement: which
};

/// Follows programs one after the other. A call that could change a file in a way it does not know is an error, never passed over.
class Recorder {
 public:
  explicit Recorder(std::string folder) : folder_(std::move(folder)) {}
  /// Runs it to its end. What it prints is recorded as acknowledgement `entry`.
  Ended run(const Command& command, int entry);
  [[nodiscard]] const std::vector<Event>& events() const { return events_; }

 private:
  struct Open {
    int file = -1;           ///< -1: a folder
    std::string name;
    std::uint64_t at = 0;
    bool append = false;
  };
  [[nodiscard]] std::string below(const Running& r, std::uint64_t name) const;  ///< "" when it is not in the folder
  [[nodiscard]] static bool passing(const std::string& name) { return name.ends_with("-shm"); }
  void entered(Running& r);
  void left(Running& r, int entry);

  std::string folder_;
  std::map<std::string, int> names_;
  std::map<int, Open> open_;
  std::vector<Event> events_;
  int files_ = 0;
  std::string bytes_;
  bool was_there_ = false;
};

/// What may be on the disk after a power cut right after the first `until` events.
class Disk {
 public:
  explicit Disk(const std::vector<Event>& events) : events_(events) {}
  void go_to(std::size_t until, bool syncs_count);
  enum class Way { nothing, everything, sectors, one, all_but_one };
  /// One of the many: what was synced, and of the rest what chance leaves, torn at sectors of 512 bytes.
  [[nodiscard]] Files image(Way way, std::mt19937& random) const;

 private:
  struct File {
    std::string safe;              ///< as of the last sync
    std::vector<std::size_t> pending;
  };
  static void change_names(std::map<std::string, int>& names, const Event& e);
  const std::vector<Event>& events_;
  std::size_t done_ = 0;
  std::map<int, File> files_;
  std::map<std::string, int> safe_names_;  ///< -1: a folder
  std::vector<std::size_t> pending_names_;
};

}  // namespace baybook::faults
