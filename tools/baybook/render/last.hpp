// What was last done to a car, on one screen.
#pragma once

#include <baybook/due.hpp>
#include <baybook/reports.hpp>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

/// `due`: of this car.
void last_members(Json& json, const LastDone& last, const DueList& due, const Units& units);
/// `one_circuit`: a single circuit was asked for, and its movements are listed one by one.
void last_text(Context& context, const LastDone& last, const DueList& due, bool one_circuit);

}  // namespace baybook::tool::render
