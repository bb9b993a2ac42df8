#include <baybook/text.hpp>

#include "text/unicode.hpp"

#include <array>
#include <optional>
#include <utility>

namespace baybook {

namespace {

constexpr std::size_t max_code_length = 40;

/// Something to type for a field that was left empty.
std::string example_for(std::string_view field) {
  struct Example {
    std::string_view field;
    std::string_view text;
  };
  constexpr std::array examples{
      Example{"complaint", "squeals when cold"}, Example{"name", "Robin"},          Example{"plate", "MARSH-07"},
      Example{"site", "Harbour bay"},            Example{"why", "wrong car typed"}, Example{"part number", "FILTER-12"},
  };
  for (const Example& example : examples) {
    if (example.field == field) return std::string{example.text};
  }
  return "checked and dry";
}

/// `text` as it might have been meant: each run of what cannot be stored is one blank.
std::string storable(std::string_view text, std::string_view field) {
  std::string kept;
  text::for_each_piece(text, [&](const text::Piece& piece, std::string_view bytes) {
    const bool fits = piece.valid && !text::is_control(piece.code) && !text::is_separator(piece.code);
    if (fits) {
      kept += bytes;
    } else if (!kept.empty() && kept.back() != ' ') {
      kept += ' ';
    }
  });
  const std::string_view trimmed = text::without_outer_blanks(text::shortened(kept, 60));
  return trimmed.empty() ? example_for(field) : visible(trimmed);
}

/// The first byte or character that no stored text has.
std::optional<Refusal> not_text(std::string_view text, std::string_view field) {
  std::size_t at = 0;
  while (at < text.size()) {
    const text::Piece piece = text::first_piece(text.substr(at));
    const std::string place = " at byte " + std::to_string(at + 1);
    const std::string about = std::string{field} + " has ";
    const std::vector<Figure> figures{{"byte", std::to_string(at + 1)}};
    if (!piece.valid) {
      return Refusal{Code::not_text, about + visible(text.substr(at, 1)) + place + ", which is not UTF-8",
                     "text is stored as UTF-8 (RFC 3629, section 3)", storable(text, field), figures};
    }
    if (text::is_control(piece.code)) {
      return Refusal{Code::not_text, about + "the control character " + visible(text.substr(at, piece.bytes)) + place,
                     "control characters move the cursor instead of being read (The Unicode Standard, section 23.1)",
                     storable(text, field), figures};
    }
    if (text::is_separator(piece.code)) {
      return Refusal{Code::not_text, about + "the line break " + text::code_point_name(piece.code) + place,
                     "a text is one line (The Unicode Standard, section 5.8)", storable(text, field), figures};
    }
    at += piece.bytes;
  }
  return std::nullopt;
}

Refusal too_long(std::string_view text, std::string_view field, std::size_t bytes, std::size_t max_bytes) {
  return Refusal{Code::not_text,
                 std::string{field} + " has " + std::to_string(bytes) + " bytes, more than " + std::to_string(max_bytes),
                 "one " + std::string{field} + " holds at most " + std::to_string(max_bytes) + " bytes of UTF-8",
                 // A line is enough to show the way; all of it would bury the message.
                 visible(text::without_outer_blanks(text::shortened(text, max_bytes < 60 ? max_bytes : 60))),
                 {{"bytes", std::to_string(bytes)}, {"max_bytes", std::to_string(max_bytes)}}};
}

constexpr bool fits_code(char c) noexcept { return (c >= 'a' && c <= 'z') || text::ascii_digit(c); }

/// A code like `typed`: marks taken off letters, anything else between letters and digits one `-`. May be empty.
std::string code_like(std::string_view typed) {
  // Taking marks off puts them in order first, which takes time with the square of their number; a code needs no more than this.
  typed = text::shortened(typed, 10 * max_code_length);
  const auto plain = text::mapped(typed, UTF8PROC_STABLE | UTF8PROC_DECOMPOSE | UTF8PROC_STRIPMARK | UTF8PROC_CASEFOLD);
  std::string code;
  for (const char c : plain ? std::string_view{*plain} : typed) {
    if (fits_code(c)) {
      code += c;
    } else if (!code.empty() && code.back() != '-') {
      code += '-';
    }
  }
  code.resize(code.size() < max_code_length ? code.size() : max_code_length);
  while (!code.empty() && code.back() == '-') code.pop_back();
  return code;
}

}  // namespace

Result<std::string> clean_text(std::string_view text, std::string_view field, std::size_t max_bytes) {
  const std::string_view trimmed = text::without_outer_blanks(text);
  if (auto refused = not_text(text, field)) return *std::move(refused);
  if (trimmed.empty()) {
    return Refusal{Code::unclear, std::string{field} + " is empty", "an entry without words tells a reader nothing",
                   example_for(field), {}};
  }
  // Composing shrinks a text to a third at most (three Hangul letters, nine bytes, become one syllable of three: The Unicode
  // Standard, section 3.12), so this much cannot fit; and putting a long run of marks in order takes time with the square of its length.
  if (trimmed.size() / 3 > max_bytes) return too_long(trimmed, field, trimmed.size(), max_bytes);
  auto composed = text::nfc(trimmed);
  if (!composed) {
    return Refusal{Code::not_text, std::string{field} + " has no composed form", "text is stored in NFC (UAX #15)",
                   example_for(field), {}};
  }
  if (composed->size() > max_bytes) return too_long(*composed, field, composed->size(), max_bytes);
  return *std::move(composed);
}

Result<std::string> clean_code(std::string_view text, std::string_view field) {
  constexpr std::string_view rule = "a code is 1 to 40 of a-z, 0-9 and -, with a letter or digit at both ends";
  const std::string like = code_like(text);
  const std::string instead = like.empty() ? "bay-1" : like;
  auto cleaned = clean_text(text, field);
  if (!cleaned) {
    Refusal refused = std::move(cleaned).refusal();
    refused.instead = instead;
    return refused;
  }
  std::string code = *std::move(cleaned);
  for (char& c : code) c = text::ascii_lower(c);

  const std::string about = std::string{field} + ' ' + text::quoted(code);
  std::string_view rest = code;
  while (!rest.empty()) {
    const std::string_view one = rest.substr(0, text::first_piece(rest).bytes);
    if (!fits_code(one.front()) && one != "-") {
      return Refusal{Code::unclear, about + " has " + (one == " " ? std::string{"a blank"} : text::quoted(one)), std::string{rule},
                     instead, {}};
    }
    rest.remove_prefix(one.size());
  }
  if (code.size() > max_code_length) {
    return Refusal{Code::unclear, about + " has " + std::to_string(code.size()) + " characters, more than 40", std::string{rule},
                   instead, {{"characters", std::to_string(code.size())}}};
  }
  if (code.front() == '-' || code.back() == '-') {
    return Refusal{Code::unclear, about + (code.front() == '-' ? " begins with -" : " ends with -"), std::string{rule}, instead, {}};
  }
  return code;
}

}  // namespace baybook
