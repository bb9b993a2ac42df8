// A refusal: three lines for a person, one document for a program.
#pragma once

#include <baybook/result.hpp>

#include <string>

namespace baybook::tool::render {

[[nodiscard]] std::string refusal_text(const Refusal& refusal);
[[nodiscard]] std::string refusal_json(const Refusal& refusal);
/// Exit status of a refusal: 1 refused, 2 wrong usage, 3 could not be read or written, 4 busy.
[[nodiscard]] int status_of(Code code) noexcept;

}  // namespace baybook::tool::render
