#include "log/kinds.hpp"

#include <array>

namespace baybook::log {

namespace {
constexpr std::array<std::string_view, 37> kNames = {
    "",          "opening",       "place",         "place-mark",
    "fluid",     "person",        "car",           "car-change",
    "job",       "job-close",     "odometer",      "code",
    "work",      "fit",           "torque",        "movement",
    "gauge",     "correction",    "firm",          "rules",
    "confirm",   "inspection",    "determination", "paper",
    "deadline",  "deadline-done", "close",         "schedule",
    "task-done", "put-off",       "recheck-done",  "hours",
    "settle",    "erasure",       "peer",          "filing",
    "circumstance"};
}

std::string_view name_of(Kind kind) noexcept {
  const auto i = static_cast<std::size_t>(kind);
  return i < kNames.size() ? kNames[i] : "";
}

std::optional<Kind> read_kind(std::string_view name) noexcept {
  for (std::size_t i = 1; i < kNames.size(); ++i) {
    if (kNames[i] == name) return static_cast<Kind>(i);
  }
  return std::nullopt;
}

}  // namespace baybook::log
