#include "table.hpp"

#include "text.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::tool {

namespace {

std::string heading_line(const std::string& heading, std::size_t n) {
  const std::size_t end = heading.find('\n');
  if (n == 0) return heading.substr(0, end);
  return end == std::string::npos ? std::string() : heading.substr(end + 1);
}

}  // namespace

void Table::column(std::string heading, Align align) { columns_.push_back({std::move(heading), align}); }

void Table::row(std::vector<std::string> cells) {
  cells.resize(columns_.size());
  rows_.push_back(std::move(cells));
}

std::string Table::text(int indent) const {
  std::vector<int> width(columns_.size(), 0);
  std::size_t last = 0;
  std::size_t heading_lines = 0;
  for (std::size_t c = 0; c < columns_.size(); ++c) {
    for (const auto& r : rows_) width[c] = std::max(width[c], display_width(r[c]));
    if (width[c] == 0) continue;
    last = c;
    for (std::size_t n = 0; n < 2; ++n) {
      const std::string line = heading_line(columns_[c].heading, n);
      width[c] = std::max(width[c], display_width(line));
      if (!line.empty()) heading_lines = std::max(heading_lines, n + 1);
    }
  }
  std::string out;
  const auto put = [&](const auto& cell_of) {
    std::string line(static_cast<std::size_t>(indent), ' ');
    int at = indent;
    for (std::size_t c = 0; c <= last && c < columns_.size(); ++c) {
      if (width[c] == 0) continue;
      const std::string cell = cell_of(c);
      if (c == last && columns_[c].align == Align::left) {
        // The room that is left, but never so little that the text becomes a ribbon.
        line = wrapped(line, cell, std::max(text_width(), at + 30));
        line.pop_back();
        break;
      }
      const auto pad = static_cast<std::size_t>(std::max(0, width[c] - display_width(cell)));
      if (columns_[c].align == Align::right) line.append(pad, ' ');
      line += cell;
      if (columns_[c].align == Align::left) line.append(pad, ' ');
      if (c != last) line += "  ";
      at += width[c] + 2;
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    out += line;
    out += '\n';
  };
  for (std::size_t n = 0; n < heading_lines; ++n) {
    put([&](std::size_t c) { return heading_line(columns_[c].heading, n); });
  }
  for (const auto& r : rows_) {
    put([&](std::size_t c) { return r[c]; });
  }
  return out;
}

}  // namespace baybook::tool
