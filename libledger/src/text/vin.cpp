// Position   1  2  3  4  5  6  7  8  9      10          11     12 to 17
// Meaning    maker    description     check  model year  plant  serial      (49 CFR 565.15)
#include <baybook/vin.hpp>

#include <baybook/text.hpp>

#include "text/unicode.hpp"

#include <array>
#include <utility>

namespace baybook {

namespace {

constexpr std::size_t vin_length = 17;    // 49 CFR 565.13(b); ISO 3779
constexpr std::size_t check_position = 8;  // position 9: 49 CFR 565.15(c)

// 49 CFR 565.15(c), Table IV. None is repeated next to itself, so a swap of neighbours of different value shows.
constexpr std::array<int, vin_length> weights{8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2};

/// 49 CFR 565.15(c), Table III; -1 for what no VIN has (I, O and Q: 49 CFR 565.13, ISO 3779).
constexpr int value_of(char c) noexcept {
  //                                  ABCDEFGHI JKLMNOPQR STUVWXYZ     0: not in a VIN
  constexpr std::string_view letters = "12345678012345070923456789";
  if (text::ascii_digit(c)) return c - '0';
  if (c < 'A' || c > 'Z') return -1;
  const char digit = letters[static_cast<std::size_t>(c - 'A')];
  return digit == '0' ? -1 : digit - '0';
}
static_assert(value_of('I') == -1 && value_of('O') == -1 && value_of('Q') == -1, "49 CFR 565.13");
static_assert(value_of('J') == 1 && value_of('P') == 7 && value_of('R') == 9 && value_of('S') == 2 && value_of('Z') == 9,
              "49 CFR 565.15(c), Table III");

/// Digits and the letters they are taken for on a dirty plate.
struct LookAlike {
  char one;
  char other;
};
constexpr std::array look_alikes{LookAlike{'5', 'S'}, LookAlike{'8', 'B'}, LookAlike{'2', 'Z'},
                                 LookAlike{'0', 'D'}, LookAlike{'6', 'G'}, LookAlike{'1', 'L'}};

/// 49 CFR 565 holds where the maker's code begins with 1 to 5 (ISO 3780).
bool is_north_american(std::string_view vin) { return vin.front() >= '1' && vin.front() <= '5'; }

bool is_right(std::string_view vin) {
  const auto check = vin_check_digit(vin);
  return check && check->digit == vin[check_position];
}

/// "5GZ... (position 1 read as 5)" for each single slip that would make the check digit right.
std::vector<std::string> likely_slips(const std::string& vin) {
  std::vector<std::string> slips;
  const auto consider = [&](const std::string& other, const std::string& how) {
    // A VIN from elsewhere may have anything in position 9; only as a North American one would it be wrong.
    if (!is_north_american(vin) && !is_north_american(other)) return;
    if (is_right(other)) slips.push_back(other + " (" + how + ")");
  };
  for (std::size_t i = 0; i < vin.size(); ++i) {
    for (const LookAlike& pair : look_alikes) {
      if (vin[i] != pair.one && vin[i] != pair.other) continue;
      std::string other = vin;
      other[i] = vin[i] == pair.one ? pair.other : pair.one;
      consider(other, "position " + std::to_string(i + 1) + " read as " + other[i]);
    }
  }
  for (std::size_t i = 0; i + 1 < vin.size(); ++i) {
    std::string other = vin;
    std::swap(other[i], other[i + 1]);
    if (other != vin) consider(other, "positions " + std::to_string(i + 1) + " and " + std::to_string(i + 2) + " swapped");
  }
  return slips;
}

std::string check_warning(const std::string& vin, const CheckDigit& check) {
  std::string warning = "position 9 is " + std::string(1, vin[check_position]) + "; the check digit of the other 16 is " + check.digit +
                        " (sum " + std::to_string(check.sum) + ", remainder " + std::to_string(check.sum % 11) +
                        "; 49 CFR 565.15(c))";
  if (!is_north_american(vin)) warning += "; outside North America a check digit is not compulsory (ISO 3779)";
  std::string slips;
  for (const std::string& slip : likely_slips(vin)) slips.append(slips.empty() ? "" : ", ").append(slip);
  if (!slips.empty()) warning += "; right would be: " + slips;
  return warning;
}

/// What a letter that no VIN has was meant to be.
constexpr char likely_digit(char c) noexcept {
  switch (c) {
    case 'I': return '1';
    case 'O':
    case 'Q': return '0';
    default: return '\0';
  }
}

Refusal refused(std::string what, std::string why, std::string instead, std::vector<Figure> figures) {
  return Refusal{Code::unclear, std::move(what), std::move(why), std::move(instead), std::move(figures)};
}

}  // namespace

std::optional<CheckDigit> vin_check_digit(std::string_view vin) {
  if (vin.size() != vin_length) return std::nullopt;
  int sum = 0;
  for (std::size_t i = 0; i < vin_length; ++i) {
    const int value = value_of(vin[i]);
    if (value < 0) return std::nullopt;
    sum += value * weights[i];
  }
  const int remainder = sum % 11;
  return CheckDigit{sum, remainder == 10 ? 'X' : static_cast<char>('0' + remainder)};
}

Result<Vin> read_vin(std::string_view text) {
  // All ones is the textbook self-test and the VIN of no vehicle: sum 89, 89 mod 11 = 1 (49 CFR 565.15(c)).
  const std::string example = "11111111111111111";
  std::string vin;
  std::size_t characters = 0;
  text::for_each_piece(text, [&](const text::Piece& piece, std::string_view bytes) {
    if (piece.valid && text::is_blank(piece.code)) return;
    ++characters;
    if (bytes.size() == 1) {
      vin += text::ascii_upper(bytes.front());
    } else {
      vin += bytes;
    }
  });
  const std::string about = "VIN " + text::quoted(vin);
  if (characters != vin_length) {
    return refused(about + " has " + std::to_string(characters) + (characters == 1 ? " character, not 17" : " characters, not 17"), "a VIN has 17 (49 CFR 565.13, ISO 3779)",
                   example, {{"characters", std::to_string(characters)}});
  }
  std::size_t position = 0;
  for (std::string_view rest = vin; !rest.empty();) {
    ++position;
    const std::string_view one = rest.substr(0, text::first_piece(rest).bytes);
    rest.remove_prefix(one.size());
    if (one.size() == 1 && value_of(one.front()) >= 0) continue;
    const char digit = one.size() == 1 ? likely_digit(one.front()) : '\0';
    std::string meant = vin;
    for (char& c : meant) c = likely_digit(c) == '\0' ? c : likely_digit(c);
    return refused(about + " has " + text::quoted(one) + " in position " + std::to_string(position) +
                       (digit == '\0' ? std::string{} : ", likely " + std::string(1, digit)),
                   "a VIN has digits and the letters A to Z without I, O and Q (49 CFR 565.13, ISO 3779)",
                   vin_check_digit(meant) ? meant : example, {{"position", std::to_string(position)}});
  }
  const auto check = vin_check_digit(vin);
  Vin read;
  read.text = vin;
  read.north_american = is_north_american(vin);
  read.check_digit = check->digit;
  read.check_digit_ok = check->digit == vin[check_position];
  if (!read.check_digit_ok) read.warnings.push_back(check_warning(vin, *check));
  return read;
}

}  // namespace baybook
