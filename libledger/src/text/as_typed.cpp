// A word as it is typed on a command line.
#include <baybook/text.hpp>

namespace baybook {

std::string as_typed(std::string_view text) {
  const std::string word = visible(text);
  constexpr std::string_view plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.:@/+,=%";
  bool quote = word.empty();
  for (const char c : word) {
    const bool of_a_letter = (static_cast<unsigned char>(c) & 0x80U) != 0;
    if (!of_a_letter && plain.find(c) == std::string_view::npos) quote = true;
  }
  if (!quote) return word;
  std::string out = "\"";
  for (const char c : word) {
    if (c == '"' || c == '\\' || c == '$' || c == '`') out += '\\';
    out += c;
  }
  return out + "\"";
}

}  // namespace baybook
