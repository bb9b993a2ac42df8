// What is printed, before anybody decides whether on a terminal, as a page, a sheet of paper or a table for another program.
//
// A Report is data: texts as stored (each renderer makes them safe for its own medium), figures as text for people and exactly for machines.
#pragma once

#include <cstdint>
#include <string>
#include <utility>
#include <variant>
#include <vector>

namespace baybook::tool {
class Json;
}

namespace baybook::tool::report {

struct Cell {
  std::string text;            ///< for people: "5.4"
  std::string exact{};         ///< for machines, when it is a figure: "5.4" in the column's unit, every digit; empty: text is all there is
  bool strong = false;         ///< totals, overdue: set apart by weight and a word, never by colour alone
};
struct Column {
  std::string heading;         ///< "drained"
  std::string unit{};          ///< "L", "kg": stands in the heading
  bool figure = false;         ///< right-aligned, digits line up
  std::string key{};           ///< name in CSV and JSON; empty: the heading
  bool whole = false;          ///< a code, a number of a paper: never broken at its blanks
  /// The name that other documents have for the same value, where `key` is another one: JSON has
  /// it under both (docs/json.md).
  std::string also{};
};
struct Table {
  std::string caption;
  std::vector<Column> columns;
  std::vector<std::vector<Cell>> rows;
  std::vector<std::vector<Cell>> foot{};   ///< sums below a rule
  std::string empty = "nothing";           ///< said in place of a table without rows
};
/// A plot of bars by category (months of a year). Readable in black and white: each series has a pattern of its own.
struct Bars {
  std::string caption;         ///< also the text for a screen reader
  std::string unit;
  std::vector<std::string> categories;
  struct Series {
    std::string name;
    std::vector<double> values;   ///< in `unit`; only for the length of the bars
    std::vector<std::string> texts;   ///< the same figures for people
    std::vector<std::string> exact{};   ///< and for machines, every digit; empty: the texts are all there is
  };
  std::vector<Series> series;
};
struct Text {
  std::string heading{};
  std::vector<std::string> lines;
};
/// Name and value, one below the other: the head of a sheet.
struct Facts {
  std::string heading{};
  std::vector<std::pair<std::string, std::string>> rows;
};
using Block = std::variant<Text, Facts, Table, Bars>;

struct Report {
  std::string kind;            ///< "totals", "register", "limits", "car", ...: the name in JSON
  std::string title;           ///< "Fluids, March 2026"
  std::string site;
  std::string period;          ///< "2026-03-01 to 2026-03-31"
  std::vector<Block> blocks;
  std::vector<std::string> notes{};   ///< sources that were not confirmed, the sentence that this is an aid
  // On every page:
  std::string rules{};         ///< "us-federal", or empty when nothing is judged
  std::string rules_digest{};  ///< 64 hex
  std::string program;         ///< "baybook 0.1.0"
  std::string seal;            ///< TAG:NUMBER:16 hex; several: the digest over all of them
  std::string seal_digest{};   ///< 64 hex, the whole digest behind `seal`: goes into the QR of every printed page; empty: no QR
  std::vector<std::string> seals{};   ///< each installation's, when there are several
  bool amended = false;        ///< a closed month that changed since: the word stands in the title
};

enum class Paper : std::uint8_t { a4, letter };

/// 80 columns or the width of the screen.
[[nodiscard]] std::string as_text(const Report& report, std::size_t width);
/// RFC 4180, CRLF, one table after another, each with its caption in the first column; `raw` leaves text as it is (conventions.md, Output 7).
[[nodiscard]] std::string as_csv(const Report& report, bool raw);
/// One object, as a value of the one document form: {"kind":...,"title":...,"blocks":[...]}. Text is the exact text.
void as_json(Json& json, const Report& report);
/// One file, no script, no outside address, print style sheet.
[[nodiscard]] std::string as_html(const Report& report, Paper paper);
/// The same bytes for the same report.
[[nodiscard]] std::string as_pdf(const Report& report, Paper paper);

}  // namespace baybook::tool::report
