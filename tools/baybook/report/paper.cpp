#include "paper.hpp"

#include "characters.hpp"

namespace baybook::tool::report {

Measure measure(Face face, double size) {
  return [face, size](std::string_view text) { return PdfDocument::width(text, face, size); };
}

double room_of(Paper paper, bool turned) {
  const Size s = upright(paper);
  return (turned ? s.height : s.width) - 2 * kMargin;
}

std::optional<double> size_for(const Table& table, double room, bool contented) {
  const double gaps = kGap * static_cast<double>(table.columns.empty() ? 0 : table.columns.size() - 1);
  double natural = 0;
  double least = 0;
  for (const Demand& d : demands(table, measure(Face::regular, 1), measure(Face::bold, 1))) {
    natural += d.natural;
    least += d.least;
  }
  for (double size = kBody; size >= kLeast; size -= 0.5) {
    if (least * size > room - gaps) continue;
    // A text of many lines beside short figures is hard to read: then rather a turned page.
    if (contented && natural * size > 1.6 * (room - gaps)) continue;
    return size;
  }
  return std::nullopt;
}

double size_of(const Table& table, double room) {
  if (const auto good = size_for(table, room, true)) return *good;
  return size_for(table, room, false).value_or(kLeast);
}

bool better_turned(const Report& report, Paper paper) {
  for (const Block& block : report.blocks) {
    const auto* table = std::get_if<Table>(&block);
    if (table != nullptr && !size_for(*table, room_of(paper, false), true)) return true;
  }
  return false;
}

std::vector<std::string> foot_lines(const Report& report, double room) {
  std::vector<std::string> out;
  const auto add = [&](const std::string& text) {
    if (text.empty()) return;
    for (std::string& l : lines_of(text, room, measure(Face::regular, kSmall))) out.push_back(std::move(l));
  };
  std::string where = report.site;
  if (!report.period.empty()) where += (where.empty() ? "" : ", ") + report.period;
  add(where);
  add(rules_line(report));
  add(seal_line(report));
  if (report.seals.size() > 1) {
    std::string all;
    for (const std::string& s : report.seals) all += (all.empty() ? "" : "  ") + s;
    add(all);
  }
  return out;
}

}  // namespace baybook::tool::report
