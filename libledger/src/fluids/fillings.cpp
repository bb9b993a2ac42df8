// Fillings: from the entry after which a place holds something to the one after which it is empty.
#include "fluids/ledger.hpp"

namespace baybook::fluids {

using log::Effect;

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

}  // namespace baybook::fluids
