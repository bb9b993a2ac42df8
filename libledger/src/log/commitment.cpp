#include "log/commitment.hpp"

#include <algorithm>
#include <stdexcept>

namespace baybook::log {
namespace {

template <std::size_t N>
std::string_view bytes(const std::array<std::uint8_t, N>& array) noexcept {
  return {reinterpret_cast<const char*>(array.data()), array.size()};
}

}  // namespace

Digest commit(std::string_view field, const Salt& salt, std::string_view nfc_text) {
  if (field.empty() || field.find('\0') != std::string_view::npos) {
    throw std::invalid_argument("a commitment for a field without a proper name");
  }
  return Sha256().update(field).update(std::string_view("\0", 1)).update(bytes(salt)).update(nfc_text).finish();
}

Digest keyed(std::string_view key32, std::string_view message) noexcept {
  std::array<std::uint8_t, 64> block{};  // the key, filled with zeros to the block size of SHA-256
  if (key32.size() > block.size()) {
    const Digest shorter = sha256(key32);
    std::copy(shorter.begin(), shorter.end(), block.begin());
  } else {
    std::transform(key32.begin(), key32.end(), block.begin(), [](char c) { return static_cast<std::uint8_t>(c); });
  }
  std::array<std::uint8_t, 64> inner{};
  std::array<std::uint8_t, 64> outer{};
  for (std::size_t i = 0; i < block.size(); ++i) {
    inner[i] = static_cast<std::uint8_t>(block[i] ^ 0x36U);
    outer[i] = static_cast<std::uint8_t>(block[i] ^ 0x5CU);
  }
  const Digest inside = Sha256().update(bytes(inner)).update(message).finish();
  return Sha256().update(bytes(outer)).update(bytes(inside)).finish();
}

}  // namespace baybook::log
