// A PDF file: pages, text, lines, boxes. No clock, no name of a file and no random number gets into it.
//
// Written here and not by libhpdf: Debian has that library only as a shared one, and the command is one static file.
#pragma once

#include "font.hpp"

#include <array>
#include <cstddef>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

enum class Face : unsigned char { regular, bold };
/// What tells one series from another without colour.
enum class Fill : unsigned char { solid, light, slant, back, dots, empty };

/// Points (1/72 inch); x from the left, y from the top of the page.
class PdfDocument {
 public:
  /// Adds a page and draws on it from now on.
  void add_page(double width, double height);
  [[nodiscard]] std::size_t pages() const { return pages_.size(); }
  /// Draws on page `n` (from 0) from now on.
  void turn_to(std::size_t n) { current_ = n; }
  [[nodiscard]] double page_width() const { return pages_[current_].width; }
  [[nodiscard]] double page_height() const { return pages_[current_].height; }

  [[nodiscard]] static double width(std::string_view text, Face face, double size);
  /// `y` is the base line. `grey`: 0 black, 1 white.
  void text(double x, double y, std::string_view text, Face face, double size, double grey = 0);
  void line(double x1, double y1, double x2, double y2, double thick, double grey = 0);
  void rectangle(double x, double y, double w, double h, double grey);
  void frame(double x, double y, double w, double h, double thick);
  void filled(double x, double y, double w, double h, Fill fill);

  /// The file. `title` is what a reader shows; `producer` the program's name and version.
  [[nodiscard]] std::string bytes(const std::string& title, const std::string& producer) const;

 private:
  struct Page {
    double width, height;
    std::string content;
  };
  struct Used {
    std::map<char32_t, std::uint16_t> number;  ///< code point: its number in the printed font, from 1 on in the order of first use
    std::vector<char32_t> codes;
  };
  void op(const std::string& line);
  [[nodiscard]] double up(double y) const { return pages_[current_].height - y; }
  std::vector<Page> pages_;
  std::size_t current_ = 0;
  std::array<Used, 2> used_;
};

}  // namespace baybook::tool::report
