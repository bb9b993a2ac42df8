// What lies beside the log and is not in its chain: held against what the log, the program and the zone database say.
#pragma once

#include "book/inside.hpp"

#include <baybook/reports.hpp>

#include <functional>

namespace baybook::book {

using Find = std::function<void(std::string what, std::optional<EntryRef> entry, std::string instead)>;

/// Installations against their openings, kinds against the program's, once-keys against the secret, the zone's window against the zone
/// database. What it cannot see: docs/format.md, Drawbacks.
void prove_beside(Book::Inside& in, const Find& find);
/// Puts right what can be made anew: the names of kinds, the zone's window, how many jobs a place
/// tells apart (the tables are to be made anew then). Inside the caller's transaction.
void mend_beside(Book::Inside& in);

/// "from until offset": the span in which the zone's offset does not change, as it is kept beside the log; none when it says nothing.
[[nodiscard]] std::optional<LocalDay> read_zone_window(const std::string& text);

}  // namespace baybook::book
