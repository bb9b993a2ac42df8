#include "due/counter.hpp"

#include "log/sum.hpp"

namespace baybook::due {

void Counter::weigh() {
  History h = read_use(readings);
  use = h.use;
  for (const Slip& slip : h.slips) {
    for (std::size_t i = 0; i < readings.size(); ++i) {
      if (readings[i].entry != slip.entry) continue;
      readings.erase(readings.begin() + static_cast<std::ptrdiff_t>(i));
      moments.erase(moments.begin() + static_cast<std::ptrdiff_t>(i));
      break;
    }
  }
}

namespace {
// What no instrument shows stands in a table that was changed by hand; what is worked out from it would run over.
std::int64_t shown(std::int64_t units, std::int64_t each) {
  std::int64_t out = 0;
  log::add_to(out, each, units);
  if (out < -log::max_whole || out > log::max_whole) throw log::Malformed("a reading beyond 2^53");
  return out;
}
}  // namespace

Counter odometer(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, metres, reset, entry FROM reading WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    c.readings.push_back({log::day_of_moment(q.num(0)), shown(q.num(1), 1), q.num(2) != 0, q.num(3)});
    c.moments.push_back(q.num(0));
  }
  return c;
}

Counter engine_hours(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, minutes, reset, entry FROM hours WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    c.readings.push_back({log::day_of_moment(q.num(0)), shown(q.num(1), kMetresForAMinute), q.num(2) != 0, q.num(3)});
    c.moments.push_back(q.num(0));
  }
  return c;
}

}  // namespace baybook::due
