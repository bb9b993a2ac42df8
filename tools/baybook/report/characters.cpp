#include "characters.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool::report {

namespace {

std::size_t length_at(std::string_view text, std::size_t at) {
  const auto c = static_cast<unsigned char>(text[at]);
  const std::size_t n = c < 0x80 ? 1 : c >= 0xf0 ? 4 : c >= 0xe0 ? 3 : 2;
  return std::min(n, text.size() - at);
}

}  // namespace

std::vector<std::size_t> starts(std::string_view text) {
  std::vector<std::size_t> out;
  for (std::size_t at = 0; at < text.size(); at += length_at(text, at)) out.push_back(at);
  out.push_back(text.size());
  return out;
}

std::vector<char32_t> code_points(std::string_view text) {
  std::vector<char32_t> out;
  out.reserve(text.size());
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t n = length_at(text, at);
    auto code = static_cast<char32_t>(static_cast<unsigned char>(text[at]));
    if (n > 1) {
      code &= n == 2 ? 0x1fU : n == 3 ? 0x0fU : 0x07U;
      for (std::size_t k = 1; k < n; ++k) code = code << 6U | (static_cast<unsigned char>(text[at + k]) & 0x3fU);
    }
    out.push_back(code);
    at += n;
  }
  return out;
}

bool joins_the_one_before(char32_t code) noexcept {
  // Combining Diacritical Marks and their supplements (The Unicode Standard, section 7.9), Hebrew and Arabic points.
  return (code >= 0x300 && code <= 0x36f) || (code >= 0x1ab0 && code <= 0x1aff) || (code >= 0x1dc0 && code <= 0x1dff) ||
         (code >= 0x20d0 && code <= 0x20ff) || (code >= 0xfe00 && code <= 0xfe0f) || (code >= 0xfe20 && code <= 0xfe2f) ||
         (code >= 0x591 && code <= 0x5bd) || (code >= 0x64b && code <= 0x65f) || (code >= 0x483 && code <= 0x489);
}

std::string code_point_name(char32_t code) {
  constexpr char hex[] = "0123456789ABCDEF";
  std::string digits;
  for (char32_t rest = code; rest != 0 || digits.size() < 4; rest >>= 4U) digits.insert(digits.begin(), hex[rest & 0xfU]);
  return "U+" + digits;
}

std::string markup(std::string_view text) {
  std::string out;
  const std::string safe = visible(text);
  out.reserve(safe.size());
  for (const char c : safe) {
    switch (c) {
      case '&': out += "&amp;"; break;
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '"': out += "&quot;"; break;
      case '\'': out += "&#39;"; break;
      default: out += c;
    }
  }
  return out;
}

bool is_number(std::string_view text) noexcept {
  if (!text.empty() && (text.front() == '-' || text.front() == '+')) text.remove_prefix(1);
  bool digit = false;
  bool point = false;
  for (const char c : text) {
    if (c >= '0' && c <= '9') digit = true;
    else if (c == '.' && !point && digit) point = true;
    else return false;
  }
  return digit && text.back() != '.';
}

std::string heading_of(const Column& column) { return column.unit.empty() ? column.heading : column.heading + " (" + column.unit + ")"; }

const std::string& machine_text(const Cell& cell) { return cell.exact.empty() ? cell.text : cell.exact; }

const std::vector<std::string>& machine_texts(const Bars::Series& series) { return series.exact.empty() ? series.texts : series.exact; }

std::vector<std::string> keys_of(const Table& table) {
  std::vector<std::string> out;
  for (const Column& c : table.columns) {
    const std::string wanted = c.key.empty() ? c.heading : c.key;
    std::string key = wanted;
    for (int n = 2; std::find(out.begin(), out.end(), key) != out.end(); ++n) key = wanted + "_" + std::to_string(n);
    out.push_back(key);
  }
  return out;
}

std::string title_of(const Report& report) { return report.amended ? report.title + " (AMENDED)" : report.title; }

std::string rules_line(const Report& report) {
  if (report.rules.empty()) return {};
  return "rules " + report.rules + (report.rules_digest.empty() ? "" : ", SHA-256 " + report.rules_digest);
}

std::string seal_line(const Report& report) {
  if (report.seal.empty()) return {};
  if (report.seals.size() < 2) return "seal " + report.seal;
  return "seal over " + std::to_string(report.seals.size()) + " installations " + report.seal;
}

}  // namespace baybook::tool::report
