// What the rules say may not be mixed, asked of a movement before it is folded.
#pragma once

#include "book/inside.hpp"

#include <baybook/drafts.hpp>

namespace baybook::book {

/// A movement that would bring streams together which the rules of its day keep apart (a stream's `never-with`): the refusal, or none.
/// What has met already is not refused again, `mixing_reason` lets it pass, and a place that takes absorbents takes what soaked them.
/// `details` are what was made of the draft: which product a line takes from a shelf.
[[nodiscard]] std::optional<Refusal> kept_apart(Book::Inside& in, Day day, const Movement& draft,
                                                const log::Value& details);

}  // namespace baybook::book
