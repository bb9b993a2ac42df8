// Vehicle identification numbers and fault codes: their structure, never their meaning for a maker.
#pragma once

#include <baybook/export.hpp>
#include <baybook/result.hpp>

#include <optional>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// A VIN in capitals without blanks, with what there is to say about it.
struct Vin {
  std::string text;                   ///< 17 characters
  bool north_american = false;        ///< first character 1 to 5: 49 CFR 565 applies, the check digit is compulsory there
  bool check_digit_ok = false;        ///< 49 CFR 565.15(c), position 9
  char check_digit = '0';             ///< the computed one
  std::vector<std::string> warnings{};  ///< sentences; empty when there is nothing to say
};

/// Refuses with `unclear`: not 17 characters, or a letter that no VIN has (I, O, Q: 49 CFR 565.13, ISO 3779; names what it likely is).
/// Warns, of a North American one only, of: a check digit that does not fit (565.15(c)) or is none (a
/// filler: a letter other than X in position 9); a position 10 that is no model year's sign (I, O, Q, U,
/// Z and 0 are not used); a letter among the last four (565.15(d)). Names likely slips (a swap of
/// neighbours, a letter read for a digit: 5 and S, 8 and B, 2 and Z, 0 and D, 6 and G, 1 and L, U and V)
/// that make it right, and never one that breaks any of those rules or puts a letter among the last
/// five. Elsewhere neither check digit nor model year is compulsory (ISO 3779) and no fault is named;
/// where a first letter may be a misread digit and all would fit then, that is told as a question.
/// Seventeen equal characters draw a note anywhere.
[[nodiscard]] Result<Vin> read_vin(std::string_view text);

/// The model years that position 10 stands for, thirty years apart (49 CFR 565.15, Table VII: from
/// 1980 on). Empty outside North America, and when it is no year's sign.
[[nodiscard]] std::vector<int> vin_model_years(const Vin& vin);
/// What there is to say of a car entered under another model year; empty when nothing is.
[[nodiscard]] std::string vin_year_note(const Vin& vin, int year);

/// The remainder and check digit of 17 valid characters: {sum, 'X'}. 49 CFR 565.15(c) Tables III and IV.
struct CheckDigit {
  int sum;
  char digit;
};
[[nodiscard]] std::optional<CheckDigit> vin_check_digit(std::string_view vin);

/// A diagnostic trouble code: SAE J2012 / ISO 15031-6, five characters, P0217: system letter, 0 to 3, three hex digits; with an optional
/// failure type byte: P0217-1A.
struct FaultCode {
  std::string text;          ///< capitals
  std::string system;        ///< "powertrain", "chassis", "body", "network"
  bool standardised = false; ///< second character says whether the standard or the maker defines it
};
/// Refuses with `unclear`: the shape is wrong (says what is wrong: letter, second character, O for 0).
[[nodiscard]] Result<FaultCode> read_fault_code(std::string_view text);

}  // namespace baybook
BAYBOOK_API_END
