// Whether waste is that of an episodic event, which does not count toward the category while the
// event is run under its rules (40 CFR 262.13(c)(8), subpart L).
#pragma once

#include "book/office.hpp"

namespace baybook::book {

/// Whether what goes into that waste place on that day is an event's: the event names the place,
/// runs on that day, and nothing it did or left undone makes its waste count. What went in before
/// the event began stays what it was.
[[nodiscard]] bool of_event(Office& office, PlaceId place, Day day);

}  // namespace baybook::book
