// CSV files coming in: RFC 4180 read by libcsv, with the line of each row and bounds of our own.
#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace baybook::tool {

/// The longest cell and the longest line that are taken, in bytes, and the most columns.
inline constexpr std::size_t kLongestCell = 64 * 1024, kLongestLine = 256 * 1024, kMostColumns = 64;

struct CsvRow {
  std::vector<std::string> cells;
  std::size_t line = 0;  ///< on which it began, from 1
};

/// Gives the next bytes of a file, none at its end; throws Refused itself when it cannot.
using Bytes = std::function<std::string()>;

class CsvReader {
 public:
  /// `name` stands in refusals: name:line:column.
  CsvReader(std::string name, Bytes bytes);
  ~CsvReader();
  CsvReader(const CsvReader&) = delete;
  CsvReader& operator=(const CsvReader&) = delete;
  /// The next row that is not blank; false at the end. The separator is the one of , ; and tab that
  /// the first line has, or names: "sep=;". Throws Refused: a quote where none may be, a NUL byte,
  /// bytes that are no UTF-8 (UTF-16 and Windows-1252 are named), a cell, line or row too long.
  bool next(CsvRow& row);
  [[nodiscard]] const std::string& name() const;

 private:
  struct State;
  std::unique_ptr<State> state_;
};

/// The text as it was before a spreadsheet's guard: one leading apostrophe is taken off where the writer puts one (report/csv.hpp).
[[nodiscard]] std::string without_guard(const std::string& cell);

}  // namespace baybook::tool
