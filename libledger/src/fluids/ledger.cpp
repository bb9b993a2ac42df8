#include "fluids/ledger.hpp"

#include "log/json.hpp"

#include <algorithm>

namespace baybook::fluids {

using log::Effect;
using log::Fact;
using log::Value;

namespace {

constexpr std::int64_t kUnknownClass = 25;  // "unknown" in places.cpp

std::int64_t month_number(const Effect& effect) { return month_of(log::day_of_moment(effect.moment)).n; }

bool is_end(PlaceId place) { return place.n < 1000; }

Role role_of_end(PlaceId place) {
  if (place == kBefore) return Role::before;
  if (place == kSupplier) return Role::supplier;
  if (place == kGround) return Role::ground;
  if (place == kReceiver) return Role::receiver;
  if (place == kUsedUp) return Role::used_up;
  return Role::difference;
}

Fate fate_of(const Value& line) {
  const Value* fate = line.find("fate");
  return fate ? read_fate(fate->as_string()).value_or(Fate::none) : Fate::none;
}

}  // namespace

std::vector<PlaceId> Ledger::places_of(const Fact& fact) {
  std::vector<PlaceId> out;
  const auto add = [&](const Value& v) {
    const PlaceId p = log::read_place(v, fact.origin());
    if (!is_end(p) && std::find(out.begin(), out.end(), p) == out.end()) out.push_back(p);
  };
  if (fact.withdrawn) return out;
  if (fact.kind == log::Kind::gauge) {
    add(*fact.details.find("place"));
  } else if (const Value* lines = fact.details.find("lines")) {
    for (const Value& line : lines->as_array()) {
      add(*line.find("from"));
      add(*line.find("to"));
    }
  }
  return out;
}

const PlaceInfo& Ledger::info(PlaceId place) {
  const auto it = info_.find(place.n);
  if (it != info_.end()) return it->second;
  PlaceInfo out;
  if (is_end(place)) {
    out.role = role_of_end(place);
    out.code = std::string(name_of(out.role));
  } else {
    auto q = db_.query("SELECT code, role, size, dimension, takes FROM place WHERE id = ?");
    q.bind(place.n);
    if (!q.step()) {
      if (is_circuit(place)) {  // a circuit that a correction took away: what moved through it stays accounted for
        out.role = Role::circuit;
        out.code = std::string(find_circuit(place.n >> 58)->name);
        out.takes = {find_class(find_circuit(place.n >> 58)->takes)->number};
        return info_.emplace(place.n, std::move(out)).first->second;
      }
      throw store::Failure(Code::unsound, db_.path() + ": a movement names a place that is not there", "baybook prove");
    }
    out.code = q.text(0);
    out.role = static_cast<Role>(q.num(1));
    out.size = q.num(2);
    out.dimension = q.num(3);
    const std::string takes = q.text(4);
    for (std::size_t at = 0; at < takes.size();) {
      const std::size_t end = std::min(takes.find(' ', at), takes.size());
      if (const FluidClass* c = find_class(std::string_view(takes).substr(at, end - at))) out.takes.push_back(c->number);
      at = end + 1;
    }
  }
  return info_.emplace(place.n, std::move(out)).first->second;
}

std::int64_t Ledger::class_of(std::int64_t fluid) {
  if (fluid < 1000) return fluid;
  const auto it = class_.find(fluid);
  if (it != class_.end()) return it->second;
  auto q = db_.query("SELECT class FROM fluid WHERE id = ?");
  q.bind(fluid);
  const std::int64_t c = q.step() ? q.num(0) : kUnknownClass;
  return class_.emplace(fluid, c).first->second;
}

void Ledger::definitions_changed() {
  info_.clear();
  class_.clear();
}

Ledger::Held& Ledger::held(PlaceId place) {
  const auto it = held_.find(place.n);
  if (it != held_.end()) return it->second;
  Held out;
  auto q = db_.query("SELECT dimension, fluid, origin, low, best, high FROM balance WHERE place = ?");
  q.bind(place.n);
  while (q.step()) out.parts[{q.num(0), q.num(1), q.num(2)}] = {{q.num(3), q.num(4), q.num(5)}, false, true};
  return held_.emplace(place.n, std::move(out)).first->second;
}

void Ledger::add(PlaceId place, const Component& what, const Bounds& delta) {
  Held& there = held(place);
  if (!there.listed) {
    there.listed = true;
    changed_.push_back(place.n);
  }
  auto& parts = there.parts;
  const auto it = parts.try_emplace(what).first;
  it->second.sum += delta;
  it->second.dirty = true;
  if (it->second.sum.nothing() && !it->second.stored) parts.erase(it);
}

Bounds Ledger::total(PlaceId place, std::int64_t dimension) {
  Bounds out;
  for (const auto& [what, part] : held(place).parts) {
    if (what.dimension == dimension) out += part.sum;
  }
  return out;
}

Bounds Ledger::level(PlaceId place, std::int64_t dimension) { return total(place, dimension); }

std::vector<std::pair<Component, Bounds>> Ledger::contents(PlaceId place) {
  std::vector<std::pair<Component, Bounds>> out;
  for (const auto& [what, part] : held(place).parts) {
    if (!part.sum.nothing()) out.emplace_back(what, part.sum);
  }
  return out;
}

bool Ledger::has_anything(PlaceId place) {
  for (std::int64_t d = 0; d < 3; ++d) {
    if (total(place, d).best > 0) return true;
  }
  return false;
}

bool Ledger::anything_after(const std::vector<PlaceId>& places, const Effect& effect) {
  for (const PlaceId p : places) {
    auto q = db_.query("SELECT entry FROM leg WHERE place = ? AND (moment, recorded, entry) > (?, ?, ?) LIMIT 1");
    q.bind(p.n).bind(effect.moment).bind(effect.recorded).bind(effect.id.n);
    if (q.step()) return true;
  }
  return false;
}

void Ledger::place_in_order(const Effect& effect, const Fact* before, const Fact* after) {
  std::set<PlaceId> places;
  if (before) {
    for (const PlaceId p : places_of(*before)) places.insert(p);
  }
  if (after) {
    for (const PlaceId p : places_of(*after)) places.insert(p);
  }
  if (before == nullptr && after != nullptr && !anything_after({places.begin(), places.end()}, effect)) {
    apply(*after);
    return;
  }
  // What comes later at these places depends on what is there then, and what that touches may depend on it in turn: the
  // entries to resolve again are closed over their places. Ends of the world have no level, so nothing depends on them.
  std::map<Effect, Fact> again;
  std::vector<PlaceId> to_scan(places.begin(), places.end());
  while (!to_scan.empty()) {
    const PlaceId p = to_scan.back();
    to_scan.pop_back();
    std::vector<Effect> later;
    {
      auto q = db_.query("SELECT moment, recorded, entry FROM leg WHERE place = ? AND (moment, recorded, entry) > (?, ?, ?)");
      q.bind(p.n).bind(effect.moment).bind(effect.recorded).bind(effect.id.n);
      while (q.step()) later.push_back({q.num(0), q.num(1), EntryId{q.num(2)}});
    }
    for (const Effect& e : later) {
      if (again.contains(e)) continue;
      Fact fact = log::read_fact(db_, e.id);
      for (const PlaceId next : places_of(fact)) {
        if (places.insert(next).second) to_scan.push_back(next);
      }
      again.emplace(e, std::move(fact));
    }
  }
  flush();
  for (auto it = again.rbegin(); it != again.rend(); ++it) undo(it->first, places_of(it->second));
  if (before) undo(effect, places_of(*before));
  for (const PlaceId p : places) reopen_fillings(p, effect);
  if (after) apply(*after);
  const std::vector<std::string> mine = warnings_;
  for (const auto& [e, fact] : again) apply(fact);
  warnings_ = mine;
}

void Ledger::apply(const Fact& fact) {
  warnings_.clear();
  if (fact.withdrawn) return;
  std::map<PlaceId, bool> had;
  for (const PlaceId p : places_of(fact)) {
    if (!is_circuit(p)) had.emplace(p, has_anything(p));
  }
  std::vector<Flow> done;
  if (fact.kind == log::Kind::gauge) apply_gauge(fact, done);
  else apply_lines(fact, done);
  post(fact.effect, done);
  for (const auto& [place, full] : had) note_filling(fact.effect, place, full);
  for (const PlaceId p : places_of(fact)) {
    auto q = db_.query("INSERT INTO leg(place, moment, recorded, entry) VALUES(?, ?, ?, ?)");
    q.bind(p.n).bind(fact.effect.moment).bind(fact.effect.recorded).bind(fact.effect.id.n).run();
  }
}

void Ledger::apply_lines(const Fact& fact, std::vector<Flow>& done) {
  const Value* lines = fact.details.find("lines");
  if (lines == nullptr) return;
  const Value* job = fact.details.find("job");
  const std::int64_t job_id = job ? log::read_ref(*job, fact.origin()) : 0;
  const bool mixing = fact.details.has("mixing");
  std::int64_t number = 0;
  for (const Value& line : lines->as_array()) {
    Flow base;
    base.line = ++number;
    base.source = log::read_place(*line.find("from"), fact.origin());
    base.target = log::read_place(*line.find("to"), fact.origin());
    base.fate = fate_of(line);
    if (job_id != 0 && (is_circuit(base.source) || base.source == kBefore)) base.what.origin = job_id + (base.source.n >> 58 << 58);
    const Amount amount = log::read_amount(*line.find("amount"));
    const Value* fluid = line.find("fluid");
    const std::size_t first = done.size();
    take(fact, base, amount, line.has("all"), fluid ? log::read_fluid(*fluid, fact.origin()) : FluidId{}, done);
    check_target(fact, base.target, done, first, mixing || (line.has("soaked") && takes_absorbent(base.target)));
    for (std::size_t i = first; i < done.size(); ++i) put(fact.effect, done[i], 1);
    check_room(fact, base.target, static_cast<std::int64_t>(amount.dimension));
  }
}

// What was soaked up goes where the absorbent goes, whatever it was; into any other place it must fit like anything else.
bool Ledger::takes_absorbent(PlaceId place) {
  if (is_end(place)) return true;
  const PlaceInfo& p = info(place);
  const std::int64_t absorbent = find_class(std::string_view("absorbent"))->number;
  return p.takes.empty() || std::find(p.takes.begin(), p.takes.end(), absorbent) != p.takes.end();
}

void Ledger::take(const Fact& fact, Flow base, const Amount& amount, bool all, FluidId fluid, std::vector<Flow>& done) {
  const auto dimension = static_cast<std::int64_t>(amount.dimension);
  base.what.dimension = dimension;
  base.estimated = amount.estimated;
  base.amount = {amount.low, amount.best, amount.high};
  if (is_end(base.source)) {
    base.what.fluid = fluid ? fluid.n : kUnknownClass;
    done.push_back(base);
    return;
  }
  // What is there, by product and by where it came from. A circuit forgets the latter: what goes back in is the car's own again.
  std::vector<Component> parts;
  std::vector<std::int64_t> weights;
  std::vector<Bounds> bounds;
  Bounds there;
  for (const auto& [what, part] : held(base.source).parts) {
    if (what.dimension != dimension) continue;
    there += part.sum;
    if (part.sum.best <= 0) continue;
    parts.push_back(what);
    weights.push_back(part.sum.best);
    bounds.push_back(part.sum);
  }
  const bool circuit = is_circuit(base.source);
  const auto carried = [&](const Component& c) { return circuit ? base.what.origin : c.origin; };

  if (all) {
    for (std::size_t i = 0; i < parts.size(); ++i) {
      Flow f = base;
      f.what.fluid = parts[i].fluid;
      f.from_origin = circuit ? 0 : parts[i].origin;
      f.what.origin = carried(parts[i]);
      f.amount = bounds[i];
      f.estimated = bounds[i].low != bounds[i].high;
      f.mode = Mode::whole;
      done.push_back(f);
    }
    return;
  }

  Bounds missing;
  if (circuit && amount.best > there.best) {
    // The car held more than the book knows of: the rest comes from before its first entry.
    missing.best = amount.best - there.best;
    missing.low = std::max<std::int64_t>(0, amount.low - there.best);
    missing.high = std::max(missing.best, amount.high - there.best);
    Flow f = base;
    f.source = kBefore;
    f.target = base.source;
    f.what = {dimension, find_class(find_circuit(base.source.n >> 58)->takes)->number, 0};
    f.amount = missing;
    f.fate = Fate::none;
    done.push_back(f);
    bool found = false;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      if (parts[i].fluid == f.what.fluid) {
        weights[i] += missing.best;
        found = true;
      }
    }
    if (!found) {
      parts.push_back(f.what);
      weights.push_back(missing.best);
    }
  } else if (!circuit && amount.best > there.best) {
    breach({fact.id(), base.source, Rule::overdraw, amount.best - std::max<std::int64_t>(0, there.best), there.best, amount.best, dimension});
    if (parts.empty()) {
      parts.push_back({dimension, kUnknownClass, 0});
      weights.push_back(1);
    }
  } else if (!circuit && amount.high > there.best) {
    warnings_.push_back("the most that this may have been is more than " + info(base.source).code + " held by the book; gauge it when you can");
  }
  if (parts.empty()) return;
  const std::size_t n = parts.size();
  std::vector<std::int64_t> low(n), best(n), high(n);
  share_out(amount.low, weights.data(), low.data(), n);
  share_out(amount.best, weights.data(), best.data(), n);
  share_out(amount.high, weights.data(), high.data(), n);
  for (std::size_t i = 0; i < n; ++i) {
    if (low[i] == 0 && best[i] == 0 && high[i] == 0) continue;
    Flow f = base;
    f.what.fluid = parts[i].fluid;
    f.from_origin = circuit ? 0 : parts[i].origin;
    f.what.origin = carried(parts[i]);
    f.amount = {std::min(low[i], best[i]), best[i], std::max(high[i], best[i])};
    done.push_back(f);
  }
}

void Ledger::apply_gauge(const Fact& fact, std::vector<Flow>& done) {
  const PlaceId place = log::read_place(*fact.details.find("place"), fact.origin());
  const Amount reading = log::read_amount(*fact.details.find("level"));
  const auto dimension = static_cast<std::int64_t>(reading.dimension);
  std::vector<Component> parts;
  std::vector<std::int64_t> weights;
  std::vector<Bounds> old;
  for (const auto& [what, part] : held(place).parts) {
    if (what.dimension != dimension || part.sum.nothing()) continue;
    parts.push_back(what);
    weights.push_back(std::max<std::int64_t>(0, part.sum.best));
    old.push_back(part.sum);
  }
  std::int64_t sum = 0;
  for (const std::int64_t w : weights) sum += w;
  if (sum == 0 && reading.best > 0) {
    const Value* fluid = fact.details.find("fluid");
    const PlaceInfo& p = info(place);
    const std::int64_t id = fluid ? log::read_fluid(*fluid, fact.origin()).n : p.takes.size() == 1 ? p.takes.front() : kUnknownClass;
    const Component c{dimension, id, 0};
    auto it = std::find(parts.begin(), parts.end(), c);
    if (it == parts.end()) {
      parts.push_back(c);
      weights.push_back(1);
      old.push_back({});
    } else {
      weights[static_cast<std::size_t>(it - parts.begin())] = 1;
    }
    sum = 1;
  }
  const std::size_t n = parts.size();
  std::vector<std::int64_t> low(n), best(n), high(n);
  if (sum > 0) {
    share_out(reading.low, weights.data(), low.data(), n);
    share_out(reading.best, weights.data(), best.data(), n);
    share_out(reading.high, weights.data(), high.data(), n);
  }
  for (std::size_t i = 0; i < n; ++i) {
    Flow f;
    f.line = 1;
    f.source = kDifference;
    f.target = place;
    f.what = parts[i];
    f.amount = {low[i] - old[i].low, best[i] - old[i].best, high[i] - old[i].high};
    f.mode = Mode::gauge;
    f.estimated = reading.estimated;
    if (f.amount.nothing()) continue;
    put(fact.effect, f, 1);
    done.push_back(f);
  }
  check_room(fact, place, dimension);
}

void Ledger::check_target(const Fact& fact, PlaceId to, const std::vector<Flow>& done, std::size_t first, bool any_class) {
  if (is_end(to) || any_class) return;
  const PlaceInfo& p = info(to);
  for (std::size_t i = first; i < done.size(); ++i) {
    if (done[i].target != to) continue;  // the car's own before-flow
    const std::int64_t came = class_of(done[i].what.fluid);
    const std::string_view group = find_class(FluidId{came})->group;
    std::int64_t against = 0;
    if (p.role == Role::circuit) {
      if (find_class(FluidId{p.takes.front()})->group != group) against = p.takes.front();
    } else if (!p.takes.empty()) {
      if (std::find(p.takes.begin(), p.takes.end(), came) == p.takes.end()) against = p.takes.front();
    } else {
      for (const auto& [what, part] : held(to).parts) {
        const std::int64_t here = class_of(what.fluid);
        if (part.sum.best > 0 && find_class(FluidId{here})->group != group) against = here;
      }
    }
    if (against != 0) {
      breach({fact.id(), to, Rule::wrong_fluid, 1, against, came, 0});
      return;
    }
    if (p.role == Role::reuse || p.role == Role::stock) {
      for (const auto& [what, part] : held(to).parts) {
        if (part.sum.best > 0 && what.fluid != done[i].what.fluid && what.fluid >= 1000 && done[i].what.fluid >= 1000) {
          warnings_.push_back(p.code + " now holds two products; whether they may be mixed is for their makers to say");
          return;
        }
      }
    }
  }
}

void Ledger::check_room(const Fact& fact, PlaceId to, std::int64_t dimension) {
  if (is_end(to)) return;
  const PlaceInfo& p = info(to);
  if (p.size < 0 || p.dimension != dimension) return;
  const Bounds now = total(to, dimension);
  if (now.best > p.size) {
    if (p.role == Role::circuit) warnings_.push_back("by the book this circuit now holds more than its capacity");
    else breach({fact.id(), to, Rule::overfill, now.best - p.size, now.best, 0, dimension});
  } else if (now.high > p.size && p.role != Role::circuit) {
    warnings_.push_back(p.code + " may be over its size; gauge it when you can");
  }
}

void Ledger::put(const Effect& effect, const Flow& flow, std::int64_t sign) {
  const Bounds& a = flow.amount;
  const auto times = [sign](std::int64_t low, std::int64_t best, std::int64_t high) { return Bounds{sign * low, sign * best, sign * high}; };
  const PlaceInfo source = info(flow.source);
  const PlaceInfo target = info(flow.target);
  const Bounds leaves = flow.mode == Mode::ordinary && !is_end(flow.source) ? times(-a.high, -a.best, -a.low) : times(-a.low, -a.best, -a.high);
  const Bounds arrives = times(a.low, a.best, a.high);
  Component at_source = flow.what;
  at_source.origin = holds(source.role) ? flow.from_origin : 0;
  Component at_target = flow.what;
  if (!holds(target.role)) at_target.origin = 0;
  add(flow.source, at_source, leaves);
  add(flow.target, at_target, arrives);

  const auto to_account = [&](Origin origin, PlaceId place, const Bounds& delta) {
    if (origin == 0) return;
    Count& c = account_[{origin, place.n, flow.what.dimension}];
    c.sum += delta;
    c.flows += sign;
  };
  if (flow.mode == Mode::gauge) {
    to_account(flow.what.origin, flow.target, arrives);
    to_account(flow.what.origin, kDifference, leaves);
  } else {
    if (holds(source.role)) to_account(flow.from_origin, flow.source, leaves);
    to_account(flow.what.origin, flow.target, arrives);
  }
  const bool shop = holds(source.role) || holds(target.role);
  const bool told = (source.role == Role::circuit && target.role == Role::ground) || (source.role == Role::supplier && target.role == Role::circuit);
  if (shop || told) {
    Count& c = tally_[{month_number(effect), flow.what.dimension, flow.what.fluid, static_cast<std::int64_t>(source.role), static_cast<std::int64_t>(target.role),
                       static_cast<std::int64_t>(flow.fate), (flow.estimated ? 1 : 0) + (flow.mode == Mode::whole ? 2 : 0)}];
    c.sum += arrives;
    c.flows += sign;
  }
}

void Ledger::post(const Effect& effect, const std::vector<Flow>& flows) {
  std::int64_t seq = 0;
  for (const Flow& f : flows) {
    auto q = db_.query(
        "INSERT INTO flow(entry, seq, line, source, target, fluid, dimension, origin, low, best, high, estimated, fate, mode) "
        "VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    // Source and target origin differ only when a circuit gives its job's origin, so one column tells both.
    q.bind(effect.id.n).bind(++seq).bind(f.line).bind(f.source.n).bind(f.target.n).bind(f.what.fluid).bind(f.what.dimension).bind(f.what.origin);
    q.bind(f.amount.low).bind(f.amount.best).bind(f.amount.high).bind(std::int64_t{f.estimated}).bind(static_cast<std::int64_t>(f.fate));
    q.bind(static_cast<std::int64_t>(f.mode)).run();
  }
}

void Ledger::undo(const Effect& effect, const std::vector<PlaceId>& places) {
  std::vector<Flow> flows;
  {
    auto q = db_.query("SELECT line, source, target, fluid, dimension, origin, low, best, high, estimated, fate, mode FROM flow WHERE entry = ? ORDER BY seq");
    q.bind(effect.id.n);
    while (q.step()) {
      Flow f;
      f.line = q.num(0);
      f.source = PlaceId{q.num(1)};
      f.target = PlaceId{q.num(2)};
      f.what = {q.num(4), q.num(3), q.num(5)};
      f.amount = {q.num(6), q.num(7), q.num(8)};
      f.estimated = q.num(9) != 0;
      f.fate = static_cast<Fate>(q.num(10));
      f.mode = static_cast<Mode>(q.num(11));
      f.from_origin = f.what.origin;
      flows.push_back(f);
    }
  }
  for (const Flow& f : flows) put(effect, f, -1);
  {
    auto q = db_.query("DELETE FROM flow WHERE entry = ?");
    q.bind(effect.id.n).run();
  }
  {
    auto q = db_.query("SELECT place, rule, excess FROM breach WHERE entry = ?");
    q.bind(effect.id.n);
    while (q.step()) {
      // What this very change had broken on its way (a correction of several entries) is not what stood before it.
      const std::tuple key{effect.id.n, q.num(0), q.num(1)};
      if (breaches_now_.erase(key) == 0) breaches_before_.emplace(key, q.num(2));
    }
  }
  {
    auto q = db_.query("DELETE FROM breach WHERE entry = ?");
    q.bind(effect.id.n).run();
  }
  // An entry that moved nothing (a gauge that agreed) has its legs all the same.
  for (const PlaceId p : places) {
    auto q = db_.query("DELETE FROM leg WHERE place = ? AND moment = ? AND recorded = ? AND entry = ?");
    q.bind(p.n).bind(effect.moment).bind(effect.recorded).bind(effect.id.n).run();
  }
}

Ledger::Filling& Ledger::filling(PlaceId place) {
  const auto it = filling_.find(place.n);
  if (it != filling_.end()) return it->second;
  Filling out;
  auto q = db_.query("SELECT number, until_entry FROM filling WHERE place = ? ORDER BY number DESC LIMIT 1");
  q.bind(place.n);
  if (q.step()) out = {q.num(0), q.num(1) == 0};
  return filling_.emplace(place.n, out).first->second;
}

void Ledger::note_filling(const Effect& effect, PlaceId place, bool had) {
  const bool has = has_anything(place);
  if (had == has) return;
  Filling& f = filling(place);
  if (has) {
    auto q = db_.query("INSERT INTO filling(place, number, moment, recorded, entry, until_moment, until_recorded, until_entry) VALUES(?, ?, ?, ?, ?, 0, 0, 0)");
    q.bind(place.n).bind(++f.number).bind(effect.moment).bind(effect.recorded).bind(effect.id.n).run();
    f.open = true;
  } else if (f.open) {
    auto q = db_.query("UPDATE filling SET until_moment = ?, until_recorded = ?, until_entry = ? WHERE place = ? AND number = ?");
    q.bind(effect.moment).bind(effect.recorded).bind(effect.id.n).bind(place.n).bind(f.number).run();
    f.open = false;
  }
}

void Ledger::reopen_fillings(PlaceId place, const Effect& from) {
  filling_.erase(place.n);
  if (is_circuit(place)) return;
  {
    auto q = db_.query("DELETE FROM filling WHERE place = ? AND (moment, recorded, entry) >= (?, ?, ?)");
    q.bind(place.n).bind(from.moment).bind(from.recorded).bind(from.id.n).run();
  }
  auto q = db_.query("UPDATE filling SET until_moment = 0, until_recorded = 0, until_entry = 0 WHERE place = ? AND until_entry <> 0 AND (until_moment, until_recorded, until_entry) >= (?, ?, ?)");
  q.bind(place.n).bind(from.moment).bind(from.recorded).bind(from.id.n).run();
}

void Ledger::breach(const Breach& b) {
  breaches_now_[{b.entry.n, b.place.n, static_cast<std::int64_t>(b.rule)}] = b;
  auto q = db_.query("INSERT OR REPLACE INTO breach(entry, place, rule, excess) VALUES(?, ?, ?, ?)");
  q.bind(b.entry.n).bind(b.place.n).bind(static_cast<std::int64_t>(b.rule)).bind(b.excess).run();
}

std::vector<Ledger::Change> Ledger::worse() const {
  std::vector<Change> out;
  for (const auto& [key, b] : breaches_now_) {
    const auto it = breaches_before_.find(key);
    const std::int64_t was = it == breaches_before_.end() ? 0 : it->second;
    if (b.excess > was) out.push_back({b, was});
  }
  return out;
}

void Ledger::clear_changes() {
  breaches_now_.clear();
  breaches_before_.clear();
}

void Ledger::flush() {
  for (const std::int64_t place : changed_) {
    Held& h = held_.at(place);
    h.listed = false;
    for (auto it = h.parts.begin(); it != h.parts.end();) {
      Part& part = it->second;
      if (!part.dirty) {
        ++it;
        continue;
      }
      const Component& c = it->first;
      if (part.sum.nothing()) {
        auto q = db_.query("DELETE FROM balance WHERE place = ? AND dimension = ? AND fluid = ? AND origin = ?");
        q.bind(place).bind(c.dimension).bind(c.fluid).bind(c.origin).run();
        it = h.parts.erase(it);
        continue;
      }
      auto q = db_.query("INSERT OR REPLACE INTO balance(place, dimension, fluid, origin, low, best, high) VALUES(?, ?, ?, ?, ?, ?, ?)");
      q.bind(place).bind(c.dimension).bind(c.fluid).bind(c.origin).bind(part.sum.low).bind(part.sum.best).bind(part.sum.high).run();
      part.dirty = false;
      part.stored = true;
      ++it;
    }
  }
  changed_.clear();
  for (const auto& [k, c] : tally_) {
    if (c.flows == 0 && c.sum.nothing()) continue;
    {
      auto q = db_.query(
          "INSERT INTO tally(month, dimension, fluid, source, target, fate, estimated, low, best, high, flows) VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11) "
          "ON CONFLICT DO UPDATE SET low = low + ?8, best = best + ?9, high = high + ?10, flows = flows + ?11");
      q.bind(k.month).bind(k.dimension).bind(k.fluid).bind(k.source).bind(k.target).bind(k.fate).bind(k.estimated);
      q.bind(c.sum.low).bind(c.sum.best).bind(c.sum.high).bind(c.flows).run();
    }
    if (c.flows < 0) {
      auto q = db_.query("DELETE FROM tally WHERE month = ? AND dimension = ? AND fluid = ? AND source = ? AND target = ? AND fate = ? AND estimated = ? AND flows = 0");
      q.bind(k.month).bind(k.dimension).bind(k.fluid).bind(k.source).bind(k.target).bind(k.fate).bind(k.estimated).run();
    }
  }
  tally_.clear();
  for (const auto& [k, c] : account_) {
    if (c.flows == 0 && c.sum.nothing()) continue;
    {
      auto q = db_.query(
          "INSERT INTO account(origin, place, dimension, low, best, high, flows) VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7) "
          "ON CONFLICT DO UPDATE SET low = low + ?4, best = best + ?5, high = high + ?6, flows = flows + ?7");
      q.bind(k.origin).bind(k.place).bind(k.dimension).bind(c.sum.low).bind(c.sum.best).bind(c.sum.high).bind(c.flows).run();
    }
    if (c.flows < 0) {
      auto q = db_.query("DELETE FROM account WHERE origin = ? AND place = ? AND dimension = ? AND flows = 0");
      q.bind(k.origin).bind(k.place).bind(k.dimension).run();
    }
  }
  account_.clear();
  if (held_.size() > 200000) held_.clear();
}

void Ledger::forget() {
  held_.clear();
  changed_.clear();
  tally_.clear();
  account_.clear();
  filling_.clear();
  info_.clear();
  class_.clear();
  clear_changes();
}

}  // namespace baybook::fluids
