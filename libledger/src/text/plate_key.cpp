#include <baybook/text.hpp>

#include "text/unicode.hpp"

namespace baybook {

namespace {

constexpr std::size_t longest = 12'000;

/// One pass. `stray` says whether bytes that are no UTF-8 were kept.
std::string key_of(std::string_view plate, bool& stray) {
  std::string key;
  const auto add = [&](const text::Piece& piece, std::string_view bytes) {
    if (!piece.valid) {
      stray = true;
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
  // Longer than any text that is stored before it was composed (clean.cpp): it is no plate of a book, and composing takes time with the
  // square of a run of marks.
  if (plate.size() > longest) {
    text::for_each_piece(plate, add);
    stray = false;
    return key;
  }
  // Composed first: a mark after its letter is then one character with one capital.
  const auto composed = text::nfc(plate);
  text::for_each_piece(composed ? std::string_view{*composed} : plate, add);
  // And again: a blank that was taken out may have stood between a letter and its mark.
  auto steady = text::nfc(key);
  return steady ? *std::move(steady) : key;
}

}  // namespace

std::string plate_key(std::string_view plate) {
  bool stray = false;
  std::string key = key_of(plate, stray);
  // Stray bytes on both sides of what was taken out may make a character together, and that one may have to go as well.
  for (std::size_t before = plate.size(); stray && key.size() < before;) {
    before = key.size();
    stray = false;
    key = key_of(std::string(key), stray);
  }
  return key;
}

}  // namespace baybook
