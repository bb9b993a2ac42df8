// Text on its way to paper or a page: code points, safe spellings, lines.
#pragma once

#include "report.hpp"

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

/// The code points of a text that visible() made safe, and which is therefore UTF-8.
[[nodiscard]] std::vector<char32_t> code_points(std::string_view text);
/// Where each code point of `text` begins, and the end.
[[nodiscard]] std::vector<std::size_t> starts(std::string_view text);
/// A mark that sits on the letter before it: no line begins with one.
[[nodiscard]] bool joins_the_one_before(char32_t code) noexcept;
/// "U+4E2D"
[[nodiscard]] std::string code_point_name(char32_t code);

/// Stored text made safe for HTML and SVG, as text and inside a quoted attribute: visible(), then the five characters escaped.
[[nodiscard]] std::string markup(std::string_view text);
/// A number as a table for machines has it: sign, digits, one point.
[[nodiscard]] bool is_number(std::string_view text) noexcept;
/// "drained (L)"
[[nodiscard]] std::string heading_of(const Column& column);
/// What a machine reads in this cell.
[[nodiscard]] const std::string& machine_text(const Cell& cell);
/// What a machine reads along a series of bars.
[[nodiscard]] const std::vector<std::string>& machine_texts(const Bars::Series& series);
/// The names of the columns for machines, each only once.
[[nodiscard]] std::vector<std::string> keys_of(const Table& table);
/// "Fluids, March 2026 (AMENDED)"
[[nodiscard]] std::string title_of(const Report& report);
/// "rules us-federal, SHA-256 5f70..."; empty when nothing is judged.
[[nodiscard]] std::string rules_line(const Report& report);
/// "seal BAY:24:0b92891b135c7a37"; with several installations the line says so.
[[nodiscard]] std::string seal_line(const Report& report);

}  // namespace baybook::tool::report
