// What an entry moves: which components leave a mixed place, what a gauge settled.
#include "fluids/ends.hpp"

#include "fluids/ledger.hpp"
#include "log/sum.hpp"

#include "log/json.hpp"

#include <algorithm>

namespace baybook::fluids {

using log::Fact;
using log::Value;

namespace {

Fate fate_of(const Value& line) {
  const Value* fate = line.find("fate");
  return fate ? read_fate(fate->as_string()).value_or(Fate::none) : Fate::none;
}

}  // namespace

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
    base.source = log::read_place(line.at("from"), fact.origin());
    base.target = log::read_place(line.at("to"), fact.origin());
    base.fate = fate_of(line);
    if (job_id != 0 && (is_circuit(base.source) || base.source == kBefore)) {
      base.from_origin = base.what.origin = job_id + (base.source.n >> 58 << 58);
    }
    const Amount amount = log::read_amount(line.at("amount"));
    const Value* fluid = line.find("fluid");
    const std::size_t first = done.size();
    Draw draw;
    draw.all = line.has("all");
    if (fluid) draw.fluid = log::read_fluid(*fluid, fact.origin());
    if (line.has("alone")) draw.only = draw.fluid;
    take(fact, base, amount, draw, done);
    const bool anything = mixing || (line.has("soaked") && takes_absorbent(base.target));
    check_target(fact, base.target, done, first,
                 anything             ? Ask::nothing
                 : line.has("beside") ? Ask::class_only
                                      : Ask::neighbours);
    for (std::size_t i = first; i < done.size(); ++i) {
      arrive(done[i]);
      put(fact.effect, done[i], 1);
    }
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

void Ledger::take(const Fact& fact, Flow base, const Amount& amount, const Draw& draw,
                  std::vector<Flow>& done) {
  const auto dimension = static_cast<std::int64_t>(amount.dimension);
  base.what.dimension = dimension;
  base.estimated = amount.estimated;
  base.amount = {amount.low, amount.best, amount.high};
  if (is_end(base.source)) {
    base.what.fluid = draw.fluid ? draw.fluid.n : kUnknownClass;
    done.push_back(base);
    return;
  }
  // What is there, by product and by where it came from. A circuit forgets the latter: what goes back in is the car's own again.
  std::vector<Component> parts;
  std::vector<std::int64_t> weights;
  std::vector<Bounds> bounds;
  Bounds there;
  for (const auto& [what, part] : held(base.source).parts) {
    if (what.dimension != dimension || (draw.only && what.fluid != draw.only.n)) continue;
    there += part.sum;
    if (part.sum.best <= 0) continue;
    parts.push_back(what);
    weights.push_back(part.sum.best);
    bounds.push_back(part.sum);
  }
  const bool circuit = is_circuit(base.source);
  const auto carried = [&](const Component& c) { return circuit ? base.what.origin : c.origin; };

  if (draw.all) {
    for (std::size_t i = 0; i < parts.size(); ++i) {
      Flow f = base;
      f.what.fluid = parts[i].fluid;
      f.from_origin = f.what.origin = carried(parts[i]);
      f.amount = bounds[i];
      f.estimated = bounds[i].low != bounds[i].high;
      f.mode = Mode::whole;
      done.push_back(f);
    }
    // What moved all that was there moved something when it was written. One that came to nothing long ago, or elsewhere, is left as it is.
    if (parts.empty() && (!moved_before_.contains(fact.id().n) || had_lines_.contains({fact.id().n, base.line}))) {
      emptied_[{fact.id().n, base.line}] = {fact.id(), base.source, Rule::overdraw, amount.best, there.best, amount.best, dimension, true, draw.only.n};
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
    f.what = {dimension, find_class(log::circuit_at(base.source).takes)->number, 0};
    f.from_origin = 0;
    f.amount = missing;
    f.fate = Fate::none;
    done.push_back(f);
    bool found = false;
    for (std::size_t i = 0; i < parts.size(); ++i) {
      if (parts[i].fluid == f.what.fluid) {
        log::add_to(weights[i], 1, missing.best);
        found = true;
      }
    }
    if (!found) {
      parts.push_back(f.what);
      weights.push_back(missing.best);
    }
  } else if (!circuit && amount.best > there.best) {
    breach({fact.id(), base.source, Rule::overdraw, amount.best - std::max<std::int64_t>(0, there.best), there.best, amount.best, dimension, false, draw.only.n});
    if (parts.empty()) {
      parts.push_back({dimension, draw.only ? draw.only.n : kUnknownClass, 0});
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
    f.from_origin = f.what.origin = carried(parts[i]);
    f.amount = {std::min(low[i], best[i]), best[i], std::max(high[i], best[i])};
    done.push_back(f);
  }
}

void Ledger::apply_gauge(const Fact& fact, std::vector<Flow>& done) {
  const PlaceId place = log::read_place(fact.details.at("place"), fact.origin());
  const Amount reading = log::read_amount(fact.details.at("level"));
  const auto dimension = static_cast<std::int64_t>(reading.dimension);
  std::vector<Component> parts;
  std::vector<std::int64_t> weights;
  std::vector<Bounds> old;
  // A reading of a shelf is of one product: what stands beside it is left as it is.
  const FluidId only = fact.details.has("alone")
                           ? log::read_fluid(fact.details.at("fluid"), fact.origin())
                           : FluidId{};
  for (const auto& [what, part] : held(place).parts) {
    if (what.dimension != dimension || part.sum.nothing()) continue;
    if (only && what.fluid != only.n) continue;
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
    f.from_origin = f.what.origin;
    f.amount = {low[i] - old[i].low, best[i] - old[i].best, high[i] - old[i].high};
    f.mode = Mode::gauge;
    f.estimated = reading.estimated;
    if (f.amount.nothing()) continue;
    put(fact.effect, f, 1);
    done.push_back(f);
  }
  check_room(fact, place, dimension);
}

}  // namespace baybook::fluids
