// The lines of an exchange file that say what no entry can: all of them are looked for, the first
// ones are told.
#pragma once

#include "book/unfit.hpp"

#include <baybook/result.hpp>

#include <cstdint>
#include <map>
#include <string>
#include <string_view>

namespace baybook::book {

class BadLines {
 public:
  /// `name`: of the file, in front of each line.
  explicit BadLines(std::string_view name) : name_(name) {}
  /// What is wrong with the entry or text of a line; nothing when that is empty. `entry`: "entry
  /// 12@office, torque".
  void add(std::int64_t line, const std::string& entry, const std::vector<Unfit>& found);
  [[nodiscard]] bool none() const { return count_ == 0; }
  [[nodiscard]] Refusal refusal() const;

 private:
  std::string name_;
  std::map<std::int64_t, std::string> first_{};  ///< of each line, the first kMost of the file
  std::int64_t count_ = 0;
  bool newer_ = true;  ///< all of it may be a newer program's
};

}  // namespace baybook::book
