// What the TOML reader (toml++ 3.3) must not be given. It was found by fuzzing:
//   - a character past ASCII outside quotes and comments, or first behind a backslash at a line's end, asks a table of Unicode that says
//     "unreachable" for most of them; TOML 1.0 has none of the first anyway;
//   - [ or [[ before what begins no key is taken for a key by assumption;
//   - a blank and one digit behind a day ("2026-03-05 7") are taken for the first two digits of a time of day, whatever follows;
//   - each part of a dotted key is a table in a table, and tables are taken down by recursion: a file of 60 KB ends the stack.
// Strings are told from the rest as TOML 1.0 does. Where a text is no TOML the reader stops at the same place or before.
#include <baybook/text.hpp>
#include <baybook/toml.hpp>

#include "text/unicode.hpp"

namespace baybook {

namespace {

constexpr int kMostParts = 8;  // of a dotted key; the files here have one, and two in the name of a table at most

constexpr bool is_key_character(char c) noexcept {
  return text::ascii_digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '_' || c == '-';
}

constexpr bool blank(char c) noexcept { return c == ' ' || c == '\t' || c == '\r' || c == '\n'; }

class Scan {
 public:
  explicit Scan(std::string_view text) : text_(text) {
    if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;
  }

  std::optional<TomlFault> run() {
    while (!fault_ && at_ < text_.size()) {
      const char c = text_[at_];
      if (c == '#') {
        while (!fault_ && at_ < text_.size() && text_[at_] != '\n') take();
      } else if (c == '"' || c == '\'') {
        string(c);
        fresh_ = false;
      } else {
        outside(c);
      }
    }
    return std::move(fault_);
  }

 private:
  void fail(std::string what) {
    if (!fault_) fault_ = TomlFault{line_, column_, std::move(what)};
  }

  /// One character of any text: UTF-8, and no control but tab and line end (TOML 1.0).
  void take() {
    const text::Piece piece = text::first_piece(text_.substr(at_));
    if (!piece.valid) return fail("a byte that is not UTF-8");
    const char c = text_[at_];
    if ((piece.code < 0x20 && c != '\t' && c != '\n' && c != '\r') || piece.code == 0x7F) return fail("the control character " + visible(text_.substr(at_, piece.bytes)));
    at_ += piece.bytes;
    ++column_;
    if (c == '\n') {
      ++line_;
      column_ = 1;
    }
  }

  void outside(char c) {
    if (static_cast<unsigned char>(c) >= 0x80) return fail("a character past ASCII outside quotes");
    if (c == ' ' && one_digit_apart()) return fail("one digit alone behind a number and a blank");
    const bool header = c == '[' && fresh_ && depth_ == 0;
    if (c == '.') {
      if (++parts_ > kMostParts) return fail("a key of more than " + std::to_string(kMostParts) + " parts");
    } else if (!is_key_character(c) && c != ' ' && c != '\t') {
      parts_ = 1;
    }
    if (c == '[') ++depth_;
    if (c == ']' && depth_ > 0) --depth_;
    fresh_ = c == '\n' || (fresh_ && (c == ' ' || c == '\t' || c == '\r'));
    take();
    if (header) name_of_table();
  }

  /// A blank between a digit and a single digit. TOML 1.0 has a blank within a value in one place: between a day and its time, of two digits.
  [[nodiscard]] bool one_digit_apart() const {
    const auto digit = [&](std::size_t i) { return i < text_.size() && text::ascii_digit(text_[i]); };
    return at_ > 0 && (digit(at_ - 1) || text_[at_ - 1] == '_') && digit(at_ + 1) && !digit(at_ + 2);
  }

  /// What follows [ or [[ at the beginning of a line.
  void name_of_table() {
    std::size_t ahead = at_;
    const auto skip = [&] {
      while (ahead < text_.size() && (text_[ahead] == ' ' || text_[ahead] == '\t')) ++ahead;
    };
    if (ahead < text_.size() && text_[ahead] == '[') ++ahead;
    skip();
    if (ahead == text_.size()) return;
    const char c = text_[ahead];
    if (!is_key_character(c) && c != '"' && c != '\'' && c != ']') fail("[ without the name of a table behind it");
  }

  void string(char quote) {
    const std::string three(3, quote);
    const bool lines = text_.substr(at_).starts_with(three);
    for (int i = lines ? 3 : 1; i > 0; --i) take();
    while (!fault_ && at_ < text_.size()) {
      const char c = text_[at_];
      if (c == '\\' && quote == '"') {
        take();
        if (at_ == text_.size()) return;
        const char next = text_[at_];
        if (lines && blank(next)) {
          while (!fault_ && at_ < text_.size() && blank(text_[at_])) take();
          if (at_ < text_.size() && static_cast<unsigned char>(text_[at_]) >= 0x80) return fail("a character past ASCII first behind a backslash at a line's end");
          continue;
        }
        if (static_cast<unsigned char>(next) >= 0x80) return fail("a backslash before a character past ASCII");
        take();
      } else if (c == '\n' && !lines) {
        return;  // the reader stops here
      } else if (c == quote && (!lines || text_.substr(at_).starts_with(three))) {
        for (int i = lines ? 3 : 1; i > 0; --i) take();
        // Up to two more quotes belong to the text of a string of lines (TOML 1.0).
        for (int i = 0; lines && i < 2 && at_ < text_.size() && text_[at_] == quote; ++i) take();
        return;
      } else {
        take();
      }
    }
  }

  std::string_view text_;
  std::size_t at_ = 0;
  std::size_t line_ = 1, column_ = 1;
  int depth_ = 0;      // of open [
  int parts_ = 1;      // of the key that is being written
  bool fresh_ = true;  // nothing but blanks stands before this on its line
  std::optional<TomlFault> fault_;
};

}  // namespace

std::optional<TomlFault> unfit_toml(std::string_view text) { return Scan(text).run(); }

}  // namespace baybook
