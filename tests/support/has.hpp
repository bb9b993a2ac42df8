#pragma once

#include <string_view>

namespace baybook::test {

[[nodiscard]] inline bool has(std::string_view text, std::string_view piece) { return text.find(piece) != std::string_view::npos; }

}  // namespace baybook::test
