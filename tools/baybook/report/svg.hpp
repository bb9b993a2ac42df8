// A plot as SVG that stands inside a page.
#pragma once

#include "report.hpp"

#include <string>

namespace baybook::tool::report {

/// Horizontal bars, the figure at the end of each. `number` tells the plots of one page apart in their ids. No style but its own.
[[nodiscard]] std::string as_svg(const Bars& bars, std::size_t number);

}  // namespace baybook::tool::report
