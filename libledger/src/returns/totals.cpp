#include "returns/totals.hpp"

#include "fluids/build.hpp"
#include "log/entry.hpp"
#include "log/sum.hpp"

#include <baybook/places.hpp>

#include <map>

namespace baybook::returns {

namespace {

struct Line {
  std::int64_t dimension, fluid, source, target, fate, estimated, low, best, high;
};

// One line of the tally, before or within the span, on its row.
void post(TotalsRow& row, const Line& l, bool before) {
  // Bit 0: estimated; bit 1: everything that was there left, so that nothing uncertain stays behind.
  const bool whole = (l.estimated & 2) != 0;
  const auto add = [&](Sum& s, int sign) {
    log::add_to(s.low, sign, sign > 0 || whole ? l.low : l.high);
    log::add_to(s.high, sign, sign > 0 || whole ? l.high : l.low);
    log::add_to(s.best, sign, l.best);
    log::add_to((l.estimated & 1) != 0 ? s.estimated : s.measured, sign, l.best);
  };
  const Role from = static_cast<Role>(l.source);
  const Role to = static_cast<Role>(l.target);
  const bool in = holds(to) && !holds(from);
  const bool out = holds(from) && !holds(to);
  if (in) add(row.closing, 1);
  if (out) add(row.closing, -1);
  const auto part = [&](Role r) -> std::int64_t* {
    switch (r) {
      case Role::hold_catch: return &row.closing_undecided;
      case Role::reuse: return &row.closing_kept;
      case Role::stock: return &row.closing_stock;
      case Role::waste: return &row.closing_waste;
      default: return nullptr;
    }
  };
  if (std::int64_t* p = part(to)) log::add_to(*p, 1, l.best);
  if (std::int64_t* p = part(from)) log::add_to(*p, -1, l.best);
  if (before) {
    if (in) add(row.opening, 1);
    if (out) add(row.opening, -1);
    return;
  }
  if (in) {
    switch (from) {
      case Role::circuit: add(row.drained, 1); break;
      case Role::supplier: add(to == Role::stock ? row.received : row.brought_in, 1); break;
      case Role::difference: add(row.gauge, 1); break;
      default: add(row.brought_in, 1); break;
    }
  }
  if (out) {
    switch (to) {
      case Role::circuit: add(from == Role::stock ? row.new_used : row.put_back, 1); break;
      case Role::ground: add(row.lost_here, 1); break;
      case Role::receiver: add(l.fate == 1 ? row.recycled : l.fate == 2 ? row.disposed : row.shipped_other, 1); break;
      default: add(row.used_up, 1); break;
    }
  }
  if (from == Role::circuit && (to == Role::ground || to == Role::missing)) {
    add(row.lost_from_cars, 1);
    add(to == Role::ground ? row.ground_from_cars : row.missing_from_cars, 1);
  }
  if (from == Role::supplier && to == Role::circuit) add(row.direct_new, 1);
  if (to == Role::reuse && from == Role::hold_catch) add(row.filtered, 1);
  if (to == Role::waste && from != Role::waste && from != Role::difference) add(row.to_waste, 1);
}

bool nothing(const TotalsRow& r) {
  for (const Sum* s : {&r.opening, &r.drained, &r.received, &r.brought_in, &r.gauge, &r.put_back, &r.new_used, &r.lost_here, &r.recycled, &r.disposed, &r.shipped_other,
                       &r.used_up, &r.closing, &r.lost_from_cars, &r.direct_new, &r.filtered, &r.to_waste}) {
    if (s->best != 0 || s->low != 0 || s->high != 0) return false;
  }
  return true;
}

}  // namespace

std::vector<TotalsRow> rows(store::Db& db, Day from, Day until, bool by_product, const Names& names) {
  std::map<std::tuple<std::string, std::string, std::int64_t>, TotalsRow> out;
  std::map<std::pair<std::int64_t, std::int64_t>, TotalsRow*> known;
  const auto row_for = [&](std::int64_t fluid, std::int64_t dimension) -> TotalsRow& {
    TotalsRow*& row = known[{fluid, dimension}];
    if (row == nullptr) {
      const std::string of_class = names.fluid(names.class_of(fluid));
      const std::string name = by_product ? names.fluid(fluid) : of_class;
      row = &out[{of_class, by_product ? name : "", dimension}];
      row->of_class = of_class;
      row->fluid = name;
      row->dimension = static_cast<Dimension>(dimension);
    }
    return *row;
  };
  // Whole months up to the span's first and last day come from the tally; a month that the span cuts is summed by its flows.
  const Month first = month_of(from);
  const Month last = month_of(until);
  const bool cut_front = from != first_of(first);
  const bool cut_back = until != last_of(last);
  const std::int64_t whole_until = cut_back ? last.n - 1 : last.n;
  // A row is added up as it is read: ten years of months need no list of their own.
  const auto take = [&](const Line& l, bool before) { post(row_for(l.fluid, l.dimension), l, before); };
  {
    auto q = db.query("SELECT month, dimension, fluid, source, target, fate, estimated, low, best, high FROM tally WHERE month <= ?");
    q.bind(whole_until);
    while (q.step()) {
      const std::int64_t month = q.num(0);
      if (cut_front && month == first.n) continue;
      take({q.num(1), q.num(2), q.num(3), q.num(4), q.num(5), q.num(6), q.num(7), q.num(8), q.num(9)}, month < first.n);
    }
  }
  const auto by_flows = [&](Day a, Day b, bool earlier) {
    if (b < a) return;
    for (const log::Installation& i : log::installations(db).all) {
      // Nothing is written before it has happened, and recorded time never runs backwards: what came before the day cannot be of it.
      const EntryId begin = log::first_recorded_since(db, i.origin, Instant{(std::int64_t{a.n} - 1) * 86'400'000});
      auto q = db.query(
          "SELECT f.dimension, f.fluid, f.source, f.target, f.fate, f.estimated + CASE f.mode WHEN 1 THEN 2 ELSE 0 END, f.low, f.best, f.high, "
          "coalesce((SELECT role FROM place WHERE id = f.source), -1), coalesce((SELECT role FROM place WHERE id = f.target), -1) "
          "FROM entry e CROSS JOIN flow f ON f.entry = e.id WHERE e.id >= ? AND e.id < ? AND e.moment BETWEEN ? AND ?");
      q.bind(begin.n).bind((i.origin + 1) << 40).bind(log::first_moment(a)).bind(log::last_moment(b));
      const auto role = [&](std::int64_t place, int column) -> std::int64_t {
        if (place < 1000) return place + 4;  // ends of the world: 1 "before" is role 5, and so on
        if (is_circuit(PlaceId{place})) return 0;
        return q.num(column) >= 0 ? q.num(column) : static_cast<std::int64_t>(fluids::role_of(db, PlaceId{place}));  // withdrawn since
      };
      while (q.step()) {
        take({q.num(0), q.num(1), role(q.num(2), 9), role(q.num(3), 10), q.num(4), q.num(5), q.num(6), q.num(7), q.num(8)}, earlier);
      }
    }
  };
  if (cut_front) {
    by_flows(first_of(first), Day{from.n - 1}, true);
    by_flows(from, first == last && cut_back ? until : std::min(until, last_of(first)), false);
  }
  if (cut_back && !(cut_front && first == last)) by_flows(first_of(last), until, false);
  std::vector<TotalsRow> result;
  for (auto& [key, row] : out) {
    // A gauge, or taking everything, settles what is on hand: without bounds left, all of it is measured.
    for (Sum* on_hand : {&row.opening, &row.closing}) {
      if (on_hand->low != on_hand->high) continue;
      on_hand->measured = on_hand->best;
      on_hand->estimated = 0;
    }
    if (!nothing(row)) result.push_back(std::move(row));
  }
  return result;
}

}  // namespace baybook::returns
