// What a writing verb answers: what was written, the new levels, what to check and what to take care of.
#pragma once

#include <baybook/book.hpp>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

/// Prints the receipt in the form that was asked for.
void receipt(Context& context, const Receipt& receipt);
/// The members of a receipt, inside an object that is open.
void receipt_members(Json& json, const Receipt& receipt);
/// The text alone, and what to check and take care of on standard error.
void receipt_text(Context& context, const Receipt& receipt);
void closed_months_member(Json& json, const std::vector<ClosedReach>& closed);
void level_object(Json& json, const LevelAfter& level);
void entry_ref(Json& json, std::string_view name, const EntryRef& ref);

}  // namespace baybook::tool::render
