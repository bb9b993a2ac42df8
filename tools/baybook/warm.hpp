// A short command spends much of its life on page faults: memory that it is about to touch is taken in one go.
#pragma once

namespace baybook::tool {

/// Asks the system for the heap and the program text that a short command needs. Where the system cannot, nothing changes.
void warm_up() noexcept;

}  // namespace baybook::tool
