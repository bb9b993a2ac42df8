#include "log/canonical.hpp"

#include "log/utf8.hpp"

#include <array>
#include <charconv>
#include <cstdint>
#include <utility>

namespace baybook::log {
namespace {

// What to do with a byte of text: 0 copy, 'x' after a backslash, 'u' as \u00xx, '8' check as UTF-8 and copy.
constexpr std::array<char, 256> treatment = [] {
  std::array<char, 256> table{};
  for (std::size_t c = 0; c < 0x20; ++c) table[c] = 'u';
  for (std::size_t c = 0x80; c < 0x100; ++c) table[c] = '8';
  // RFC 8785, 3.2.2.2: these seven have a short form, and only the short form is canonical.
  table['\b'] = 'b';
  table['\t'] = 't';
  table['\n'] = 'n';
  table['\f'] = 'f';
  table['\r'] = 'r';
  table['"'] = '"';
  table['\\'] = '\\';
  return table;
}();

void append_text(std::string& out, std::string_view text) {
  static constexpr char digits[] = "0123456789abcdef";
  out.push_back('"');
  std::size_t copied = 0;  // text before this is in `out`; plain stretches are copied in one go
  for (std::size_t i = 0; i < text.size();) {
    const auto c = static_cast<unsigned char>(text[i]);
    const char how = treatment[c];
    if (how == 0) {
      ++i;
      continue;
    }
    if (how == '8') {
      const std::size_t bytes = sequence_bytes(text, i);
      if (bytes == 0) throw Malformed("invalid UTF-8 in a text");
      i += bytes;
      continue;
    }
    out.append(text, copied, i - copied);
    out.push_back('\\');
    out.push_back(how);
    if (how == 'u') {
      out.append("00");
      out.push_back(digits[c >> 4U]);
      out.push_back(digits[c & 0xFU]);
    }
    copied = ++i;
  }
  out.append(text, copied, text.size() - copied);
  out.push_back('"');
}

void append_number(std::string& out, std::int64_t number) {
  std::array<char, 24> digits;  // a sign and 19 digits at most
  const auto end = std::to_chars(digits.data(), digits.data() + digits.size(), number).ptr;
  out.append(digits.data(), end);
}

// `depth` counts the objects and arrays around this value.
void append_value(std::string& out, const Value& value, int depth) {
  if (value.is_string()) return append_text(out, value.as_string());
  if (value.is_int()) return append_number(out, value.as_int());
  if (value.is_bool()) {
    out.append(value.as_bool() ? "true" : "false");
    return;
  }
  if (depth >= max_depth) throw Malformed("more than " + std::to_string(max_depth) + " levels");
  bool first = true;
  if (value.is_array()) {
    out.push_back('[');
    for (const Value& item : value.as_array()) {
      if (!std::exchange(first, false)) out.push_back(',');
      append_value(out, item, depth + 1);
    }
    out.push_back(']');
    return;
  }
  out.push_back('{');
  for (const auto& [key, item] : value.as_object()) {
    if (!std::exchange(first, false)) out.push_back(',');
    append_text(out, key);
    out.push_back(':');
    append_value(out, item, depth + 1);
  }
  out.push_back('}');
}

}  // namespace

std::string canonical(const Value& value) {
  std::string out;
  out.reserve(512);  // most bodies fit: one allocation
  append_value(out, value, 0);
  if (out.size() > max_document_bytes) {
    throw Malformed("a body of " + std::to_string(out.size()) + " bytes, at most " + std::to_string(max_document_bytes));
  }
  return out;
}

Result<Value> parse_canonical(std::string_view text) {
  Result<Value> parsed = parse_json(text);
  if (!parsed) return parsed;
  // Never longer or deeper than what was parsed, and its text was checked, so this does not throw.
  const std::string expected = canonical(*parsed);
  if (expected == text) return parsed;
  std::size_t same = 0;
  while (same < expected.size() && same < text.size() && expected[same] == text[same]) ++same;
  return Refusal{Code::unsound, "a body not in canonical form at byte " + std::to_string(same + 1), "the digest is over the one spelling of RFC 8785", {}, {}};
}

}  // namespace baybook::log
