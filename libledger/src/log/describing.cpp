#include "log/describing.hpp"

namespace baybook::log {

std::vector<EntryId> describing(store::Db& db, CarId car, std::int64_t until) {
  std::vector<EntryId> registered;
  std::vector<EntryId> changed;
  auto q = db.query(
      "SELECT entry, kind FROM history WHERE car = ?1 AND kind IN (6, 7) AND entry <> ?1 AND "
      "moment <= ?2 ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    const bool registers = static_cast<Kind>(q.num(1)) == Kind::car;
    (registers ? registered : changed).push_back(EntryId{q.num(0)});
  }
  registered.push_back(EntryId{car.n});
  registered.insert(registered.end(), changed.begin(), changed.end());
  return registered;
}

}  // namespace baybook::log
