// A report on a terminal. Stored text passes visible() before it is measured.
#include "characters.hpp"
#include "columns.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <cmath>

namespace baybook::tool::report {

namespace {

double columns(std::string_view text) { return display_width(text); }

class Screen {
 public:
  explicit Screen(std::size_t width) : width_(std::max<std::size_t>(width, 20)) {}
  void line(std::string text = {}) {
    while (!text.empty() && text.back() == ' ') text.pop_back();
    out_ += text;
    out_ += '\n';
  }
  /// `text` in lines; the first begins with `first`, the others with as many blanks.
  void wrapped(const std::string& first, std::string_view text) {
    const auto indent = static_cast<std::size_t>(display_width(first));
    const std::vector<std::string> lines = lines_of(visible(text), static_cast<double>(std::max<std::size_t>(width_ - std::min(width_, indent), 10)), columns);
    for (std::size_t i = 0; i < lines.size(); ++i) line((i == 0 ? first : std::string(indent, ' ')) + lines[i]);
  }
  void put(const Text& text) {
    if (!text.heading.empty()) wrapped("", text.heading);
    for (const std::string& l : text.lines) wrapped(text.heading.empty() ? "" : "  ", l);
  }
  void put(const Facts& facts);
  void put(const Table& table);
  void put(const Bars& bars);
  [[nodiscard]] std::size_t width() const { return width_; }
  [[nodiscard]] std::string text() { return std::move(out_); }

 private:
  static std::string padded(const std::string& text, std::size_t width, bool right) {
    const auto taken = static_cast<std::size_t>(display_width(text));
    const std::string pad(width > taken ? width - taken : 0, ' ');
    return right ? pad + text : text + pad;
  }
  std::size_t width_;
  std::string out_;
};

void Screen::put(const Facts& facts) {
  if (!facts.heading.empty()) wrapped("", facts.heading);
  std::size_t most = 0;
  for (const auto& [name, value] : facts.rows) most = std::max(most, static_cast<std::size_t>(display_width(name)));
  most = std::min(most, width_ / 2);
  for (const auto& [name, value] : facts.rows) {
    const std::string shown = visible(name);
    if (static_cast<std::size_t>(display_width(shown)) > most) {
      wrapped("  ", shown);
      wrapped(std::string(most + 4, ' '), value);
    } else {
      wrapped("  " + padded(shown, most, false) + "  ", value);
    }
  }
}

void Screen::put(const Table& table) {
  if (!table.caption.empty()) wrapped("", table.caption);
  if (table.rows.empty() && table.foot.empty()) {
    wrapped("  ", table.empty);
    return;
  }
  Table safe = table;
  for (Column& c : safe.columns) c.heading = visible(c.heading);
  for (auto* part : {&safe.rows, &safe.foot}) {
    for (auto& row : *part) {
      row.resize(safe.columns.size());
      for (Cell& c : row) c.text = visible(c.text);
    }
  }
  const std::size_t gaps = safe.columns.empty() ? 0 : 2 * (safe.columns.size() - 1);
  std::vector<Demand> asked = demands(safe, columns, columns);
  // A digest or a path of one long word must not push the others off the screen.
  for (std::size_t c = 0; c < asked.size(); ++c) asked[c].natural = std::ceil(asked[c].natural);
  const auto shared = width_ > gaps ? shared_room(asked, static_cast<double>(width_ - gaps)) : std::nullopt;
  if (!shared) {
    // Too narrow for columns: one row below the other, each value with its heading.
    for (auto* part : {&safe.rows, &safe.foot}) {
      for (const auto& row : *part) {
        Facts facts;
        for (std::size_t c = 0; c < safe.columns.size(); ++c) {
          if (!row[c].text.empty()) facts.rows.emplace_back(heading_of(safe.columns[c]), row[c].text);
        }
        put(facts);
        line();
      }
    }
    return;
  }
  std::vector<std::size_t> widths;
  for (const double w : *shared) widths.push_back(static_cast<std::size_t>(std::floor(w + 0.001)));
  const auto print = [&](const std::vector<std::string>& cells) {
    std::vector<std::vector<std::string>> lines;
    std::size_t most = 1;
    for (std::size_t c = 0; c < cells.size(); ++c) {
      lines.push_back(lines_of(cells[c], static_cast<double>(widths[c]), columns));
      most = std::max(most, lines.back().size());
    }
    for (std::size_t i = 0; i < most; ++i) {
      std::string l;
      for (std::size_t c = 0; c < cells.size(); ++c) {
        if (c != 0) l += "  ";
        l += padded(i < lines[c].size() ? lines[c][i] : "", widths[c], safe.columns[c].figure);
      }
      line(l);
    }
  };
  std::vector<std::string> heads;
  std::size_t across = gaps;
  for (std::size_t c = 0; c < safe.columns.size(); ++c) {
    heads.push_back(heading_of(safe.columns[c]));
    across += widths[c];
  }
  print(heads);
  line(std::string(across, '-'));
  const auto rows = [&](const std::vector<std::vector<Cell>>& list) {
    for (const auto& row : list) {
      std::vector<std::string> cells;
      for (const Cell& c : row) cells.push_back(c.text);
      print(cells);
    }
  };
  rows(safe.rows);
  if (!safe.foot.empty()) {
    line(std::string(across, '-'));
    rows(safe.foot);
  }
}

void Screen::put(const Bars& bars) {
  wrapped("", bars.unit.empty() ? bars.caption : bars.caption + " (" + bars.unit + ")");
  double top = 0;
  std::size_t name = 0;
  std::size_t category = 0;
  std::size_t figure = 0;
  for (const auto& s : bars.series) {
    name = std::max(name, static_cast<std::size_t>(display_width(s.name)));
    for (const double v : s.values) top = std::max(top, v);
    for (const std::string& t : s.texts) figure = std::max(figure, static_cast<std::size_t>(display_width(t)));
  }
  for (const std::string& c : bars.categories) category = std::max(category, static_cast<std::size_t>(display_width(c)));
  const std::size_t taken = category + name + figure + 8;
  const std::size_t room = width_ > taken + 8 ? width_ - taken : 8;
  constexpr std::string_view signs = "#=o.+x";
  for (std::size_t i = 0; i < bars.categories.size(); ++i) {
    for (std::size_t s = 0; s < bars.series.size(); ++s) {
      const auto& series = bars.series[s];
      const double value = i < series.values.size() ? std::max(0.0, series.values[i]) : 0;
      std::size_t length = top > 0 ? static_cast<std::size_t>(std::lround(value / top * static_cast<double>(room))) : 0;
      if (value > 0 && length == 0) length = 1;
      const std::string shown = i < series.texts.size() ? visible(series.texts[i]) : "";
      line("  " + padded(s == 0 ? visible(bars.categories[i]) : "", category, false) + "  " + padded(visible(series.name), name, false) + "  " +
           std::string(length, signs[s % signs.size()]) + (length == 0 ? "" : " ") + shown);
    }
  }
}

}  // namespace

std::string as_text(const Report& report, std::size_t width) {
  Screen screen(width);
  screen.wrapped("", title_of(report));
  std::string where = report.site;
  if (!report.period.empty()) where += (where.empty() ? "" : ", ") + report.period;
  if (!where.empty()) screen.wrapped("", where);
  for (const Block& block : report.blocks) {
    screen.line();
    std::visit([&](const auto& b) { screen.put(b); }, block);
  }
  screen.line();
  for (const std::string& n : report.notes) screen.wrapped("note: ", n);
  if (const std::string rules = rules_line(report); !rules.empty()) screen.wrapped("", rules);
  std::string last = report.program;
  if (const std::string seal = seal_line(report); !seal.empty()) last += (last.empty() ? "" : ", ") + seal;
  if (!last.empty()) screen.wrapped("", last);
  for (const std::string& s : report.seals.size() > 1 ? report.seals : std::vector<std::string>{}) screen.wrapped("  ", s);
  return screen.text();
}

}  // namespace baybook::tool::report
