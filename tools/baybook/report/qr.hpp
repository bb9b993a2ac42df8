// The squares of a QR code, and what stands in it (conventions.md, Output 11).
#pragma once

#include "report.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

/// A label's payload: "BAYBOOK:" and upper-case letters, digits and '-', 40 characters at most. Throws std::invalid_argument for
/// anything else: whoever makes the payload knows the form, so it is never a person's mistake.
[[nodiscard]] const std::string& checked_payload(const std::string& payload);
/// "BAYBOOK:SEAL-BAY-24-" and the whole digest. It is longer than a label's, for it carries 64 digits; nothing else differs.
/// Empty without a digest.
[[nodiscard]] std::string seal_payload(const Report& report);

struct Squares {
  int side = 0;               ///< without the quiet zone
  std::vector<bool> dark{};   ///< side x side, row by row
  [[nodiscard]] bool at(int x, int y) const { return dark[static_cast<std::size_t>(y * side + x)]; }
};
/// Blank border that a reader needs: four squares on each side (ISO/IEC 18004, from memory).
constexpr int kQuiet = 4;
[[nodiscard]] Squares squares(std::string_view payload);
/// As an SVG of its own, quiet zone included; `title` is what a screen reader says. `css_class` names its size in the style sheet.
[[nodiscard]] std::string svg_of(const Squares& s, std::string_view title, std::string_view css_class);

}  // namespace baybook::tool::report
