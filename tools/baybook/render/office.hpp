// The office's answers for programs: limits, the register, closed months. docs/schemas/ says what they look like.
#pragma once

#include <baybook/returns.hpp>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void limits_members(Context& context, Json& json, const Limits& limits);
void register_members(Context& context, Json& json, Day from, Day until);
/// "closed":[...]: the closed months of a span, each with what changed since. True when one of them
/// did.
bool closed_member(Context& context, Json& json, Day from, Day until);

}  // namespace baybook::tool::render
