// UTF-8 in and out, code point by code point. Only this folder includes utf8proc.
#pragma once

#include <utf8proc.h>

#include <cstdint>
#include <cstdlib>
#include <memory>
#include <new>
#include <optional>
#include <string>
#include <string_view>

namespace baybook::text {

/// One code point of a text, or one byte that belongs to none.
struct Piece {
  std::int32_t code;  ///< the code point; for a stray byte its value, 128 to 255
  std::size_t bytes;  ///< 1 to 4
  bool valid;
};

/// The piece at the front of `rest`, which is not empty. utf8proc refuses what RFC 3629, section 3 forbids: overlong forms,
/// surrogates, anything past U+10FFFF, cut sequences.
[[nodiscard]] inline Piece first_piece(std::string_view rest) noexcept {
  const auto* bytes = reinterpret_cast<const utf8proc_uint8_t*>(rest.data());
  // Four bytes hold any code point; a longer count would only risk the signed size type.
  const auto count = static_cast<utf8proc_ssize_t>(rest.size() < 4 ? rest.size() : 4);
  utf8proc_int32_t code = -1;
  const utf8proc_ssize_t taken = utf8proc_iterate(bytes, count, &code);
  if (taken <= 0 || code < 0) return Piece{bytes[0], 1, false};
  return Piece{code, static_cast<std::size_t>(taken), true};
}

/// Calls `each(piece, its bytes)` from front to back.
template <class Each>
void for_each_piece(std::string_view text, Each&& each) {
  while (!text.empty()) {
    const Piece piece = first_piece(text);
    each(piece, text.substr(0, piece.bytes));
    text.remove_prefix(piece.bytes);
  }
}

inline void append_code_point(std::string& out, std::int32_t code) {
  utf8proc_uint8_t bytes[4];
  const utf8proc_ssize_t count = utf8proc_encode_char(code, bytes);
  for (utf8proc_ssize_t i = 0; i < count; ++i) out += static_cast<char>(bytes[i]);
}

/// `text` through utf8proc_map; nothing when it is not UTF-8.
[[nodiscard]] inline std::optional<std::string> mapped(std::string_view text, int options) {
  struct Free {
    void operator()(utf8proc_uint8_t* p) const noexcept { std::free(p); }
  };
  if (text.empty()) return std::string{};
  utf8proc_uint8_t* raw = nullptr;
  const utf8proc_ssize_t size = utf8proc_map(reinterpret_cast<const utf8proc_uint8_t*>(text.data()),
                                             static_cast<utf8proc_ssize_t>(text.size()), &raw,
                                             static_cast<utf8proc_option_t>(options));
  const std::unique_ptr<utf8proc_uint8_t, Free> owner{raw};
  if (size == UTF8PROC_ERROR_NOMEM) throw std::bad_alloc{};
  if (size < 0) return std::nullopt;
  return std::string(reinterpret_cast<const char*>(raw), static_cast<std::size_t>(size));
}

/// Unicode Normalization Form C (UAX #15).
[[nodiscard]] inline std::optional<std::string> nfc(std::string_view text) {
  return mapped(text, UTF8PROC_STABLE | UTF8PROC_COMPOSE);
}

/// C0, DEL and C1: The Unicode Standard, section 23.1.
[[nodiscard]] constexpr bool is_control(std::int32_t code) noexcept {
  return (code >= 0 && code < 0x20) || (code >= 0x7F && code < 0xA0);
}

/// A space of any width (category Zs): a no-break space pasted from a web page is as empty as the one of the space bar.
[[nodiscard]] inline bool is_blank(std::int32_t code) noexcept { return utf8proc_category(code) == UTF8PROC_CATEGORY_ZS; }

/// Line and paragraph separator: The Unicode Standard, section 5.8.
[[nodiscard]] constexpr bool is_separator(std::int32_t code) noexcept { return code == 0x2028 || code == 0x2029; }

/// Characters that change how others are shown and show nothing themselves: bidirectional controls, joiners, zero-width
/// spaces, soft hyphen, tags (category Cf). Not the Arabic and Indic signs that are Cf and yet have a shape
/// (Prepended_Concatenation_Mark, UAX #44).
[[nodiscard]] inline bool is_invisible(std::int32_t code) noexcept {
  if (utf8proc_category(code) != UTF8PROC_CATEGORY_CF) return false;
  const bool has_shape = (code >= 0x0600 && code <= 0x0605) || code == 0x06DD || code == 0x070F || code == 0x0890 ||
                         code == 0x0891 || code == 0x08E2 || code == 0x110BD || code == 0x110CD;
  return !has_shape;
}

/// `text` without blanks at its ends.
[[nodiscard]] inline std::string_view without_outer_blanks(std::string_view text) {
  std::size_t begin = text.size();
  std::size_t end = 0;
  std::size_t at = 0;
  for_each_piece(text, [&](const Piece& piece, std::string_view bytes) {
    if (!piece.valid || !is_blank(piece.code)) {
      if (begin == text.size()) begin = at;
      end = at + bytes.size();
    }
    at += bytes.size();
  });
  return begin < end ? text.substr(begin, end - begin) : std::string_view{};
}

/// At most `most` bytes of `text`, cut between code points.
[[nodiscard]] inline std::string_view shortened(std::string_view text, std::size_t most) {
  std::size_t kept = 0;
  while (kept < text.size()) {
    const std::size_t next = first_piece(text.substr(kept)).bytes;
    if (kept + next > most) break;
    kept += next;
  }
  return text.substr(0, kept);
}

/// Only a to z: what a code or a VIN is made of must not depend on a locale.
[[nodiscard]] constexpr char ascii_upper(char c) noexcept { return c >= 'a' && c <= 'z' ? static_cast<char>(c - 'a' + 'A') : c; }
[[nodiscard]] constexpr char ascii_lower(char c) noexcept { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; }
[[nodiscard]] constexpr bool ascii_digit(char c) noexcept { return c >= '0' && c <= '9'; }

/// "U+202E": four hex digits at least, as The Unicode Standard, appendix A writes them.
[[nodiscard]] inline std::string code_point_name(std::int32_t code) {
  constexpr char hex[] = "0123456789ABCDEF";
  std::string digits;
  for (auto rest = static_cast<std::uint32_t>(code); rest != 0 || digits.size() < 4; rest >>= 4U) {
    digits.insert(digits.begin(), hex[rest & 0xFU]);
  }
  return "U+" + digits;
}

/// `text` in quotes for a message: visible, and no longer than a line.
[[nodiscard]] std::string quoted(std::string_view text);

}  // namespace baybook::text
