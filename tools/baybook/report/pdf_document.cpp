// Sections are those of ISO 32000-1 (PDF 1.7); numbers from memory, the result is read back by the tests with another program.
#include "pdf_document.hpp"

#include "characters.hpp"

#include <baybook/text.hpp>

#include <zlib.h>

#include <cmath>
#include <stdexcept>

namespace baybook::tool::report {

namespace {

const Font& font_of(Face face) { return face == Face::bold ? bold_font() : regular_font(); }

// Hundredths of a point, without a locale's comma.
std::string number(double v) {
  const auto n = static_cast<long long>(std::llround(std::abs(v) * 100));
  std::string out = std::to_string(n / 100);
  if (n % 100 != 0) {
    out += '.';
    out += static_cast<char>('0' + n % 100 / 10);
    if (n % 10 != 0) out += static_cast<char>('0' + n % 10);
  }
  return v < 0 && n != 0 ? "-" + out : out;
}

std::string hex4(std::uint32_t v) {
  constexpr char digits[] = "0123456789ABCDEF";
  std::string out;
  for (int shift = 12; shift >= 0; shift -= 4) out += digits[v >> static_cast<unsigned>(shift) & 0xfU];
  return out;
}

std::string utf16_hex(char32_t code) {
  if (code < 0x10000) return hex4(static_cast<std::uint32_t>(code));
  const auto rest = static_cast<std::uint32_t>(code - 0x10000);
  return hex4(0xd800U + (rest >> 10U)) + hex4(0xdc00U + (rest & 0x3ffU));
}

// A text string outside the pages: UTF-16 with its mark (7.9.2.2).
std::string text_string(std::string_view text) {
  std::string out = "<FEFF";
  for (const char32_t c : code_points(visible(text))) out += utf16_hex(c);
  return out + ">";
}

// What is drawn: what the font does not have is spelled out, so that nothing is lost on the paper.
std::vector<char32_t> drawn(std::string_view text, const Font& font) {
  std::vector<char32_t> out;
  for (const char32_t code : code_points(visible(text))) {
    if (font.glyph(code) != 0) {
      out.push_back(code);
      continue;
    }
    for (const char c : code_point_name(code)) out.push_back(static_cast<unsigned char>(c));
  }
  return out;
}

std::string deflated(const std::string& in) {
  uLongf size = compressBound(static_cast<uLong>(in.size()));
  std::string out(size, '\0');
  if (compress2(reinterpret_cast<Bytef*>(out.data()), &size, reinterpret_cast<const Bytef*>(in.data()), static_cast<uLong>(in.size()), 9) != Z_OK) throw std::bad_alloc();
  out.resize(size);
  return out;
}

// Objects in the order of their numbers, then the table of where each begins (7.5.4).
class File {
 public:
  File() { out_ = "%PDF-1.7\n%\xe2\xe3\xcf\xd3\n"; }
  [[nodiscard]] std::size_t reserve() {
    at_.push_back(0);
    return at_.size();
  }
  void object(std::size_t n, const std::string& body) {
    at_[n - 1] = out_.size();
    out_ += std::to_string(n) + " 0 obj\n" + body + "\nendobj\n";
  }
  void stream(std::size_t n, const std::string& entries, const std::string& data) {
    const std::string packed = deflated(data);
    object(n, "<<" + entries + " /Filter /FlateDecode /Length " + std::to_string(packed.size()) + ">>\nstream\n" + packed + "\nendstream");
  }
  [[nodiscard]] std::string finish(std::size_t root, std::size_t info) {
    const std::size_t table = out_.size();
    out_ += "xref\n0 " + std::to_string(at_.size() + 1) + "\n0000000000 65535 f \n";
    for (const std::size_t offset : at_) {
      const std::string digits = std::to_string(offset);
      out_ += std::string(10 - digits.size(), '0') + digits + " 00000 n \n";
    }
    out_ += "trailer\n<</Size " + std::to_string(at_.size() + 1) + " /Root " + ref(root) + " /Info " + ref(info) + ">>\nstartxref\n" + std::to_string(table) + "\n%%EOF\n";
    return std::move(out_);
  }
  [[nodiscard]] static std::string ref(std::size_t n) { return std::to_string(n) + " 0 R"; }

 private:
  std::string out_;
  std::vector<std::size_t> at_;
};

// Six letters that tell one subset from another (9.6.4): a digest of what is in it.
std::string subset_tag(const std::vector<char32_t>& codes) {
  std::uint64_t h = 1469598103934665603ULL;
  for (const char32_t c : codes) h = (h ^ c) * 1099511628211ULL;
  std::string out;
  for (int i = 0; i < 6; ++i, h /= 26) out += static_cast<char>('A' + h % 26);
  return out;
}

std::size_t put_font(File& file, const Font& font, const std::vector<char32_t>& codes) {
  const std::size_t type0 = file.reserve();
  const std::size_t cid = file.reserve();
  const std::size_t descriptor = file.reserve();
  const std::size_t program = file.reserve();
  const std::size_t unicode = file.reserve();
  const std::string name = subset_tag(codes) + "+" + font.name();
  std::vector<std::uint16_t> glyphs;
  std::string widths = std::to_string(std::lround(font.advance(0)));
  for (const char32_t code : codes) {
    glyphs.push_back(font.glyph(code));
    widths += " " + number(font.advance(glyphs.back()));
  }
  file.object(type0, "<</Type /Font /Subtype /Type0 /BaseFont /" + name + " /Encoding /Identity-H /DescendantFonts [" + File::ref(cid) + "] /ToUnicode " + File::ref(unicode) + ">>");
  file.object(cid, "<</Type /Font /Subtype /CIDFontType2 /BaseFont /" + name + " /CIDSystemInfo <</Registry (Adobe) /Ordering (Identity) /Supplement 0>> /CIDToGIDMap /Identity /DW 0 /W [0 [" +
                       widths + "]] /FontDescriptor " + File::ref(descriptor) + ">>");
  std::string box;
  for (const int v : font.box()) box += (box.empty() ? "" : " ") + std::to_string(v);
  file.object(descriptor, "<</Type /FontDescriptor /FontName /" + name + " /Flags 4 /FontBBox [" + box + "] /ItalicAngle 0 /Ascent " + number(font.ascent()) + " /Descent " + number(font.descent()) +
                              " /CapHeight " + number(font.cap_height()) + " /StemV 80 /FontFile2 " + File::ref(program) + ">>");
  const std::string data = font.subset(glyphs);
  file.stream(program, " /Length1 " + std::to_string(data.size()), data);
  std::string map =
      "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
      "/CMapName /Adobe-Identity-UCS def\n/CMapType 2 def\n1 begincodespacerange\n<0000> <FFFF>\nendcodespacerange\n";
  // At most a hundred lines in one go (9.10.3 refers to the CMap specification for it).
  for (std::size_t n = 0; n < codes.size(); n += 100) {
    const std::size_t end = std::min(codes.size(), n + 100);
    map += std::to_string(end - n) + " beginbfchar\n";
    for (std::size_t i = n; i < end; ++i) map += "<" + hex4(static_cast<std::uint32_t>(i + 1)) + "> <" + utf16_hex(codes[i]) + ">\n";
    map += "endbfchar\n";
  }
  map += "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n";
  file.stream(unicode, "", map);
  return type0;
}

}  // namespace

void PdfDocument::add_page(double width, double height) {
  pages_.push_back({width, height, {}});
  current_ = pages_.size() - 1;
}

void PdfDocument::op(const std::string& line) { pages_[current_].content += line + "\n"; }

double PdfDocument::width(std::string_view text, Face face, double size) {
  const Font& font = font_of(face);
  double sum = 0;
  for (const char32_t code : drawn(text, font)) sum += font.advance(font.glyph(code));
  return sum * size / 1000;
}

void PdfDocument::text(double x, double y, std::string_view text, Face face, double size, double grey) {
  Used& used = used_[static_cast<std::size_t>(face)];
  std::string codes;
  for (const char32_t code : drawn(text, font_of(face))) {
    const auto [found, fresh] = used.number.try_emplace(code, static_cast<std::uint16_t>(used.codes.size() + 1));
    if (fresh) used.codes.push_back(code);
    codes += hex4(found->second);
  }
  if (codes.empty()) return;
  op("BT " + number(grey) + " g /F" + (face == Face::bold ? "2 " : "1 ") + number(size) + " Tf " + number(x) + " " + number(up(y)) + " Td <" + codes + "> Tj ET");
}

void PdfDocument::line(double x1, double y1, double x2, double y2, double thick, double grey) {
  op(number(grey) + " G " + number(thick) + " w " + number(x1) + " " + number(up(y1)) + " m " + number(x2) + " " + number(up(y2)) + " l S");
}

void PdfDocument::rectangle(double x, double y, double w, double h, double grey) {
  op(number(grey) + " g " + number(x) + " " + number(up(y + h)) + " " + number(w) + " " + number(h) + " re f");
}

void PdfDocument::frame(double x, double y, double w, double h, double thick) {
  op("0 G " + number(thick) + " w " + number(x) + " " + number(up(y + h)) + " " + number(w) + " " + number(h) + " re S");
}

void PdfDocument::filled(double x, double y, double w, double h, Fill fill) {
  if (fill == Fill::solid) {
    rectangle(x, y, w, h, 0);
  } else if (fill == Fill::light) {
    rectangle(x, y, w, h, 0.75);
  } else if (fill != Fill::empty) {
    op("q " + number(x) + " " + number(up(y + h)) + " " + number(w) + " " + number(h) + " re W n");
    constexpr double step = 3.5;
    if (fill == Fill::dots) {
      for (double dy = step / 2; dy < h; dy += step) {
        for (double dx = step / 2; dx < w; dx += step) rectangle(x + dx - 0.5, y + dy - 0.5, 1, 1, 0);
      }
    } else {
      for (double d = -h; d < w + h; d += step) {
        if (fill == Fill::slant) line(x + d, y + h, x + d + h, y, 0.7);
        else line(x + d, y, x + d + h, y + h, 0.7);
      }
    }
    op("Q");
  }
  frame(x, y, w, h, 0.6);
}

std::string PdfDocument::bytes(const std::string& title, const std::string& producer) const {
  File file;
  const std::size_t catalog = file.reserve();
  const std::size_t tree = file.reserve();
  const std::size_t info = file.reserve();
  std::string kids;
  std::vector<std::size_t> numbers;
  for (std::size_t n = 0; n < pages_.size(); ++n) {
    numbers.push_back(file.reserve());
    kids += (kids.empty() ? "" : " ") + File::ref(numbers.back());
  }
  // English: what the program says. What people typed may be in any language.
  file.object(catalog, "<</Type /Catalog /Pages " + File::ref(tree) + " /Lang (en) /ViewerPreferences <</DisplayDocTitle true>>>>");
  file.object(tree, "<</Type /Pages /Count " + std::to_string(pages_.size()) + " /Kids [" + kids + "]>>");
  file.object(info, "<</Title " + text_string(title) + " /Producer " + text_string(producer) + ">>");
  std::string fonts;
  for (const Face face : {Face::regular, Face::bold}) {
    const Used& used = used_[static_cast<std::size_t>(face)];
    if (used.codes.empty()) continue;
    fonts += (face == Face::bold ? " /F2 " : " /F1 ") + File::ref(put_font(file, font_of(face), used.codes));
  }
  for (std::size_t n = 0; n < pages_.size(); ++n) {
    const std::size_t content = file.reserve();
    file.object(numbers[n], "<</Type /Page /Parent " + File::ref(tree) + " /MediaBox [0 0 " + number(pages_[n].width) + " " + number(pages_[n].height) + "] /Resources <</Font <<" + fonts + ">>>> /Contents " + File::ref(content) + ">>");
    file.stream(content, "", pages_[n].content);
  }
  return file.finish(catalog, info);
}

}  // namespace baybook::tool::report
