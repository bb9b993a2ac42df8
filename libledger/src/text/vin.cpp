// Position   1  2  3  4  5  6  7  8  9      10          11     12 to 17
// Meaning    maker    description     check  model year  plant  serial      (49 CFR 565.15)
#include <baybook/vin.hpp>

#include <baybook/text.hpp>

#include "text/unicode.hpp"

#include <algorithm>
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
                                 LookAlike{'0', 'D'}, LookAlike{'6', 'G'}, LookAlike{'1', 'L'},
                                 LookAlike{'U', 'V'}};

constexpr std::size_t year_position = 9;   // position 10: 49 CFR 565.15, Table VII
constexpr std::size_t maker_position = 2;  // position 3: 9 is a maker of few, 565.15(a)
constexpr std::size_t last_five = 12;  // positions 13 to 17: digits on a light vehicle, 565.15(d)
constexpr std::size_t last_four = 13;  // positions 14 to 17: digits on all others
constexpr std::size_t most_slips = 3;

// 49 CFR 565.15, Table VII: from 1980 on, and again from 2010. Neither I, O, Q, U, Z nor 0.
constexpr std::string_view years = "ABCDEFGHJKLMNPRSTVWXY123456789";
constexpr int first_year = 1980;
static_assert(years.size() == 30 && years[4] == 'E' && years[29] == '9',
              "Table VII: E 1984, 9 2009");

/// 49 CFR 565 holds where the maker's code begins with 1 to 5 (ISO 3780).
bool is_north_american(std::string_view vin) { return vin.front() >= '1' && vin.front() <= '5'; }

bool is_right(std::string_view vin) {
  const auto check = vin_check_digit(vin);
  return check && check->digit == vin[check_position];
}

bool is_check_digit(char c) { return text::ascii_digit(c) || c == 'X'; }
bool is_year(char c) { return years.find(c) != std::string_view::npos; }

/// The first of the positions that are digits. Of a maker of few, positions 12 to 14 are its own
/// signs (565.15(a)).
std::size_t digits_from(std::string_view vin, std::size_t usual) {
  return vin[maker_position] == '9' ? std::max<std::size_t>(usual, 14) : usual;
}

/// Whether a VIN may be proposed: a North American one in which nothing contradicts 49 CFR 565. What
/// vehicle it is is not known, so a letter in position 13 may stand and is never put there.
bool can_be(std::string_view vin, std::string_view typed) {
  if (!is_north_american(vin) || !is_right(vin)) return false;
  if (!is_check_digit(vin[check_position]) || !is_year(vin[year_position])) return false;
  for (std::size_t i = last_five; i < vin_length; ++i) {
    if (text::ascii_digit(vin[i])) continue;
    if (i >= digits_from(vin, last_four) || vin[i] != typed[i]) return false;
  }
  return true;
}

/// "5GZ... (position 1 read as 5)" for each single slip that would make all of it right.
std::vector<std::string> likely_slips(const std::string& vin) {
  std::vector<std::string> slips;
  const auto consider = [&](const std::string& other, const std::string& how) {
    if (slips.size() < most_slips && can_be(other, vin)) slips.push_back(other + " (" + how + ")");
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

std::string position(std::size_t at, char c) {
  return "position " + std::to_string(at + 1) + " is " + std::string(1, c);
}

/// A filler tells rather of a maker from elsewhere.
std::string or_from_elsewhere(char first) {
  for (const LookAlike& pair : look_alikes) {
    if (first == pair.one && first <= '5')
      return "; or is the first character " + std::string(1, pair.other) + ", and not " +
             std::string(1, first) + "?";
  }
  return {};
}

std::string check_warning(const std::string& vin, const CheckDigit& check) {
  const std::string fits = std::string(1, check.digit) + " (sum " + std::to_string(check.sum) +
                           ", remainder " + std::to_string(check.sum % 11) + "; 49 CFR 565.15(c))";
  const std::string here = position(check_position, vin[check_position]);
  if (is_check_digit(vin[check_position]))
    return here + "; the check digit of the other 16 is " + fits;
  const std::string has_one =
      "a North American VIN, which begins with 1 to 5, has a check digit there, "
      "0 to 9 or X: of the other 16 it is " +
      fits;
  if (vin[check_position] != 'Z') return here + "; " + has_one;
  return here + ", a filler of makers that use no check digit; " + has_one +
         or_from_elsewhere(vin.front());
}

std::string year_warning(char c) {
  return position(year_position, c) +
         ", which stands for no model year: I, O, Q, U, Z and 0 are not used there (49 CFR 565.15, "
         "Table VII)";
}

/// Letters at the end of a North American VIN.
void say_of_tail(const std::string& vin, std::vector<std::string>& warnings) {
  for (std::size_t i = digits_from(vin, last_four); i < vin_length; ++i) {
    if (text::ascii_digit(vin[i])) continue;
    warnings.push_back(position(i, vin[i]) +
                       "; the last four of a North American VIN are digits, of a light vehicle the "
                       "last five (49 CFR 565.15(d))");
    return;
  }
}

/// What a VIN that is not North American may be when its first letter is a misread digit.
void say_of_first_letter(const std::string& vin, std::vector<std::string>& warnings) {
  for (const LookAlike& pair : look_alikes) {
    if (vin.front() != pair.other) continue;
    std::string other = vin;
    other.front() = pair.one;
    if (!can_be(other, vin)) continue;
    warnings.push_back("is the first character " + std::string(1, pair.other) + ", and not " +
                       std::string(1, pair.one) + "? With " + std::string(1, pair.one) +
                       " it is a North American VIN whose check digit fits: " + other);
    return;
  }
}

std::vector<std::string> warnings_of(const std::string& vin, const CheckDigit& check) {
  std::vector<std::string> out;
  const bool here = is_north_american(vin);
  if (vin.find_first_not_of(vin.front()) == std::string::npos)
    out.push_back("all 17 characters are " + std::string(1, vin.front()) +
                  ": a placeholder, and no vehicle's, whatever its check digit");
  if (!here) {
    if (check.digit != vin[check_position]) say_of_first_letter(vin, out);
    return out;
  }
  const std::size_t before = out.size();
  if (check.digit != vin[check_position]) out.push_back(check_warning(vin, check));
  if (!is_year(vin[year_position])) out.push_back(year_warning(vin[year_position]));
  say_of_tail(vin, out);
  if (out.size() == before) return out;
  std::string slips;
  for (const std::string& slip : likely_slips(vin)) slips.append(slips.empty() ? "" : ", ").append(slip);
  if (!slips.empty()) out.back() += "; right would be: " + slips;
  return out;
}

/// What a letter that no VIN has was meant to be, the likeliest first. A North American VIN has no 0
/// in position 10 and no letter at its end.
std::string_view likely_for(const std::string& vin, std::size_t at) {
  const char c = vin[at];
  if (c == 'I') return "1";
  // No maker's code begins with 0 (ISO 3780).
  if ((c != 'O' && c != 'Q') || at == 0) return "";
  const bool here = is_north_american(vin) || vin.front() == 'I';
  if (here && at == year_position) return "D";
  if (here && at >= last_five) return "0";
  return "0D";
}

/// The VIN with each such letter read as what it likely is; of a North American one only when all of
/// it is right then. Empty: none can be named.
std::string meant_by(const std::string& vin) {
  std::vector<std::size_t> at;
  if (vin.size() != vin_length) return {};
  for (std::size_t i = 0; i < vin.size(); ++i) {
    if (!likely_for(vin, i).empty()) at.push_back(i);
  }
  constexpr std::size_t most = 6;  // two readings of each: few enough to try all
  if (at.empty() || at.size() > most) return {};
  for (std::size_t which = 0; which < (std::size_t{1} << at.size()); ++which) {
    std::string other = vin;
    bool new_one = true;
    for (std::size_t k = 0; k < at.size(); ++k) {
      const std::string_view likely = likely_for(vin, at[k]);
      const std::size_t choice = which >> k & 1;
      new_one = new_one && choice < likely.size();
      other[at[k]] = likely[std::min(choice, likely.size() - 1)];
    }
    if (!new_one || !vin_check_digit(other)) continue;
    if (!is_north_american(other)) return other;
    if (can_be(other, other)) return other;
  }
  return {};
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
  const std::string again = "the VIN again, as it stands on the car: 17 digits and letters";
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
    return refused(about + " has " + std::to_string(characters) +
                       (characters == 1 ? " character, not 17" : " characters, not 17"),
                   "a VIN has 17 (49 CFR 565.13, ISO 3779); older cars have numbers of other "
                   "lengths, which are none",
                   again + "; no VIN for a car that is older than them",
                   {{"characters", std::to_string(characters)}});
  }
  std::size_t position = 0;
  for (std::string_view rest = vin; !rest.empty();) {
    ++position;
    const std::string_view one = rest.substr(0, text::first_piece(rest).bytes);
    rest.remove_prefix(one.size());
    if (one.size() == 1 && value_of(one.front()) >= 0) continue;
    const std::string_view likely =
        vin.size() == vin_length ? likely_for(vin, position - 1) : std::string_view();
    const bool of_year = position - 1 == year_position && is_north_american(vin);
    const std::string meant = meant_by(vin);
    return refused(
        about + " has " + text::quoted(one) + " in position " + std::to_string(position) +
            (likely.empty() || (of_year && meant.empty())
                 ? std::string{}
                 : ", likely " + std::string(likely.substr(0, 1))),
        std::string("a VIN has digits and the letters A to Z without I, O and Q (49 CFR 565.13, "
                    "ISO 3779)") +
            (of_year ? ", and for the model year neither U, Z nor 0 (49 CFR 565.15, Table VII)"
                     : ""),
        meant.empty() ? again : meant, {{"position", std::to_string(position)}});
  }
  const auto check = vin_check_digit(vin);
  Vin read;
  read.text = vin;
  read.north_american = is_north_american(vin);
  read.check_digit = check->digit;
  read.check_digit_ok = check->digit == vin[check_position];
  read.warnings = warnings_of(vin, *check);
  return read;
}

std::vector<int> vin_model_years(const Vin& vin) {
  if (!vin.north_american || vin.text.size() != vin_length) return {};
  const std::size_t at = years.find(vin.text[year_position]);
  if (at == std::string_view::npos) return {};
  const int year = first_year + static_cast<int>(at);
  return {year, year + static_cast<int>(years.size())};
}

std::string vin_year_note(const Vin& vin, int year) {
  const std::vector<int> can = vin_model_years(vin);
  if (year == 0 || can.empty() || std::find(can.begin(), can.end(), year) != can.end()) return {};
  return position(year_position, vin.text[year_position]) + ", model year " +
         std::to_string(can.front()) + " or " + std::to_string(can.back()) +
         " (49 CFR 565.15, Table VII); the car is entered as one of " + std::to_string(year);
}

}  // namespace baybook
