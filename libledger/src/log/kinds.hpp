// Kinds of entries. The numbers are in the file and the names are in hashed bodies: both are fixed for ever.
#pragma once

#include <cstdint>
#include <optional>
#include <string_view>

namespace baybook::log {

enum class Kind : std::int64_t {
  opening = 1,
  place = 2,
  place_mark = 3,
  fluid = 4,
  person = 5,
  car = 6,
  car_change = 7,
  job = 8,
  job_close = 9,
  odometer = 10,
  code = 11,
  work = 12,
  fit = 13,
  torque = 14,
  movement = 15,
  gauge = 16,
  correction = 17,
  firm = 18,
  rules = 19,
  confirm = 20,
  inspection = 21,
  determination = 22,
  paper = 23,
  deadline = 24,
  deadline_done = 25,
  close = 26,
  schedule = 27,
  task_done = 28,
  put_off = 29,
  recheck_done = 30,
  hours = 31,
  settle = 32,
  erasure = 33,
  peer = 34,
  filing = 35,
  circumstance = 36,
};
inline constexpr std::int64_t kLastKind = 36;

[[nodiscard]] std::string_view name_of(Kind kind) noexcept;
[[nodiscard]] std::optional<Kind> read_kind(std::string_view name) noexcept;

/// Whether an entry of this kind moves fluid or solids, so that its place in effect order matters.
[[nodiscard]] constexpr bool moves(Kind k) noexcept {
  return k == Kind::movement || k == Kind::gauge || k == Kind::fit || k == Kind::job_close;
}

}  // namespace baybook::log
