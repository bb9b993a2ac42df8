// SHA-256 (FIPS 180-4) and its hexadecimal spelling.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace baybook::log {

using Digest = std::array<std::uint8_t, 32>;

/// A message hashed piece by piece. A copy goes on by itself from where it was made.
class Sha256 {
 public:
  Sha256() noexcept;
  Sha256& update(std::string_view piece) noexcept;
  /// The digest of all pieces. The object then starts afresh.
  [[nodiscard]] Digest finish() noexcept;

 private:
  // Room for the state of the C library, whose header stays in the .cpp; the size is checked there.
  alignas(8) std::array<std::byte, 112> state_;
};

[[nodiscard]] Digest sha256(std::string_view message) noexcept;

/// 64 lower-case hexadecimal digits, without the heap.
[[nodiscard]] std::array<char, 64> hex_digits(const Digest& digest) noexcept;
[[nodiscard]] std::string hex(const Digest& digest);
/// The same for bytes of any number.
[[nodiscard]] std::string hex_of(std::string_view bytes);
/// Only 64 lower-case digits: a digest has one spelling.
[[nodiscard]] std::optional<Digest> unhex(std::string_view text) noexcept;

}  // namespace baybook::log
