#include "csv_file.hpp"
#include "context.hpp"
#include "property.hpp"
#include "report/csv.hpp"
#include "targets.hpp"

#include <algorithm>

namespace baybook::fuzz {

namespace {

std::vector<tool::CsvRow> rows_of(std::string_view bytes, std::size_t piece) {
  std::vector<tool::CsvRow> out;
  std::size_t at = 0;
  tool::CsvReader reader("list.csv", [&] {
    const std::string next(bytes.substr(at, piece));
    at += next.size();
    return next;
  });
  tool::CsvRow row;
  std::size_t line = 0;
  while (reader.next(row)) {
    hold(row.line >= line && row.line > 0, "rows come in the order of their lines");
    line = row.line;
    hold(!row.cells.empty() && row.cells.size() <= tool::kMostColumns, "a row has cells, and not too many");
    for (const std::string& cell : row.cells) hold(cell.size() <= tool::kLongestCell, "a cell is not too long");
    out.push_back(std::move(row));
  }
  return out;
}

std::string trimmed(const std::string& cell) {
  const std::size_t begin = cell.find_first_not_of(" \t");
  return begin == std::string::npos ? std::string() : cell.substr(begin, cell.find_last_not_of(" \t") - begin + 1);
}

}  // namespace

void csv(std::string_view input) {
  Input in(input);
  const std::size_t pieces[] = {1, 7, 4096, 65536};
  const std::size_t piece = pieces[in.choice(4)];
  std::vector<tool::CsvRow> rows;
  try {
    rows = rows_of(in.rest(), piece);
  } catch (const tool::Refused& r) {
    told_with_instead(r.refusal, in.rest());
    hold(r.refusal.what.starts_with("list.csv:"), "a fault is told with its line: " + r.refusal.what);
    return;
  }
  // What was read is written, and read again as the same. A first cell with a comma makes the comma the separator.
  tool::report::Csv out(false);
  out.cell("head");
  out.cell("of,it");
  out.end();
  for (const tool::CsvRow& row : rows) {
    for (const std::string& cell : row.cells) out.cell(trimmed(cell));
    out.end();
  }
  const std::string bytes = out.text();
  std::vector<tool::CsvRow> again;
  try {
    again = rows_of(bytes, 4096);
  } catch (const tool::Refused& r) {
    // Only its length can be in the way: quotes are doubled, and rows made as wide as the widest.
    hold(r.refusal.what.find("longer than") != std::string::npos || r.refusal.what.find("does not end") != std::string::npos, "what was written is read: " + r.refusal.what);
    return;
  }
  std::size_t n = 1;
  for (const tool::CsvRow& row : rows) {
    const bool blank = std::all_of(row.cells.begin(), row.cells.end(), [](const std::string& c) { return trimmed(c).empty(); });
    if (blank) continue;
    hold(n < again.size(), "every row comes back");
    for (std::size_t c = 0; c < row.cells.size(); ++c) {
      const std::string& raw = again[n].cells[c];
      hold(raw.empty() || !tool::report::begins_a_formula(raw) || raw.front() == '\'', "no written cell begins a formula: " + visible(raw.substr(0, 40)));
      hold(tool::without_guard(raw) == trimmed(row.cells[c]) || visible(row.cells[c]) != row.cells[c], "a cell comes back as it was: " + visible(raw.substr(0, 40)));
    }
    ++n;
  }
}

}  // namespace baybook::fuzz

namespace baybook::tool {
// The reader refuses through the command's own function; here without the command around it.
void refuse(Code code, std::string what, std::string why, std::string instead) { throw Refused{Refusal{code, std::move(what), std::move(why), std::move(instead), {}}}; }
}  // namespace baybook::tool
