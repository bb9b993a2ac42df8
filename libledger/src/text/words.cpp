#include "text/words.hpp"

#include "text/unicode.hpp"

#include <algorithm>

namespace baybook::text {

namespace {

bool is_ascii(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return static_cast<unsigned char>(c) < 0x80; });
}

}  // namespace

std::string compared(std::string_view text) {
  if (!is_ascii(text)) {
    if (auto folded = mapped(text, UTF8PROC_STABLE | UTF8PROC_DECOMPOSE | UTF8PROC_CASEFOLD | UTF8PROC_STRIPMARK)) return *std::move(folded);
  }
  std::string out(text);
  std::transform(out.begin(), out.end(), out.begin(), ascii_lower);
  return out;
}

bool occurs(std::string_view text, std::string_view word) {
  if (!is_ascii(text)) return compared(text).find(word) != std::string::npos;
  // Most texts: not copied.
  return std::search(text.begin(), text.end(), word.begin(), word.end(), [](char a, char b) { return ascii_lower(a) == b; }) != text.end() || word.empty();
}

Words::Words(std::string_view typed) {
  std::string word;
  const auto end = [&] {
    std::string w = compared(word);
    word.clear();
    if (w.empty()) return;
    words_.push_back(std::move(w));
    if (words_.back().size() > words_[longest_].size()) longest_ = words_.size() - 1;
  };
  for_each_piece(typed, [&](const Piece& piece, std::string_view bytes) {
    if (piece.valid && is_blank(piece.code)) end();
    else word += bytes;
  });
  end();
}

bool Words::all_in(const std::vector<std::string>& texts) const {
  return std::all_of(words_.begin(), words_.end(), [&](const std::string& word) {
    return std::any_of(texts.begin(), texts.end(), [&](const std::string& text) { return occurs(text, word); });
  });
}

}  // namespace baybook::text
