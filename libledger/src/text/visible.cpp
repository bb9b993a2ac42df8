#include <baybook/text.hpp>

#include "text/unicode.hpp"

namespace baybook {

namespace {

constexpr std::size_t quoted_bytes = 60;  // leaves room for the sentence on a line of 80

void append_escape(std::string& out, std::int32_t byte) {
  constexpr char hex[] = "0123456789abcdef";
  const auto value = static_cast<std::uint32_t>(byte);
  out += "\\x";
  out += hex[(value >> 4U) & 0xFU];
  out += hex[value & 0xFU];
}

// Most stored text is plain: nothing to make visible, and one column a byte.
bool plain(std::string_view text) noexcept {
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte >= 0x7F) return false;
  }
  return true;
}

}  // namespace

std::string visible(std::string_view text) {
  if (plain(text)) return std::string(text);
  std::string out;
  out.reserve(text.size());
  text::for_each_piece(text, [&](const text::Piece& piece, std::string_view bytes) {
    if (!piece.valid || text::is_control(piece.code)) {
      append_escape(out, piece.code);
    } else if (text::is_separator(piece.code) || text::is_invisible(piece.code)) {
      out += text::code_point_name(piece.code);
    } else {
      out += bytes;
    }
  });
  return out;
}

Refusal printable(Refusal r) {
  for (std::string* text : {&r.what, &r.why, &r.instead}) {
    if (!plain(*text)) *text = visible(*text);
  }
  for (std::string& other : r.others) {
    if (!plain(other)) other = visible(other);
  }
  return r;
}

int display_width(std::string_view text) {
  if (plain(text)) return static_cast<int>(text.size());
  int columns = 0;
  text::for_each_piece(visible(text), [&](const text::Piece& piece, std::string_view) { columns += utf8proc_charwidth(piece.code); });
  return columns;
}

std::string text::quoted(std::string_view text) {
  const std::string_view kept = shortened(text, quoted_bytes);
  return '"' + visible(kept) + (kept.size() < text.size() ? "...\"" : "\"");
}

}  // namespace baybook
