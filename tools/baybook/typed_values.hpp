// Values that several families of verbs take: whole numbers, and files that are read.
#pragma once

#include "context.hpp"

#include <cstddef>
#include <optional>
#include <string>
#include <string_view>

namespace baybook::tool {

/// A whole number from 1 on; `like` is what the refusal says to type instead.
[[nodiscard]] int whole(const std::string& text, const char* what, const char* like);
/// Whether what was typed is meant as hours of a counter ("1250h", "900 hrs"), not as a distance.
[[nodiscard]] bool meant_as_hours(const std::string& typed);
/// The whole number before a unit, blanks between them or not: 3 of "3 days". None when there is
/// another one or none.
[[nodiscard]] std::optional<int> number_before(std::string_view text, std::string_view unit);
/// --replaced, --rolled-over or --misread: what a reading that is less than the one before says of
/// its instrument. Refuses two of them.
[[nodiscard]] Dial dial_option(const Typed& t);
/// All of a regular file of at most that many bytes.
[[nodiscard]] std::string read_file(const Context& c, const std::string& path, std::size_t most);
[[nodiscard]] std::string file_name(const std::string& path);
/// NAME[=CAPACITY][:SPECIFICATION]
[[nodiscard]] CircuitDraft circuit_draft(Context& c, const std::string& text);

/// `--share "ethylene glycol=50%"`, again for each substance.
[[nodiscard]] std::vector<MassShare> shares_option(Context& c);
/// `--receives-as collection-centre|aggregation-point`.
[[nodiscard]] ReceivesAs receives_as_option(Context& c);

}  // namespace baybook::tool
