#include "log/canonical.hpp"

#include <nlohmann/json.hpp>

#include <array>
#include <charconv>
#include <cstdint>
#include <optional>
#include <utility>
#include <vector>

namespace baybook::log {
namespace {

// ---- Writing ------------------------------------------------------------------------------------------------------

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

// Bytes of the well-formed UTF-8 sequence at `at`, 0 if there is none (the Unicode Standard, table 3-7).
std::size_t sequence_bytes(std::string_view text, std::size_t at) noexcept {
  const auto byte = [&](std::size_t i) -> unsigned {
    return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U;
  };
  const auto within = [](unsigned b, unsigned low, unsigned high) { return b >= low && b <= high; };
  const auto tail = [&](std::size_t i) { return within(byte(i), 0x80, 0xBF); };
  const unsigned lead = byte(0);
  if (within(lead, 0xC2, 0xDF)) return tail(1) ? 2 : 0;
  if (within(lead, 0xE0, 0xEF)) {
    const unsigned low = lead == 0xE0 ? 0xA0 : 0x80;   // shorter forms exist below
    const unsigned high = lead == 0xED ? 0x9F : 0xBF;  // surrogates above
    return within(byte(1), low, high) && tail(2) ? 3 : 0;
  }
  if (within(lead, 0xF0, 0xF4)) {
    const unsigned low = lead == 0xF0 ? 0x90 : 0x80;   // shorter forms exist below
    const unsigned high = lead == 0xF4 ? 0x8F : 0xBF;  // beyond U+10FFFF above
    return within(byte(1), low, high) && tail(2) && tail(3) ? 4 : 0;
  }
  return 0;
}

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

// ---- Reading ------------------------------------------------------------------------------------------------------

Refusal unsound(std::string what, std::string why) {
  return {.code = Code::unsound, .what = std::move(what), .why = std::move(why), .instead = {}, .figures = {}};
}

// Builds a Value from the parser's events. Each handler returns false to stop; `refusal` then says why.
class Builder {
 public:
  using Json = nlohmann::json;

  std::optional<Refusal> refusal;
  Value result;

  bool null() { return refuse("null in a body", "a body has no nulls: what is not known is left out"); }
  bool boolean(bool yes) { return add(Value(yes)); }

  bool number_integer(Json::number_integer_t number) {
    // This event comes only for numbers with a minus sign, so that zero here was written -0, a second spelling of 0.
    if (number == 0) return refuse("the number -0 in a body", "zero has one spelling, 0");
    if (number < -max_whole) return out_of_range(std::to_string(number));
    return add(Value(std::int64_t{number}));
  }

  bool number_unsigned(Json::number_unsigned_t number) {
    if (number > static_cast<Json::number_unsigned_t>(max_whole)) return out_of_range(std::to_string(number));
    return add(Value(static_cast<std::int64_t>(number)));
  }

  // Also called for whole numbers that fit no 64-bit integer.
  bool number_float(Json::number_float_t, const std::string& spelling) {
    if (spelling.find_first_of(".eE") == std::string::npos) return out_of_range(spelling);
    return refuse("the number " + spelling + " in a body", "numbers in a body are whole, without an exponent");
  }

  bool string(std::string& text) { return add(Value(std::move(text))); }
  bool binary(Json::binary_t&) { return refuse("binary data in a body", "a body is text"); }

  bool start_object(std::size_t) { return open(true); }
  bool start_array(std::size_t) { return open(false); }

  bool key(std::string& name) {
    for (const char c : name) {
      if (static_cast<unsigned char>(c) >= 0x80) return refuse("the key \"" + name + "\" in a body", "keys are ASCII");
    }
    open_.back().key = std::move(name);
    return true;
  }

  bool end_object() {
    Value::Object members = std::move(open_.back().members);
    open_.pop_back();
    try {
      return add(Value::object(std::move(members)));
    } catch (const Malformed& twice) {
      return refuse(twice.what(), "each key of an object stands once");
    }
  }

  bool end_array() {
    Value::Array items = std::move(open_.back().items);
    open_.pop_back();
    return add(Value(std::move(items)));
  }

  bool parse_error(std::size_t byte, const std::string&, const Json::exception&) {
    return refuse("not JSON at byte " + std::to_string(byte), "a body is JSON in valid UTF-8 (RFC 8259)");
  }

 private:
  // Members are collected as they come and sorted once at the end: inserting each in order takes quadratic time on a large
  // object in falling order.
  struct Open {
    bool is_object;
    std::string key;
    Value::Object members;
    Value::Array items;
  };

  bool refuse(std::string what, std::string why) {
    refusal = unsound(std::move(what), std::move(why));
    return false;
  }

  bool out_of_range(const std::string& spelling) {
    return refuse("the number " + spelling + " in a body",
                  "numbers beyond 2^53 - 1 (9007199254740991) lose digits in common readers; amounts are strings");
  }

  bool open(bool is_object) {
    if (open_.size() >= static_cast<std::size_t>(max_depth)) {
      return refuse("a body with more than " + std::to_string(max_depth) + " levels", "no kind of entry nests that deep");
    }
    open_.push_back({is_object, {}, {}, {}});
    return true;
  }

  bool add(Value value) {
    if (open_.empty()) {
      result = std::move(value);
    } else if (Open& around = open_.back(); around.is_object) {
      around.members.emplace_back(std::move(around.key), std::move(value));
    } else {
      around.items.push_back(std::move(value));
    }
    return true;
  }

  std::vector<Open> open_;
};

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

Result<Value> parse_json(std::string_view text) {
  if (text.size() > max_document_bytes) {
    return unsound("a body of " + std::to_string(text.size()) + " bytes",
                   "a body has at most " + std::to_string(max_document_bytes) + " bytes");
  }
  // The parser takes a zero byte for the end and skips a byte order mark: bytes that would be hashed and not read.
  if (text.find('\0') != std::string_view::npos) return unsound("a zero byte in a body", "JSON has none (RFC 8259)");
  if (text.starts_with("\xEF\xBB\xBF")) return unsound("a body with a byte order mark", "JSON has none (RFC 8259, 8.1)");
  Builder builder;
  const bool whole = nlohmann::json::sax_parse(text.begin(), text.end(), &builder);
  if (builder.refusal) return *std::move(builder.refusal);
  if (!whole) return unsound("not JSON", "a body is JSON in valid UTF-8 (RFC 8259)");
  return std::move(builder.result);
}

Result<Value> parse_canonical(std::string_view text) {
  Result<Value> parsed = parse_json(text);
  if (!parsed) return parsed;
  // Never longer or deeper than what was parsed, and its text was checked, so this does not throw.
  const std::string expected = canonical(*parsed);
  if (expected == text) return parsed;
  std::size_t same = 0;
  while (same < expected.size() && same < text.size() && expected[same] == text[same]) ++same;
  return unsound("a body not in canonical form at byte " + std::to_string(same + 1),
                 "the digest is over the one spelling of RFC 8785");
}

}  // namespace baybook::log
