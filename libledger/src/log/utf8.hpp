// What is well-formed UTF-8, for the writer and the reader of bodies.
#pragma once

#include <cstddef>
#include <string_view>

namespace baybook::log {

// Bytes of the well-formed UTF-8 sequence at `at`, 0 if there is none (the Unicode Standard, table 3-7).
inline std::size_t sequence_bytes(std::string_view text, std::size_t at) noexcept {
  const auto byte = [&](std::size_t i) -> unsigned {
    return at + i < text.size() ? static_cast<unsigned char>(text[at + i]) : 0U;
  };
  const auto within = [](unsigned b, unsigned low, unsigned high) { return b >= low && b <= high; };
  const auto tail = [&](std::size_t i) { return within(byte(i), 0x80, 0xBF); };
  const unsigned lead = byte(0);
  if (within(lead, 0xC2, 0xDF)) return tail(1) ? 2 : 0;
  if (within(lead, 0xE0, 0xEF)) {
    const unsigned low = lead == 0xE0 ? 0xA0 : 0x80;   // shorter forms exist below
    const unsigned high = lead == 0xED ? 0x9F : 0xBF;  // surrogates above
    return within(byte(1), low, high) && tail(2) ? 3 : 0;
  }
  if (within(lead, 0xF0, 0xF4)) {
    const unsigned low = lead == 0xF0 ? 0x90 : 0x80;   // shorter forms exist below
    const unsigned high = lead == 0xF4 ? 0x8F : 0xBF;  // beyond U+10FFFF above
    return within(byte(1), low, high) && tail(2) && tail(3) ? 4 : 0;
  }
  return 0;
}

}  // namespace baybook::log
