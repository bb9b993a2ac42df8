#include "csv_file.hpp"

#include "context.hpp"
#include "report/csv.hpp"

#include <baybook/text.hpp>

#include <csv.h>

#include <algorithm>
#include <deque>

namespace baybook::tool {

namespace {

[[noreturn]] void refuse_at(const std::string& name, std::size_t line, std::size_t column, const std::string& what, const std::string& instead) {
  refuse(Code::unclear, name + ":" + std::to_string(line) + ":" + std::to_string(column) + ": " + what, "of a file with a fault nothing is taken", instead);
}

// Index of the first byte that is no UTF-8 (RFC 3629), or npos.
std::size_t no_utf8(std::string_view s) {
  for (std::size_t i = 0; i < s.size();) {
    const auto c = static_cast<unsigned char>(s[i]);
    const std::size_t more = c < 0x80 ? 0 : c >= 0xc2 && c < 0xe0 ? 1 : c >= 0xe0 && c < 0xf0 ? 2 : c >= 0xf0 && c < 0xf5 ? 3 : 4;
    if (more == 4 || i + more >= s.size() + (more == 0 ? 1 : 0)) return i;
    for (std::size_t k = 1; k <= more; ++k) {
      const auto d = static_cast<unsigned char>(s[i + k]);
      const unsigned char low = k == 1 && c == 0xe0 ? 0xa0 : k == 1 && c == 0xf0 ? 0x90 : 0x80;
      const unsigned char high = k == 1 && c == 0xed ? 0x9f : k == 1 && c == 0xf4 ? 0x8f : 0xbf;
      if (d < low || d > high) return i;
    }
    i += more + 1;
  }
  return std::string_view::npos;
}

// The characters that Windows-1252 has from 0x80 to 0x9F, where ISO 8859-1 has controls (the
// mapping table of Unicode for code page 1252); empty: none.
constexpr const char* kOf1252[32] = {
    "\u20ac", "",       "\u201a", "\u0192", "\u201e", "\u2026", "\u2020", "\u2021",
    "\u02c6", "\u2030", "\u0160", "\u2039", "\u0152", "",       "\u017d", "",
    "",       "\u2018", "\u2019", "\u201c", "\u201d", "\u2022", "\u2013", "\u2014",
    "\u02dc", "\u2122", "\u0161", "\u203a", "\u0153", "",       "\u017e", "\u0178"};

std::string in_1252(unsigned char byte) {
  if (byte >= 0xa0)
    return {static_cast<char>(0xc0 | byte >> 6), static_cast<char>(0x80 | (byte & 0x3f))};
  return kOf1252[byte - 0x80];
}

std::string in_hex(unsigned char byte) {
  constexpr char hex[] = "0123456789ABCDEF";
  return {'0', 'x', hex[byte >> 4], hex[byte & 15]};
}

constexpr const char* kAsUtf8 =
    "the file saved as \"CSV UTF-8\", or sent through iconv -t UTF-8 -f ";

// Whatever no byte of can be read as UTF-8 is named for what it most likely is: every byte but five
// means something in Windows-1252, which spreadsheets in western Europe and America call plain
// "CSV".
[[noreturn]] void refuse_bytes(const std::string& name, std::size_t line, std::string_view text,
                               std::size_t bad) {
  const auto byte = static_cast<unsigned char>(text[bad]);
  std::string letter = in_1252(byte);
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto u = static_cast<unsigned char>(text[i]);
    // Letters of UTF-8 before it: the file is UTF-8, and damaged here.
    if (u >= 0x80 && (i < bad || in_1252(u).empty())) letter.clear();
  }
  const std::string at = name + ":" + std::to_string(line) + ":" + std::to_string(bad + 1) + ": ";
  if (letter.empty())
    refuse(Code::unclear, at + "bytes that are no UTF-8 (" + in_hex(byte) + ")",
           "of a file with a fault nothing is taken", "the file saved as CSV, UTF-8");
  refuse(Code::unclear,
         at + "bytes that are no UTF-8; the file looks like Windows-1252, where " + in_hex(byte) +
             " is " + letter,
         "in another code page it is another letter, so nothing is guessed",
         std::string(kAsUtf8) + "WINDOWS-1252");
}

// By its mark or, without one, by the zero byte that every other byte of plain text is in it;
// empty: none of them.
const char* wide_encoding(std::string_view head) {
  using namespace std::string_view_literals;
  if (head.starts_with("\xff\xfe\0\0"sv)) return "UTF-32";
  if (head.starts_with("\xff\xfe"sv) || head.starts_with("\xfe\xff"sv)) return "UTF-16";
  std::size_t zeros[2] = {0, 0};
  for (std::size_t i = 0; i < head.size(); ++i) zeros[i % 2] += head[i] == '\0' ? 1U : 0U;
  // The first line names columns, in letters of ASCII; of its line feed the zero byte may stand on
  // the next line.
  if (zeros[1] > 1 && zeros[0] == 0 && 2 * zeros[1] + 2 >= head.size()) return "UTF-16LE";
  if (zeros[0] > 1 && zeros[1] == 0 && 2 * zeros[0] + 2 >= head.size()) return "UTF-16BE";
  return "";
}

// "sep=;": how a spreadsheet is told the separator, and what it writes before the header. 0: it is
// another line.
char separator_said(const std::string& name, std::string line) {
  while (!line.empty() && (line.back() == '\n' || line.back() == '\r')) line.pop_back();
  if (line.size() >= 2 && line.front() == '"' && line.back() == '"')
    line = line.substr(1, line.size() - 2);
  for (std::size_t i = 0; i < 3 && i < line.size(); ++i)
    line[i] = static_cast<char>(line[i] | 0x20);
  if (!line.starts_with("sep=")) return 0;
  const std::string said = line.substr(4);
  if (said == "," || said == ";" || said == "\t") return said.front();
  refuse_at(name, 1, 5, visible(said) + " is no separator that is read", "one of , ; and tab");
}

}  // namespace

// Fed one line of the file at a time, so that the parser knows on which line each row began. A line ends at LF, also inside quotes.
struct CsvReader::State {
  std::string name;
  Bytes bytes;
  csv_parser parser{};
  std::string held;
  std::size_t at = 0;          // what of `held` was taken
  bool ended = false;
  std::size_t line = 0;        // of the line that is being fed
  std::size_t row_line = 0;    // on which the row being gathered began; 0: none
  std::vector<std::string> cells;
  std::deque<CsvRow> rows;
  std::size_t row_bytes = 0;

  static void on_cell(void* data, std::size_t size, void* self) {
    auto& s = *static_cast<State*>(self);
    if (s.cells.size() < kMostColumns + 1) s.cells.emplace_back(static_cast<const char*>(data), size);
  }
  static void on_row(int, void* self) {
    auto& s = *static_cast<State*>(self);
    const bool blank = std::all_of(s.cells.begin(), s.cells.end(), [](const std::string& c) { return c.empty(); });
    if (!blank) s.rows.push_back({std::move(s.cells), s.row_line});
    s.cells.clear();
    s.row_line = s.line;  // a row that ended at a CR alone is followed by another on the same line
    s.row_bytes = 0;
  }

  // The next line with its end; false at the end of the file.
  bool next_line(std::string& out) {
    for (;;) {
      const std::size_t end = held.find('\n', at);
      if (end != std::string::npos) {
        out = held.substr(at, end + 1 - at);
        at = end + 1;
        break;
      }
      held.erase(0, at);
      at = 0;
      if (held.size() > kLongestLine) refuse_at(name, line + 1, 1, "a line is longer than " + std::to_string(kLongestLine / 1024) + " KiB", "a file of rows, as a spreadsheet writes it");
      const std::string more = ended ? std::string() : bytes();
      if (more.empty()) {
        ended = true;
        if (held.empty()) return false;
        out.swap(held);
        held.clear();
        break;
      }
      held += more;
    }
    ++line;
    if (out.size() > kLongestLine) refuse_at(name, line, 1, "a line is longer than " + std::to_string(kLongestLine / 1024) + " KiB", "a file of rows, as a spreadsheet writes it");
    if (const char* wide = line == 1 ? wide_encoding(out) : ""; *wide != '\0') {
      refuse(Code::unclear,
             name + ":1:1: the file is " + wide + ", as a spreadsheet saves \"Unicode text\"",
             "lists are read as UTF-8", kAsUtf8 + std::string(wide));
    }
    if (line == 1 && out.starts_with("\xef\xbb\xbf")) out.erase(0, 3);  // a byte order mark, as spreadsheets write it
    const std::size_t nul = out.find('\0');
    if (nul != std::string::npos) refuse_at(name, line, nul + 1, "a NUL byte", "the file as text: CSV, UTF-8");
    const std::size_t bad = no_utf8(out);
    if (bad != std::string::npos) refuse_bytes(name, line, out, bad);
    return true;
  }

  void feed(const std::string& text) {
    if (row_line == 0) row_line = line;
    row_bytes += text.size();
    if (row_bytes > 4 * kLongestLine) refuse_at(name, row_line, 1, "a row that does not end: a quote is missing", "the row as a spreadsheet writes it");
    const std::size_t done = csv_parse(&parser, text.data(), text.size(), on_cell, on_row, this);
    if (done == text.size()) {
      if (parser.pstate == 0) row_line = 0;  // between rows: it was a blank line, or the row ended with it
      return;
    }
    if (csv_error(&parser) == CSV_ENOMEM) throw std::bad_alloc();
    refuse_at(name, line, done + 1, "a quote where none may be", "a quote inside a cell is doubled, and the cell stands in quotes: \"5\"\" hose\"");
  }
};

CsvReader::CsvReader(std::string name, Bytes bytes) : state_(std::make_unique<State>()) {
  state_->name = std::move(name);
  state_->bytes = std::move(bytes);
  if (csv_init(&state_->parser, CSV_STRICT | CSV_STRICT_FINI) != 0) throw std::bad_alloc();
}

CsvReader::~CsvReader() { csv_free(&state_->parser); }

const std::string& CsvReader::name() const { return state_->name; }

bool CsvReader::next(CsvRow& row) {
  State& s = *state_;
  std::string text;
  while (s.rows.empty()) {
    if (!s.next_line(text)) {
      if (csv_fini(&s.parser, State::on_cell, State::on_row, &s) != 0) refuse_at(s.name, s.row_line == 0 ? s.line : s.row_line, 1, "the file ends inside quotes", "the closing quote");
      if (s.rows.empty()) return false;
      break;
    }
    if (s.line == 1) {
      if (const char said = separator_said(s.name, text); said != 0) {
        csv_set_delim(&s.parser, static_cast<unsigned char>(said));
        continue;
      }
    }
    if (s.line == 1) {
      for (const char separator : {',', ';', '\t'}) {
        if (text.find(separator) == std::string::npos) continue;
        csv_set_delim(&s.parser, static_cast<unsigned char>(separator));
        break;
      }
    }
    s.feed(text);
  }
  row = std::move(s.rows.front());
  s.rows.pop_front();
  if (row.cells.size() > kMostColumns) refuse_at(s.name, row.line, 1, "more than " + std::to_string(kMostColumns) + " columns", "the columns that are asked for");
  for (std::size_t c = 0; c < row.cells.size(); ++c) {
    if (row.cells[c].size() > kLongestCell) refuse_at(s.name, row.line, 1, "cell " + std::to_string(c + 1) + " is longer than " + std::to_string(kLongestCell / 1024) + " KiB", "a shorter text");
  }
  return true;
}

std::string without_guard(const std::string& cell) { return cell.starts_with('\'') && report::begins_a_formula(cell) ? cell.substr(1) : cell; }

}  // namespace baybook::tool
