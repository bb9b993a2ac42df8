#include "log/sha256.hpp"

#include <openssl/sha.h>

#include <new>
#include <type_traits>

// The low-level calls are deprecated in favour of the provider interface, which looks up its algorithms at start-up and
// allocates a context for every digest. The library is linked in statically, so these calls cannot vanish under us.
#pragma GCC diagnostic ignored "-Wdeprecated-declarations"

namespace baybook::log {
namespace {

// Copying a Sha256 copies these bytes.
static_assert(std::is_trivially_copyable_v<SHA256_CTX>);

SHA256_CTX* context(std::byte* room) noexcept { return std::launder(reinterpret_cast<SHA256_CTX*>(room)); }

}  // namespace

Sha256::Sha256() noexcept : state_() {
  static_assert(sizeof(SHA256_CTX) <= sizeof(state_) && alignof(SHA256_CTX) <= 8);
  SHA256_Init(::new (static_cast<void*>(state_.data())) SHA256_CTX);  // cannot fail: it only sets constants
}

Sha256& Sha256::update(std::string_view piece) noexcept {
  SHA256_Update(context(state_.data()), piece.data(), piece.size());
  return *this;
}

Digest Sha256::finish() noexcept {
  Digest digest;
  SHA256_Final(digest.data(), context(state_.data()));
  SHA256_Init(context(state_.data()));
  return digest;
}

Digest sha256(std::string_view message) noexcept { return Sha256().update(message).finish(); }

std::array<char, 64> hex_digits(const Digest& digest) noexcept {
  static constexpr char digits[] = "0123456789abcdef";
  std::array<char, 64> text;
  for (std::size_t i = 0; i < digest.size(); ++i) {
    text[2 * i] = digits[digest[i] >> 4U];
    text[2 * i + 1] = digits[digest[i] & 0xFU];
  }
  return text;
}

std::string hex(const Digest& digest) {
  const auto text = hex_digits(digest);
  return {text.begin(), text.end()};
}

std::optional<Digest> unhex(std::string_view text) noexcept {
  const auto value = [](char c) -> int {
    if (c >= '0' && c <= '9') return c - '0';
    if (c >= 'a' && c <= 'f') return c - 'a' + 10;
    return -1;
  };
  Digest digest;
  if (text.size() != 2 * digest.size()) return std::nullopt;
  for (std::size_t i = 0; i < digest.size(); ++i) {
    const int high = value(text[2 * i]);
    const int low = value(text[2 * i + 1]);
    if (high < 0 || low < 0) return std::nullopt;
    digest[i] = static_cast<std::uint8_t>(high * 16 + low);
  }
  return digest;
}

std::string hex_of(std::string_view bytes) {
  static constexpr char digits[] = "0123456789abcdef";
  std::string out;
  out.reserve(bytes.size() * 2);
  for (const char c : bytes) {
    out += digits[static_cast<unsigned char>(c) >> 4];
    out += digits[static_cast<unsigned char>(c) & 15];
  }
  return out;
}

}  // namespace baybook::log
