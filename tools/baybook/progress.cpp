#include "progress.hpp"

#include <string>
#include <unistd.h>

namespace baybook::tool {

namespace {

void to_terminal(std::string_view text) {
  // Nothing depends on it: what cannot be shown is left out.
  (void)!::write(2, text.data(), text.size());
}

}  // namespace

ProgressLine::ProgressLine() : began_(std::chrono::steady_clock::now()), shown_(began_), wanted_(::isatty(2) == 1) {}

ProgressLine::~ProgressLine() {
  if (visible_) to_terminal("\r\x1b[K");
}

Progress ProgressLine::callback() {
  if (!wanted_) return {};
  return [this](std::string_view doing, std::int64_t done, std::int64_t of) { show(doing, done, of); };
}

void ProgressLine::show(std::string_view doing, std::int64_t done, std::int64_t of) {
  using namespace std::chrono_literals;
  const auto now = std::chrono::steady_clock::now();
  if (now - began_ < 1s || (visible_ && now - shown_ < 200ms) || doing.empty()) return;
  shown_ = now;
  visible_ = true;
  std::string line = "\r\x1b[K" + std::string(doing);
  if (of > 0) line += " " + std::to_string(done) + " of " + std::to_string(of);
  to_terminal(line + " ...");
}

}  // namespace baybook::tool
