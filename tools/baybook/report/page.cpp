#include "page.hpp"

#include "characters.hpp"

#include <baybook/text.hpp>

namespace baybook::tool::report {

std::string page(std::string_view title, const std::string& style, const std::string& body) {
  return "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\"><head><meta charset=\"utf-8\"/>"
         "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; style-src 'unsafe-inline'; img-src data:\"/>"
         "<meta name=\"viewport\" content=\"width=device-width\"/><title>" +
         markup(title) + "</title>\n<style>\n" + style + "</style></head>\n<body>\n" + body + "</body></html>\n";
}

std::string css_string(std::string_view text) {
  constexpr char hex[] = "0123456789abcdef";
  std::string out = "\"";
  const auto escaped = [&](char32_t code) {
    out += '\\';
    // Six digits: what follows cannot be taken for one more (CSS Syntax, escaping).
    for (int shift = 20; shift >= 0; shift -= 4) out += hex[code >> static_cast<unsigned>(shift) & 0xfU];
  };
  while (true) {
    const std::size_t end = text.find('\n');
    for (const char32_t c : code_points(visible(text.substr(0, end)))) {
      const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == ' ' || c == ',' || c == '.' || c == ':' || c == '-';
      if (plain) out += static_cast<char>(c);
      else escaped(c);
    }
    if (end == std::string_view::npos) break;
    escaped(U'\n');
    text.remove_prefix(end + 1);
  }
  return out + "\"";
}

}  // namespace baybook::tool::report
