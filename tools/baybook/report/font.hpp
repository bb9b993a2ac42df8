// A TrueType font that lies in the program: which characters it has, how wide they are, and a file with only those that were used.
//
// Nothing is read from it until the first PDF is printed.
#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

class Font {
 public:
  /// `data` lives as long as the program. Throws std::runtime_error when it is no TrueType font: a fault of the build.
  Font(std::string_view data, std::string name);

  [[nodiscard]] const std::string& name() const { return name_; }
  /// The glyph of a code point; 0: the font has none.
  [[nodiscard]] std::uint16_t glyph(char32_t code) const;
  /// Advance of a glyph in thousandths of the size.
  [[nodiscard]] double advance(std::uint16_t glyph) const;
  [[nodiscard]] double ascent() const { return ascent_; }      ///< thousandths, above the base line
  [[nodiscard]] double descent() const { return descent_; }    ///< thousandths, negative
  [[nodiscard]] double cap_height() const { return cap_; }
  [[nodiscard]] std::vector<int> box() const;
  /// A font file whose glyphs are .notdef and then `glyphs` in their order.
  [[nodiscard]] std::string subset(const std::vector<std::uint16_t>& glyphs) const;

 private:
  [[nodiscard]] std::uint16_t u16(std::size_t at) const;
  [[nodiscard]] std::uint32_t u32(std::size_t at) const;
  [[nodiscard]] std::int16_t s16(std::size_t at) const { return static_cast<std::int16_t>(u16(at)); }
  [[nodiscard]] std::string_view table(const char* tag) const;
  [[nodiscard]] std::string_view outline(std::uint16_t glyph) const;

  std::string_view data_;
  std::string name_;
  std::map<std::string, std::string_view, std::less<>> tables_;
  std::size_t cmap12_ = 0;  ///< offset of a format 12 subtable, or 0
  std::size_t cmap4_ = 0;
  std::uint16_t glyphs_ = 0;
  std::uint16_t metrics_ = 0;
  bool long_offsets_ = false;
  double units_ = 1000;
  double ascent_ = 0, descent_ = 0, cap_ = 0;
};

[[nodiscard]] const Font& regular_font();
[[nodiscard]] const Font& bold_font();

}  // namespace baybook::tool::report
