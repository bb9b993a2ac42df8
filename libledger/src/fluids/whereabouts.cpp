#include "fluids/whereabouts.hpp"

#include "fluids/follow.hpp"

#include <limits>

namespace baybook::fluids {

namespace {

void told_apart_now(store::Db& db, Origin origin, std::int64_t dimension, std::map<PlaceId, Bounds>& out) {
  auto q = db.query("SELECT place, low, best, high FROM account WHERE origin = ? AND dimension = ?");
  q.bind(origin).bind(dimension);
  while (q.step()) out[PlaceId{q.num(0)}] += Bounds{q.num(1), q.num(2), q.num(3)};
}

}  // namespace

std::map<PlaceId, Bounds> whereabouts(store::Db& db, Ledger& ledger, Origin origin,
                                      std::int64_t dimension, std::int64_t since) {
  std::map<PlaceId, Bounds> out;
  told_apart_now(db, origin, dimension, out);
  Follower(db, ledger, origin, dimension)
      .follow(since, std::numeric_limits<std::int64_t>::max(), out);
  return out;
}

}  // namespace baybook::fluids
