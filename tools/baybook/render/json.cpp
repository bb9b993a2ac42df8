#include "json.hpp"

namespace baybook::tool {

void Json::separate() {
  if (!first_) out_ += ',';
  first_ = false;
}

Json& Json::open(char c) {
  separate();
  out_ += c;
  first_ = true;
  return *this;
}

Json& Json::close(char c) {
  out_ += c;
  first_ = false;
  return *this;
}

Json& Json::key(std::string_view name) {
  string(name);
  out_ += ':';
  first_ = true;
  return *this;
}

Json& Json::string(std::string_view text) {
  separate();
  static constexpr char digits[] = "0123456789abcdef";
  out_ += '"';
  for (std::size_t i = 0; i < text.size();) {
    const auto c = static_cast<unsigned char>(text[i]);
    if (c == '"' || c == '\\') {
      out_ += '\\';
      out_ += text[i++];
    } else if (c < 0x20 || c == 0x7f) {
      out_ += "\\u00";
      out_ += digits[c >> 4];
      out_ += digits[c & 15];
      ++i;
    } else if (c < 0x80) {
      out_ += text[i++];
    } else {
      // What people typed on the command line may not be UTF-8 at all (a message repeats it); the document always is.
      const std::size_t length = c >= 0xf0 && c <= 0xf4 ? 4 : c >= 0xe0 ? 3 : c >= 0xc2 ? 2 : 0;
      bool good = length != 0 && c <= 0xf4 && i + length <= text.size();
      for (std::size_t k = 1; good && k < length; ++k) good = (static_cast<unsigned char>(text[i + k]) & 0xc0) == 0x80;
      if (good && length >= 3) {
        const auto next = static_cast<unsigned char>(text[i + 1]);
        if ((c == 0xe0 && next < 0xa0) || (c == 0xed && next > 0x9f) || (c == 0xf0 && next < 0x90) || (c == 0xf4 && next > 0x8f)) good = false;
      }
      if (good) {
        out_ += text.substr(i, length);
        i += length;
      } else {
        out_ += "\xef\xbf\xbd";
        ++i;
      }
    }
  }
  out_ += '"';
  return *this;
}

Json& Json::number(std::int64_t n) {
  separate();
  out_ += std::to_string(n);
  return *this;
}

Json& Json::boolean(bool b) {
  separate();
  out_ += b ? "true" : "false";
  return *this;
}

Json& Json::null() {
  separate();
  out_ += "null";
  return *this;
}

Json& Json::strings(std::string_view name, const std::vector<std::string>& list) {
  key(name).begin_array();
  for (const std::string& s : list) string(s);
  return end_array();
}

Json& Json::day(std::string_view name, const std::optional<Day>& day) {
  key(name);
  return day ? string(to_string(*day)) : null();
}

Json& Json::exact(std::int64_t n, Dimension d) {
  begin_object();
  member(base_unit(d), std::to_string(n));
  return end_object();
}

Json& Json::bounded(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d) {
  if (low == best && best == high) return exact(best, d);
  begin_object();
  member(base_unit(d), std::to_string(best));
  key("low").exact(low, d);
  key("best").exact(best, d);
  key("high").exact(high, d);
  return end_object();
}

Json& Json::amount(const Amount& a) {
  begin_object();
  member(base_unit(a.dimension), std::to_string(a.best));
  if (a.estimated) {
    key("low").exact(a.low, a.dimension);
    key("best").exact(a.best, a.dimension);
    key("high").exact(a.high, a.dimension);
  }
  key("estimated").boolean(a.estimated);
  member("typed", a.typed);
  return end_object();
}

}  // namespace baybook::tool
