#include "book/own_transport.hpp"

#include "log/sum.hpp"

namespace baybook::book {

namespace {

using log::Fact;
using log::Value;

struct Oil {
  std::int64_t best = 0, high = 0;
  bool any = false, unmeasured = false;
};

// The used oil of the load that is managed as such: what is hazardous waste is none (40 CFR
// 279.10(b)).
Oil used_oil(Office& office, const Fact& pickup, Day day) {
  Oil out;
  auto q = office.in().db.query(
      "SELECT source, fluid, dimension, best, high FROM flow WHERE entry = ? AND target = 4");
  q.bind(pickup.id().n);
  struct Row {
    std::int64_t place, fluid, dimension, best, high;
  };
  std::vector<Row> rows;
  while (q.step()) rows.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4)});
  for (const Row& r : rows) {
    const Office::WastePlace* p = office.waste_place(r.place);
    const Stream* s = p != nullptr ? office.stream_for(p->stream, day) : nullptr;
    if (s == nullptr || s->group != "used-oil") continue;
    if (office.facts(p->stream, p->id, day).hazardous == YesNo::yes) continue;
    out.any = true;
    const auto weight = office.weight(r.fluid, s);
    const auto best = Office::volume(r.best, r.dimension, weight);
    if (!best) {
      out.unmeasured = true;
      continue;
    }
    log::add_to(out.best, 1, *best);
    log::add_to(out.high, 1, *Office::volume(r.high, r.dimension, weight));
  }
  return out;
}

// "fen-works", where it is not known to be a receiver of own loads; "" where it is.
std::string wrong_receiver(Office& office, const Fact& pickup) {
  const Value* ref = pickup.details.find("receiver-firm");
  if (ref == nullptr) return "no receiver of the book is named";
  const auto firm = log::find_fact(office.in().db, EntryId{log::read_ref(*ref, pickup.origin())});
  if (!firm || firm->kind != log::Kind::firm) return "its receiver was withdrawn";
  if (firm->details.has("receives-as")) return "";
  const std::string code(firm->details.str("code"));
  return code +
         " is not on record as a recognised collection centre or as the own aggregation point; "
         "if it is one: baybook firm change " +
         code + " --receives-as collection-centre";
}

std::string shown(std::int64_t nl, const RuleValue& most, const Units& units) {
  // The figure is printed with the digits that decide.
  const std::string brief = show(nl, Dimension::volume, units);
  const auto again = parse_amount(brief, units);
  const bool same_side = again.ok() && (again->best > most.n) == (nl > most.n);
  return same_side ? brief : show(nl, Dimension::volume, units, true);
}

}  // namespace

OwnLoad own_load(Office& office, const Fact& pickup) {
  OwnLoad out;
  if (pickup.withdrawn || pickup.kind != log::Kind::movement || !pickup.details.has("own-vehicle"))
    return out;
  const Day day = log::day_of_moment(pickup.effect.moment);
  const RuleSet* rules = office.rules_on(day);
  const RuleValue* most =
      rules != nullptr ? rules->value("used-oil.self-haul.max-volume", day) : nullptr;
  if (most == nullptr) return out;
  const Oil oil = used_oil(office, pickup, day);
  if (!oil.any) return out;
  out.section = most->source.section;
  out.sure = most->source.sure;
  const Units& units = office.in().settings.units;
  const std::string rule =
      most->text + " at any time in the shop's own vehicle (" + out.section +
      (out.sure == Sure::confirmed ? "" : ", " + std::string(words_for(out.sure))) + ")";
  if (oil.best > most->n)
    out.told.push_back(shown(oil.best, *most, units) + " of used oil is more than " + rule);
  else if (oil.high > most->n)
    out.told.push_back(shown(oil.best, *most, units) + " of used oil, up to " +
                       shown(oil.high, *most, units) + ", may be more than " + rule);
  if (oil.unmeasured)
    out.told.push_back(
        "some of the used oil has no volume in the book, so it cannot be held against " + rule);
  out.over = oil.best > most->n;
  if (std::string wrong = wrong_receiver(office, pickup); !wrong.empty()) {
    out.told.push_back(std::move(wrong));
    out.over = true;
  }
  if (!out.told.empty())
    out.told.emplace_back(
        "otherwise used oil goes with a transporter that has a federal identification number (" +
        out.section + ")");
  return out;
}

namespace {

std::string in_one(const OwnLoad& load) {
  std::string out;
  for (const std::string& t : load.told) out += (out.empty() ? "" : "; ") + t;
  return out;
}

struct Load {
  EntryId entry;
  std::string document;
};

std::vector<Load> loads(Office& office, Day from, Day until, bool open_only) {
  std::vector<Load> out;
  auto q = office.in().db.query(
      "SELECT p.entry, p.document FROM pickup p WHERE p.moment BETWEEN ?1 AND ?2 AND (?3 = 0 OR "
      "NOT EXISTS "
      "(SELECT 1 FROM confirmed c WHERE c.pickup = p.entry AND c.moment <= ?2)) ORDER BY p.moment, "
      "p.recorded, p.entry");
  q.bind(log::first_moment(from)).bind(log::last_moment(until)).bind(std::int64_t{open_only});
  while (q.step()) out.push_back({EntryId{q.num(0)}, q.text(1)});
  return out;
}

}  // namespace

void own_transport(LimitSheet& sheet) {
  for (const Load& x : loads(sheet.office, Day{-1'000'000}, sheet.day, true)) {
    const Fact fact = log::read_fact(sheet.in.db, x.entry);
    const OwnLoad load = own_load(sheet.office, fact);
    if (load.told.empty()) continue;
    LimitLine& l = sheet.line(
        "own transport",
        x.document + ", carried on " + to_string(log::day_of_moment(fact.effect.moment)), nullptr);
    l.section = load.section;
    l.sure = load.sure;
    l.state = load.over ? State::over : State::near;
    l.figures = in_one(load);
    l.settle = "baybook entry " + entry_name(sheet.in, x.entry);
    l.entries.push_back(ref_of(sheet.in, x.entry));
  }
}

void own_transport_notices(Office& office, Month month, std::vector<std::string>& notices) {
  for (const Load& x : loads(office, first_of(month), last_of(month), false)) {
    const OwnLoad load = own_load(office, log::read_fact(office.in().db, x.entry));
    if (!load.told.empty())
      notices.push_back("own transport, paper " + x.document + ": " + in_one(load));
  }
}

}  // namespace baybook::book
