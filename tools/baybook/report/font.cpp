// What stands where in a TrueType file (OpenType specification: head, hhea, maxp, hmtx, cmap, loca, glyf; from memory, and shown by
// the tests, which read the printed text back):
//   0   4  version      4  2  number of tables      12 + 16 n  tag, checksum, offset, length
#include "font.hpp"

#include <array>
#include <stdexcept>

// The bytes of the two fonts, brought in by the assembler; BAYBOOK_FONT_* come from CMake.
__asm__(
    ".pushsection .rodata\n"
    ".balign 16\n"
    "baybook_font_regular_begin:\n"
    ".incbin \"" BAYBOOK_FONT_REGULAR "\"\n"
    "baybook_font_regular_end:\n"
    ".balign 16\n"
    "baybook_font_bold_begin:\n"
    ".incbin \"" BAYBOOK_FONT_BOLD "\"\n"
    "baybook_font_bold_end:\n"
    ".global baybook_font_regular_begin, baybook_font_regular_end, baybook_font_bold_begin, baybook_font_bold_end\n"
    ".popsection\n");
extern "C" {
extern const char baybook_font_regular_begin[], baybook_font_regular_end[], baybook_font_bold_begin[], baybook_font_bold_end[];
}

namespace baybook::tool::report {

namespace {

void put16(std::string& out, std::uint32_t v) {
  out += static_cast<char>(v >> 8U & 0xffU);
  out += static_cast<char>(v & 0xffU);
}
void put32(std::string& out, std::uint32_t v) {
  put16(out, v >> 16U);
  put16(out, v & 0xffffU);
}
void set16(std::string& out, std::size_t at, std::uint32_t v) {
  out[at] = static_cast<char>(v >> 8U & 0xffU);
  out[at + 1] = static_cast<char>(v & 0xffU);
}
void set32(std::string& out, std::size_t at, std::uint32_t v) {
  set16(out, at, v >> 16U);
  set16(out, at + 2, v & 0xffffU);
}
std::uint32_t get16(const std::string& in, std::size_t at) {
  return static_cast<std::uint32_t>(static_cast<unsigned char>(in.at(at))) << 8U | static_cast<unsigned char>(in.at(at + 1));
}
std::uint32_t checksum(const std::string& table) {
  std::uint32_t sum = 0;
  for (std::size_t i = 0; i < table.size(); ++i) sum += static_cast<std::uint32_t>(static_cast<unsigned char>(table[i])) << (24U - 8U * (i % 4));
  return sum;
}

// Flags of a part of a composite glyph (OpenType, glyf).
constexpr std::uint32_t kWords = 0x1, kScale = 0x8, kMore = 0x20, kTwoScales = 0x40, kMatrix = 0x80;

}  // namespace

std::uint16_t Font::u16(std::size_t at) const {
  if (at + 2 > data_.size()) throw std::runtime_error(name_ + " is cut short");
  return static_cast<std::uint16_t>(static_cast<unsigned char>(data_[at]) << 8 | static_cast<unsigned char>(data_[at + 1]));
}

std::uint32_t Font::u32(std::size_t at) const { return static_cast<std::uint32_t>(u16(at)) << 16U | u16(at + 2); }

std::string_view Font::table(const char* tag) const {
  const auto found = tables_.find(tag);
  return found == tables_.end() ? std::string_view{} : found->second;
}

Font::Font(std::string_view data, std::string name) : data_(data), name_(std::move(name)) {
  const std::size_t count = u16(4);
  for (std::size_t n = 0; n < count; ++n) {
    const std::size_t at = 12 + 16 * n;
    const std::size_t offset = u32(at + 8);
    const std::size_t length = u32(at + 12);
    if (offset + length > data_.size()) throw std::runtime_error(name_ + " is cut short");
    tables_.emplace(std::string(data_.substr(at, 4)), data_.substr(offset, length));
  }
  for (const char* tag : {"head", "hhea", "maxp", "hmtx", "cmap", "loca", "glyf"}) {
    if (table(tag).empty()) throw std::runtime_error(name_ + " has no " + tag);
  }
  const auto offset = [&](const char* tag) { return static_cast<std::size_t>(table(tag).data() - data_.data()); };
  units_ = u16(offset("head") + 18);
  long_offsets_ = u16(offset("head") + 50) == 1;
  ascent_ = s16(offset("hhea") + 4) * 1000.0 / units_;
  descent_ = s16(offset("hhea") + 6) * 1000.0 / units_;
  metrics_ = u16(offset("hhea") + 34);
  glyphs_ = u16(offset("maxp") + 4);
  const std::size_t cmap = offset("cmap");
  for (std::size_t n = 0; n < u16(cmap + 2); ++n) {
    const std::size_t sub = cmap + u32(cmap + 4 + 8 * n + 4);
    const unsigned platform = u16(cmap + 4 + 8 * n);
    if (platform != 3 && platform != 0) continue;
    if (u16(sub) == 12) cmap12_ = sub;
    if (u16(sub) == 4) cmap4_ = sub;
  }
  if (cmap12_ == 0 && cmap4_ == 0) throw std::runtime_error(name_ + " has no Unicode table");
  // The height of a capital: the top of H.
  const std::string_view h = outline(glyph(U'H'));
  cap_ = h.size() >= 10 ? static_cast<std::int16_t>(u16(static_cast<std::size_t>(h.data() - data_.data()) + 8)) * 1000.0 / units_ : ascent_;
}

std::uint16_t Font::glyph(char32_t code) const {
  if (cmap12_ != 0) {
    std::uint32_t low = 0;
    std::uint32_t high = u32(cmap12_ + 12);
    while (low < high) {
      const std::uint32_t mid = (low + high) / 2;
      const std::size_t at = cmap12_ + 16 + std::size_t{12} * mid;
      if (code > u32(at + 4)) low = mid + 1;
      else if (code < u32(at)) high = mid;
      else return static_cast<std::uint16_t>(u32(at + 8) + (code - u32(at)));
    }
    return 0;
  }
  if (code > 0xffff) return 0;
  const std::size_t twice = u16(cmap4_ + 6);
  for (std::size_t n = 0; n < twice; n += 2) {
    if (code > u16(cmap4_ + 14 + n)) continue;
    const unsigned begin = u16(cmap4_ + 16 + twice + n);
    if (code < begin) return 0;
    const unsigned delta = u16(cmap4_ + 16 + 2 * twice + n);
    const std::size_t range = cmap4_ + 16 + 3 * twice + n;
    const unsigned offset = u16(range);
    if (offset == 0) return static_cast<std::uint16_t>(code + delta);
    const unsigned g = u16(range + offset + 2 * (code - begin));
    return g == 0 ? std::uint16_t{0} : static_cast<std::uint16_t>(g + delta);
  }
  return 0;
}

double Font::advance(std::uint16_t glyph) const {
  const std::size_t at = static_cast<std::size_t>(table("hmtx").data() - data_.data());
  const std::uint16_t n = glyph < metrics_ ? glyph : static_cast<std::uint16_t>(metrics_ - 1);
  return u16(at + std::size_t{4} * n) * 1000.0 / units_;
}

std::vector<int> Font::box() const {
  const std::size_t at = static_cast<std::size_t>(table("head").data() - data_.data());
  std::vector<int> out;
  for (std::size_t n = 0; n < 4; ++n) out.push_back(static_cast<int>(s16(at + 36 + 2 * n) * 1000.0 / units_));
  return out;
}

std::string_view Font::outline(std::uint16_t glyph) const {
  if (glyph >= glyphs_) return {};
  const std::size_t at = static_cast<std::size_t>(table("loca").data() - data_.data());
  const std::size_t begin = long_offsets_ ? u32(at + std::size_t{4} * glyph) : std::size_t{2} * u16(at + std::size_t{2} * glyph);
  const std::size_t end = long_offsets_ ? u32(at + std::size_t{4} * glyph + 4) : std::size_t{2} * u16(at + std::size_t{2} * glyph + 2);
  if (end < begin || end > table("glyf").size()) throw std::runtime_error(name_ + " has a glyph outside itself");
  return table("glyf").substr(begin, end - begin);
}

std::string Font::subset(const std::vector<std::uint16_t>& wanted) const {
  std::vector<std::uint16_t> old{0};
  old.insert(old.end(), wanted.begin(), wanted.end());
  std::map<std::uint16_t, std::uint32_t> part;  // old number of a part of a composite glyph: its new one
  std::string glyf;
  std::string loca;
  for (std::size_t n = 0; n < old.size(); ++n) {
    put32(loca, static_cast<std::uint32_t>(glyf.size()));
    std::string one(outline(old[n]));
    if (one.size() >= 10 && get16(one, 0) >= 0x8000) {
      std::size_t at = 10;
      std::uint32_t flags = kMore;
      while ((flags & kMore) != 0) {
        flags = get16(one, at);
        const auto component = static_cast<std::uint16_t>(get16(one, at + 2));
        auto found = part.find(component);
        if (found == part.end()) {
          found = part.emplace(component, static_cast<std::uint32_t>(old.size())).first;
          old.push_back(component);
        }
        set16(one, at + 2, found->second);
        at += 4 + ((flags & kWords) != 0 ? 4U : 2U) + ((flags & kScale) != 0 ? 2U : (flags & kTwoScales) != 0 ? 4U : (flags & kMatrix) != 0 ? 8U : 0U);
      }
    }
    glyf += one;
    glyf.append((4 - glyf.size() % 4) % 4, '\0');
  }
  put32(loca, static_cast<std::uint32_t>(glyf.size()));
  std::string hmtx;
  const std::size_t metrics = static_cast<std::size_t>(table("hmtx").data() - data_.data());
  for (const std::uint16_t g : old) {
    const bool whole = g < metrics_;
    put16(hmtx, u16(metrics + std::size_t{4} * (whole ? g : metrics_ - 1U)));
    put16(hmtx, whole ? u16(metrics + std::size_t{4} * g + 2) : u16(metrics + std::size_t{4} * metrics_ + std::size_t{2} * (g - metrics_)));
  }
  std::map<std::string, std::string> tables;
  tables["head"] = std::string(table("head"));
  set32(tables["head"], 8, 0);   // the checksum of the whole, below
  set16(tables["head"], 50, 1);  // loca has long offsets
  tables["hhea"] = std::string(table("hhea"));
  set16(tables["hhea"], 34, static_cast<std::uint32_t>(old.size()));
  tables["maxp"] = std::string(table("maxp"));
  set16(tables["maxp"], 4, static_cast<std::uint32_t>(old.size()));
  tables["hmtx"] = hmtx;
  tables["loca"] = loca;
  tables["glyf"] = glyf;
  for (const char* tag : {"cvt ", "fpgm", "prep"}) {
    if (!table(tag).empty()) tables[tag] = std::string(table(tag));
  }
  std::uint32_t power = 1;
  std::uint32_t log = 0;
  while (power * 2 <= tables.size()) {
    power *= 2;
    ++log;
  }
  std::string out;
  put32(out, 0x00010000);
  put16(out, static_cast<std::uint32_t>(tables.size()));
  put16(out, power * 16);
  put16(out, log);
  put16(out, static_cast<std::uint32_t>(tables.size()) * 16 - power * 16);
  std::size_t at = 12 + 16 * tables.size();
  std::size_t head = 0;
  for (const auto& [tag, bytes] : tables) {
    if (tag == "head") head = at;
    out += tag;
    put32(out, checksum(bytes));
    put32(out, static_cast<std::uint32_t>(at));
    put32(out, static_cast<std::uint32_t>(bytes.size()));
    at += (bytes.size() + 3) / 4 * 4;
  }
  for (const auto& [tag, bytes] : tables) {
    out += bytes;
    out.append((4 - bytes.size() % 4) % 4, '\0');
  }
  set32(out, head + 8, 0xB1B0AFBAU - checksum(out));
  return out;
}

const Font& regular_font() {
  static const Font font({baybook_font_regular_begin, static_cast<std::size_t>(baybook_font_regular_end - baybook_font_regular_begin)}, "DejaVuSans");
  return font;
}

const Font& bold_font() {
  static const Font font({baybook_font_bold_begin, static_cast<std::size_t>(baybook_font_bold_end - baybook_font_bold_begin)}, "DejaVuSans-Bold");
  return font;
}

}  // namespace baybook::tool::report
