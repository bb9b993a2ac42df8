// References inside details: where they stand, what they must name, and under which id a settlement has them read.
#pragma once

#include "log/entry.hpp"

#include <functional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::log {

/// One reference in the details of an entry.
struct Reference {
  std::string_view key;  ///< "car", "from", "job", ...
  EntryId entry;
  /// Kinds that the entry may have; empty: any.
  std::vector<Kind> kinds;
};

/// Whether what stands under that key names an entry, or is a word in the place of one.
[[nodiscard]] bool names_an_entry(std::string_view key);
/// Every reference in `details`, as written by an installation of that origin. Throws Malformed for what should be one and is none.
[[nodiscard]] std::vector<Reference> references_in(const Value& details, std::int64_t origin);

/// Details with nothing where they name an entry: what two installations say alike of the same
/// things, which each of them names in its own way, is the same then.
[[nodiscard]] Value without_references(const Value& details);

/// The kinds that an entry may have which stands under that key; empty: any, or no such key. "by"
/// is the person who wrote.
[[nodiscard]] const std::vector<Kind>& kinds_of(std::string_view key);

/// The origin of the installation that this one continues, as its opening says; 0 when it began by itself.
[[nodiscard]] std::int64_t continued_origin(store::Db& db, std::int64_t origin);

/// The id under which a car, a place, a fluid, a person or a firm goes: its own, or that of the one it was settled to be.
[[nodiscard]] std::int64_t goes_by(store::Db& db, std::int64_t id);

/// Everything that goes by the same one as `id`, that one first; `id` alone when nothing was settled about it.
[[nodiscard]] std::vector<std::int64_t> all_that_are(store::Db& db, std::int64_t id);

/// Details and writer of a fact as settlements have them read. Nothing is done in a book without one.
void go_by_settlements(store::Db& db, Fact& fact);

}  // namespace baybook::log
