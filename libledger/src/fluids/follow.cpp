#include "fluids/follow.hpp"

#include "fluids/told_apart.hpp"
#include "log/sum.hpp"

#include <algorithm>
#include <limits>

namespace baybook::fluids {

using log::Effect;

namespace {

constexpr std::int64_t kLegsAtOnce = 256;

void take_off(Bounds& from, const Bounds& b) {
  log::add_to(from.low, -1, b.low);
  log::add_to(from.best, -1, b.best);
  log::add_to(from.high, -1, b.high);
}

Flow read_flow(store::Query& q) {
  Flow f;
  f.source = PlaceId{q.num(0)};
  f.target = PlaceId{q.num(1)};
  f.what = {q.num(2), q.num(3), 0};
  f.amount = {q.num(4), q.num(5), q.num(6)};
  f.mode = static_cast<Mode>(q.num(7));
  read_origin(f, q.num(8));
  return f;
}

std::int64_t part_of(std::int64_t total, std::int64_t mine, std::int64_t all) {
  const std::int64_t weights[2] = {mine, std::max<std::int64_t>(0, all - mine)};
  std::int64_t shares[2] = {0, 0};
  share_out(std::max<std::int64_t>(0, total), weights, shares, 2);
  return shares[0];
}

// Of what leaves a sum, what is the job's; as in Ledger::take, parts of nothing or less give
// nothing.
Bounds part_of(const Flow& flow, const Bounds& mine, const Bounds& all) {
  if (mine.best <= 0 || all.best <= 0) return {};
  if (flow.mode == Mode::whole) return mine;
  const std::int64_t best = part_of(flow.amount.best, mine.best, all.best);
  return {std::min(part_of(flow.amount.low, mine.best, all.best), best), best,
          std::max(part_of(flow.amount.high, mine.best, all.best), best)};
}

}  // namespace

// What is in a tank's sums after the movement `after`: what is there now, less what came later.
Follower::Tank Follower::begin(PlaceId place, const Effect& after) {
  Tank out;
  ++begun_[place];
  out.read_to = after;
  {
    auto q = db_.query(
        "SELECT fluid, origin, low, best, high FROM balance WHERE place = ? AND dimension = ? AND "
        "origin < 0");
    q.bind(place.n).bind(dimension_);
    while (q.step()) out.sums[{q.num(0), q.num(1)}].all = {q.num(2), q.num(3), q.num(4)};
  }
  auto q = db_.query(
      "SELECT f.source, f.target, f.dimension, f.fluid, f.low, f.best, f.high, f.mode, f.origin "
      "FROM leg l JOIN flow f ON f.entry = l.entry "
      "WHERE l.place = ?1 AND (l.moment, l.recorded, l.entry) > (?2, ?3, ?4) AND f.dimension = ?5 "
      "AND f.origin < 0 AND (f.source = ?1 OR f.target = ?1)");
  q.bind(place.n).bind(after.moment).bind(after.recorded).bind(after.id.n).bind(dimension_);
  while (q.step()) {
    const Flow f = read_flow(q);
    if (f.source == place) out.sums[{f.what.fluid, f.from_origin}].all += leaving(f, -1);
    if (f.target == place) take_off(out.sums[{f.what.fluid, f.what.origin}].all, f.amount);
  }
  return out;
}

const Effect* Follower::head(PlaceId place, Tank& tank) {
  if (tank.next == tank.ahead.size() && tank.more) {
    tank.ahead.clear();
    tank.next = 0;
    auto q = db_.query(
        "SELECT moment, recorded, entry FROM leg WHERE place = ? AND (moment, recorded, entry) > "
        "(?, ?, ?) ORDER BY moment, recorded, entry LIMIT ?");
    q.bind(place.n)
        .bind(tank.read_to.moment)
        .bind(tank.read_to.recorded)
        .bind(tank.read_to.id.n)
        .bind(kLegsAtOnce);
    while (q.step()) tank.ahead.push_back({q.num(0), q.num(1), EntryId{q.num(2)}});
    tank.more = static_cast<std::int64_t>(tank.ahead.size()) == kLegsAtOnce;
    if (!tank.ahead.empty()) tank.read_to = tank.ahead.back();
  }
  return tank.next < tank.ahead.size() ? &tank.ahead[tank.next] : nullptr;
}

std::vector<Flow> Follower::flows_of(EntryId entry) {
  std::vector<Flow> out;
  auto q = db_.query(
      "SELECT source, target, dimension, fluid, low, best, high, mode, origin FROM flow WHERE "
      "entry = ? AND dimension = ? AND origin < 0 ORDER BY seq");
  q.bind(entry.n).bind(dimension_);
  while (q.step()) out.push_back(read_flow(q));
  return out;
}

void Follower::turn(Tank& tank, PlaceId place, const Flow& flow) {
  if (flow.source == place && is_summed(flow.from_origin)) {
    tank.sums[{flow.what.fluid, flow.from_origin}].all += leaving(flow, 1);
  }
  if (flow.target == place && is_summed(flow.what.origin)) {
    tank.sums[{flow.what.fluid, flow.what.origin}].all += flow.amount;
  }
}

bool Follower::holds_some(const Tank& tank) {
  return tank.to_come > 0 || std::any_of(tank.sums.begin(), tank.sums.end(),
                                         [](const auto& s) { return !s.second.mine.nothing(); });
}

void Follower::settle_gauge(const Flow& flow, Sum& sum) {
  const Bounds was = sum.mine;
  const std::int64_t before = sum.all.best;
  sum.all += flow.amount;
  sum.mine = {};
  if (was.best > 0 && before > 0) {
    sum.mine = {part_of(sum.all.low, was.best, before), part_of(sum.all.best, was.best, before),
                part_of(sum.all.high, was.best, before)};
  }
  ends_[kDifference] += was;
  take_off(ends_[kDifference], sum.mine);
}

// Something of the job comes with flow `i` into where that goes.
void Follower::arrive(const Effect& effect, const std::vector<Flow>& flows, std::size_t i,
                      const Bounds& mine) {
  const Flow& flow = flows[i];
  if (!holds(ledger_.info(flow.target).role)) {
    ends_[flow.target] += mine;
    return;
  }
  auto tank = tanks_.find(flow.target);
  if (tank == tanks_.end()) {
    // It is followed from within this very entry on.
    tank =
        tanks_
            .emplace(flow.target,
                     begin(flow.target, {effect.moment, effect.recorded, EntryId{effect.id.n - 1}}))
            .first;
    tank->second.read_to = effect;
    for (std::size_t before = 0; before < i; ++before) {
      turn(tank->second, flow.target, flows[before]);
    }
  }
  tank->second.sums[{flow.what.fluid, flow.what.origin}].mine += mine;
}

void Follower::move(const Effect& effect, const std::vector<Flow>& flows) {
  for (std::size_t i = 0; i < flows.size(); ++i) {
    const Flow& flow = flows[i];
    const auto source = tanks_.find(flow.source);
    const auto target = tanks_.find(flow.target);
    if (flow.mode == Mode::gauge) {
      if (target != tanks_.end()) {
        settle_gauge(flow, target->second.sums[{flow.what.fluid, flow.what.origin}]);
      }
      continue;
    }
    Bounds mine;
    if (flow.from_origin == origin_) {
      mine = flow.amount;
      if (target != tanks_.end() && target->second.to_come > 0) --target->second.to_come;
    } else if (is_summed(flow.from_origin) && source != tanks_.end()) {
      Sum& sum = source->second.sums[{flow.what.fluid, flow.from_origin}];
      mine = part_of(flow, sum.mine, sum.all);
      Flow part = flow;
      part.amount = mine;
      sum.mine += leaving(part, 1);
    }
    if (!mine.nothing()) arrive(effect, flows, i, mine);
    for (const PlaceId p : {flow.source, flow.target}) {
      const auto tank = tanks_.find(p);
      if (tank == tanks_.end() || (p == flow.target && flow.source == flow.target)) continue;
      turn(tank->second, p, flow);
    }
  }
}

void Follower::follow(std::int64_t since, std::int64_t until, std::map<PlaceId, Bounds>& out) {
  std::vector<std::pair<PlaceId, std::int64_t>> first;
  {
    auto q = db_.query("SELECT place, flows FROM account WHERE origin = ? AND dimension = ?");
    q.bind(-origin_).bind(dimension_);
    while (q.step()) first.emplace_back(PlaceId{q.num(0)}, q.num(1));
  }
  for (const auto& [place, flows] : first) {
    Tank tank = begin(place, {since, std::numeric_limits<std::int64_t>::min(), EntryId{0}});
    tank.to_come = flows;
    tanks_.emplace(place, std::move(tank));
  }
  while (true) {
    std::optional<Effect> next;
    for (auto& [place, tank] : tanks_) {
      if (const Effect* e = head(place, tank);
          e != nullptr && e->moment <= until && (!next || *e < *next))
        next = *e;
    }
    if (!next) break;
    move(*next, flows_of(next->id));
    for (auto it = tanks_.begin(); it != tanks_.end();) {
      if (const Effect* e = head(it->first, it->second); e != nullptr && *e == *next) {
        ++it->second.next;
      }
      it = holds_some(it->second) || begun_[it->first] > 1 ? std::next(it) : tanks_.erase(it);
    }
  }
  for (const auto& [place, tank] : tanks_) {
    for (const auto& [key, sum] : tank.sums) out[place] += sum.mine;
  }
  for (const auto& [place, sum] : ends_) out[place] += sum;
}

}  // namespace baybook::fluids
