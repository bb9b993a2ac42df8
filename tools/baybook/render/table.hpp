// Columns on a terminal, aligned by what a character takes on the screen and not by its bytes.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool {

enum class Align : unsigned char { left, right };

/// Cells are taken as they are: whoever fills the table passes stored text through visible() first.
class Table {
 public:
  /// Headings may be empty, and may have two lines; a column without a single filled cell is left out.
  void column(std::string heading, Align align = Align::left);
  void row(std::vector<std::string> cells);
  [[nodiscard]] bool empty() const { return rows_.empty(); }
  /// Every line begins with `indent` blanks; columns are two blanks apart; no blanks at the end of a line. A last column of
  /// text that does not fit the screen goes on below itself.
  [[nodiscard]] std::string text(int indent = 0) const;

 private:
  struct Column {
    std::string heading;
    Align align;
  };
  std::vector<Column> columns_;
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace baybook::tool
