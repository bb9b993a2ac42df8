// Bodies read back: RFC 8259's grammar, less what a body does not have.
//
// Our own, because the form is ours: a reader made for any JSON spends most of its time on what a body cannot hold. The tests
// hold it against a general-purpose reader over many documents, whole and damaged.
#include "log/canonical.hpp"
#include "log/utf8.hpp"

#include <baybook/text.hpp>

#include <charconv>
#include <optional>

namespace baybook::log {

namespace {

/// What a refusal quotes of a body: as long as a line, and safe for a terminal.
std::string shown(std::string_view text) { return visible(text.substr(0, 60)) + (text.size() > 60 ? "..." : ""); }

Refusal unsound(std::string what, std::string why) { return Refusal{Code::unsound, std::move(what), std::move(why), {}, {}}; }

bool blank(char c) noexcept { return c == ' ' || c == '\t' || c == '\n' || c == '\r'; }
bool digit(char c) noexcept { return c >= '0' && c <= '9'; }

int hex_digit(char c) noexcept {
  if (digit(c)) return c - '0';
  if (c >= 'a' && c <= 'f') return c - 'a' + 10;
  if (c >= 'A' && c <= 'F') return c - 'A' + 10;
  return -1;
}

void append_utf8(std::string& out, unsigned point) {
  const auto put = [&out](unsigned byte) { out.push_back(static_cast<char>(byte)); };
  if (point < 0x80) {
    put(point);
  } else if (point < 0x800) {
    put(0xC0 | point >> 6);
    put(0x80 | (point & 0x3F));
  } else if (point < 0x10000) {
    put(0xE0 | point >> 12);
    put(0x80 | (point >> 6 & 0x3F));
    put(0x80 | (point & 0x3F));
  } else {
    put(0xF0 | point >> 18);
    put(0x80 | (point >> 12 & 0x3F));
    put(0x80 | (point >> 6 & 0x3F));
    put(0x80 | (point & 0x3F));
  }
}

// One pass over the text. Each member answers false to stop; `refusal` then says why.
class Reader {
 public:
  explicit Reader(std::string_view text) : begin_(text.data()), at_(text.data()), end_(text.data() + text.size()) {}

  std::optional<Refusal> refusal;

  bool document(Value& out) {
    skip();
    if (!value(out, 0)) return false;
    skip();
    return at_ == end_ || not_json();
  }

 private:
  bool refuse(std::string what, std::string why) {
    refusal = unsound(std::move(what), std::move(why));
    return false;
  }
  bool not_json() { return refuse("not JSON at byte " + std::to_string(at_ - begin_ + 1), "a body is JSON in valid UTF-8 (RFC 8259)"); }

  void skip() noexcept {
    while (at_ != end_ && blank(*at_)) ++at_;
  }
  bool word(std::string_view wanted) noexcept {
    if (static_cast<std::size_t>(end_ - at_) < wanted.size() || std::string_view(at_, wanted.size()) != wanted) return false;
    at_ += wanted.size();
    return true;
  }

  // `depth` counts the objects and arrays around this value.
  bool value(Value& out, int depth) {
    if (at_ == end_) return not_json();
    switch (*at_) {
      case '"': {
        std::string text;
        if (!string(text)) return false;
        out = Value(std::move(text));
        return true;
      }
      case '{': return depth < max_depth ? object(out, depth + 1) : too_deep();
      case '[': return depth < max_depth ? array(out, depth + 1) : too_deep();
      case 't':
        if (!word("true")) return not_json();
        out = Value(true);
        return true;
      case 'f':
        if (!word("false")) return not_json();
        out = Value(false);
        return true;
      case 'n':
        if (!word("null")) return not_json();
        return refuse("null in a body", "a body has no nulls: what is not known is left out");
      default: return number(out);
    }
  }
  bool too_deep() { return refuse("a body with more than " + std::to_string(max_depth) + " levels", "no kind of entry nests that deep"); }

  bool array(Value& out, int depth) {
    ++at_;
    Value::Array items;
    skip();
    if (at_ != end_ && *at_ == ']') {
      ++at_;
      out = Value(std::move(items));
      return true;
    }
    for (;;) {
      skip();
      items.emplace_back();
      if (!value(items.back(), depth)) return false;
      skip();
      if (at_ == end_) return not_json();
      if (*at_ == ']') break;
      if (*at_ != ',') return not_json();
      ++at_;
    }
    ++at_;
    out = Value(std::move(items));
    return true;
  }

  bool object(Value& out, int depth) {
    ++at_;
    // Members are collected as they come and sorted once at the end: inserting each in order takes quadratic time on a large
    // object in falling order.
    Value::Object members;
    skip();
    if (at_ != end_ && *at_ == '}') {
      ++at_;
      out = Value();
      return true;
    }
    for (;;) {
      skip();
      if (at_ == end_ || *at_ != '"') return not_json();
      auto& member = members.emplace_back();
      if (!string(member.first)) return false;
      for (const char c : member.first) {
        if (static_cast<unsigned char>(c) >= 0x80) return refuse("the key \"" + shown(member.first) + "\" in a body", "keys are ASCII");
      }
      skip();
      if (at_ == end_ || *at_ != ':') return not_json();
      ++at_;
      skip();
      if (!value(member.second, depth)) return false;
      skip();
      if (at_ == end_) return not_json();
      if (*at_ == '}') break;
      if (*at_ != ',') return not_json();
      ++at_;
    }
    ++at_;
    try {
      out = Value::object(std::move(members));
    } catch (const Malformed& twice) {
      return refuse(twice.what(), "each key of an object stands once");
    }
    return true;
  }

  bool string(std::string& out) {
    const char* from = ++at_;
    for (;;) {
      // Plain stretches are taken in one go.
      while (at_ != end_ && *at_ != '"' && *at_ != '\\' && static_cast<unsigned char>(*at_) >= 0x20 && static_cast<unsigned char>(*at_) < 0x80) ++at_;
      if (at_ == end_) return not_json();
      const auto c = static_cast<unsigned char>(*at_);
      if (c >= 0x80) {
        const std::size_t bytes = sequence_bytes(std::string_view(at_, static_cast<std::size_t>(end_ - at_)), 0);
        if (bytes == 0) return not_json();
        at_ += bytes;
        continue;
      }
      out.append(from, at_);
      if (c == '"') {
        ++at_;
        return true;
      }
      if (c != '\\') return not_json();  // a control character stands there raw
      ++at_;
      if (at_ == end_) return not_json();
      if (!escape(out)) return false;
      from = at_;
    }
  }

  bool escape(std::string& out) {
    switch (*at_++) {
      case '"': out.push_back('"'); return true;
      case '\\': out.push_back('\\'); return true;
      case '/': out.push_back('/'); return true;
      case 'b': out.push_back('\b'); return true;
      case 'f': out.push_back('\f'); return true;
      case 'n': out.push_back('\n'); return true;
      case 'r': out.push_back('\r'); return true;
      case 't': out.push_back('\t'); return true;
      case 'u': break;
      default: --at_; return not_json();
    }
    unsigned point = 0;
    if (!four(point)) return false;
    if (point >= 0xDC00 && point <= 0xDFFF) return not_json();
    if (point >= 0xD800 && point <= 0xDBFF) {
      unsigned low = 0;
      if (!word("\\u")) return not_json();
      if (!four(low)) return false;
      if (low < 0xDC00 || low > 0xDFFF) return not_json();
      point = 0x10000 + ((point - 0xD800) << 10) + (low - 0xDC00);
    }
    append_utf8(out, point);
    return true;
  }

  bool four(unsigned& out) {
    out = 0;
    for (int i = 0; i < 4; ++i) {
      const int d = at_ == end_ ? -1 : hex_digit(*at_);
      if (d < 0) return not_json();
      out = out * 16 + static_cast<unsigned>(d);
      ++at_;
    }
    return true;
  }

  bool number(Value& out) {
    const char* from = at_;
    const bool minus = *at_ == '-';
    if (minus) ++at_;
    if (at_ == end_ || !digit(*at_)) return not_json();
    const char* whole = at_;
    while (at_ != end_ && digit(*at_)) ++at_;
    if (*whole == '0' && at_ - whole > 1) {
      at_ = whole + 1;
      return not_json();
    }
    const char* whole_end = at_;
    if (at_ != end_ && *at_ == '.') {
      ++at_;
      if (at_ == end_ || !digit(*at_)) return not_json();
      while (at_ != end_ && digit(*at_)) ++at_;
    }
    if (at_ != end_ && (*at_ == 'e' || *at_ == 'E')) {
      ++at_;
      if (at_ != end_ && (*at_ == '+' || *at_ == '-')) ++at_;
      if (at_ == end_ || !digit(*at_)) return not_json();
      while (at_ != end_ && digit(*at_)) ++at_;
    }
    const std::string_view spelling(from, static_cast<std::size_t>(at_ - from));
    if (at_ != whole_end) return refuse("the number " + shown(spelling) + " in a body", "numbers in a body are whole, without an exponent");
    std::int64_t n = 0;
    const auto read = std::from_chars(from, at_, n);
    if (read.ec != std::errc() || n > max_whole || n < -max_whole) {
      return refuse("the number " + shown(spelling) + " in a body", "numbers beyond 2^53 - 1 (9007199254740991) lose digits in common readers; amounts are strings");
    }
    if (minus && n == 0) return refuse("the number -0 in a body", "zero has one spelling, 0");
    out = Value(n);
    return true;
  }

  const char* begin_;
  const char* at_;
  const char* end_;
};

}  // namespace

Result<Value> parse_json(std::string_view text) {
  if (text.size() > max_document_bytes) {
    return unsound("a body of " + std::to_string(text.size()) + " bytes", "a body has at most " + std::to_string(max_document_bytes) + " bytes");
  }
  // Bytes that some readers pass over would be hashed and not read.
  if (text.find('\0') != std::string_view::npos) return unsound("a zero byte in a body", "JSON has none (RFC 8259)");
  if (text.starts_with("\xEF\xBB\xBF")) return unsound("a body with a byte order mark", "JSON has none (RFC 8259, 8.1)");
  Reader reader(text);
  Value out;
  if (!reader.document(out)) return std::move(*reader.refusal);
  return out;
}

}  // namespace baybook::log
