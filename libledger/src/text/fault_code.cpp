// Character  1                         2       3 to 5            then, after -, two hex digits
// Bits       15-14: 00 P 01 C 10 B 11 U  13-12   11-0 as hex       the failure type byte (SAE J2012-DA, ISO 14229)
// SAE J2012 / ISO 15031-6. Two bits hold the second character, which is why it ends at 3.
#include <baybook/vin.hpp>

#include "text/unicode.hpp"

namespace baybook {

namespace {

constexpr std::size_t code_length = 5;
constexpr std::size_t typed_length = 8;  // with -1A
constexpr std::string_view example = "P0217";
constexpr std::string_view standard = "SAE J2012 / ISO 15031-6";

constexpr std::string_view system_of(char letter) noexcept {
  switch (letter) {
    case 'P': return "powertrain";
    case 'C': return "chassis";
    case 'B': return "body";
    case 'U': return "network";
    default: return {};
  }
}

/// Two bytes of zero fill up an answer that holds no more codes (SAE J1979).
bool is_filler(std::string_view code) noexcept { return code.substr(0, code_length) == "P0000"; }

constexpr bool is_hex(char c) noexcept { return text::ascii_digit(c) || (c >= 'A' && c <= 'F'); }

/// SAE J2012 / ISO 15031-6. P3 is split: P3000 to P33FF are the maker's, P3400 to P3FFF standardised. For C and B, 3 is
/// reserved, and U3 is mixed without a border we have a source for: neither is claimed for the standard.
bool is_standardised(std::string_view code) {
  if (code[1] == '0') return true;
  if (code[0] != 'P') return false;
  return code[1] == '2' || (code[1] == '3' && code[2] >= '4');
}

/// What is wrong with `code` (capitals, five or eight characters expected); empty when nothing is.
std::string shape_fault(std::string_view code) {
  if (code.empty()) return "is empty";
  const auto at = [&](std::size_t i) { return text::quoted(code.substr(i, text::first_piece(code.substr(i)).bytes)); };
  if (system_of(code[0]).empty()) return "begins with " + at(0) + ", not P, C, B or U";
  for (std::size_t i = 1; i < code.size() && i < code_length; ++i) {
    const bool fits = i == 1 ? code[i] >= '0' && code[i] <= '3' : is_hex(code[i]);
    if (fits) continue;
    std::string fault = "has " + at(i) + " in position " + std::to_string(i + 1);
    if (code[i] == 'O') return fault + ": the letter O for the digit 0";
    return fault + (i == 1 ? ", not 0 to 3" : ", not a hex digit");
  }
  if (code.size() < code_length) return "has " + std::to_string(code.size()) + (code.size() == 1 ? " character, not 5" : " characters, not 5");
  if (code.size() == code_length) return {};
  if (code[code_length] != '-') return "goes on after five characters with " + at(code_length) + ", not -";
  const std::string_view failure_type = code.substr(code_length + 1);
  if (code.size() != typed_length || !is_hex(failure_type[0]) || !is_hex(failure_type[1])) {
    return "has " + text::quoted(failure_type) + " after -, not two hex digits";
  }
  return {};
}

/// The code that was likely meant: letters read as digits put back, a missing P or - put in; else an example.
std::string likely(std::string_view code) {
  std::string meant{code};
  if (!meant.empty() && (is_hex(meant[0]) || meant[0] == 'O') && meant.size() == code_length - 1) meant.insert(0, 1, 'P');
  for (std::size_t i = 1; i < meant.size(); ++i) {
    switch (meant[i]) {
      case 'O': meant[i] = '0'; break;
      case 'I':
      case 'L': meant[i] = '1'; break;
      case 'S': meant[i] = '5'; break;
      case 'Z': meant[i] = '2'; break;
      case 'G': meant[i] = '6'; break;
      default: break;
    }
  }
  if (meant.size() == typed_length && (meant[code_length] == ' ' || meant[code_length] == ':')) meant[code_length] = '-';
  if (meant.size() == typed_length - 1) meant.insert(code_length, 1, '-');
  return shape_fault(meant).empty() && !is_filler(meant) ? meant : std::string{example};
}

}  // namespace

Result<FaultCode> read_fault_code(std::string_view text) {
  std::string code{text::without_outer_blanks(text)};
  for (char& c : code) c = text::ascii_upper(c);
  const std::string about = "fault code " + text::quoted(code);
  const std::string fault = shape_fault(code);
  if (!fault.empty()) {
    return Refusal{Code::unclear, about + ' ' + fault,
                   "a fault code is P, C, B or U, then 0 to 3, then three hex digits (" + std::string{standard} +
                       "), then perhaps - and a failure type of two (SAE J2012-DA)",
                   likely(code), {}};
  }
  if (is_filler(code)) {
    return Refusal{Code::unclear, about + " is no code", "two bytes of zero fill up an answer that holds no more codes (SAE J1979)",
                   std::string{example}, {}};
  }
  FaultCode read;
  read.text = code;
  read.system = system_of(code[0]);
  read.standardised = is_standardised(code);
  return read;
}

}  // namespace baybook
