// Totals by car, by job, by who did it.
#include "book/asked.hpp"
#include "book/office.hpp"

#include "fluids/build.hpp"
#include "log/references.hpp"
#include "log/sum.hpp"
#include "service/build.hpp"

#include <compare>
#include <tuple>

namespace baybook {

using book::guarded;

namespace {

// Where a row stands is told by the entries, whatever a book calls them: by the name that was
// written down, then by the entry that it is.
struct Key {
  int group = 0;  ///< nothing; what has a name; what is called by the number of its entry, which is
                  ///< another in another book
  std::string name;
  log::Effect effect;
  std::string shown = "(none)";
  bool operator<(const Key& o) const {
    return std::tie(group, name, effect) < std::tie(o.group, o.name, o.effect);
  }
};

Key key_by_name(store::Db& db, EntryId id, std::string name) {
  const log::Row row = log::row_of(db, id);
  // "car:6", "person:5": the name itself was erased.
  const bool numbered = name.empty() || name.starts_with("car:") || name.starts_with("person:");
  return {
      numbered ? 2 : 1, numbered ? std::string() : name, {row.moment, row.recorded, row.id}, name};
}

}  // namespace

Result<std::vector<SplitRow>> split_totals(const Book& b, Day from, Day until, SplitBy by) {
  from = book::asked(from);
  until = book::asked(until);
  return guarded<std::vector<SplitRow>>([&]() -> Result<std::vector<SplitRow>> {
    Book::Inside& in = b.inside();
    store::Snapshot snapshot(in.db);
    struct Flow {
      std::int64_t entry, who, source, target, dimension, fluid, low, best, high;
      bool estimated;
      std::int64_t source_role, target_role;
    };
    std::vector<Flow> flows;
    for (const log::Installation& i : in.known.all) {
      const EntryId begin = log::first_recorded_since(in.db, i.origin, Instant{(std::int64_t{from.n} - 1) * 86'400'000});
      auto q = in.db.query(
          "SELECT e.id, e.who, f.source, f.target, f.dimension, f.fluid, f.low, f.best, f.high, f.estimated, coalesce((SELECT role FROM place WHERE id = f.source), -1), coalesce((SELECT role FROM place WHERE id = f.target), -1) "
          "FROM entry e CROSS JOIN flow f ON f.entry = e.id WHERE e.id >= ? AND e.id < ? AND e.moment BETWEEN ? AND ?");
      q.bind(begin.n).bind((i.origin + 1) << 40).bind(log::first_moment(from)).bind(log::last_moment(until));
      while (q.step()) flows.push_back({q.num(0), log::goes_by(in.db, q.num(1)), q.num(2), q.num(3), q.num(4), q.num(5), q.num(6), q.num(7), q.num(8), q.num(9) != 0, q.num(10), q.num(11)});
    }
    std::map<std::tuple<Key, std::string, std::int64_t>, SplitRow> rows;
    std::map<std::int64_t, Key> keys;
    const auto key_of = [&](const Flow& f) -> const Key& {
      const auto known = keys.find(f.entry);
      if (known != keys.end()) return known->second;
      Key key;
      if (by == SplitBy::person) {
        if (f.who != 0)
          key = key_by_name(in.db, EntryId{f.who}, service::person_name(in.db, EntryId{f.who}));
      } else {
        const service::Belongs belongs = service::belongs_to(in.db, log::read_fact(in.db, EntryId{f.entry}));
        const auto job = belongs.job ? service::job_row(in.db, belongs.job) : std::nullopt;
        const CarId car = belongs.car ? belongs.car : job ? job->car : CarId{};
        if (by == SplitBy::car && car)
          key = key_by_name(in.db, EntryId{car.n}, service::plate_of(in.db, car));
        if (by == SplitBy::job && job) {
          // In the order in which they were opened: the name of a job of another installation has
          // that one's tag here and none there.
          key = key_by_name(in.db, EntryId{job->id.n}, "");
          key.shown =
              service::job_name(in.known, *job) + (car ? " " + service::plate_of(in.db, car) : "");
        }
      }
      return keys.emplace(f.entry, std::move(key)).first->second;
    };
    const auto role = [&](std::int64_t place, std::int64_t known) { return known >= 0 ? static_cast<Role>(known) : fluids::role_of(in.db, PlaceId{place}); };
    for (const Flow& f : flows) {
      const Role source = role(f.source, f.source_role);
      const Role target = role(f.target, f.target_role);
      const std::string fluid = book::fluid_name(in.db, FluidId{in.ledger.class_of(f.fluid)});
      SplitRow& r = rows[{key_of(f), fluid, f.dimension}];
      r.key = key_of(f).shown;
      r.fluid = fluid;
      r.dimension = static_cast<Dimension>(f.dimension);
      const auto add = [&](Sum& s) {
        log::add_to(s.low, 1, f.low);
        log::add_to(s.best, 1, f.best);
        log::add_to(s.high, 1, f.high);
        log::add_to(f.estimated ? s.estimated : s.measured, 1, f.best);
      };
      if (source == Role::circuit && holds(target)) add(r.drained);
      if (target == Role::circuit && (source == Role::hold_catch || source == Role::reuse)) add(r.put_back);
      if (target == Role::circuit && (source == Role::stock || source == Role::supplier)) add(r.new_used);
      if (target == Role::ground || target == Role::missing) {
        add(r.lost);
        add(target == Role::ground ? r.to_ground : r.missing);
      }
      if (target == Role::waste && source != Role::waste && source != Role::difference) add(r.to_waste);
    }
    std::vector<SplitRow> out;
    for (auto& [key, r] : rows) {
      if (r.drained.high != 0 || r.put_back.high != 0 || r.new_used.high != 0 || r.lost.high != 0 || r.to_waste.high != 0) out.push_back(std::move(r));
    }
    return out;
  });
}

}  // namespace baybook
