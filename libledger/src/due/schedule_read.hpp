// Reads schedule files: what is due on which cars, each interval beside its source (docs/what-is-due.md).
#pragma once

#include <baybook/drafts.hpp>
#include <baybook/result.hpp>

#include <functional>
#include <string_view>

namespace baybook::due {

/// What is wrong is told as `file:line:column: text` (unclear). `find_car` turns a plate into a car of the book.
[[nodiscard]] Result<Schedule> read_schedule(std::string_view text, std::string_view file, const Units& units, const std::function<Result<CarId>(std::string_view plate)>& find_car);

}  // namespace baybook::due
