// A report on paper. Every cell is measured before anything is drawn: the font shrinks, then the page is turned; only a word that is
// wider than a whole column of a turned page is ever broken, and no part of it is lost.
#include "characters.hpp"
#include "columns.hpp"
#include "paper.hpp"
#include "pdf_document.hpp"
#include "qr.hpp"

#include <algorithm>
#include <cmath>

namespace baybook::tool::report {

namespace {

class Sheet {
 public:
  Sheet(const Report& report, Paper paper, bool turned) : report_(report) {
    const Size upright_size = upright(paper);
    width_ = turned ? upright_size.height : upright_size.width;
    height_ = turned ? upright_size.width : upright_size.height;
    if (const std::string payload = seal_payload(report); !payload.empty()) seal_ = squares(payload);
    foot_of_page();
    next_page();
    title();
  }
  void put(const Text& text);
  void put(const Facts& facts);
  void put(const Table& table);
  void put(const Bars& bars);
  void notes();
  std::string finish();

 private:
  struct Row {
    std::vector<std::vector<std::string>> lines;
    std::vector<bool> strong;
    std::size_t most = 1;
  };
  void foot_of_page();
  void next_page();
  void title();
  void gap(double points) {
    if (y_ > top_) y_ += points;
  }
  [[nodiscard]] bool fits(double points) const { return y_ + points <= bottom_ + 0.01; }
  void room_for(double points) {
    if (!fits(points) && y_ > top_) next_page();
  }
  void paragraph(double x, const std::string& text, Face face, double size, double room);
  void heading(const std::string& text, double with);
  void right(double x, double y, const std::string& text, Face face, double size) { pdf_.text(x - PdfDocument::width(text, face, size), y, text, face, size); }
  [[nodiscard]] Row row_of(const Table& table, const std::vector<Cell>& cells, const std::vector<double>& widths, double size, bool all_strong) const;
  void draw(const Table& table, const Row& row, const std::vector<double>& widths, double size, std::size_t from, std::size_t to);

  const Report& report_;
  PdfDocument pdf_;
  Squares seal_;
  std::vector<std::string> foot_;
  double width_ = 0, height_ = 0;
  double top_ = 0, bottom_ = 0, y_ = 0;
};

void Sheet::foot_of_page() {
  // Beside the QR; the page number stands in the last line.
  foot_ = foot_lines(report_, width_ - 2 * kMargin - (seal_.side > 0 ? kSeal + 6 : 0));
  const double lines = static_cast<double>(foot_.size() + 1) * kSmall * kLead + 4;
  bottom_ = height_ - kMargin - std::max(lines, seal_.side > 0 ? kSeal : 0.0) - 8;
}

void Sheet::next_page() {
  pdf_.add_page(width_, height_);
  y_ = kMargin;
  if (pdf_.pages() > 1) {
    // What lies on the floor after a draught must say what it belongs to.
    paragraph(kMargin, title_of(report_) + ", continued", Face::bold, kSmall + 1, width_ - 2 * kMargin);
    y_ += 6;
  }
  top_ = y_;
}

void Sheet::paragraph(double x, const std::string& text, Face face, double size, double room) {
  for (const std::string& l : lines_of(text, room, measure(face, size))) {
    if (pdf_.pages() > 0 && !fits(size * kLead) && y_ > top_ && top_ > 0) next_page();
    y_ += size * kLead;
    pdf_.text(x, y_ - size * 0.3, l, face, size);
  }
}

void Sheet::title() {
  paragraph(kMargin, title_of(report_), Face::bold, 15, width_ - 2 * kMargin);
  std::string where = report_.site;
  if (!report_.period.empty()) where += (where.empty() ? "" : ", ") + report_.period;
  if (!where.empty()) paragraph(kMargin, where, Face::regular, 10, width_ - 2 * kMargin);
  y_ += 4;
  pdf_.line(kMargin, y_, width_ - kMargin, y_, 1);
  y_ += 4;
}

void Sheet::heading(const std::string& text, double with) {
  gap(10);
  if (text.empty()) {
    room_for(with);
    return;
  }
  const double height = static_cast<double>(lines_of(text, width_ - 2 * kMargin, measure(Face::bold, 11)).size()) * 11 * kLead;
  room_for(height + 3 + with);
  paragraph(kMargin, text, Face::bold, 11, width_ - 2 * kMargin);
  y_ += 3;
}

void Sheet::put(const Text& text) {
  // Two lines at least stay with their heading.
  std::size_t first = 0;
  for (const std::string& l : text.lines) first += lines_of(l, width_ - 2 * kMargin, measure(Face::regular, kBody)).size();
  heading(text.heading, static_cast<double>(std::min<std::size_t>(first, 2)) * kBody * kLead);
  for (const std::string& l : text.lines) paragraph(kMargin, l, Face::regular, kBody, width_ - 2 * kMargin);
}

void Sheet::put(const Facts& facts) {
  const double room = width_ - 2 * kMargin;
  double names = 0;
  for (const auto& [name, value] : facts.rows) names = std::max(names, PdfDocument::width(name, Face::bold, kBody));
  names = std::min(names, room * 0.35);
  heading(facts.heading, 2 * kBody * kLead);
  for (const auto& [name, value] : facts.rows) {
    const auto left = lines_of(name, names, measure(Face::bold, kBody));
    const auto values = lines_of(value, room - names - kGap, measure(Face::regular, kBody));
    const std::size_t most = std::max(left.size(), values.size());
    const double height = static_cast<double>(most) * kBody * kLead;
    if (height <= bottom_ - top_) room_for(height);
    for (std::size_t i = 0; i < most; ++i) {
      room_for(kBody * kLead);
      y_ += kBody * kLead;
      if (i < left.size()) pdf_.text(kMargin, y_ - kBody * 0.3, left[i], Face::bold, kBody);
      if (i < values.size()) pdf_.text(kMargin + names + kGap, y_ - kBody * 0.3, values[i], Face::regular, kBody);
    }
    y_ += 1.5;
  }
}

Sheet::Row Sheet::row_of(const Table& table, const std::vector<Cell>& cells, const std::vector<double>& widths, double size, bool all_strong) const {
  Row row;
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    const bool strong = c < cells.size() && (all_strong || cells[c].strong);
    row.strong.push_back(strong);
    row.lines.push_back(lines_of(c < cells.size() ? cells[c].text : std::string(), widths[c], measure(strong ? Face::bold : Face::regular, size)));
    row.most = std::max(row.most, row.lines.back().size());
  }
  return row;
}

void Sheet::draw(const Table& table, const Row& row, const std::vector<double>& widths, double size, std::size_t from, std::size_t to) {
  // Cell by cell: a text that is taken out of the file again is whole, and is read out in order.
  double x = kMargin;
  for (std::size_t c = 0; c < widths.size(); ++c) {
    const Face face = row.strong[c] ? Face::bold : Face::regular;
    for (std::size_t i = from; i < std::min(to, row.lines[c].size()); ++i) {
      const double base = y_ + static_cast<double>(i - from + 1) * size * kLead - size * 0.3;
      if (table.columns[c].figure) right(x + widths[c], base, row.lines[c][i], face, size);
      else pdf_.text(x, base, row.lines[c][i], face, size);
    }
    x += widths[c] + kGap;
  }
  y_ += static_cast<double>(to - from) * size * kLead;
}

void Sheet::put(const Table& table) {
  if ((table.rows.empty() && table.foot.empty()) || table.columns.empty()) {
    heading(table.caption, kBody * kLead);
    paragraph(kMargin, table.empty, Face::regular, kBody, width_ - 2 * kMargin);
    return;
  }
  const double room = width_ - 2 * kMargin;
  const double gaps = kGap * static_cast<double>(table.columns.size() - 1);
  const double size = size_of(table, room);
  const std::vector<Demand> asked = demands(table, measure(Face::regular, size), measure(Face::bold, size));
  const auto shared = shared_room(asked, room - gaps);
  const std::vector<double> widths = shared ? *shared : forced_room(asked, room - gaps);
  double across = gaps;
  for (const double w : widths) across += w;

  std::vector<Cell> names;
  for (const Column& c : table.columns) names.push_back({.text = heading_of(c)});
  const Row head = row_of(table, names, widths, size, true);
  std::vector<Row> rows;
  for (const auto& r : table.rows) rows.push_back(row_of(table, r, widths, size, false));
  std::vector<Row> foot;
  for (const auto& r : table.foot) foot.push_back(row_of(table, r, widths, size, true));

  constexpr double pad = 2;  // above and below the lines of a row
  const auto height = [&](const Row& r) { return static_cast<double>(r.most) * size * kLead + 2 * pad; };
  const auto draw_head = [&] {
    draw(table, head, widths, size, 0, head.most);
    y_ += pad;
    pdf_.line(kMargin, y_, kMargin + across, y_, 0.8);
  };
  double sums = 0;
  for (const Row& r : foot) sums += height(r);
  const double page = bottom_ - top_ - 40;
  // The caption stands with the heading and two rows; the sums with the last row.
  double with = height(head);
  for (std::size_t i = 0; i < std::min<std::size_t>(2, rows.size()); ++i) with += height(rows[i]);
  if (rows.size() <= 2) with += sums;
  heading(table.caption, std::min(with, page * 0.6));
  draw_head();
  const auto again = [&] {
    next_page();
    draw_head();
  };
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const bool last = i + 1 == rows.size();
    const double own = height(rows[i]);
    const double wanted = own + (last ? std::min(sums, page) : 0);
    const double on_a_page = bottom_ - top_ - height(head);
    if (!fits(wanted) && wanted <= on_a_page) again();
    else if (!fits(own) && own <= on_a_page) again();
    // A row higher than a page goes on over it.
    std::size_t from = 0;
    y_ += pad;
    while (from < rows[i].most) {
      const auto left = static_cast<std::size_t>(std::max(0.0, std::floor((bottom_ + 0.01 - y_) / (size * kLead))));
      const std::size_t to = std::min(rows[i].most, from + left);
      draw(table, rows[i], widths, size, from, to);
      from = to;
      if (from < rows[i].most) {
        again();
        y_ += pad;
      }
    }
    y_ += pad;
    pdf_.line(kMargin, y_, kMargin + across, y_, last && !foot.empty() ? 0.8 : 0.25, last ? 0 : 0.6);
  }
  for (const Row& r : foot) {
    if (!fits(height(r)) && y_ > top_ + height(head) + 1) again();
    y_ += pad;
    draw(table, r, widths, size, 0, r.most);
    y_ += pad;
  }
}

void Sheet::put(const Bars& bars) {
  const double room = width_ - 2 * kMargin;
  constexpr double size = 8;
  constexpr double bar = 9;
  double category = 0;
  double figure = 0;
  double top = 0;
  for (const std::string& c : bars.categories) category = std::max(category, PdfDocument::width(c, Face::regular, size));
  category = std::min(category, room * 0.3);
  for (const auto& s : bars.series) {
    for (const std::string& t : s.texts) figure = std::max(figure, PdfDocument::width(t, Face::regular, size));
    for (const double v : s.values) top = std::max(top, v);
  }
  figure = std::min(figure, room * 0.3);
  const double left = kMargin + category + kGap;
  const double length = std::max(20.0, room - category - kGap - figure - 6);
  const double one = static_cast<double>(bars.series.size()) * bar + 5;
  const auto legend = [&] {
    double x = kMargin;
    y_ += 12;
    for (std::size_t s = 0; s < bars.series.size(); ++s) {
      const std::string& name = bars.series[s].name;
      const double w = 16 + PdfDocument::width(name, Face::regular, size) + 14;
      if (x > kMargin && x + w > kMargin + room) {
        x = kMargin;
        y_ += 12;
      }
      pdf_.filled(x, y_ - 8, 12, 8, static_cast<Fill>(s % 6));
      const auto lines = lines_of(name, room - 16, measure(Face::regular, size));
      for (std::size_t i = 0; i < lines.size(); ++i) {
        if (i > 0) y_ += size * kLead;
        pdf_.text(x + 16, y_ - 1, lines[i], Face::regular, size);
      }
      x += w;
    }
    y_ += 6;
  };
  const double legend_height = 18 + 12 * static_cast<double>(bars.series.size() / 3);
  const double whole = legend_height + one * static_cast<double>(bars.categories.size());
  // On one page if it fits on one at all.
  heading(bars.unit.empty() ? bars.caption : bars.caption + " (" + bars.unit + ")", std::min(whole, bottom_ - top_ - 60));
  legend();
  for (std::size_t i = 0; i < bars.categories.size(); ++i) {
    const auto names = lines_of(bars.categories[i], category, measure(Face::regular, size));
    const double height = std::max(one, static_cast<double>(names.size()) * size * kLead + 4);
    if (!fits(height) && y_ > top_ + legend_height + 1) {
      next_page();
      legend();
    }
    for (std::size_t n = 0; n < names.size(); ++n) pdf_.text(kMargin, y_ + size * kLead * static_cast<double>(n + 1) - 2, names[n], Face::regular, size);
    pdf_.line(left, y_, left, y_ + height, 0.6);
    for (std::size_t s = 0; s < bars.series.size(); ++s) {
      const auto& series = bars.series[s];
      const double value = i < series.values.size() ? std::max(0.0, series.values[i]) : 0;
      const double w = top > 0 ? value / top * length : 0;
      const double at = y_ + static_cast<double>(s) * bar + 2;
      if (w > 0) pdf_.filled(left, at, std::max(w, 0.8), bar - 1.5, static_cast<Fill>(s % 6));
      if (i < series.texts.size()) pdf_.text(left + w + 3, at + bar - 3, series.texts[i], Face::regular, size - 1);
    }
    y_ += height;
  }
}

void Sheet::notes() {
  if (report_.notes.empty()) return;
  gap(10);
  const double room = width_ - 2 * kMargin;
  room_for(kBody * 2.5);
  pdf_.line(kMargin, y_, width_ - kMargin, y_, 0.5);
  y_ += 2;
  for (const std::string& n : report_.notes) paragraph(kMargin, n, Face::regular, 8, room);
}

std::string Sheet::finish() {
  const std::size_t count = pdf_.pages();
  for (std::size_t n = 0; n < count; ++n) {
    pdf_.turn_to(n);
    double y = bottom_ + 6;
    pdf_.line(kMargin, y, width_ - kMargin, y, 0.5);
    y += 2;
    for (const std::string& l : foot_) {
      y += kSmall * kLead;
      pdf_.text(kMargin, y - 2, l, Face::regular, kSmall);
    }
    y += kSmall * kLead;
    const std::string page = "page " + std::to_string(n + 1) + " of " + std::to_string(count);
    pdf_.text(kMargin, y - 2, report_.program.empty() ? page : report_.program + ", " + page, Face::bold, kSmall);
    if (seal_.side > 0) {
      const double square = kSeal / (seal_.side + 2 * kQuiet);
      const double left = width_ - kMargin - kSeal;
      const double top = bottom_ + 8;
      for (int row = 0; row < seal_.side; ++row) {
        for (int x = 0; x < seal_.side;) {
          int run = 0;
          while (x + run < seal_.side && seal_.at(x + run, row)) ++run;
          if (run > 0) pdf_.rectangle(left + square * (x + kQuiet), top + square * (row + kQuiet), square * run, square, 0);
          x += run > 0 ? run : 1;
        }
      }
    }
  }
  return pdf_.bytes(title_of(report_), report_.program);
}

}  // namespace

std::string as_pdf(const Report& report, Paper paper) {
  Sheet sheet(report, paper, better_turned(report, paper));
  for (const Block& block : report.blocks) std::visit([&](const auto& b) { sheet.put(b); }, block);
  sheet.notes();
  return sheet.finish();
}

}  // namespace baybook::tool::report
