// A word as it is typed on a command line.
#include <baybook/text.hpp>

namespace baybook {

namespace {

// $'...' of bash and zsh, and of POSIX since 2024.
std::string in_escapes(std::string_view text) {
  constexpr char hex[] = "0123456789abcdef";
  std::string out = "$'";
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    if (byte < 0x20 || byte >= 0x7F) {
      out += "\\x";
      out += hex[byte >> 4U];
      out += hex[byte & 0xFU];
      continue;
    }
    if (c == '\'' || c == '\\') out += '\\';
    out += c;
  }
  return out + "'";
}

}  // namespace

std::string as_typed(std::string_view text) {
  const std::string word = visible(text);
  if (word != text) return in_escapes(text);
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
