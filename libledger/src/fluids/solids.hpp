// Which classes are weighed or counted in a workshop, and not poured.
#pragma once

#include <string_view>

namespace baybook::fluids {

/// Common practice, no source. A class that is not known is not solid.
[[nodiscard]] bool is_solid(std::string_view of_class) noexcept;

}  // namespace baybook::fluids
