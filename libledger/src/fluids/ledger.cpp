// The order of entries: one is put into its place, what comes later at the same places is resolved again.
#include "fluids/ends.hpp"
#include "fluids/ledger.hpp"
#include "fluids/told_apart.hpp"

#include "log/json.hpp"

#include <algorithm>

namespace baybook::fluids {

using log::Effect;
using log::Fact;
using log::Value;

std::vector<PlaceId> Ledger::places_of(const Fact& fact) {
  std::vector<PlaceId> out;
  const auto add = [&](const Value& v) {
    const PlaceId p = log::read_place(v, fact.origin());
    if (!is_end(p) && std::find(out.begin(), out.end(), p) == out.end()) out.push_back(p);
  };
  if (fact.withdrawn) return out;
  if (fact.kind == log::Kind::gauge) {
    add(fact.details.at("place"));
  } else if (const Value* lines = fact.details.find("lines")) {
    for (const Value& line : lines->as_array()) {
      add(line.at("from"));
      add(line.at("to"));
    }
  }
  return out;
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
  again_ = true;
  for (auto it = again.rbegin(); it != again.rend(); ++it) undo(it->first, places_of(it->second));
  if (before) undo(effect, places_of(*before));
  for (const PlaceId p : places) reopen_fillings(p, effect);
  if (after) apply(*after);
  const std::vector<std::string> mine = warnings_;
  for (const auto& [e, fact] : again) apply(fact);
  again_ = false;
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

void Ledger::post(const Effect& effect, const std::vector<Flow>& flows) {
  std::int64_t seq = 0;
  for (const Flow& f : flows) {
    auto q = db_.query(
        "INSERT INTO flow(entry, seq, line, source, target, fluid, dimension, origin, low, best, high, estimated, fate, mode) "
        "VALUES(?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)");
    q.bind(effect.id.n).bind(++seq).bind(f.line).bind(f.source.n).bind(f.target.n);
    q.bind(f.what.fluid).bind(f.what.dimension).bind(stored_origin(f));
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
      f.what = {q.num(4), q.num(3), 0};
      f.amount = {q.num(6), q.num(7), q.num(8)};
      f.estimated = q.num(9) != 0;
      f.fate = static_cast<Fate>(q.num(10));
      f.mode = static_cast<Mode>(q.num(11));
      read_origin(f, q.num(5));
      flows.push_back(f);
    }
  }
  Moved moved{};
  const bool first = !moved_before_.contains(effect.id.n);
  emptied_.erase(emptied_.lower_bound({effect.id.n, 0}), emptied_.lower_bound({effect.id.n + 1, 0}));
  for (const Flow& f : flows) {
    if (first) had_lines_.emplace(effect.id.n, f.line);
    put(effect, f, -1);
    if (f.what.dimension >= 0 && f.what.dimension < 3) moved[static_cast<std::size_t>(f.what.dimension)] += f.amount.best;
  }
  moved_before_.emplace(effect.id.n, moved);
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

}  // namespace baybook::fluids
