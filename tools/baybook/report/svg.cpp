#include "svg.hpp"

#include "characters.hpp"
#include "columns.hpp"
#include "pdf_document.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <cmath>

namespace baybook::tool::report {

namespace {

// Tenths, without a locale's comma.
std::string n(double v) {
  const long tenths = std::lround(v * 10);
  return std::to_string(tenths / 10) + (tenths % 10 == 0 ? "" : "." + std::to_string(tenths % 10));
}

constexpr double kLine = 15;
constexpr double kBar = 14;

// The page's own font is not known. DejaVu Sans is as wide as any in common use, so what fits in it is not cut in another.
double wide(std::string_view text) { return PdfDocument::width(text, Face::regular, 12); }

}  // namespace

std::string as_svg(const Bars& bars, std::size_t number) {
  constexpr double width = 720;
  const std::string id = "plot" + std::to_string(number);
  const Measure measure = wide;
  double top = 0;
  double category = 0;
  double figure = 0;
  for (const std::string& c : bars.categories) category = std::max(category, wide(c));
  category = std::min(category, width * 0.3);
  for (const auto& s : bars.series) {
    for (const double v : s.values) top = std::max(top, v);
    for (const std::string& t : s.texts) figure = std::max(figure, wide(t));
  }
  figure = std::min(figure, width * 0.35);
  const double left = category + 10;
  const double length = std::max(20.0, width - left - figure - 10);

  std::string defs = "<defs>";
  const auto pattern = [&](int which, const std::string& inside) {
    defs += "<pattern id=\"" + id + "f" + std::to_string(which) + "\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><rect width=\"6\" height=\"6\" fill=\"#fff\"/>" + inside + "</pattern>";
  };
  pattern(2, "<path d=\"M-1 7L7 -1M-1 1L1 -1M5 7L7 5\" stroke=\"#000\" stroke-width=\"1.2\"/>");
  pattern(3, "<path d=\"M-1 -1L7 7M5 -1L7 1M-1 5L1 7\" stroke=\"#000\" stroke-width=\"1.2\"/>");
  pattern(4, "<circle cx=\"3\" cy=\"3\" r=\"1.2\" fill=\"#000\"/>");
  defs += "</defs>";
  const auto fill = [&](std::size_t s) -> std::string {
    switch (s % 6) {
      case 0: return "#000";
      case 1: return "#bbb";
      case 5: return "#fff";
      default: return "url(#" + id + "f" + std::to_string(s % 6) + ")";
    }
  };
  const auto box = [&](double x, double y, double w, double h, std::size_t s) {
    return "<rect x=\"" + n(x) + "\" y=\"" + n(y) + "\" width=\"" + n(w) + "\" height=\"" + n(h) + "\" fill=\"" + fill(s) + "\" stroke=\"#000\"/>";
  };
  const auto words = [](double x, double y, std::string_view text) { return "<text x=\"" + n(x) + "\" y=\"" + n(y) + "\">" + markup(text) + "</text>"; };

  std::string body;
  double y = 4;
  double x = 0;
  for (std::size_t s = 0; s < bars.series.size(); ++s) {
    const auto lines = lines_of(visible(bars.series[s].name), width - 24, measure);
    const double w = 24 + wide(lines.front()) + 16;
    if (x > 0 && x + w > width) {
      x = 0;
      y += kLine + 3;
    }
    body += box(x, y, 16, 11, s);
    for (std::size_t i = 0; i < lines.size(); ++i) {
      if (i > 0) y += kLine;
      body += words(x + 22, y + 10, lines[i]);
    }
    x += w;
  }
  y += kLine + 10;
  std::string told;
  for (std::size_t i = 0; i < bars.categories.size(); ++i) {
    const auto lines = lines_of(visible(bars.categories[i]), category, measure);
    const double height = std::max(static_cast<double>(bars.series.size()) * kBar + 6, static_cast<double>(lines.size()) * kLine + 4);
    for (std::size_t k = 0; k < lines.size(); ++k) body += words(0, y + 12 + static_cast<double>(k) * kLine, lines[k]);
    told += (told.empty() ? "" : "; ") + bars.categories[i] + ":";
    for (std::size_t s = 0; s < bars.series.size(); ++s) {
      const auto& series = bars.series[s];
      const double value = i < series.values.size() ? std::max(0.0, series.values[i]) : 0;
      const double w = top > 0 ? value / top * length : 0;
      const double at = y + static_cast<double>(s) * kBar + 2;
      if (w > 0) body += box(left, at, std::max(1.0, w), kBar - 3, s);
      if (i < series.texts.size()) {
        body += words(left + w + 5, at + 10, series.texts[i]);
        told += (s == 0 ? " " : ", ") + series.name + " " + series.texts[i] + (bars.unit.empty() ? "" : " " + bars.unit);
      }
    }
    body += "<path d=\"M" + n(left) + " " + n(y) + "V" + n(y + height) + "\" stroke=\"#000\"/>";
    y += height;
  }
  const std::string height = n(y + 6);
  return "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" class=\"plot\" viewBox=\"0 0 " + n(width) + " " + height + "\" aria-labelledby=\"" + id + "t " + id + "d\" font-family=\"sans-serif\" font-size=\"12\">" +
         "<title id=\"" + id + "t\">" + markup(bars.caption) + "</title><desc id=\"" + id + "d\">" + markup(told) + "</desc>" + defs + body + "</svg>";
}

}  // namespace baybook::tool::report
