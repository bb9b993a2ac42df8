// How many jobs a place tells apart, and how a flow says whose it is.
//
// What a place holds is kept by the job it came from, so that the first account of a job is a row.
// A tank that is never quite emptied would keep a part for every job that ever ran into it, and
// each movement out of it would write as many flows: beyond a number of jobs in one fluid of a
// place what comes is summed (decision 0022), and where it went is followed along the flows when
// somebody asks (fluids/follow.hpp).
#pragma once

#include "fluids/ledger.hpp"

namespace baybook::fluids {

/// How many jobs a book that is begun now tells apart in one fluid of a place. More than a pan or a
/// drum between two pick-ups holds of most shops (common practice, no source); each costs a flow
/// whenever something leaves a mix.
inline constexpr std::int64_t kToldApart = 16;

/// The jobs told apart in this book; none: all of them, as in a book from before there was a
/// number. Throws Malformed when it is none.
[[nodiscard]] std::optional<std::int64_t> told_apart_in(store::Db& db);
/// From here on the book goes by today's number. The derived tables are to be made anew, unless
/// nothing has moved yet.
void tell_apart(store::Db& db);

/// Whether it is a sum of what several jobs brought.
[[nodiscard]] constexpr bool is_summed(Origin origin) {
  return origin < 0;
}
/// The sum that a flow arrives in: what is exact apart from what is estimated, so that `all` of it
/// can still be told as one or the other.
[[nodiscard]] constexpr Origin sum_for(const Bounds& amount) {
  return amount.low == amount.high ? kSummed : kSummedEstimates;
}

/// The one number of a flow in the file (docs/format.md): whose it is, less than nothing when it is
/// summed where it arrives.
[[nodiscard]] Origin stored_origin(const Flow& flow);
/// Both ends of a flow from that number. Mode and amount are known.
void read_origin(Flow& flow, Origin stored);

/// What a flow takes out of its source, or with sign -1 what it took out.
[[nodiscard]] Bounds leaving(const Flow& flow, std::int64_t sign);

}  // namespace baybook::fluids
