// Of entries of which only one can hold, the one that a person chose.
//
// A choice has the others withdrawn and brings back the one that holds, both as rows of table
// correction, so that the later of two choices that differ decides, whatever each book saw first.
#pragma once

#include "book/inside.hpp"
#include "book/words.hpp"

#include <vector>

namespace baybook::book {

/// correction.withdrawn of the entry that a choice has hold: it stands, whoever withdrew it before.
/// With kHeld added where the choice has no effect on it.
inline constexpr std::int64_t kStands = 8;

[[nodiscard]] bool is_choice(const log::Fact& fact);
[[nodiscard]] bool is_choice(const log::Value& details);

/// {"action":"keep","keep":...,"over":[...]}. Refuses: not_found, already_there (nothing to be
/// settled about it, chosen already), has_dependants (something stands on one of the others).
[[nodiscard]] Result<log::Built> build_choice(Book::Inside& in, log::Desk& desk,
                                              const Choice& draft);

/// What to type where what stands on the others by level no longer holds without them.
[[nodiscard]] std::string instead_of_choice(Book::Inside& in, const log::Fact& choice);

/// What a choice does not have hold, in the order of the details.
[[nodiscard]] std::vector<EntryId> over_of(const log::Value& details, std::int64_t origin);

/// The rows of table correction of a choice. One of another installation may wait.
void list_choice(store::Db& db, const Words& words, const log::Fact& choice);

/// Choices that hold and contradict one another, each unaware of the other, and that nobody decided
/// since: what each would have hold.
struct Contradiction {
  EntryId first, second;            ///< the choices, the later in effect order second
  EntryId first_keeps, second_keeps;
};
[[nodiscard]] std::vector<Contradiction> contradictions(Book::Inside& in);

/// All choices that hold, in effect order.
[[nodiscard]] std::vector<EntryId> standing_choices(store::Db& db);

}  // namespace baybook::book
