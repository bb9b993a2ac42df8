#include "service/net.hpp"

#include "log/sum.hpp"

namespace baybook::service {

namespace {

// A line may move several parts of a mix.
void add_line(Net& n, EntryId entry, std::int64_t line, bool in, bool booked, std::int64_t best) {
  if (!n.lines.empty() && n.lines.back().entry == entry && n.lines.back().line == line &&
      n.lines.back().in == in)
    log::add_to(n.lines.back().best, 1, best);
  else
    n.lines.push_back({entry, line, in, booked, best});
}

}  // namespace

std::map<NetOf, Net> nets_of(store::Db& db, CarId car, JobId job) {
  std::map<NetOf, Net> nets;
  auto q = db.query(
      "SELECT f.source, f.target, f.dimension, f.low, f.best, f.high, h.entry, f.line, h.kind "
      "FROM history h JOIN flow f ON f.entry = h.entry "
      "WHERE h.car = ? AND h.job = ? AND h.kind IN (9, 15) "
      "ORDER BY h.moment, h.recorded, h.entry, f.seq");
  q.bind(car.n).bind(job.n);
  while (q.step()) {
    const PlaceId from{q.num(0)};
    const PlaceId to{q.num(1)};
    const EntryId entry{q.num(6)};
    const bool booked = q.num(8) == static_cast<std::int64_t>(log::Kind::job_close);
    if (is_circuit(from)) {
      Net& n = nets[{from.n, q.num(2)}];
      log::add_to(n.left, 1, q.num(4));
      log::add_to(n.low, -1, q.num(5));
      log::add_to(n.best, -1, q.num(4));
      log::add_to(n.high, -1, q.num(3));
      add_line(n, entry, q.num(7), false, booked, q.num(4));
    }
    if (is_circuit(to) && from != kBefore) {
      Net& n = nets[{to.n, q.num(2)}];
      log::add_to(n.in, 1, q.num(4));
      log::add_to(n.low, 1, q.num(3));
      log::add_to(n.best, 1, q.num(4));
      log::add_to(n.high, 1, q.num(5));
      add_line(n, entry, q.num(7), true, booked, q.num(4));
    }
  }
  return nets;
}

std::string told(const NetOf& of, const Net& n, const Units& units) {
  const auto dimension = static_cast<Dimension>(of.second);
  const std::int64_t off = n.best > 0 ? n.best : -n.best;
  const std::int64_t least = n.best > 0 ? n.low : -n.high;
  const std::int64_t most = n.best > 0 ? n.high : -n.low;
  return std::string(log::circuit_at(PlaceId{of.first}).name) + ": " + show(n.left, dimension, units) + " left, " + show(n.in, dimension, units) + " entered, " + show(off, dimension, units, true) +
         std::string(n.best > 0 ? " more in than out" : " short") +
         (least == most ? std::string() : " (between " + show(least, dimension, units, true) + " and " + show(most, dimension, units, true) + ")");
}

}  // namespace baybook::service
