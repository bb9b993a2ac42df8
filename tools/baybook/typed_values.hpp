// Values that several families of verbs take: whole numbers, and files that are read.
#pragma once

#include "context.hpp"

#include <cstddef>
#include <string>

namespace baybook::tool {

/// A whole number from 1 on; `like` is what the refusal says to type instead.
[[nodiscard]] int whole(const std::string& text, const char* what, const char* like);
/// All of a regular file of at most that many bytes.
[[nodiscard]] std::string read_file(const std::string& path, std::size_t most);
[[nodiscard]] std::string file_name(const std::string& path);
/// NAME[=CAPACITY][:SPECIFICATION]
[[nodiscard]] CircuitDraft circuit_draft(Context& c, const std::string& text);

}  // namespace baybook::tool
