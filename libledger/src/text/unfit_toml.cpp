// What the TOML reader (toml++ 3.3) is given: the part of TOML 1.0 that the files of this program are written in, and nothing else.
//
// Fuzzing found that the reader goes on, outside of what its language defines, in many texts that are no TOML: it takes digits, names and
// closing brackets on trust, asks a table of Unicode that says "unreachable" for what it does not list, and takes tables in tables down by
// recursion. So the whole text is looked at first. Accepted are comments, [table] and [[table]], keys of up to eight parts, texts in quotes
// of every sort, whole numbers, decimal fractions, days, true and false, arrays and inline tables up to sixteen deep; not numbers to other
// bases, numbers with exponents or _, nan and inf, and times of day, which no file here has a use for. Whether a name comes twice, whether a
// day exists and what a key may hold is asked later.
#include <baybook/text.hpp>
#include <baybook/toml.hpp>

#include "text/unicode.hpp"

namespace baybook {

namespace {

constexpr int kMostParts = 8;    // of a dotted key; the files here have one, and two in the name of a table at most
constexpr int kDeepest = 16;     // values in values; the reader has the same bound (TOML_MAX_NESTED_VALUES)
constexpr std::size_t kMostDigits = 18;  // of a number: less than 2^63, so nothing runs over

constexpr bool letter(char c) noexcept { return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z'); }
constexpr bool key_character(char c) noexcept { return text::ascii_digit(c) || letter(c) || c == '_' || c == '-'; }
constexpr bool value_character(char c) noexcept { return key_character(c) || c == '+' || c == '.' || c == ':'; }

/// 0, 17, -3, 1.5: digits without a 0 before them.
bool number(std::string_view s) noexcept {
  if (s.starts_with('+') || s.starts_with('-')) s.remove_prefix(1);
  const std::size_t point = s.find('.');
  const std::string_view whole = s.substr(0, point);
  const auto digits = [](std::string_view d) {
    for (const char c : d) {
      if (!text::ascii_digit(c)) return false;
    }
    return !d.empty() && d.size() <= kMostDigits;
  };
  if (!digits(whole) || (whole.size() > 1 && whole[0] == '0')) return false;
  return point == std::string_view::npos || digits(s.substr(point + 1));
}

/// 2026-03-05; whether there is such a day is asked by the reader.
bool day(std::string_view s) noexcept {
  if (s.size() != 10) return false;
  for (std::size_t i = 0; i < s.size(); ++i) {
    if (i == 4 || i == 7 ? s[i] != '-' : !text::ascii_digit(s[i])) return false;
  }
  return true;
}

class Scan {
 public:
  explicit Scan(std::string_view text) : text_(text) {
    if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;
  }

  std::optional<TomlFault> run() {
    while (!fault_ && !at_end()) line();
    return std::move(fault_);
  }

 private:
  [[nodiscard]] bool at_end() const { return at_ >= text_.size(); }
  [[nodiscard]] char now() const { return at_end() ? '\0' : text_[at_]; }
  [[nodiscard]] bool is(char c) const { return !at_end() && text_[at_] == c; }
  /// LF or CR LF (TOML 1.0).
  [[nodiscard]] bool at_line_end() const { return is('\n') || text_.substr(at_).starts_with("\r\n"); }

  void fail(std::string what) {
    if (!fault_) fault_ = TomlFault{line_, column_, std::move(what)};
  }

  /// One character of any text: UTF-8, and no control but tab and line end (TOML 1.0).
  void take() {
    const text::Piece piece = text::first_piece(text_.substr(at_));
    if (!piece.valid) return fail("a byte that is not UTF-8");
    const char c = text_[at_];
    if ((piece.code < 0x20 && c != '\t' && c != '\n' && !at_line_end()) || piece.code == 0x7F) return fail("the control character " + visible(text_.substr(at_, piece.bytes)));
    at_ += piece.bytes;
    ++column_;
    if (c == '\n') {
      ++line_;
      column_ = 1;
    }
  }

  void blanks() {
    while (is(' ') || is('\t')) take();
  }

  void comment() {
    while (!fault_ && !at_end() && !at_line_end()) take();
  }

  /// Blanks, comments and line ends, as they may stand between the values of an array.
  void space() {
    while (!fault_ && !at_end()) {
      if (is('#')) comment();
      else if (is(' ') || is('\t') || at_line_end()) take();
      else return;
    }
  }

  /// What is here is not what may be here.
  void unexpected(const std::string& wanted) {
    if (at_end()) return fail("the file ends where " + wanted + " is expected");
    const text::Piece piece = text::first_piece(text_.substr(at_));
    if (!piece.valid) return fail("a byte that is not UTF-8");
    if (piece.bytes > 1) return fail("a character past ASCII outside quotes");
    if (at_line_end()) return fail("the line ends where " + wanted + " is expected");
    fail(visible(text_.substr(at_, 1)) + " where " + wanted + " is expected");
  }

  void line() {
    blanks();
    if (is('[')) {
      table_name();
    } else if (!is('#') && !at_end() && !at_line_end()) {
      pair(0);
    }
    if (fault_) return;
    blanks();
    if (is('#')) comment();
    if (fault_ || at_end()) return;
    if (!at_line_end()) return unexpected("the end of the line");
    while (!is('\n')) take();
    take();
  }

  /// [name] or [[name]]
  void table_name() {
    take();
    const bool list = is('[');
    if (list) take();
    blanks();
    if (!key_character(now()) && !is('"') && !is('\'')) return fail("[ without the name of a table behind it");
    key();
    for (int i = list ? 2 : 1; i > 0 && !fault_; --i) {
      if (!is(']')) return unexpected(list ? "]]" : "]");
      take();
    }
  }

  /// Bare or in quotes, in parts with points between; blanks behind it are taken too.
  void key() {
    for (int parts = 1; !fault_; ++parts) {
      if (parts > kMostParts) return fail("a key of more than " + std::to_string(kMostParts) + " parts");
      if (is('"') || is('\'')) {
        if (text_.substr(at_).starts_with("\"\"\"") || text_.substr(at_).starts_with("'''")) return fail("a key of several lines");
        string();
      } else {
        if (!key_character(now())) return unexpected("the name of a key");
        while (key_character(now())) take();
      }
      if (fault_) return;
      blanks();
      if (!is('.')) return;
      take();
      blanks();
    }
  }

  void pair(int depth) {
    key();
    if (fault_) return;
    if (!is('=')) return unexpected("=");
    take();
    blanks();
    value(depth);
  }

  void value(int depth) {
    if (depth == kDeepest) return fail("values in values, more than " + std::to_string(kDeepest) + " deep");
    if (is('"') || is('\'')) return string();
    if (is('[')) return array(depth);
    if (is('{')) return inline_table(depth);
    std::size_t end = at_;
    while (end < text_.size() && value_character(text_[end])) ++end;
    const std::string_view word = text_.substr(at_, end - at_);
    if (word.empty()) return unexpected("a value");
    // The reader looks for a time of day behind a day and a blank.
    const bool more = end + 1 < text_.size() && text_[end] == ' ' && text::ascii_digit(text_[end + 1]);
    if (word != "true" && word != "false" && !number(word) && !(day(word) && !more)) {
      return fail(visible(word.substr(0, 40)) + " is no value here: a text stands in quotes, a number is 12 or 1.5, a day is 2026-03-05, and there is true and false");
    }
    while (at_ < end) take();
  }

  void array(int depth) {
    take();
    for (;;) {
      space();
      if (fault_) return;
      if (is(']')) return take();
      value(depth + 1);
      if (fault_) return;
      space();
      if (fault_) return;
      if (is(',')) take();
      else if (!is(']')) return unexpected("a comma or ]");
    }
  }

  /// On one line, and no comma before its end (TOML 1.0).
  void inline_table(int depth) {
    take();
    blanks();
    if (is('}')) return take();
    for (;;) {
      pair(depth + 1);
      if (fault_) return;
      blanks();
      if (is('}')) return take();
      if (!is(',')) return unexpected("a comma or }");
      take();
      blanks();
    }
  }

  void string() {
    const char quote = now();
    const std::string three(3, quote);
    const bool lines = text_.substr(at_).starts_with(three);
    const std::size_t marks = lines ? 3 : 1;
    for (std::size_t i = 0; i < marks; ++i) take();
    while (!fault_) {
      if (at_end()) return fail("a text in quotes that does not end");
      if (!lines && at_line_end()) return fail("a text in quotes that does not end on its line");
      if (is('\\') && quote == '"') {
        escape(lines);
      } else if (is(quote) && (!lines || text_.substr(at_).starts_with(three))) {
        for (std::size_t i = 0; i < marks; ++i) take();
        // Up to two more quotes belong to the text of a string of lines (TOML 1.0).
        for (int i = 0; lines && i < 2 && is(quote); ++i) take();
        return;
      } else {
        take();
      }
    }
  }

  void escape(bool lines) {
    take();
    const char c = now();
    if (static_cast<unsigned char>(c) >= 0x80) return fail("a backslash before a character past ASCII");
    if (lines && (is(' ') || is('\t') || at_line_end())) {
      blanks();
      if (!at_line_end()) return fail("a backslash with blanks behind it that is not at the end of its line");
      while (is(' ') || is('\t') || at_line_end()) take();
      if (static_cast<unsigned char>(now()) >= 0x80) return fail("a character past ASCII first behind a backslash at a line's end");
      return;
    }
    const std::size_t digits = c == 'u' ? 4 : c == 'U' ? 8 : 0;
    if (digits == 0 && std::string_view("btnfr\"\\").find(c) == std::string_view::npos) return fail("a backslash before what TOML has no meaning for");
    take();
    std::int64_t code = 0;
    for (std::size_t i = 0; i < digits; ++i) {
      const char d = now();
      const int value = text::ascii_digit(d) ? d - '0' : d >= 'a' && d <= 'f' ? d - 'a' + 10 : d >= 'A' && d <= 'F' ? d - 'A' + 10 : -1;
      if (value < 0) return fail("\\" + std::string(1, c) + " without its " + std::to_string(digits) + " hexadecimal digits");
      code = code * 16 + value;
      take();
    }
    if (code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF)) fail("\\" + std::string(1, c) + " with a number that is no character");
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t line_ = 1, column_ = 1;
  std::optional<TomlFault> fault_;
};

}  // namespace

std::optional<TomlFault> unfit_toml(std::string_view text) { return Scan(text).run(); }

}  // namespace baybook
