// What a body holds in place of a private value, and of a once-key.
#pragma once

#include "log/sha256.hpp"

#include <array>
#include <cstdint>
#include <string_view>

namespace baybook::log {

/// 32 random bytes, new for each value and erased with it: without them a plate could be found by trying all plates.
using Salt = std::array<std::uint8_t, 32>;

/// SHA-256 of: the field's name, one zero byte, the salt, the text (which must be in NFC already). Fixed for ever. The name has no
/// zero byte and the salt one length, so no two different triples have the same bytes. Throws std::invalid_argument for a name that
/// is empty or has a zero byte.
[[nodiscard]] Digest commit(std::string_view field, const Salt& salt, std::string_view nfc_text);

/// HMAC-SHA-256 (RFC 2104). A once-key is stored so under the book's secret of 32 random bytes, because a bare hash of a
/// guessable key tells what it was. Keys of any length work as the RFC says.
[[nodiscard]] Digest keyed(std::string_view key32, std::string_view message) noexcept;

}  // namespace baybook::log
