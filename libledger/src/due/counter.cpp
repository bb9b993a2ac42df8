#include "due/counter.hpp"

#include "log/sum.hpp"
#include "service/reading.hpp"

namespace baybook::due {

void Counter::weigh(std::int64_t width_millionths) {
  History h = read_use(readings, width_millionths);
  use = h.use;
  slips = std::move(h.slips);
  for (const Slip& slip : slips) {
    for (std::size_t i = 0; i < readings.size(); ++i) {
      if (readings[i].entry != slip.entry) continue;
      if (i + 1 < readings.size() && !readings[i + 1].replaced) {
        readings[i + 1].replaced = readings[i].replaced;
        readings[i + 1].turned += readings[i].turned;
      }
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

namespace {

void take(std::vector<OdometerReading>& out, const store::Query& q, service::Counts counts) {
  const std::int64_t each = counts == service::Counts::hours ? kMetresForAMinute : 1;
  const std::int64_t metres = shown(q.num(1), each);
  std::int64_t turned = 0;
  if (!out.empty() && q.num(2) >= service::kRolledOver)
    turned = service::added_by(q.num(2), counts, out.back().metres / each, q.num(1)) * each;
  out.push_back({log::day_of_moment(q.num(0)), metres, q.num(2) == service::kReplaced, q.num(3), turned});
}

}  // namespace

Counter odometer(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, metres, reset, entry FROM reading WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    take(c.readings, q, service::Counts::distance);
    c.moments.push_back(q.num(0));
  }
  return c;
}

Counter engine_hours(store::Db& db, CarId car, std::int64_t until) {
  Counter c;
  auto q = db.query("SELECT moment, minutes, reset, entry FROM hours WHERE car = ? AND moment <= ? ORDER BY moment, recorded, entry");
  q.bind(car.n).bind(until);
  while (q.step()) {
    take(c.readings, q, service::Counts::hours);
    c.moments.push_back(q.num(0));
  }
  return c;
}

std::vector<OdometerReading> newest_of(store::Db& db, CarId car, std::int64_t until,
                                       std::size_t most) {
  std::vector<OdometerReading> out;
  auto q = db.query(
      "SELECT moment, metres, reset, entry FROM (SELECT * FROM reading WHERE car = ? AND moment <= "
      "? ORDER BY moment DESC, recorded DESC, entry DESC LIMIT ?) ORDER BY moment, recorded, "
      "entry");
  q.bind(car.n).bind(until).bind(static_cast<std::int64_t>(most));
  while (q.step()) take(out, q, service::Counts::distance);
  return out;
}

}  // namespace baybook::due
