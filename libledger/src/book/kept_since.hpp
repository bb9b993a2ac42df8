// Since when waste has been kept: pouring it over into another container does not make it younger.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// The day from which the clock of a container runs, by what is in it at a moment: of its filling, or of the filling of a container from which waste
/// was poured into it, whichever began earlier. What comes from a container at the point of generation (satellite) begins when it is brought over
/// (40 CFR 262.15; from memory). That the earliest day holds for all of it is the careful reading, common practice, no source.
/// None when nothing was put into it.
[[nodiscard]] std::optional<Day> kept_since(Book::Inside& in, PlaceId place, std::int64_t until);

}  // namespace baybook::book
