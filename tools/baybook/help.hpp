// Help, from the verb table.
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool {

struct Verb;

[[nodiscard]] std::string help_overview();
[[nodiscard]] std::string help_for(const Verb& verb);
/// The verbs of a family: job, car, place, fluid, person.
[[nodiscard]] std::string help_for_family(std::string_view family);
/// The whole table as one document, for completion and other programs; or one verb of it.
[[nodiscard]] std::string help_json(const Verb* only);
[[nodiscard]] std::string version_text();
/// Names near a mistyped verb, from the same level: words of the same family, or first words.
[[nodiscard]] std::vector<std::string> near_verbs(std::string_view typed);

}  // namespace baybook::tool
