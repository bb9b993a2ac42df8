// What the ledger reads from the tables and keeps in memory, and what it writes back.
#include "fluids/build.hpp"
#include "fluids/ends.hpp"
#include "fluids/ledger.hpp"

#include "log/references.hpp"

#include <algorithm>

namespace baybook::fluids {

namespace {

// The entry that made a place or a fluid which has no row: one book withdrew it while another went on using it, or it goes by another.
// What moved through it stays judged by what it was.
std::optional<log::Fact> made_without_row(store::Db& db, std::int64_t id, log::Kind kind) {
  auto fact = log::find_fact(db, EntryId{id});
  if (!fact || fact->kind != kind || (!fact->withdrawn && log::goes_by(db, id) == id)) return std::nullopt;
  return fact;
}

PlaceInfo info_of(const log::Value& details) {
  PlaceInfo out;
  const auto role = read_role(details.str("role"));
  if (!role) throw log::Malformed("a place has an unknown role");
  out.role = *role;
  out.code = details.str("code");
  if (const log::Value* size = details.find("size")) {
    const Amount a = log::read_amount(*size);
    out.size = a.best;
    out.dimension = static_cast<std::int64_t>(a.dimension);
  }
  if (const log::Value* takes = details.find("takes")) {
    for (const log::Value& name : takes->as_array()) {
      if (const FluidClass* c = find_class(std::string_view(name.as_string()))) out.takes.push_back(c->number);
    }
  }
  return out;
}

}  // namespace

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
        out.code = std::string(log::circuit_at(place).name);
        out.takes = {find_class(log::circuit_at(place).takes)->number};
        return info_.emplace(place.n, std::move(out)).first->second;
      }
      const auto made = made_without_row(db_, place.n, log::Kind::place);
      if (!made) throw store::Failure(Code::unsound, db_.path() + ": a movement names a place that is not there", "baybook prove");
      return info_.emplace(place.n, info_of(made->details)).first->second;
    }
    out.code = q.text(0);
    out.role = static_cast<Role>(q.num(1));
    out.size = q.num(2);
    out.dimension = q.num(3);
    if (q.num(1) < 0 || q.num(1) > static_cast<std::int64_t>(Role::waste) || out.dimension < 0 || out.dimension > 2) throw log::Malformed("place " + out.code + " has a role or a dimension that cannot be");
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
  std::int64_t c = kUnknownClass;
  if (q.step()) {
    c = q.num(0);
  } else if (const auto made = made_without_row(db_, fluid, log::Kind::fluid)) {
    if (const FluidClass* named = find_class(made->details.str("class"))) c = named->number;
  }
  return class_.emplace(fluid, c).first->second;
}

Role role_of(store::Db& db, PlaceId place) {
  if (is_end(place)) return role_of_end(place);
  if (is_circuit(place)) return Role::circuit;
  {
    auto q = db.query("SELECT role FROM place WHERE id = ?");
    q.bind(place.n);
    if (q.step()) return static_cast<Role>(q.num(0));
  }
  const auto made = made_without_row(db, place.n, log::Kind::place);
  const auto role = made ? read_role(made->details.str("role")) : std::nullopt;
  if (!role) throw store::Failure(Code::unsound, db.path() + ": a movement names a place that is not there", "baybook prove");
  return *role;
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
  if (watched_ && !watched_->contains(place.n)) {
    auto& before = (*watched_)[place.n];
    for (std::size_t d = 0; d < before.size(); ++d) before[d] = total(place, static_cast<std::int64_t>(d));
  }
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

std::vector<PlaceId> Ledger::moved_places() {
  std::vector<PlaceId> out;
  if (!watched_) return out;
  for (const auto& [place, before] : *watched_) {
    const PlaceId p{place};
    if (!is_circuit(p) && !holds(info(p).role)) continue;
    for (std::size_t d = 0; d < before.size(); ++d) {
      if (total(p, static_cast<std::int64_t>(d)) == before[d]) continue;
      out.push_back(p);
      break;
    }
  }
  return out;
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
  for (const auto& entry : waste_) {
    const WasteKey& k = entry.first;
    const Count& c = entry.second;
    if (c.flows == 0 && c.sum.nothing()) continue;
    const auto key = [&](store::Query& q) -> store::Query& { return q.bind(k.month).bind(k.place).bind(k.way).bind(k.other).bind(k.dimension).bind(k.fluid).bind(k.fate).bind(k.estimated); };
    {
      auto q = db_.query(
          "INSERT INTO waste_tally(month, place, way, other, dimension, fluid, fate, estimated, low, best, high, flows) VALUES(?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12) "
          "ON CONFLICT DO UPDATE SET low = low + ?9, best = best + ?10, high = high + ?11, flows = flows + ?12");
      key(q).bind(c.sum.low).bind(c.sum.best).bind(c.sum.high).bind(c.flows).run();
    }
    if (c.flows < 0) {
      auto q = db_.query("DELETE FROM waste_tally WHERE month = ? AND place = ? AND way = ? AND other = ? AND dimension = ? AND fluid = ? AND fate = ? AND estimated = ? AND flows = 0");
      key(q).run();
    }
  }
  waste_.clear();
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
  waste_.clear();
  account_.clear();
  filling_.clear();
  info_.clear();
  class_.clear();
  told_apart_.reset();
  clear_changes();
  again_ = false;
}

}  // namespace baybook::fluids
