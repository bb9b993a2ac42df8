// A flow on balances, accounts and tallies.
#include "fluids/ends.hpp"
#include "fluids/ledger.hpp"
#include "fluids/told_apart.hpp"

namespace baybook::fluids {

using log::Effect;

namespace {

std::int64_t month_number(const Effect& effect) { return month_of(log::day_of_moment(effect.moment)).n; }

}  // namespace

std::map<Component, Bounds> Ledger::contents_before(PlaceId place, const Effect& effect) {
  std::map<Component, Bounds> out;
  for (const auto& [what, part] : held(place).parts) out[what] = part.sum;
  auto q = db_.query("SELECT f.source, f.target, f.low, f.best, f.high, f.mode, f.dimension, f.fluid, f.origin FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND (l.moment, l.recorded) > (?2, ?3) AND (f.source = ?1 OR f.target = ?1)");
  q.bind(place.n).bind(effect.moment).bind(effect.recorded);
  while (q.step()) {
    Flow f;
    f.source = PlaceId{q.num(0)};
    f.target = PlaceId{q.num(1)};
    f.amount = {q.num(2), q.num(3), q.num(4)};
    f.mode = static_cast<Mode>(q.num(5));
    f.what = {q.num(6), q.num(7), 0};
    read_origin(f, q.num(8));
    const auto part = [&](Origin origin) -> Bounds& {
      return out[{f.what.dimension, f.what.fluid, is_circuit(place) ? 0 : origin}];
    };
    const Bounds& a = f.amount;
    if (f.source == place) part(f.from_origin) += leaving(f, -1);
    if (f.target == place) part(f.what.origin) += Bounds{-a.low, -a.best, -a.high};
  }
  return out;
}

Bounds Ledger::level_before(PlaceId place, std::int64_t dimension, const Effect& effect) {
  Bounds out;
  for (const auto& [what, sum] : contents_before(place, effect)) {
    if (what.dimension == dimension) out += sum;
  }
  return out;
}

void Ledger::put(const Effect& effect, const Flow& flow, std::int64_t sign) {
  if (again_) {
    for (const PlaceId p : {flow.source, flow.target}) {
      if (is_circuit(p)) cars_.insert(car_of(p));
    }
  }
  const Bounds& a = flow.amount;
  const auto times = [sign](std::int64_t low, std::int64_t best, std::int64_t high) { return Bounds{sign * low, sign * best, sign * high}; };
  const PlaceInfo source = info(flow.source);
  const PlaceInfo target = info(flow.target);
  const Bounds leaves = leaving(flow, sign);
  const Bounds arrives = times(a.low, a.best, a.high);
  Component at_source = flow.what;
  at_source.origin = holds(source.role) ? flow.from_origin : 0;
  Component at_target = flow.what;
  if (!holds(target.role)) at_target.origin = 0;
  add(flow.source, at_source, leaves);
  add(flow.target, at_target, arrives);

  const auto to_account = [&](Origin origin, PlaceId place, const Bounds& delta) {
    if (origin == 0 || is_summed(flow.from_origin)) return;
    Count& c = account_[{origin, place.n, flow.what.dimension}];
    c.sum += delta;
    c.flows += sign;
  };
  if (flow.mode == Mode::gauge) {
    to_account(flow.what.origin, flow.target, arrives);
    to_account(flow.what.origin, kDifference, leaves);
  } else {
    if (holds(source.role)) to_account(flow.from_origin, flow.source, leaves);
    // What is summed where it arrives is kept apart: from there on it is followed along the flows.
    const bool summed = is_summed(flow.what.origin);
    to_account(summed ? -flow.from_origin : flow.what.origin, flow.target, arrives);
  }
  const bool shop = holds(source.role) || holds(target.role);
  const bool lost = target.role == Role::ground || target.role == Role::missing;
  const bool new_in = source.role == Role::supplier && target.role == Role::circuit;
  const bool told = (source.role == Role::circuit && lost) || new_in;
  if (shop || told) {
    Count& c = tally_[{month_number(effect), flow.what.dimension, flow.what.fluid, static_cast<std::int64_t>(source.role), static_cast<std::int64_t>(target.role),
                       static_cast<std::int64_t>(flow.fate), (flow.estimated ? 1 : 0) + (flow.mode == Mode::whole ? 2 : 0)}];
    c.sum += arrives;
    c.flows += sign;
  }
  // Streams are places' affair: what goes into a waste place and out of it is summed for each place as well.
  const auto to_waste = [&](PlaceId place, std::int64_t way, Role other) {
    Count& c = waste_[{month_number(effect), place.n, way, static_cast<std::int64_t>(other), flow.what.dimension, flow.what.fluid, static_cast<std::int64_t>(flow.fate),
                       (flow.estimated ? 1 : 0) + (flow.mode == Mode::whole ? 2 : 0)}];
    c.sum += arrives;
    c.flows += sign;
  };
  if (target.role == Role::waste) to_waste(flow.target, 0, source.role);
  if (source.role == Role::waste) to_waste(flow.source, 1, target.role);
}

}  // namespace baybook::fluids
