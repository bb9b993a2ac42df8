// How full every place is, and the month's totals, as shop forms and as JSON.
#pragma once

#include <baybook/reports.hpp>

#include <vector>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void levels_members(Json& json, const std::vector<LevelRow>& rows);
void levels_text(Context& context, const std::vector<LevelRow>& rows);
void totals_members(Json& json, const Totals& totals);
void totals_text(Context& context, const Totals& totals);

}  // namespace baybook::tool::render
