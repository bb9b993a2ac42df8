// A span of days as typed: `2026-03`, `2026-q1`, `2026`, `last-month`, `2026-01-01..2026-03-31`.
#pragma once

#include "context.hpp"

namespace baybook::tool {

struct Span {
  Day from, until;
};
/// None: the month of today.
[[nodiscard]] Span read_span(Context& c, const std::string& text);

}  // namespace baybook::tool
