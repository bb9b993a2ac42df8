// A line on the terminal that says how far a long run is. A pipe or a file gets none of it.
#pragma once

#include <baybook/book.hpp>

#include <chrono>

namespace baybook::tool {

/// Shows itself after a second and goes away when it ends: what is printed afterwards begins on an empty line.
class ProgressLine {
 public:
  ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;
  ~ProgressLine();
  /// To be handed to the library; empty when nobody is at a terminal.
  [[nodiscard]] Progress callback();

 private:
  void show(std::string_view doing, std::int64_t done, std::int64_t of);
  std::chrono::steady_clock::time_point began_, shown_;
  bool wanted_;
  bool visible_ = false;
};

}  // namespace baybook::tool
