#include "book/kept_since.hpp"

#include <set>
#include <vector>

namespace baybook::book {

std::optional<Day> kept_since(Book::Inside& in, PlaceId place, std::int64_t until) {
  struct Look {
    std::int64_t place, until;
  };
  std::optional<std::int64_t> first;
  std::set<std::pair<std::int64_t, std::int64_t>> seen;
  std::vector<Look> looks{{place.n, until}};
  while (!looks.empty()) {
    const Look look = looks.back();
    looks.pop_back();
    std::int64_t began = 0;
    {
      auto q = in.db.query("SELECT number, moment FROM filling WHERE place = ? AND moment <= ? ORDER BY number DESC LIMIT 1");
      q.bind(look.place).bind(look.until);
      if (!q.step() || !seen.emplace(look.place, q.num(0)).second) continue;
      began = q.num(1);
    }
    if (!first || began < *first) first = began;
    auto q = in.db.query(
        "SELECT f.source, l.moment FROM leg l JOIN flow f ON f.entry = l.entry JOIN place p ON p.id = f.source "
        "WHERE l.place = ?1 AND l.moment BETWEEN ?2 AND ?3 AND f.target = ?1 AND f.best > 0 AND p.role = ?4 AND p.satellite = 0");
    q.bind(look.place).bind(began).bind(look.until).bind(static_cast<std::int64_t>(Role::waste));
    while (q.step()) looks.push_back({q.num(0), q.num(1)});
  }
  return first ? std::optional(log::day_of_moment(*first)) : std::nullopt;
}

}  // namespace baybook::book
