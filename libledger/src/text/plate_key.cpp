#include <baybook/text.hpp>

#include "text/unicode.hpp"

namespace baybook {

std::string plate_key(std::string_view plate) {
  std::string key;
  const auto add = [&](const text::Piece& piece, std::string_view bytes) {
    if (!piece.valid) {
      key += bytes;
      return;
    }
    const std::int32_t code = piece.code;
    if (code == '-' || code == '.' || code == '/') return;
    // Invisible characters count as blanks: two plates that look the same are one plate.
    if (text::is_blank(code) || text::is_invisible(code)) return;
    // Simple mapping: the sharp s stays (UnicodeData.txt gives it no capital), so a key is as long as its plate.
    text::append_code_point(key, code == 0xDF ? code : utf8proc_toupper(code));
  };
  // Composed first: a mark after its letter is then one character with one capital.
  const auto composed = text::nfc(plate);
  text::for_each_piece(composed ? std::string_view{*composed} : plate, add);
  // And again: a blank that was taken out may have stood between a letter and its mark.
  auto steady = text::nfc(key);
  return steady ? *std::move(steady) : key;
}

}  // namespace baybook
