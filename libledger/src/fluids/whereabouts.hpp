// Where what left a circuit in one job is now.
#pragma once

#include "fluids/ledger.hpp"

namespace baybook::fluids {

/// By place, ends of the world and circuits included: what left is all there, to the last unit, in
/// whatever tanks it went on to. `since` is a moment before which nothing left in that job.
///
/// As long as the job is told apart in every place it ran into, these are rows of `account`. Where
/// it was summed with others, its part of what is there is followed along the flows since: that
/// reads what went through those tanks, and keeps one part for each of them in memory.
[[nodiscard]] std::map<PlaceId, Bounds> whereabouts(store::Db& db, Ledger& ledger, Origin origin,
                                                    std::int64_t dimension, std::int64_t since);

}  // namespace baybook::fluids
