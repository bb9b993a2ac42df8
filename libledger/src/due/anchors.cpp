#include "due/anchors.hpp"

#include "log/sum.hpp"

#include <baybook/places.hpp>
#include <baybook/text.hpp>

#include <algorithm>
#include <map>

namespace baybook::due {

namespace {

bool closed_by(store::Db& db, std::int64_t job, std::int64_t until) {
  if (job == 0) return false;
  auto q = db.query("SELECT closed, closed_moment FROM job WHERE id = ?");
  q.bind(job);
  return q.step() && q.num(0) > 0 && q.num(1) <= until;
}

// The newest closed job that drained and filled the circuit.
std::optional<Anchor> by_circuit(store::Db& db, CarId car, std::int64_t circuit, std::int64_t until) {
  const Circuit* known = find_circuit(circuit);
  if (known == nullptr) throw store::Failure(Code::unsound, db.path() + ": an interval is for a circuit that no car has", "baybook prove --rebuild");
  const PlaceId place = circuit_of(car, *known);
  std::int64_t capacity = -1;
  {
    auto q = db.query("SELECT size FROM place WHERE id = ?");
    q.bind(place.n);
    if (q.step()) capacity = q.num(0);
  }
  struct Turn {
    std::int64_t left = 0, in = 0;
    bool filtered = false;
    Anchor last_fill;
  };
  std::map<std::int64_t, Turn> jobs;
  std::vector<std::int64_t> order;
  {
    auto q = db.query(
        "SELECT h.job, l.moment, l.entry, f.source, f.target, f.best, coalesce((SELECT role FROM place WHERE id = f.source), -1) "
        "FROM leg l JOIN history h ON h.car = ? AND h.moment = l.moment AND h.recorded = l.recorded AND h.entry = l.entry JOIN flow f ON f.entry = l.entry "
        "WHERE l.place = ? AND l.moment <= ? AND h.job <> 0 ORDER BY l.moment, l.recorded, l.entry, f.seq");
    q.bind(car.n).bind(place.n).bind(until);
    while (q.step()) {
      Turn& t = jobs[q.num(0)];
      // What ran onto the ground or is missing was lost, not changed.
      const bool lost = q.num(4) == kGround.n || q.num(4) == kMissing.n;
      if (q.num(3) == place.n && !lost) log::add_to(t.left, 1, q.num(5));
      if (q.num(4) == place.n && q.num(3) != kBefore.n && q.num(5) > 0) {
        log::add_to(t.in, 1, q.num(5));
        const auto role = static_cast<Role>(q.num(6));
        if (q.num(6) >= 0 && (role == Role::reuse || role == Role::hold_catch)) t.filtered = true;
        t.last_fill.entry = q.num(2);
        t.last_fill.moment = q.num(1);
      }
      if (order.empty() || order.back() != q.num(0)) order.push_back(q.num(0));
    }
  }
  for (auto job = order.rbegin(); job != order.rend(); ++job) {
    Turn& t = jobs[*job];
    if (t.left <= 0 || t.in <= 0 || (capacity > 0 && t.left < capacity - t.left) || !closed_by(db, *job, until)) continue;
    t.last_fill.day = log::day_of_moment(t.last_fill.moment);
    t.last_fill.filtered = t.filtered;
    return t.last_fill;
  }
  return std::nullopt;
}

std::optional<Anchor> by_part(store::Db& db, CarId car, const std::vector<std::string>& parts, std::int64_t until) {
  struct Fitted {
    std::int64_t entry, moment, job;
  };
  std::vector<Fitted> fits;
  {
    auto q = db.query("SELECT entry, moment, job FROM history WHERE car = ? AND kind = 13 AND moment <= ? ORDER BY moment DESC, recorded DESC, entry DESC");
    q.bind(car.n).bind(until);
    while (q.step()) fits.push_back({q.num(0), q.num(1), q.num(2)});
  }
  for (const Fitted& f : fits) {
    const log::Fact fact = log::read_fact(db, EntryId{f.entry});
    if (std::find(parts.begin(), parts.end(), plate_key(fact.details.str("part"))) == parts.end() || !closed_by(db, f.job, until)) continue;
    Anchor a;
    a.entry = f.entry;
    a.moment = f.moment;
    a.day = log::day_of_moment(f.moment);
    return a;
  }
  return std::nullopt;
}

std::optional<Anchor> as_said(store::Db& db, CarId car, const std::string& task, std::int64_t until) {
  auto q = db.query("SELECT entry, moment, day, metres, minutes FROM task_done WHERE car = ? AND task = ? AND moment <= ? ORDER BY day DESC, moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(car.n).bind(task).bind(until);
  if (!q.step()) return std::nullopt;
  Anchor a;
  a.entry = q.num(0);
  a.day = Day{static_cast<std::int32_t>(q.num(2))};
  // What was done on an earlier day than it was written down stands at the end of that day.
  a.moment = std::min(q.num(1), log::last_moment(a.day));
  a.metres = q.num(3);
  a.minutes = q.num(4);
  return a;
}

}  // namespace

std::optional<Anchor> last_done(store::Db& db, CarId car, const DoneBy& by, std::int64_t until) {
  std::optional<Anchor> best;
  const auto take = [&](std::optional<Anchor> a) {
    if (a && (!best || a->day > best->day || (a->day == best->day && a->moment >= best->moment))) best = std::move(a);
  };
  if (by.circuit != 0) take(by_circuit(db, car, by.circuit, until));
  if (!by.parts.empty()) take(by_part(db, car, by.parts, until));
  take(as_said(db, car, by.task, until));
  return best;
}

}  // namespace baybook::due
