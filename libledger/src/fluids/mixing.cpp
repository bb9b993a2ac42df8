#include "fluids/mixing.hpp"

#include "fluids/shelf.hpp"
#include "fluids/told_apart.hpp"
#include "log/describing.hpp"

#include <algorithm>
#include <limits>

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
  std::string out;
  for (const EntryId id : log::describing(db, car)) {
    const auto fact = log::find_fact(db, id);
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

// What the makers of two cars ask for in their circuits, each read once however many meet.
class Specifications {
 public:
  explicit Specifications(store::Db& db) : db_(db) {}
  /// As they are compared everywhere; when they do not agree, `mine` and `others` are their words,
  /// empty where none are known.
  bool agree(const Known& a, const Known& b, std::string& mine, std::string& others) {
    mine = others = {};
    if (const std::string& key = key_of(a); !key.empty() && key == key_of(b)) return true;
    mine = specification(db_, a.car, a.circuit);
    others = specification(db_, b.car, b.circuit);
    return !mine.empty() && mine == others;
  }

 private:
  // The place of a circuit has it without a look through the car's history.
  const std::string& key_of(const Known& k) {
    const auto [it, fresh] = keys_.try_emplace({k.car, k.circuit});
    const Circuit* circuit = find_circuit(std::string_view(k.circuit));
    if (!fresh || circuit == nullptr) return it->second;
    auto q = db_.query("SELECT specification FROM place WHERE id = ?");
    q.bind(circuit_of(k.car, *circuit).n);
    if (q.step()) it->second = q.text(0);
    return it->second;
  }

  store::Db& db_;
  std::map<std::pair<CarId, std::string>, std::string> keys_;
};

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

// What is known of the parts of one class in a place. What was summed there is known by those whose
// it was last: who came long before them was looked at when it went in, and again when each of the
// next ones did.
std::vector<Known> parts_known(store::Db& db, Ledger& ledger, PlaceId place,
                               std::int64_t of_class) {
  constexpr std::int64_t last = std::numeric_limits<std::int64_t>::max();
  std::vector<Known> out;
  const auto add = [&](std::int64_t fluid, Origin origin) {
    if (ledger.class_of(fluid) != of_class) return;
    Known k = known_of(db, fluid, origin, place);
    if (std::find(out.begin(), out.end(), k) == out.end()) out.push_back(std::move(k));
  };
  std::map<Component, Bounds> there;
  for (const auto& [what, sum] : ledger.contents(place)) {
    there.emplace(what, sum);
    if (sum.best <= 0) continue;
    if (what.fluid >= 1000 || !is_summed(what.origin)) add(what.fluid, what.origin);
  }
  const log::Effect now{last, last, EntryId{last}};
  for (const auto& [fluid, origin] : ledger.summed_lately(place, now, there).jobs) {
    if (fluid < 1000) add(fluid, origin);
  }
  return out;
}

bool keeps(Role r) { return r == Role::reuse || r == Role::stock || r == Role::circuit; }

}  // namespace

Result<Done> check_mixing(log::Desk& desk, Ledger& ledger, const Movement& draft, std::vector<std::string>& warnings) {
  if (!draft.mixing_reason.empty()) return Done{};
  Specifications specifications(desk.db);
  for (const MoveLine& line : draft.lines) {
    const Role role = ledger.info(line.to).role;
    const FluidClass* refrigerant = find_class(std::string_view("refrigerant"));
    const auto known_in = [&](PlaceId place, std::int64_t of_class) {
      return place.n < 1000 ? std::vector<Known>() : parts_known(desk.db, ledger, place, of_class);
    };
    std::vector<std::int64_t> classes;
    if (line.fluid) classes.push_back(ledger.class_of(line.fluid.n));
    // Of a shelf one product comes, and what is put on one meets nothing.
    const bool alone = line.fluid && line.from.n >= 1000;
    const bool beside = is_shelf(desk.db, ledger, line.to, desk.effect.moment);
    if (line.from.n >= 1000 && !alone) {
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
      // A place for refrigerant is a cylinder, whatever stands on other stock places.
      if (beside && !gas) continue;
      if (!(gas ? holds(role) && role != Role::waste : keeps(role)) || find_class(FluidId{c}) == nullptr) continue;
      const std::vector<Known> there = known_in(line.to, c);
      if (there.empty()) continue;
      std::vector<Known> comes = alone ? std::vector<Known>() : known_in(line.from, c);
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
          return !specifications.agree(k, t, mine, others);
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
