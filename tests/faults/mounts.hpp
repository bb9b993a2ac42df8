// File systems of this process alone: nobody else sees them, and they are gone with it.
#pragma once

#include <string>
#include <vector>

namespace baybook::faults {

class Mounts {
 public:
  Mounts();
  ~Mounts();
  Mounts(const Mounts&) = delete;
  Mounts& operator=(const Mounts&) = delete;
  bool mount(const std::string& what, const std::string& where, const std::string& type, const std::string& options);
  bool remount(const std::string& where, const std::string& options);
  bool unmount(const std::string& where);
  /// A free loop device over that file, given back when it is not mounted any more.
  std::string loop_over(const std::string& file);
  void release_loops();  ///< once they are mounted
  [[nodiscard]] const std::string& why() const { return why_; }

 private:
  bool failed(const char* what);
  bool own_ = false;
  std::string why_;
  std::vector<std::string> mounted_;
  std::vector<int> held_;
};

}  // namespace baybook::faults
