#include "fluids/build.hpp"

#include "fluids/mixing.hpp"
#include "fluids/shares.hpp"
#include "fluids/shelf.hpp"
#include "fluids/solids.hpp"
#include "fluids/takes.hpp"
#include "fluids/told_apart.hpp"
#include "quantity/units.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <limits>

namespace baybook::fluids {

using log::Built;
using log::Desk;
using log::Kind;
using log::refuse;
using log::Value;

namespace {

std::vector<std::string> class_names() {
  std::vector<std::string> out;
  for (const FluidClass& c : fluid_classes()) out.emplace_back(c.name);
  return out;
}

Refusal no_class(std::string_view text) {
  std::string near;
  for (const std::string& n : near_names(text, class_names())) near += near.empty() ? n : ", " + n;
  return refuse(Code::not_found, "there is no class of fluid or waste named " + visible(text), near.empty() ? "" : "near it: " + near, "one of those that `baybook fluid list` names");
}

std::string code_of(store::Db& db, PlaceId p) {
  auto q = db.query("SELECT code FROM place WHERE id = ?");
  q.bind(p.n);
  return q.step() ? q.text(0) : std::string("that place");
}

Result<Done> name_is_free(Desk& desk, const std::string& code) {
  auto q = desk.db.query("SELECT (SELECT count(*) FROM place WHERE code = ?1 AND role <> 0) + (SELECT count(*) FROM fluid WHERE code = ?1)");
  q.bind(code);
  if (q.step() && q.num(0) > 0) return refuse(Code::already_there, code + " is the name of a place or a fluid already", "names are for people: each means one thing", "another name, for example " + code + "-2");
  if (find_class(std::string_view(code)) != nullptr) return refuse(Code::already_there, code + " is the name of a class of fluid", "a place or product needs a name of its own", "for example " + code + "-1");
  return Done{};
}

// A retired place takes part in nothing, a reading included: what stands in it is nobody's to tell
// until it is in use again. What is dated before its retirement is told of on the side.
Result<Done> in_use(Desk& desk, Ledger& ledger, PlaceId place, std::vector<std::string>& warnings) {
  const std::string code = ledger.info(place).code;
  if (marks_of(desk.db, place, desk.effect.moment).retired)
    return refuse(Code::not_allowed, code + " is retired", "it is not in use any more",
                  "another place, or baybook place open " + code + " if it is in use again");
  if (!marks_of(desk.db, place, std::numeric_limits<std::int64_t>::max()).retired) return Done{};
  std::string told = code + " was retired after that day: see whether it is empty by the book";
  if (std::find(warnings.begin(), warnings.end(), told) == warnings.end())
    warnings.push_back(std::move(told));
  return Done{};
}

}  // namespace

Result<Done> in_its_unit(Desk& desk, FluidId fluid, Dimension dimension) {
  if (fluid.n < 1000) return Done{};
  auto q = desk.db.query("SELECT code, dimension FROM fluid WHERE id = ?");
  q.bind(fluid.n);
  if (!q.step() || q.num(1) == static_cast<std::int64_t>(dimension)) return Done{};
  const auto word = [](Dimension d) {
    return std::string(d == Dimension::volume ? "volume" : d == Dimension::mass ? "mass" : "pieces");
  };
  return refuse(Code::unclear,
                q.text(0) + " is kept in " + word(static_cast<Dimension>(q.num(1))) + ", not in " +
                    word(dimension),
                "litres, kilograms and pieces are never added up", "the amount in that unit");
}

// Document numbers, lots and treatment codes are kept in the open, so they may hold nothing but
// what such numbers hold.
Result<std::string> open_token(std::string_view text, std::string_view field) {
  auto clean = clean_text(text, field, log::most::kToken);
  if (!clean.ok()) return clean;
  for (const char c : *clean) {
    const bool fine = (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') ||
                      c == '-' || c == '/' || c == '.' || c == '_' || c == '#' || c == '+' ||
                      c == ' ';
    if (!fine)
      return refuse(
          Code::unclear,
          std::string(field) + " " + visible(text) + " holds a character that no such number has",
          "it is kept in the open: letters, digits, blanks and - / . _ # +",
          "only the number, for example 0041233");
  }
  return clean;
}

std::optional<MoveVerb> read_verb(std::string_view name) {
  for (int i = 0; i <= static_cast<int>(MoveVerb::pickup); ++i) {
    if (name_of(static_cast<MoveVerb>(i)) == name) return static_cast<MoveVerb>(i);
  }
  return std::nullopt;
}

Value write_line(const Desk& desk, PlaceId from, PlaceId to, const Amount& amount, FluidId fluid) {
  Value line;
  line["amount"] = log::write_amount(amount);
  if (fluid) line["fluid"] = log::write_fluid(fluid, desk.known);
  line["from"] = log::write_place(from, desk.known);
  line["to"] = log::write_place(to, desk.known);
  return line;
}

Result<Built> build(Desk& desk, Ledger&, const NewPlace& draft) {
  auto code = clean_code(draft.code, "place");
  if (!code.ok()) return std::move(code).refusal();
  if (auto free = name_is_free(desk, *code); !free.ok()) return std::move(free).refusal();
  if (!holds(draft.role)) return refuse(Code::wrong_usage, "a place of the shop is one of catch, reuse, stock, waste", "circuits come with their car; the ends of the world are there already", "--role catch");
  Built out;
  out.kind = Kind::place;
  out.details["code"] = *code;
  out.details["role"] = name_of(draft.role);
  if (draft.size) {
    if (draft.size->best <= 0) return refuse(Code::not_allowed, "a place of size nothing holds nothing", "no place holds more than its size (F4)", "--size 20L");
    out.details["size"] = log::write_amount(*draft.size);
  }
  std::vector<Value> takes;
  for (const std::string& name : draft.takes) {
    const FluidClass* c = find_class(std::string_view(name));
    if (c == nullptr) return no_class(name);
    takes.emplace_back(c->name);
  }
  std::string stream = draft.stream;
  if (!stream.empty()) {
    if (draft.role != Role::waste) return refuse(Code::wrong_usage, "only a waste place has a stream", "what a fluid is as waste is decided when it goes into a waste place", "--role waste, or no --stream");
    auto clean = clean_code(stream, "stream");
    if (!clean.ok()) return std::move(clean).refusal();
    stream = *clean;
  } else if (draft.role == Role::waste) {
    if (takes.empty()) {
      return refuse(Code::wrong_usage, "waste place " + *code + " needs to say what goes in", "a waste place holds one stream, for one pick-up", "--takes coolant");
    }
    stream = "waste-" + takes.front().as_string();
  }
  // A drum is sold by its litres, and what is soaked up or dropped into it is weighed or counted.
  if (draft.size && draft.size->dimension == Dimension::volume && !takes.empty() &&
      std::all_of(takes.begin(), takes.end(), [](const Value& c) { return is_solid(c.as_string()); }))
    out.warnings.push_back(*code + " is sized by volume, and what it takes is weighed or counted: "
                           "the book cannot tell how full it is; with a size by weight or in pieces "
                           "it can");
  if (!takes.empty()) out.details["takes"] = Value(std::move(takes));
  if (!stream.empty()) out.details["stream"] = stream;
  if (!draft.area.empty()) {
    auto area = clean_code(draft.area, "area");
    if (!area.ok()) return std::move(area).refusal();
    out.details["area"] = *area;
  }
  if (draft.bulk) {
    if (draft.role != Role::stock)
      return refuse(Code::wrong_usage, *code + " is not a stock place",
                    "whatever goes into a pan, a reuse place or a drum mixes there anyway",
                    "--role stock, or no --bulk");
    out.details["bulk"] = true;
  }
  if (draft.satellite) {
    if (draft.role != Role::waste) return refuse(Code::wrong_usage, *code + " is not a waste place", "an area at the point of generation holds waste containers", "--role waste, or no --satellite");
    if (draft.area.empty()) return refuse(Code::wrong_usage, *code + " stands in no area", "what may stand at the point of generation is limited for the whole area", "--satellite --area bay-2");
    out.details["satellite"] = true;
  }
  return out;
}

namespace {

// A place that something went through later was in use then.
Result<Done> not_before_its_use(Desk& desk, const PlaceMark& draft, const std::string& code) {
  if (draft.what != PlaceMark::What::retire) return Done{};
  auto q = desk.db.query("SELECT moment FROM leg WHERE place = ? ORDER BY moment DESC LIMIT 1");
  q.bind(draft.place.n);
  if (!q.step() || log::day_of_moment(q.num(0)) <= log::day_of_moment(desk.effect.moment))
    return Done{};
  return refuse(Code::not_allowed,
                code + " was in use after that: something moved through it on " +
                    to_string(log::day_of_moment(q.num(0))),
                "a retired place takes part in nothing (F6)", "that day or a later one");
}

}  // namespace

Result<Built> build(Desk& desk, Ledger& ledger, const PlaceMark& draft) {
  if (!holds(ledger.info(draft.place).role)) return refuse(Code::not_allowed, "only the shop's own places can be sealed, opened or retired", "", "a place from `baybook levels`");
  const std::string code = code_of(desk.db, draft.place);
  const Marks now = marks_of(desk.db, draft.place, std::numeric_limits<std::int64_t>::max());
  constexpr std::string_view words[] = {"seal", "open", "retire", "bulk", "shelf"};
  const std::string_view what = words[static_cast<std::size_t>(draft.what)];
  bool empty = true;
  std::string gauges;
  for (int d = 0; d < 3; ++d) {
    if (ledger.level(draft.place, d).best <= 0) continue;
    empty = false;
    gauges += (gauges.empty() ? "" : ", then ") + ("baybook gauge " + code) + (d == 0 ? " 0L" : d == 1 ? " 0kg" : " 0pcs") + " --reason \"...\"";
  }
  if (now.retired && draft.what != PlaceMark::What::open)
    return refuse(Code::not_allowed, code + " is retired", "",
                  "another place, or baybook place open " + code + " if it is in use again");
  Built out;
  if (draft.what == PlaceMark::What::bulk || draft.what == PlaceMark::What::shelf) {
    auto ok = mixes_from_now_on(
        desk, ledger, draft.place, draft.what == PlaceMark::What::bulk, out.warnings);
    if (!ok.ok()) return std::move(ok).refusal();
  }
  if (auto ok = not_before_its_use(desk, draft, code); !ok.ok()) return std::move(ok).refusal();
  if (draft.what == PlaceMark::What::seal && now.sealed) return refuse(Code::already_there, code + " is sealed already", "", "baybook place open " + code + "  # once an empty one stands there");
  if (draft.what == PlaceMark::What::seal && empty) return refuse(Code::not_allowed, code + " is empty: there is nothing to seal", "a container is sealed when it waits for its pick-up", "baybook levels  # for one that holds something");
  // One that was retired with something in it by the book is read and emptied once it is open again.
  const bool emptied = draft.what == PlaceMark::What::retire ||
                       (draft.what == PlaceMark::What::open && !now.retired);
  if (emptied && !empty) {
    return refuse(Code::not_allowed, code + " still holds something by the book", "an empty container is put in its place after a pick-up, a decant or a gauge reading of nothing", gauges);
  }
  out.kind = Kind::place_mark;
  out.details["place"] = log::write_place(draft.place, desk.known);
  out.details["what"] = std::string(what);
  if (!draft.note.empty()) {
    auto note = clean_text(draft.note, "note");
    if (!note.ok()) return std::move(note).refusal();
    out.keep_private("note", *note);
  }
  return out;
}

Result<Built> build(Desk& desk, Ledger&, const NewFluid& draft) {
  auto code = clean_code(draft.code, "fluid");
  if (!code.ok()) return std::move(code).refusal();
  if (auto free = name_is_free(desk, *code); !free.ok()) return std::move(free).refusal();
  const FluidClass* c = find_class(std::string_view(draft.of_class));
  if (c == nullptr) return no_class(draft.of_class);
  Built out;
  out.kind = Kind::fluid;
  out.details["class"] = c->name;
  out.details["code"] = *code;
  out.details["unit"] = base_unit(draft.dimension);
  if (!draft.product.empty()) {
    auto product = clean_text(draft.product, "product", log::most::kProduct);
    if (!product.ok()) return std::move(product).refusal();
    out.details["product"] = *product;
  }
  if (draft.density) {
    if (draft.density_source.empty()) return refuse(Code::wrong_usage, "a density needs its source", "a figure without a source cannot be checked", "--source \"safety data sheet of the maker, 2025\"");
    auto source = clean_text(draft.density_source, "source", log::most::kDensitySource);
    if (!source.ok()) return std::move(source).refusal();
    Value density;
    density["ppm-kg-per-l"] = draft.density->ppm_kg_per_l;
    density["source"] = *source;
    density["typed"] = draft.density->typed;
    out.details["density"] = std::move(density);
  }
  if (!draft.shares.empty()) {
    auto shares = write_shares(draft.shares);
    if (!shares.ok()) return std::move(shares).refusal();
    out.details["shares"] = std::move(*shares);
  }
  return out;
}

bool goes(MoveVerb verb, Role from, Role to) noexcept {
  switch (verb) {
    case MoveVerb::drain:
      return from == Role::circuit &&
             (to == Role::hold_catch || to == Role::reuse || to == Role::waste);
    case MoveVerb::filter:
      return (from == Role::hold_catch || from == Role::reuse) && to == Role::reuse;
    case MoveVerb::fill:
      return to == Role::circuit && (from == Role::stock || from == Role::reuse ||
                                     from == Role::hold_catch || from == Role::supplier);
    case MoveVerb::spill:
      return (from == Role::circuit || holds(from) || from == Role::supplier) &&
             (to == Role::ground || to == Role::waste);
    case MoveVerb::decant:
      return holds(from) && holds(to) && (to != Role::stock || from == Role::stock) &&
             (from != Role::waste || to == Role::waste);
    case MoveVerb::receive: return from == Role::supplier && to == Role::stock;
    case MoveVerb::discard: return from == Role::supplier && to == Role::waste;
    case MoveVerb::pickup: return from == Role::waste && to == Role::receiver;
  }
  return false;
}

Result<Done> check_way(Ledger& ledger, MoveVerb verb, PlaceId from, PlaceId to) {
  const Role f = ledger.info(from).role;
  const Role t = ledger.info(to).role;
  const std::string names = ledger.info(from).code + " (" + std::string(name_of(f)) + ") to " + ledger.info(to).code + " (" + std::string(name_of(t)) + ")";
  const auto no = [&](const char* why, std::string instead) { return refuse(Code::not_allowed, std::string(name_of(verb)) + " does not go from " + names, std::string(why) + " (F6)", std::move(instead)); };
  if (from == to) return refuse(Code::not_allowed, ledger.info(from).code + " is both where it comes from and where it goes", "a movement has two ends (F1)", "another place");
  if (goes(verb, f, t)) return Done{};
  switch (verb) {
    case MoveVerb::drain:
      return no("a drain leaves a circuit for a catch, reuse or waste place",
                "baybook drain JOB coolant 5.4L --into pan-1");
    case MoveVerb::filter:
      return no("what is filtered comes out of a catch or reuse place and is kept in a reuse place",
                "baybook filter pan-1 4.2L --into keep-1");
    case MoveVerb::fill:
      return no("a fill ends in a circuit and comes from a stock, reuse or catch place",
                "baybook fill JOB coolant 1.9L --from can-1");
    case MoveVerb::spill:
      return no("what is spilled goes to the ground, what is picked up goes into a waste place",
                "baybook spill JOB coolant 0.5..1.2L --picked-up 0.3L --into drum-1");
    case MoveVerb::decant:
      return no(
          "decanting is between the shop's places: used fluid never becomes stock, waste stays "
          "waste",
          "baybook decant pan-1 all --into drum-1");
    case MoveVerb::receive:
      return no("a delivery goes into a stock place", "baybook receive oat-1 20L --into can-1");
    case MoveVerb::discard:
      return no("shop waste goes into a waste place",
                "baybook discard absorbent 2kg --into drum-absorb");
    case MoveVerb::pickup:
      return no("a pick-up takes from a waste place",
                "baybook pickup --carrier \"...\" --doc 0041233 --from drum-1=180L --fate recycle");
  }
  return Done{};
}

namespace {

// "8oz" of a liquid that a circuit takes by volume: a weight by its unit, and meant as fluid ounces by most who type it. Refrigerant is weighed.
Result<Done> weight_or_volume(PlaceId from, PlaceId to, const Amount& amount) {
  if (amount.dimension != Dimension::mass) return Done{};
  const std::string_view typed = amount.typed;
  const std::size_t last_digit = typed.find_last_of("0123456789");
  if (last_digit == std::string_view::npos) return Done{};
  const std::string unit = quantity::folded(typed.substr(last_digit + 1));
  if (unit != "oz" && unit != "ounce" && unit != "ounces") return Done{};
  for (const PlaceId p : {from, to}) {
    if (!is_circuit(p) || log::circuit_at(p).takes == "refrigerant") continue;
    const std::string number(typed.substr(0, last_digit + 1));
    return refuse(Code::unclear, visible(typed) + " of " + std::string(log::circuit_at(p).takes) + " may be a weight or fluid ounces", "what a circuit holds is measured by volume",
                  number + "usfloz or " + number + "impfloz, or in g if it was weighed");
  }
  return Done{};
}

// What can be, and is a slip more often than not.
void say_if_unlikely(Ledger& ledger, MoveVerb verb, PlaceId from, PlaceId to, const Amount& amount, const Units& units, std::vector<std::string>& warnings) {
  if (verb == MoveVerb::drain && is_circuit(from)) {
    const PlaceInfo circuit = ledger.info(from);
    if (circuit.size >= 0 && circuit.dimension == static_cast<std::int64_t>(amount.dimension) && amount.low > circuit.size) {
      warnings.push_back("that is more than the circuit holds (" + show(circuit.size, amount.dimension, units) + ")");
    }
  }
  if (verb == MoveVerb::spill || to.n < 1000 || is_circuit(to)) return;
  const PlaceInfo& place = ledger.info(to);
  if (place.size < 0 || place.dimension == static_cast<std::int64_t>(amount.dimension)) return;
  warnings.push_back(place.code + " has its size by " + (place.dimension == 0 ? "volume" : place.dimension == 1 ? "weight" : "pieces") + ", and this is by " + (amount.dimension == Dimension::volume ? "volume" : amount.dimension == Dimension::mass ? "weight" : "pieces") +
                     ": it is not held against it");
}

// A pan that holds one open job's fluid only: what is done with it belongs to that job's story.
JobId only_open_job_in(Desk& desk, Ledger& ledger, PlaceId place) {
  std::int64_t only = 0;
  bool several = false;
  const auto count = [&](Origin origin) {
    const std::int64_t owner = origin & ((std::int64_t{1} << 58) - 1);
    if (only != 0 && owner != only) several = true;
    only = owner;
  };
  const std::map<Component, Bounds> there = ledger.contents_before(place, desk.effect);
  for (const auto& [what, sum] : there) {
    if (sum.best > 0 && !is_summed(what.origin)) count(what.origin);
  }
  const Ledger::Lately summed = ledger.summed_lately(place, desk.effect, there);
  for (const auto& [fluid, origin] : summed.jobs) count(origin);
  if (only == 0 || several || !summed.all) return {};
  auto q = desk.db.query("SELECT closed FROM job WHERE id = ?");
  q.bind(only);
  return q.step() && q.num(0) == 0 ? JobId{only} : JobId{};
}

}  // namespace

Result<Done> check_amount(Ledger& ledger, MoveVerb verb, PlaceId from, PlaceId to, const Amount& amount, const Units& units, std::vector<std::string>& warnings) {
  if (auto clear = weight_or_volume(from, to, amount); !clear.ok()) return clear;
  say_if_unlikely(ledger, verb, from, to, amount, units, warnings);
  return Done{};
}

Result<Built> build(Desk& desk, Ledger& ledger, const Movement& draft) {
  Built out;
  out.kind = Kind::movement;
  if (draft.lines.empty()) return refuse(Code::wrong_usage, "a movement without a line moves nothing", "a movement has two ends (F1)", "a place it comes from, a place it goes to and an amount");
  out.details["verb"] = name_of(draft.verb);
  JobId job = draft.job;
  const bool needs_job = draft.verb == MoveVerb::drain || draft.verb == MoveVerb::fill;
  if (needs_job && !job) return refuse(Code::wrong_usage, std::string(name_of(draft.verb)) + " belongs to a job", "what leaves or enters a car is accounted for in a job", "baybook job open CAR --odo 88210km --for \"...\"");
  if (!job && (draft.verb == MoveVerb::filter || draft.verb == MoveVerb::decant || (draft.verb == MoveVerb::spill && !is_circuit(draft.lines.front().from)))) {
    job = only_open_job_in(desk, ledger, draft.lines.front().from);
  }
  if (job) out.details["job"] = log::write_ref(job.n, desk.known);
  std::vector<Value> lines;
  Movement meant = draft;
  for (const MoveLine& line : draft.lines) {
    if (auto way = check_way(ledger, draft.verb, line.from, line.to); !way.ok()) return std::move(way).refusal();
    for (const PlaceId p : {line.from, line.to}) {
      if (!holds(ledger.info(p).role)) continue;
      if (auto used = in_use(desk, ledger, p, out.warnings); !used.ok())
        return std::move(used).refusal();
      const Marks m = marks_of(desk.db, p, desk.effect.moment);
      const std::string code = ledger.info(p).code;
      if (m.sealed && p == line.to) return refuse(Code::not_allowed, code + " is sealed: nothing more goes in", "a sealed filling waits for its pick-up", "another place; or baybook place open " + code + "  # once an empty one stands there");
    }
    auto takes = what_it_takes(desk, ledger, draft, line, out.warnings);
    if (!takes.ok()) return std::move(takes).refusal();
    const FluidId fluid = takes->fluid;
    meant.lines[lines.size()].fluid = fluid;
    Amount amount;
    if (line.amount) {
      amount = *line.amount;
    } else {
      auto all = all_there(desk, ledger, line, takes->alone ? fluid : FluidId{});
      if (!all.ok()) return std::move(all).refusal();
      amount = std::move(*all);
    }
    if (amount.best <= 0 || amount.high <= 0) return refuse(Code::not_allowed, "an amount of nothing moves nothing", "the upper bound must be above zero (F2)", "the amount that was moved");
    if (line.from == kSupplier && !fluid) return refuse(Code::wrong_usage, "what came from the supplier is not said", "", "the fluid's name, from `baybook fluid list`");
    if (auto fits = in_its_unit(desk, fluid, amount.dimension); !fits.ok())
      return std::move(fits).refusal();
    if (auto clear = check_amount(ledger, draft.verb, line.from, line.to, amount, desk.units, out.warnings); !clear.ok()) return std::move(clear).refusal();
    Value v = write_line(desk, line.from, line.to, amount, fluid);
    if (!line.amount) v["all"] = true;
    if (takes->alone) v["alone"] = true;
    if (takes->beside) v["beside"] = true;
    if (draft.verb == MoveVerb::pickup && line.fate != Fate::none) v["fate"] = name_of(line.fate);
    if (!line.treatment.empty()) {
      auto t = open_token(line.treatment, "treatment code");
      if (!t.ok()) return std::move(t).refusal();
      v["treatment"] = *t;
    }
    if (!line.lot.empty()) {
      auto t = open_token(line.lot, "lot");
      if (!t.ok()) return std::move(t).refusal();
      v["lot"] = *t;
    }
    if (draft.verb == MoveVerb::spill && line.to != kGround) v["soaked"] = true;
    lines.push_back(std::move(v));
  }
  out.details["lines"] = Value(std::move(lines));
  if (!draft.document.empty()) {
    auto t = open_token(draft.document, "document number");
    if (!t.ok()) return std::move(t).refusal();
    out.details["document"] = *t;
  }
  if (draft.verb == MoveVerb::pickup) {
    if (draft.carrier.empty()) return refuse(Code::wrong_usage, "a pick-up names its carrier", "the register must say who took it", "--carrier \"...\"");
    if (draft.document.empty()) return refuse(Code::wrong_usage, "a pick-up names its paper", "pick-ups are matched to paperwork by its number", "--doc 0041233");
  }
  for (const auto& [field, text] : {std::pair<const char*, const std::string*>{"note", &draft.note}, {"carrier", &draft.carrier}, {"receiver", &draft.receiver}, {"mixing", &draft.mixing_reason}}) {
    if (text->empty()) continue;
    auto clean = clean_text(*text, field);
    if (!clean.ok()) return std::move(clean).refusal();
    out.keep_private(field, *clean);
  }
  if (!draft.mixing_reason.empty()) out.details["mixing"] = true;
  if (auto ok = check_mixing(desk, ledger, meant, out.warnings); !ok.ok()) return std::move(ok).refusal();
  return out;
}

Result<Built> build(Desk& desk, Ledger& ledger, const Gauge& draft) {
  const PlaceInfo& place = ledger.info(draft.place);
  if (!holds(place.role)) return refuse(Code::not_allowed, "only the shop's own places are gauged", "what a car holds is told by its jobs", "a place from `baybook levels`");
  Built out;
  if (auto used = in_use(desk, ledger, draft.place, out.warnings); !used.ok())
    return std::move(used).refusal();
  out.kind = Kind::gauge;
  out.details["place"] = log::write_place(draft.place, desk.known);
  Amount level;
  if (draft.level) {
    level = *draft.level;
  } else {
    if (!draft.gross || !draft.tare)
      return refuse(Code::wrong_usage, "a gauge reading is a level, or a gross and a tare weight",
                    "", "baybook gauge " + place.code + " LEVEL --reason \"...\"");
    if (draft.gross->dimension != Dimension::mass || draft.tare->dimension != Dimension::mass) return refuse(Code::unclear, "gross and tare are weights", "", "--gross 201kg --tare 18kg");
    const std::int64_t net = draft.gross->best - draft.tare->best;
    if (net < 0) return refuse(Code::not_allowed, "the empty container weighs more (" + show(*draft.tare, desk.units) + ") than the full one (" + show(*draft.gross, desk.units) + ")", "net = gross - tare", "the two weights the other way round");
    out.details["gross"] = log::write_amount(*draft.gross);
    out.details["tare"] = log::write_amount(*draft.tare);
    level = Amount{Dimension::mass, net, net, net, false, draft.gross->typed + " - " + draft.tare->typed};
    if (draft.density) {
      if (draft.density_source.empty()) return refuse(Code::wrong_usage, "a density needs its source", "a figure without a source cannot be checked", "--source \"safety data sheet of the maker\"");
      auto source = clean_text(draft.density_source, "source", log::most::kDensitySource);
      if (!source.ok()) return std::move(source).refusal();
      const Volume v = volume_of(Mass{net}, *draft.density);
      level = Amount{Dimension::volume, v.n, v.n, v.n, false, level.typed + " at " + draft.density->typed};
      Value density;
      density["ppm-kg-per-l"] = draft.density->ppm_kg_per_l;
      density["source"] = *source;
      density["typed"] = draft.density->typed;
      out.details["density"] = std::move(density);
    } else {
      bool by_volume = place.size >= 0 && place.dimension == 0;
      if (ledger.level_before(draft.place, 0, desk.effect).best > 0) by_volume = true;
      if (by_volume && net > 0) return refuse(Code::unclear, place.code + " is kept in volume, and weights were given", "a weight becomes a volume through a density with its source", "--density 1.07kg/L --source \"...\"");
    }
  }
  bool other = false;
  for (const auto& [c, b] : ledger.contents_before(draft.place, desk.effect)) {
    if (b.best > 0 && c.dimension != static_cast<std::int64_t>(level.dimension)) other = true;
  }
  if (other && ledger.level_before(draft.place, static_cast<std::int64_t>(level.dimension), desk.effect).best == 0 && level.best > 0 && !draft.fluid) {
    return refuse(Code::unclear, place.code + " is kept in another kind of quantity", "litres, kilograms and pieces are never added up", "the reading in the unit that `baybook levels` shows");
  }
  const bool shelf = is_shelf(desk.db, ledger, draft.place, desk.effect.moment);
  FluidId fluid = draft.fluid;
  if (shelf) {
    auto of = gauged_on_shelf(desk, ledger, draft.place, level, draft.fluid);
    if (!of.ok()) return std::move(of).refusal();
    fluid = *of;
  }
  if (auto fits = in_its_unit(desk, fluid, level.dimension); !fits.ok())
    return std::move(fits).refusal();
  if (fluid && !place.takes.empty()) {
    const std::int64_t found = ledger.class_of(fluid.n);
    const FluidClass* names = find_class(FluidId{found});
    const FluidClass* takes = find_class(FluidId{place.takes.front()});
    if (std::find(place.takes.begin(), place.takes.end(), found) == place.takes.end()) {
      return refuse(Code::not_allowed, place.code + " takes " + std::string(takes ? takes->name : "something else") + ", not " + std::string(names ? names->name : "this"), "mixing spoils both for pick-up and for putting back (F5)", "another place, or the fluid that it takes");
    }
  }
  out.details["level"] = log::write_amount(level);
  if (fluid) out.details["fluid"] = log::write_fluid(fluid, desk.known);
  const bool alone = shelf && fluid;
  if (alone) out.details["alone"] = true;
  const Bounds book = held_before(ledger, draft.place, static_cast<std::int64_t>(level.dimension), alone ? fluid : FluidId{}, desk.effect);
  const std::int64_t off = level.best - book.best;
  if (fluid && !alone && book.best > 0) {
    out.warnings.push_back(place.code + " held " + show(book.best, level.dimension, desk.units) + " by the book, which stays what it was: --fluid says what is in a place that the book thinks empty; baybook gauge " + place.code + " 0L first, then the reading with --fluid");
  }
  if (!draft.reason.empty()) {
    auto reason = clean_text(draft.reason, "reason");
    if (!reason.ok()) return std::move(reason).refusal();
    out.keep_private("reason", *reason);
  } else if (off != 0) {
    return refuse(Code::wrong_usage,
                  place.code + " reads " + show(level.best, level.dimension, desk.units) + (alone && fluid.n >= 1000 ? " of " + fluid_code(desk.db, fluid) : "") + " and the book says " + show(book.best, level.dimension, desk.units) + ": a difference of " + show(off < 0 ? -off : off, level.dimension, desk.units, true),
                  "a difference is booked with its reason", std::string("--reason \"...\", in your own words: ") + (off < 0 ? "a spill, evaporation, a drain of it not written down" : "what came in and was not written down"));
  }
  return out;
}

}  // namespace baybook::fluids
