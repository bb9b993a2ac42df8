#include "book/chance.hpp"

#include "book/from_caller.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

/// So many equal bytes in a row are nothing that was drawn: a function that stopped in the middle.
constexpr std::size_t kRun = 8;

bool has_run(const std::uint8_t* bytes, std::size_t size) {
  std::size_t same = 1;
  for (std::size_t i = 1; i < size; ++i) {
    same = bytes[i] == bytes[i - 1] ? same + 1 : 1;
    if (same >= kRun) return true;
  }
  return false;
}

// The same few bytes over and over: each is the one `period` before it.
bool has_period(const std::uint8_t* bytes, std::size_t size) {
  for (std::size_t period = 1; period <= size / 2; ++period) {
    if (std::equal(bytes + period, bytes + size, bytes)) return true;
  }
  return false;
}

}  // namespace

void no_chance(const std::string& what) {
  throw store::Failure(Code::callback_failed, what,
                       "a function that reads the randomness of the system, and says false when it "
                       "cannot");
}

bool Chance::seems_random(const std::uint8_t* bytes, std::size_t size) const {
  return !has_run(bytes, size) && !has_period(bytes, size) &&
         !std::equal(before_.begin(), before_.end(), bytes);
}

void Chance::fill(std::uint8_t* bytes, std::size_t size) {
  if (!from_) no_chance("there is no randomness: the book was opened with an empty function");
  for (int n = 0; n < kTries; ++n) {
    // What is not written stays nothing, and is seen.
    std::fill_n(bytes, size, std::uint8_t{0});
    if (!from_caller("the function that gives randomness", [&] { return from_(bytes, size); }))
      no_chance("there is no randomness: the function that gives it says that it failed");
    if (!seems_random(bytes, size)) continue;
    std::copy_n(bytes, kLeast, before_.begin());
    return;
  }
  no_chance("there is no randomness: " + std::to_string(kTries) +
            " times in a row the bytes were zeros or repeated themselves");
}

}  // namespace baybook::book
