// Entries as lines and as JSON; cars as JSON.
#pragma once

#include <baybook/reports.hpp>

#include <string>
#include <vector>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void entry_object(Json& json, const EntryView& entry);
/// One line for each entry. `with_car`: its car and job stand on the line as well.
[[nodiscard]] std::string entry_lines(Context& context, const std::vector<EntryView>& list, bool with_car, bool with_day = true, int indent = 0);
/// One entry in full.
void entry_text(Context& context, const EntryView& entry);
void car_object(Json& json, const CarView& car);
/// "Corvane Tern 2014"
[[nodiscard]] std::string car_type(const CarView& car);

}  // namespace baybook::tool::render
