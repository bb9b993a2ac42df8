// Randomness as the caller brings it, looked at before anything rests on it.
//
// A salt that can be guessed gives the private text away that it stands before
// (log/commitment.hpp), and an identity that is not random is another book's too. Whether bytes are
// random nobody can see; that they are zeros, were not written at all or repeat themselves can be
// seen.
#pragma once

#include <baybook/book.hpp>

#include <array>
#include <cstdint>

namespace baybook::book {

class Chance {
 public:
  Chance(Random from) : from_(std::move(from)) {}  // NOLINT(google-explicit-constructor)
  /// Fills `size` bytes, 16 or more. Throws store::Failure(callback_failed) when the caller's
  /// function says that it failed, throws, or gives nothing random in kTries tries.
  void fill(std::uint8_t* bytes, std::size_t size);

  /// A good source fails one of these looks once in 2^50 draws; a second try is for that.
  static constexpr int kTries = 8;

 private:
  static constexpr std::size_t kLeast = 16;
  [[nodiscard]] bool seems_random(const std::uint8_t* bytes, std::size_t size) const;
  Random from_;
  std::array<std::uint8_t, kLeast> before_{};  // what the last draw began with
};

/// What is told of randomness that is none.
[[noreturn]] void no_chance(const std::string& what);

}  // namespace baybook::book
