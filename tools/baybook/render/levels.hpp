// How full every place is, and the month's totals, as shop forms and as JSON.
#pragma once

#include <baybook/reports.hpp>

#include <string>
#include <vector>

namespace baybook::tool {
class Context;
class Json;
}

namespace baybook::tool::render {

void levels_members(Json& json, const std::vector<LevelRow>& rows);
void levels_text(Context& context, const std::vector<LevelRow>& rows);
void totals_members(Json& json, const Totals& totals);
/// `amended`: what is said of closed months before any figure. `remarks`: what keeps the figures
/// from being taken for a result. Each a line of its own.
void totals_text(Context& context, const Totals& totals, const std::vector<std::string>& amended,
                 const std::vector<std::string>& remarks);

/// A row of the month as a sentence that closes to the last digit: in litres, kilograms or pieces.
[[nodiscard]] std::string exact_line(const TotalsRow& row, const Units& book);
/// What the forms and the sentences of a month claim.
[[nodiscard]] std::string closing_note(const Units& units);

}  // namespace baybook::tool::render
