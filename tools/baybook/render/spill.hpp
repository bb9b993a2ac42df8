// A spill beside the quantities of the rules.
#pragma once

#include "json.hpp"

#include <baybook/returns.hpp>

namespace baybook::tool {
class Context;
}

namespace baybook::tool::render {

/// "advice": what is said aloud, "comparisons": each substance with its figures.
void spill_members(Json& j, const SpillAdvice& advice);
void spill_text(Context& c, const SpillAdvice& advice);

}  // namespace baybook::tool::render
