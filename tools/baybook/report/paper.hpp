// The sizes of the two papers, and how a table is made to fit one.
#pragma once

#include "columns.hpp"
#include "pdf_document.hpp"
#include "report.hpp"

#include <optional>

namespace baybook::tool::report {

/// Points (1/72 inch). ISO 216: A4 is 210 x 297 mm; US Letter is 8.5 x 11 inches.
struct Size {
  double width, height;
};
[[nodiscard]] constexpr Size upright(Paper paper) { return paper == Paper::letter ? Size{612, 792} : Size{210 / 25.4 * 72, 297 / 25.4 * 72}; }
[[nodiscard]] constexpr const char* css_name(Paper paper) { return paper == Paper::letter ? "letter" : "A4"; }

constexpr double kMargin = 36;      // half an inch: what every printer reaches
constexpr double kSmall = 7;        // head and foot of the page
constexpr double kBody = 9;
constexpr double kLeast = 6.5;      // smaller is not read any more
constexpr double kGap = 8;          // between two columns
constexpr double kSeal = 62;        // side of the seal's QR with its quiet zone
constexpr double kLead = 1.25;      // a line, in sizes

[[nodiscard]] Measure measure(Face face, double size);
/// Between the margins.
[[nodiscard]] double room_of(Paper paper, bool turned);
/// The size at which no word of the table breaks in `room`; nothing when there is none. `contented`: nor are long texts squeezed
/// into many short lines.
[[nodiscard]] std::optional<double> size_for(const Table& table, double room, bool contented);
/// The size to print it in, whatever must give way.
[[nodiscard]] double size_of(const Table& table, double room);
/// The page is turned for the sake of a table that is too wide for an upright one.
[[nodiscard]] bool better_turned(const Report& report, Paper paper);
/// What stands at the foot of every page, but the program and the number of the page, in lines no wider than `room`.
[[nodiscard]] std::vector<std::string> foot_lines(const Report& report, double room);

}  // namespace baybook::tool::report
