// A refusal: three lines for a person, one document for a program.
#pragma once

#include "json.hpp"

#include <baybook/result.hpp>

#include <string>

namespace baybook::tool::render {

[[nodiscard]] std::string refusal_text(const Refusal& refusal);
/// The same as what is said beside an answer: "check:" and what can be typed.
[[nodiscard]] std::string check_text(const Refusal& refusal);
/// The members of "error".
void refusal_members(Json& j, const Refusal& refusal);
[[nodiscard]] std::string refusal_json(const Refusal& refusal);
/// Exit status of a refusal: 1 refused, 2 wrong usage, 3 could not be read or written, 4 busy.
[[nodiscard]] int status_of(Code code) noexcept;

}  // namespace baybook::tool::render
