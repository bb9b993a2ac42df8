// The shop's own places and the month: levels and totals.
#include "book/asked.hpp"
#include "book/office.hpp"
#include "book/views.hpp"

#include "fluids/build.hpp"
#include "fluids/shelf.hpp"
#include "log/sum.hpp"
#include "returns/totals.hpp"
#include "service/build.hpp"

#include <algorithm>
#include <map>

namespace baybook {

using book::guarded;

namespace {

struct Content {
  std::int64_t low = 0, best = 0, high = 0;
};

// What a place held at the end of a day: its flows up to then.
std::map<std::pair<std::int64_t, std::int64_t>, Content> contents_then(store::Db& db, PlaceId place, std::int64_t until) {
  std::map<std::pair<std::int64_t, std::int64_t>, Content> out;
  auto q = db.query("SELECT f.source, f.dimension, f.fluid, f.low, f.best, f.high, f.mode FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ? AND l.moment <= ? AND (f.source = l.place OR f.target = l.place)");
  q.bind(place.n).bind(until);
  while (q.step()) {
    Content& c = out[{q.num(1), q.num(2)}];
    const bool leaves = q.num(0) == place.n;
    const bool ordinary = q.num(6) == 0;
    const int sign = leaves ? -1 : 1;
    log::add_to(c.low, sign, q.num(leaves && ordinary ? 5 : 3));
    log::add_to(c.high, sign, q.num(leaves && ordinary ? 3 : 5));
    log::add_to(c.best, sign, q.num(4));
  }
  return out;
}

// What is weighed or counted says nothing of a size in litres, and an empty row of litres beside it
// would say that the place is empty.
bool told_by_its_size(const std::map<std::pair<std::int64_t, std::int64_t>, Content>& held,
                      const fluids::PlaceInfo& info) {
  bool in_other = false;
  for (const auto& [key, c] : held) {
    if (c.best == 0 && c.low == 0 && c.high == 0) continue;
    if (key.first == info.dimension) return true;
    in_other = true;
  }
  return !in_other;
}

}  // namespace

Result<std::vector<LevelRow>> levels(const Book& b, AsOf as_of, bool with_circuits) {
  return guarded<std::vector<LevelRow>>([&]() -> Result<std::vector<LevelRow>> {
    Book::Inside& in = b.inside();
    store::Db& db = in.db;
    store::Snapshot snapshot(db);
    const std::int64_t until = book::last_moment(as_of);
    struct Place {
      std::int64_t id;
      std::string stream;
    };
    std::vector<Place> places;
    {
      auto q = db.query("SELECT id, stream FROM place WHERE role <> 0 OR ? ORDER BY role, code, id");
      q.bind(std::int64_t{with_circuits});
      while (q.step()) places.push_back({q.num(0), q.text(1)});
    }
    std::vector<LevelRow> out;
    book::Office office(in);
    for (const Place& p : places) {
      const PlaceId id{p.id};
      const fluids::PlaceInfo info = in.ledger.info(id);
      LevelRow row;
      row.level.place = id;
      row.level.name = book::place_name(in, id);
      row.level.role = info.role;
      row.stream = p.stream;
      for (const std::int64_t c : info.takes) row.takes.emplace_back(log::class_at(c).name);
      if (holds(info.role)) {
        const fluids::Marks marks = fluids::marks_of(db, id, until);
        row.sealed = marks.sealed;
        row.retired = marks.retired;
        row.bulk = info.role == Role::stock && fluids::is_bulk(db, id, until);
      }
      {
        auto q = db.query("SELECT moment FROM leg WHERE place = ? AND moment <= ? ORDER BY moment DESC LIMIT 1");
        q.bind(p.id).bind(until);
        if (q.step()) row.last_moved = log::day_of_moment(q.num(0));
      }
      {
        auto q = db.query("SELECT number, moment, until_entry, until_moment FROM filling WHERE place = ? AND moment <= ? ORDER BY number DESC LIMIT 1");
        q.bind(p.id).bind(until);
        if (q.step()) {
          row.filling = q.num(0);
          if (q.num(2) == 0 || q.num(3) > until) row.since = log::day_of_moment(q.num(1));
        }
      }
      if (info.role == Role::waste && row.since && row.last_moved)
        row.mixed = office.told_mixture(id, *row.last_moved);
      std::map<std::pair<std::int64_t, std::int64_t>, Content> held;
      if (as_of) {
        held = contents_then(db, id, until);
      } else {
        auto q = db.query("SELECT dimension, fluid, sum(low), sum(best), sum(high) FROM balance WHERE place = ? GROUP BY dimension, fluid");
        q.bind(p.id);
        while (q.step()) held[{q.num(0), q.num(1)}] = {q.num(2), q.num(3), q.num(4)};
      }
      bool any = false;
      const bool in_size = told_by_its_size(held, info);
      for (std::int64_t d = 0; d < 3; ++d) {
        LevelRow r = row;
        r.level.dimension = static_cast<Dimension>(d);
        if (info.size >= 0 && info.dimension == d && in_size) r.level.size = info.size;
        if (info.size >= 0 && !in_size) {
          r.other_size = info.size;
          r.other_dimension = static_cast<Dimension>(info.dimension);
        }
        bool here = false;
        for (const auto& [key, c] : held) {
          if (key.first != d || (c.best == 0 && c.low == 0 && c.high == 0)) continue;
          here = true;
          log::add_to(r.level.low, 1, c.low);
          log::add_to(r.level.best, 1, c.best);
          log::add_to(r.level.high, 1, c.high);
          if (c.best != 0) r.parts.emplace_back(book::fluid_name(db, FluidId{key.second}), c.best);
        }
        if (!here && !r.level.size) continue;
        std::stable_sort(r.parts.begin(), r.parts.end(), [](const auto& x, const auto& y) { return x.second > y.second; });
        any = true;
        out.push_back(std::move(r));
      }
      if (!any) out.push_back(std::move(row));
    }
    return out;
  });
}

Result<Totals> totals(const Book& b, Day from, Day until, bool by_product, AsOf as_of) {
  from = book::asked(from);
  until = book::asked(until);
  return guarded<Totals>([&]() -> Result<Totals> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    if (until < from) return Refusal{Code::wrong_usage, "the span ends (" + to_string(until) + ") before it begins (" + to_string(from) + ")", "", to_string(until) + ".." + to_string(from), {}};
    Totals out;
    out.from = from;
    out.until = as_of && *as_of < until ? *as_of : until;
    if (out.until < from) out.until = from;
    const returns::Names names{[&](std::int64_t f) { return book::fluid_name(in.db, FluidId{f}); }, [&](std::int64_t f) { return in.ledger.class_of(f); }};
    out.rows = returns::rows(in.db, from, out.until, by_product, names);
    out.seal = b.seal();
    out.site = in.settings.site;
    out.caution =
        "An aid to the workshop's own records: local codes and the authority have the last word.";
    return out;
  });
}

}  // namespace baybook
