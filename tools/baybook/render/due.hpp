// What is due, on the screen and for programs.
#pragma once

#include <baybook/due.hpp>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void due_text(Context& context, const DueList& list);
void due_members(Context& context, Json& json, const DueList& list);

}  // namespace baybook::tool::render
