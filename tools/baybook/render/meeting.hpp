// An installation that was not known, on the screen and as JSON.
#pragma once

#include "json.hpp"

#include <baybook/exchange.hpp>

#include <string>

namespace baybook::tool {
class Context;
}

namespace baybook::tool::render {

/// A digest in groups of four, to be read aloud: "a532 9923 f4cb ...".
[[nodiscard]] std::string read_aloud(const std::string& digest);
/// What it brings, and what to do about it.
void meeting(Context& c, const Meeting& m, bool dry_run);
void meeting_members(Json& j, const Meeting& m);

}  // namespace baybook::tool::render
