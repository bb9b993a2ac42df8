// Cells and rows of CSV (RFC 4180), with the guard against texts that a spreadsheet would take for a formula.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

/// Whether a spreadsheet would take the text, apostrophes before it aside, for a formula: = + - @, tab, CR, and their full-width forms.
[[nodiscard]] bool begins_a_formula(std::string_view text);

class Csv {
 public:
  /// `raw`: texts stay as they are.
  explicit Csv(bool raw) : raw_(raw) {}
  /// A text that begins a formula gets a leading apostrophe, unless it is a figure and a number.
  void cell(std::string_view text, bool figure = false);
  void end();
  /// All rows, as wide as the widest, each ended by CR LF.
  [[nodiscard]] std::string text() const;

 private:
  bool raw_;
  std::size_t widest_ = 0;
  std::vector<std::string> row_;
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace baybook::tool::report
