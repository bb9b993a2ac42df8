// The chain over the entries of one installation, and its seal for paper.
//
// digest(n) = SHA-256 of: digest(n-1) as 64 lower-case hexadecimal digits, LF, body(n); no LF at the end. It is over text, so
// that it can be checked with nothing but sha256sum. Entries are numbered from 1; digest(0) is 64 zeros. Fixed for ever.
#pragma once

#include "log/sha256.hpp"

#include <baybook/result.hpp>

#include <cstdint>
#include <string>
#include <string_view>

namespace baybook::log {

/// digest(0): what the first entry of an installation is chained to.
inline constexpr Digest genesis{};

[[nodiscard]] Digest chain_digest(const Digest& previous, std::string_view body) noexcept;

/// How far an installation has come, short enough to be read out: TAG:NUMBER:first 16 digits of the digest, "bay:17:0a1b2c3d4e5f6071".
struct Seal {
  std::string tag;
  std::int64_t number = 0;
  std::string head;  ///< 16 lower-case hexadecimal digits
  friend bool operator==(const Seal&, const Seal&) = default;
};

/// Throws std::invalid_argument for what parse_seal would not read back.
[[nodiscard]] std::string seal(std::string_view tag, std::int64_t number, const Digest& digest);

/// Refuses with `unclear` anything that seal() does not write: the tag is 1 to 40 of a-z, 0-9 and `-`, beginning and ending with a
/// letter or digit; the number is 1 to 2^53 - 1 without leading zeros; then 16 lower-case hexadecimal digits.
[[nodiscard]] Result<Seal> parse_seal(std::string_view text);

}  // namespace baybook::log
