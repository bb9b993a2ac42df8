#include "fluids/mixing.hpp"

#include <algorithm>

namespace baybook::fluids {

namespace {

constexpr std::int64_t kJobBits = (std::int64_t{1} << 58) - 1;

// What is known of one part of a content: its product, or else the car it came out of.
struct Known {
  std::int64_t product = 0;
  CarId car;
  std::string circuit;
  friend bool operator==(const Known&, const Known&) = default;
};

// The specification of a car's circuit as its newest entry words it.
std::string specification(store::Db& db, CarId car, std::string_view circuit) {
  std::vector<std::int64_t> ids{car.n};
  {
    auto q = db.query("SELECT entry FROM history WHERE car = ?1 AND kind IN (6, 7) AND entry <> ?1 ORDER BY moment, recorded, entry");
    q.bind(car.n);
    while (q.step()) ids.push_back(q.num(0));
  }
  std::string out;
  for (const std::int64_t id : ids) {
    const auto fact = log::find_fact(db, EntryId{id});
    if (!fact || fact->withdrawn) continue;
    const log::Value* list = fact->details.find("circuits");
    if (list == nullptr) continue;
    for (const log::Value& c : list->as_array()) {
      if (c.str("circuit") == circuit && c.has("specification")) out = c.str("specification");
    }
  }
  return out;
}

Known known_of(store::Db& db, std::int64_t fluid, Origin origin, PlaceId place) {
  Known out;
  if (fluid >= 1000) {
    out.product = fluid;
    return out;
  }
  if (is_circuit(place)) {
    out.car = car_of(place);
    out.circuit = log::circuit_at(place).name;
  } else if (origin != 0) {
    auto q = db.query("SELECT car FROM job WHERE id = ?");
    q.bind(origin & kJobBits);
    if (q.step()) out.car = CarId{q.num(0)};
    if (const Circuit* c = find_circuit(origin >> 58)) out.circuit = c->name;
  }
  return out;
}

std::string name_of(store::Db& db, const Known& k, const FluidClass& of_class, const std::string& spec) {
  if (k.product != 0) {
    auto q = db.query("SELECT code FROM fluid WHERE id = ?");
    q.bind(k.product);
    return q.step() ? q.text(0) : std::string("a product that was withdrawn");
  }
  auto q = db.query("SELECT plate FROM car WHERE id = ?");
  q.bind(k.car.n);
  return std::string(of_class.name) + (q.step() ? " of " + q.text(0) : std::string()) + (spec.empty() ? "" : " (" + spec + ")");
}

bool keeps(Role r) { return r == Role::reuse || r == Role::stock || r == Role::circuit; }

}  // namespace

Result<Done> check_mixing(log::Desk& desk, Ledger& ledger, const Movement& draft, std::vector<std::string>& warnings) {
  if (!draft.mixing_reason.empty()) return Done{};
  for (const MoveLine& line : draft.lines) {
    const Role role = ledger.info(line.to).role;
    const FluidClass* refrigerant = find_class(std::string_view("refrigerant"));
    const auto known_in = [&](PlaceId place, std::int64_t of_class) {
      std::vector<Known> out;
      if (place.n < 1000) return out;
      for (const auto& [what, sum] : ledger.contents(place)) {
        if (sum.best <= 0 || ledger.class_of(what.fluid) != of_class) continue;
        Known k = known_of(desk.db, what.fluid, what.origin, place);
        if (std::find(out.begin(), out.end(), k) == out.end()) out.push_back(std::move(k));
      }
      return out;
    };
    std::vector<std::int64_t> classes;
    if (line.fluid) classes.push_back(ledger.class_of(line.fluid.n));
    if (line.from.n >= 1000) {
      for (const auto& [what, sum] : ledger.contents(line.from)) {
        const std::int64_t c = ledger.class_of(what.fluid);
        if (sum.best > 0 && std::find(classes.begin(), classes.end(), c) == classes.end()) classes.push_back(c);
      }
      // A circuit of which the book knows nothing yet gives its class.
      if (classes.empty() && is_circuit(line.from)) classes = ledger.info(line.from).takes;
    }
    for (const std::int64_t c : classes) {
      const bool gas = c == refrigerant->number;
      if (!gas && c != find_class(std::string_view("coolant"))->number) continue;  // oils of one engine are its keeper's choice
      if (!(gas ? holds(role) && role != Role::waste : keeps(role)) || find_class(FluidId{c}) == nullptr) continue;
      const std::vector<Known> there = known_in(line.to, c);
      if (there.empty()) continue;
      std::vector<Known> comes = known_in(line.from, c);
      if (line.fluid) comes.push_back(known_of(desk.db, line.fluid.n, 0, line.from));
      if (comes.empty() && is_circuit(line.from)) comes.push_back(known_of(desk.db, c, 0, line.from));
      const FluidClass& of_class = *find_class(FluidId{c});
      for (const Known& k : comes) {
        // Product is held against product, car against car: what a car held may well be the product that is topped up.
        std::string mine;
        std::string others;
        const auto other = std::find_if(there.begin(), there.end(), [&](const Known& t) {
          if (k.product != 0 || t.product != 0) return k.product != 0 && t.product != 0 && k.product != t.product;
          if (!k.car || !t.car || k.car == t.car) return false;
          mine = specification(desk.db, k.car, k.circuit);
          others = specification(desk.db, t.car, t.circuit);
          return mine.empty() || mine != others;
        });
        if (other == there.end() || std::find(there.begin(), there.end(), k) != there.end()) continue;
        const std::string place = is_circuit(line.to) ? "the circuit" : ledger.info(line.to).code;
        const std::string what = name_of(desk.db, k, of_class, mine);
        const std::string with = name_of(desk.db, *other, of_class, others);
        if (gas) {
          return Refusal{Code::not_allowed, place + " holds " + with + "; " + what + " would be mixed into it", "two refrigerants in one cylinder can neither be charged nor reclaimed (common practice, no source)",
                         "another cylinder, or --mixing-reason \"...\" if it has happened already", {}};
        }
        warnings.push_back(place + " holds " + with + "; " + what + " goes in with it: whether they may be mixed is for their makers to say");
        break;
      }
    }
  }
  return Done{};
}

}  // namespace baybook::fluids
