#include "due/wanted.hpp"

#include <baybook/places.hpp>

#include <algorithm>
#include <map>

namespace baybook::due {

namespace {

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> out;
  for (std::size_t at = 0; at < text.size();) {
    const std::size_t end = std::min(text.find('\n', at), text.size());
    out.push_back(text.substr(at, end - at));
    at = end + 1;
  }
  return out;
}

}  // namespace

std::vector<Wanted> wanted(store::Db& db, CarId car) {
  std::string make, model, engine;
  std::int64_t year = 0;
  {
    auto q = db.query("SELECT make, model, engine, year, scrapped FROM car WHERE id = ?");
    q.bind(car.n);
    if (!q.step() || q.num(4) != 0) return {};
    make = q.text(0);
    model = q.text(1);
    engine = q.text(2);
    year = q.num(3);
  }
  std::map<std::string, Wanted> by_task;
  const auto take = [&](store::Query& q, int rank) {
    while (q.step()) {
      Wanted w;
      w.schedule = q.num(0);
      w.n = q.num(1);
      w.rank = rank;
      w.by = {q.text(2), q.num(3), lines_of(q.text(4))};
      w.months = q.num(5);
      w.metres = q.num(6);
      w.minutes = q.num(7);
      w.filtered = q.num(8);
      const bool every_year = q.num(11) == 0 && q.num(12) == 9999;
      if (!every_year && (year == 0 || year < q.num(11) || year > q.num(12))) continue;
      const std::string of_engine = q.text(9);
      if (!of_engine.empty()) {
        if (of_engine != engine) continue;
        w.rank = 2;
      }
      // Two of one rank are refused when they are written; brought together from two books, the later entry holds.
      Wanted& held = by_task[w.by.task];
      if (held.schedule == 0 || w.rank >= held.rank) held = std::move(w);
    }
  };
#define BAYBOOK_INTERVAL "SELECT i.schedule, i.n, i.task, i.circuit, i.parts, i.months, i.metres, i.minutes, i.filtered, i.engine, i.model, i.from_year, i.until_year FROM interval i JOIN schedule s ON s.entry = i.schedule WHERE "
#define BAYBOOK_ORDER " ORDER BY s.moment, s.recorded, s.entry, i.n"
  bool by_specification = false;
  {
    auto q = db.query("SELECT 1 FROM interval WHERE specification <> '' LIMIT 1");
    by_specification = q.step();
  }
  if (by_specification) {
    for (const Circuit& c : circuits()) {
      std::string specification;
      {
        auto q = db.query("SELECT specification FROM place WHERE id = ?");
        q.bind(circuit_of(car, c).n);
        if (q.step()) specification = q.text(0);
      }
      if (specification.empty()) continue;
      auto q = db.query(BAYBOOK_INTERVAL "i.specification = ? AND i.specification <> '' AND i.circuit = ?" BAYBOOK_ORDER);
      q.bind(specification).bind(c.number);
      take(q, 0);
    }
  }
  if (!model.empty()) {
    auto q = db.query(BAYBOOK_INTERVAL "i.make = ? AND i.model = ? AND i.model <> ''" BAYBOOK_ORDER);
    q.bind(make).bind(model);
    take(q, 1);
  }
  {
    auto q = db.query(BAYBOOK_INTERVAL "i.car = ? AND i.car <> 0" BAYBOOK_ORDER);
    q.bind(car.n);
    take(q, 3);
  }
#undef BAYBOOK_INTERVAL
#undef BAYBOOK_ORDER
  std::vector<Wanted> out;
  for (auto& [task, w] : by_task) out.push_back(std::move(w));
  return out;
}

}  // namespace baybook::due
