// The last words when there is no memory: said without asking for any.
#pragma once

#include <string>

namespace baybook::tool {

/// From here on a failed request is std::bad_alloc, as everywhere; before, it ends the program with
/// its own words. Called first in main. The words of what cannot even be thrown stay in force, in
/// the form that was asked for (--json).
void begin_with_memory(int count, char** values) noexcept;
/// Says it, with the entry that was stored when there is one. Answers the exit status.
int say_no_memory(const std::string& stored, bool json) noexcept;

}  // namespace baybook::tool
