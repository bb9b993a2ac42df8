// The frame of every HTML page (conventions.md, Output 8).
#pragma once

#include <string>
#include <string_view>

namespace baybook::tool::report {

/// Widths are measured in the first; who has not got it gets one that is no wider.
constexpr const char* kFamily = "'DejaVu Sans',Verdana,sans-serif";

/// `style` and `body` are ready; `title` is stored text.
[[nodiscard]] std::string page(std::string_view title, const std::string& style, const std::string& body);
/// Stored text as a string of a style sheet, quotes included. Lines stay lines.
[[nodiscard]] std::string css_string(std::string_view text);

}  // namespace baybook::tool::report
