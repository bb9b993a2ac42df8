#include "fluids/shelf.hpp"

#include "fluids/ends.hpp"
#include "log/sum.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <limits>

namespace baybook::fluids {

using log::Desk;
using log::refuse;

namespace {

// One product on a shelf, in one kind of quantity.
struct OnShelf {
  FluidId fluid;
  std::int64_t dimension = 0;
  std::int64_t best = 0;
};

// The most of it first. Without a dimension in every kind of quantity.
std::vector<OnShelf> on_shelf(Ledger& ledger, PlaceId place,
                              const std::optional<Amount>& in_kind_of, const log::Effect& effect) {
  std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> sums;
  for (const auto& [what, sum] : ledger.contents_before(place, effect)) {
    if (in_kind_of && what.dimension != static_cast<std::int64_t>(in_kind_of->dimension)) continue;
    log::add_to(sums[{what.fluid, what.dimension}], 1, sum.best);
  }
  std::vector<OnShelf> out;
  for (const auto& [key, best] : sums) {
    if (best > 0) out.push_back({FluidId{key.first}, key.second, best});
  }
  std::stable_sort(out.begin(), out.end(),
                   [](const OnShelf& a, const OnShelf& b) { return a.best > b.best; });
  return out;
}

constexpr std::size_t kMostListed = 12;

// "oil-5w30 20 L, atf-red (transmission-fluid) 5 L"
std::string listed(Desk& desk, Ledger& ledger, const std::vector<OnShelf>& list, bool classes) {
  std::string out;
  for (std::size_t i = 0; i < list.size() && i < kMostListed; ++i) {
    const OnShelf& x = list[i];
    out += (i == 0 ? "" : ", ") + fluid_code(desk.db, x.fluid);
    const FluidClass* of = find_class(FluidId{ledger.class_of(x.fluid.n)});
    if (classes && x.fluid.n >= 1000 && of != nullptr) out += " (" + std::string(of->name) + ")";
    out += " " + show(x.best, static_cast<Dimension>(x.dimension), desk.units);
  }
  if (list.size() > kMostListed)
    out += " and " + std::to_string(list.size() - kMostListed) + " more";
  return out;
}

std::string codes(Desk& desk, const std::vector<OnShelf>& list, const char* between) {
  std::string out;
  for (std::size_t i = 0; i < list.size() && i < kMostListed; ++i)
    out += (i == 0 ? "" : between) + fluid_code(desk.db, list[i].fluid);
  return out;
}

// The command again, with the product to be put in.
std::string line_to_type(Desk& desk, Ledger& ledger, const Taking& t) {
  const std::string from = ledger.info(t.from).code;
  const std::string amount = t.amount ? as_typed(t.amount->typed) : "all";
  if (t.verb == MoveVerb::fill) {
    auto q = desk.db.query("SELECT number FROM job WHERE id = ?");
    q.bind(t.job.n);
    const bool own = EntryId{t.job.n}.origin() == desk.known.own().origin;
    const std::string job = own && q.step() ? std::to_string(q.num(0)) : "JOB";
    return "baybook fill " + job + " " + std::string(log::circuit_at(t.to).name) + " " + amount +
           " --from " + from + " --fluid PRODUCT";
  }
  if (t.verb == MoveVerb::decant)
    return "baybook decant " + from + " " + amount + " --into " + ledger.info(t.to).code +
           " --fluid PRODUCT";
  return "the same again with --fluid PRODUCT";
}

Refusal which_one(Desk& desk, Ledger& ledger, PlaceId place, const std::vector<OnShelf>& list,
                  const std::string& line) {
  Refusal r = refuse(Code::ambiguous,
                     ledger.info(place).code + " holds " + std::to_string(list.size()) +
                         " products that it could be: " + listed(desk, ledger, list, false),
                     "cans on a shelf do not mix, so each is taken and looked at by itself (F3a)",
                     line + (line.starts_with("baybook ") ? "  # " : ", ") + "one of " +
                         codes(desk, list, ", "));
  r.figures.push_back({"products", codes(desk, list, " ")});
  return r;
}

// Whether it belongs where it goes: into a circuit its own class, into a place what that takes.
bool belongs(Ledger& ledger, const Taking& t, FluidId fluid) {
  if (t.verb == MoveVerb::spill) return true;
  const std::vector<std::int64_t>& takes = ledger.info(t.to).takes;
  return takes.empty() ||
         std::find(takes.begin(), takes.end(), ledger.class_of(fluid.n)) != takes.end();
}

// Other stock places that hold something that belongs there, for the hint.
std::string elsewhere(Desk& desk, Ledger& ledger, const Taking& t) {
  std::vector<std::int64_t> ids;
  {
    auto q = desk.db.query("SELECT id FROM place WHERE role = 3 AND id <> ? ORDER BY code, id");
    q.bind(t.from.n);
    while (q.step()) ids.push_back(q.num(0));
  }
  std::string out;
  for (const std::int64_t id : ids) {
    const auto there = on_shelf(ledger, PlaceId{id}, t.amount, desk.effect);
    const bool fits = std::any_of(there.begin(), there.end(),
                                  [&](const OnShelf& x) { return belongs(ledger, t, x.fluid); });
    if (fits) out += (out.empty() ? "" : " or ") + ledger.info(PlaceId{id}).code;
  }
  return out;
}

Refusal nothing_belongs(Desk& desk, Ledger& ledger, const Taking& t,
                        const std::vector<OnShelf>& there) {
  std::string takes;
  for (const std::int64_t c : ledger.info(t.to).takes) {
    if (const FluidClass* of = find_class(FluidId{c}))
      takes += (takes.empty() ? "" : " and no ") + std::string(of->name);
  }
  const std::string from = ledger.info(t.from).code;
  const std::string other = elsewhere(desk, ledger, t);
  return refuse(Code::not_allowed,
                from + " holds no " + takes + " by the book: " + listed(desk, ledger, there, true),
                "from a shelf only what belongs where it goes is drawn (F5)",
                (other.empty() ? "the place it came from" : other + ", if it came from there") +
                    "; or what really stands there: baybook gauge " + from +
                    " LEVEL --fluid PRODUCT --reason \"...\"");
}

// A class stands for the one product of it that is there; for itself where what stands there has no
// product, and where nothing of it does.
Result<FluidId> said_of(Desk& desk, Ledger& ledger, PlaceId place, FluidId said,
                        const std::vector<OnShelf>& there, const std::string& line) {
  if (said.n >= 1000) return said;
  std::vector<OnShelf> of_it;
  for (const OnShelf& x : there) {
    if (x.fluid == said) return said;
    if (ledger.class_of(x.fluid.n) == said.n) of_it.push_back(x);
  }
  if (of_it.size() > 1) return which_one(desk, ledger, place, of_it, line);
  return of_it.empty() ? said : of_it.front().fluid;
}

}  // namespace

bool is_bulk(store::Db& db, PlaceId place, std::int64_t moment) {
  const auto made = log::find_fact(db, EntryId{place.n});
  bool bulk = made && made->kind == log::Kind::place && made->details.has("bulk");
  auto q = db.query(
      "SELECT what FROM mark WHERE place = ? AND moment <= ? AND what IN (3, 4) "
      "ORDER BY moment DESC, recorded DESC, entry DESC LIMIT 1");
  q.bind(place.n).bind(moment);
  if (q.step()) bulk = q.num(0) == 3;
  return bulk;
}

bool is_shelf(store::Db& db, Ledger& ledger, PlaceId place, std::int64_t moment) {
  return !is_end(place) && !is_circuit(place) && ledger.info(place).role == Role::stock &&
         !is_bulk(db, place, moment);
}

std::string fluid_code(store::Db& db, FluidId fluid) {
  if (const FluidClass* c = find_class(fluid)) return std::string(c->name);
  auto q = db.query("SELECT code FROM fluid WHERE id = ?");
  q.bind(fluid.n);
  return q.step() ? q.text(0) : std::string("a product that was withdrawn");
}

Bounds held_before(Ledger& ledger, PlaceId place, std::int64_t dimension, FluidId only,
                   const log::Effect& effect) {
  Bounds out;
  for (const auto& [what, sum] : ledger.contents_before(place, effect)) {
    if (what.dimension == dimension && (!only || what.fluid == only.n)) out += sum;
  }
  return out;
}

std::optional<Refusal> other_class(Desk& desk, Ledger& ledger, PlaceId circuit, FluidId fluid) {
  const std::vector<std::int64_t>& takes = ledger.info(circuit).takes;
  const FluidClass* is = find_class(FluidId{ledger.class_of(fluid.n)});
  const FluidClass* wants = takes.empty() ? nullptr : find_class(FluidId{takes.front()});
  // Another group altogether is refused where every place is looked at (F5).
  if (is == nullptr || wants == nullptr || is == wants || is->group != wants->group)
    return std::nullopt;
  const std::string code = fluid_code(desk.db, fluid);
  return refuse(Code::not_allowed,
                "the " + std::string(log::circuit_at(circuit).name) + " circuit takes " +
                    std::string(wants->name) + ", and " + code +
                    (code == is->name ? " is another class" : " is " + std::string(is->name)),
                "what else its maker may ask for is not known to the book (F5)",
                "the product that belongs there, or --mixing-reason \"...\" if this one went in");
}

Result<FluidId> taken_from_shelf(Desk& desk, Ledger& ledger, const Taking& t) {
  const std::vector<OnShelf> there = on_shelf(ledger, t.from, t.amount, desk.effect);
  const std::string line = line_to_type(desk, ledger, t);
  if (t.said) {
    auto said = said_of(desk, ledger, t.from, t.said, there, line);
    if (said.ok() && t.verb == MoveVerb::fill && !t.mixing) {
      if (auto other = other_class(desk, ledger, t.to, *said)) return std::move(*other);
    }
    return said;
  }
  if (there.empty()) return FluidId{};
  std::vector<OnShelf> fit;
  for (const OnShelf& x : there) {
    if (belongs(ledger, t, x.fluid)) fit.push_back(x);
  }
  const std::vector<OnShelf>& could = fit.empty() ? there : fit;
  // Of one product in litres and in kilograms the other kind of quantity is asked for elsewhere.
  const FluidId first = could.front().fluid;
  const bool one = std::all_of(could.begin(), could.end(),
                               [&](const OnShelf& x) { return x.fluid == first; });
  if (fit.empty() && !t.mixing) {
    if (!one) return nothing_belongs(desk, ledger, t, there);
    // There is nothing else that was meant: why it does not go there is told of it, here or, of
    // another group and of a place that does not take it, with the rule (F5).
    if (t.verb == MoveVerb::fill) {
      if (auto other = other_class(desk, ledger, t.to, first)) return std::move(*other);
    }
    return first;
  }
  if (!one) return which_one(desk, ledger, t.from, could, line);
  return first;
}

Result<FluidId> gauged_on_shelf(Desk& desk, Ledger& ledger, PlaceId place, const Amount& level,
                                FluidId said) {
  const std::vector<OnShelf> there = on_shelf(ledger, place, level, desk.effect);
  const PlaceInfo& info = ledger.info(place);
  const std::string line =
      "baybook gauge " + info.code + " LEVEL --fluid PRODUCT --reason \"...\"";
  if (said) return said_of(desk, ledger, place, said, there, line);
  if (there.size() == 1) return there.front().fluid;
  if (level.best == 0) return FluidId{};
  if (!there.empty()) return which_one(desk, ledger, place, there, line);
  if (info.takes.size() == 1) return FluidId{info.takes.front()};
  return refuse(Code::unclear,
                info.code + " is empty by the book, and it is not said what stands there",
                "a reading of a shelf is of one product (F3a)",
                line + ", a product from `baybook fluid list`");
}

Result<Done> mixes_from_now_on(Desk& desk, Ledger& ledger, PlaceId place, bool bulk,
                               std::vector<std::string>& warnings) {
  const PlaceInfo& info = ledger.info(place);
  if (info.role != Role::stock)
    return refuse(Code::not_allowed, info.code + " is not a stock place",
                  "whatever goes into a pan, a reuse place or a drum mixes there anyway",
                  "a stock place from `baybook levels`");
  if (is_bulk(desk.db, place, std::numeric_limits<std::int64_t>::max()) == bulk)
    return refuse(Code::already_there, info.code + (bulk ? " is a bulk tank" : " is a shelf") +
                                           " already",
                  "", "baybook levels");
  if (!bulk) return Done{};
  std::vector<std::int64_t> products;
  std::string_view group;
  for (const auto& [what, sum] : ledger.contents(place)) {
    if (sum.best <= 0) continue;
    const std::string_view its = log::class_at(ledger.class_of(what.fluid)).group;
    if (!group.empty() && its != group)
      return refuse(Code::not_allowed, info.code + " holds " + std::string(group) + " and " +
                                           std::string(its) + ", which would be one mix",
                    "mixing spoils both (F5)", "a place of its own for one of the two");
    group = its;
    if (std::find(products.begin(), products.end(), what.fluid) == products.end())
      products.push_back(what.fluid);
  }
  if (products.size() > 1)
    warnings.push_back(info.code + " holds " + std::to_string(products.size()) +
                       " products, which count as one mix from now on; whether they may be mixed "
                       "is for their makers to say");
  return Done{};
}

}  // namespace baybook::fluids
