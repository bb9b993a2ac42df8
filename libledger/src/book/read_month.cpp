// What a month is judged by: its waste line by line, what of it counts, and the category that makes.
#include "book/office.hpp"

#include "log/sum.hpp"
#include "returns/category.hpp"

#include <algorithm>
#include <map>

namespace baybook::book {

namespace {

// Waste that is recorded and does not count while its event is run under subpart L.
constexpr std::string_view kOfEvent = "of an episodic event";

// With the digits that decide beside the weights at which the category turns.
std::string kg(std::int64_t ug, const std::vector<std::int64_t>& edges) {
  return show_number(ug, Dimension::mass, Units{}, decimals_beside(ug, Dimension::mass, Units{}, 3, edges)) + " kg";
}

bool generates(const WasteLine& l) {
  return !l.out && l.other != Role::waste && l.other != Role::difference;
}

/// An amount with its bounds, as it is added or taken away.
struct Sized {
  std::int64_t fluid = 0, dimension = 0, low = 0, best = 0, high = 0;
};

class MonthReader {
 public:
  MonthReader(Office& office, Month month, const RuleSet& rules, std::string_view which)
      : office_(office), month_(month), day_(last_of(month)), rules_(rules), drained_(which == "drained") {}

  void read() {
    decided();
    if (drained_) drained();
    if (!office_.apart_only() && rules_.scheme == "us") mixed();
  }

  void sum(Reading& out, std::vector<std::string>* notices) const {
    for (const auto& [key, line] : by_) {
      if (!line.counts) continue;
      if (!line.best_ug) {
        if (notices != nullptr && line.best != 0)
          notices->push_back(line.stream.title + ": " + show(line.best, line.dimension, office_.in().settings.units) + " without a weight, so it is missing in the total: weigh it, or give the stream a density");
        continue;
      }
      if (line.stream.group == "acute") {
        log::add_to(out.acute_ug, 1, *line.best_ug);
      } else if (line.stream.group == "acute-residue") {
        log::add_to(out.residue_ug, 1, *line.best_ug);
      } else {
        log::add_to(out.low_ug, 1, *line.low_ug);
        log::add_to(out.best_ug, 1, *line.best_ug);
        log::add_to(out.high_ug, 1, *line.high_ug);
      }
    }
  }

  [[nodiscard]] std::vector<JudgedLine> lines() && {
    std::vector<JudgedLine> out;
    for (auto& [key, line] : by_) {
      if (line.best != 0 || line.low != 0 || line.high != 0) out.push_back(std::move(line));
    }
    std::stable_sort(out.begin(), out.end(), [](const JudgedLine& a, const JudgedLine& b) { return a.counts > b.counts; });
    return out;
  }

 private:
  struct Key {
    std::string stream, code, source, density;
    std::int64_t dimension;
    int hazardous;
    bool counts;
    auto operator<=>(const Key&) const = default;
  };

  void put(const StreamFacts& facts, const Stream* s, const std::string& source, const Sized& of, bool generated, int sign, const std::string& why = {}) {
    const auto weight = office_.weight_in(of.fluid, s, day_);
    const bool counts = generated && source != kOfEvent && (facts.counted != YesNo::no || !facts.known);
    JudgedLine& line = by_[{facts.name, facts.code, source, weight && of.dimension == 0 ? weight->told : "", of.dimension, static_cast<int>(facts.hazardous), counts}];
    line.stream = facts;
    line.source = source;
    line.dimension = static_cast<Dimension>(of.dimension);
    line.counts = counts;
    log::add_to(line.low, sign, sign > 0 ? of.low : of.high);
    log::add_to(line.best, sign, of.best);
    log::add_to(line.high, sign, sign > 0 ? of.high : of.low);
    const auto l = Office::mass(of.low, of.dimension, weight);
    const auto b = Office::mass(of.best, of.dimension, weight);
    const auto h = Office::mass(of.high, of.dimension, weight);
    if (b) {
      line.low_ug = line.low_ug.value_or(0) + (sign > 0 ? *l : -*h);
      line.best_ug = line.best_ug.value_or(0) + sign * *b;
      line.high_ug = line.high_ug.value_or(0) + (sign > 0 ? *h : -*l);
      if (of.dimension == 0) line.density = weight->told;
    }
    line.why = !why.empty() ? why : why_of(facts, generated);
  }

  static std::string why_of(const StreamFacts& facts, bool generated) {
    if (!facts.known) return "no stream of the rules: counted until it is one";
    if (!generated) return "a gauge settles an amount, it generates none: correct the entry that it settles if this is new waste";
    if (facts.counted != YesNo::by_determination) return facts.why;
    return "not determined: counted until `baybook determine " + facts.name + "` says --hazardous or --not-hazardous. " + facts.why;
  }

  // A fluid that is no waste of the place's stream counts as what it is, wherever it was poured.
  [[nodiscard]] std::optional<StreamFacts> poured_as(const Office::WastePlace& p, std::int64_t fluid) {
    const Stream* base = office_.stream_for(p.stream, day_);
    if (base == nullptr || Office::takes_what_soaks(*base)) return std::nullopt;
    const FluidClass* c = find_class(FluidId{office_.in().ledger.class_of(fluid)});
    if (c == nullptr) return std::nullopt;
    const std::string of_class = "waste-" + std::string(c->name);
    const Stream* own = office_.stream_for(of_class, day_);
    if (own == nullptr || own->name == base->name) return std::nullopt;
    StreamFacts facts = office_.stream_facts(of_class, {}, day_);
    const StreamFacts there = office_.stream_facts(p.stream, p.id, day_);
    const bool us = rules_.scheme == "us";
    const bool stricter = us ? facts.counted != YesNo::no && there.counted == YesNo::no : facts.hazardous != YesNo::no && there.hazardous == YesNo::no;
    return stricter ? std::optional(std::move(facts)) : std::nullopt;
  }

  void decided() {
    office_.each(first_of(month_), day_, [&](const WasteLine& l, bool before) {
      if (before) return;
      const Office::WastePlace* p = office_.waste_place(l.place);
      if (p == nullptr) return;
      const bool found = !l.out && l.other == Role::difference;
      if (!generates(l) && !found) return;
      // In the other reading, what comes out of pans and keeps was counted when it was drained.
      if (drained_ && (l.other == Role::hold_catch || l.other == Role::reuse)) return;
      const Sized of{l.fluid, l.dimension, l.low, l.best, l.high};
      if (l.of_event && !found) {
        put(office_.stream_facts(p->stream, p->id, day_), office_.stream_for(p->stream, day_), std::string(kOfEvent), of, true, 1, "not counted while the event keeps its terms: 40 CFR 262.13(c)(8)");
        return;
      }
      if (const auto poured = generates(l) ? poured_as(*p, l.fluid) : std::nullopt) {
        put(*poured, office_.stream_for(poured->name, day_), "poured into " + p->code, of, true, 1, "counted as what it was, whatever it was poured into. " + why_of(*poured, true));
        return;
      }
      // In the count a mixture has lines of its own (mixed); by code and hazard the container is what it is.
      put(rules_.scheme == "us" ? office_.stream_facts(p->stream, p->id, day_) : office_.facts(p->stream, p->id, day_), office_.stream_for(p->stream, day_),
          found ? "found by gauges" : l.other == Role::circuit ? "straight from cars" : l.other == Role::supplier || l.other == Role::before ? "brought in" : "decided in the month", of, generates(l), 1);
    });
  }

  void put_as_class(std::int64_t fluid, const std::string& source, const Sized& of, int sign, const std::string& why = {}) {
    const FluidClass* c = find_class(FluidId{office_.in().ledger.class_of(fluid)});
    const std::string name = "waste-" + std::string(c != nullptr ? c->name : "unknown");
    put(office_.stream_facts(name, {}, day_), office_.stream_for(name, day_), source, of, true, sign, why);
  }

  void drained() {
    const RuleValue* filtered = rules_.value("counting.filtered-after-storage", day_);
    const bool filtered_counts = filtered == nullptr || filtered->n != 0;
    struct Row {
      bool back;
      Sized of;
    };
    std::vector<Row> rows;
    bool any_back = false;
    {
      auto q = office_.in().db.query("SELECT fluid, dimension, source, target, low, best, high FROM tally WHERE month = ? AND ((source = 0 AND target IN (1, 2)) OR (source IN (1, 2) AND target = 0))");
      q.bind(std::int64_t{month_.n});
      while (q.step()) rows.push_back({q.num(2) != 0, {q.num(0), q.num(1), q.num(4), q.num(5), q.num(6)}});
    }
    for (const Row& r : rows) {
      any_back = any_back || r.back;
      if (r.back && filtered_counts) continue;
      put_as_class(r.of.fluid, r.back ? "put back" : "drained in the month", r.of, r.back ? -1 : 1);
    }
    const RuleValue* once = rules_.value("counting.reused", day_);
    if (any_back && filtered_counts && once != nullptr && once->text == "once-a-month") drained_again(*once);
  }

  // What a circuit got back in the month and gave again in it has been counted when it came the first
  // time. Told by circuit and fluid: another car's is another fluid.
  void drained_again(const RuleValue& rule) {
    struct Flow {
      std::int64_t circuit, other;
      bool back;
      Sized of;
    };
    std::vector<Flow> flows;
    for (const log::Installation& i : log::installations(office_.in().db).all) {
      // Recorded time never runs backwards: what came before the month cannot be of it.
      const EntryId begin = log::first_recorded_since(office_.in().db, i.origin, Instant{(std::int64_t{first_of(month_).n} - 1) * 86'400'000});
      auto q = office_.in().db.query(
          "SELECT f.source, f.target, f.fluid, f.dimension, f.low, f.best, f.high FROM entry e CROSS JOIN flow f ON f.entry = e.id "
          "WHERE e.id >= ? AND e.id < ? AND e.moment BETWEEN ? AND ? ORDER BY e.moment, e.recorded, e.id, f.seq");
      q.bind(begin.n).bind((i.origin + 1) << 40).bind(log::first_moment(first_of(month_))).bind(log::last_moment(day_));
      while (q.step()) {
        const bool from_car = is_circuit(PlaceId{q.num(0)});
        const bool to_car = is_circuit(PlaceId{q.num(1)});
        if (from_car == to_car) continue;
        flows.push_back({from_car ? q.num(0) : q.num(1), from_car ? q.num(1) : q.num(0), to_car, {q.num(2), q.num(3), q.num(4), q.num(5), q.num(6)}});
      }
    }
    std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> pool;
    std::map<std::pair<std::int64_t, std::int64_t>, std::int64_t> again;
    for (const Flow& f : flows) {
      const Role other = role_of(f.other);
      std::int64_t& there = pool[{f.circuit, f.of.fluid}];
      if (f.back) {
        if (other == Role::reuse || other == Role::hold_catch) there += f.of.best;
        continue;
      }
      const std::int64_t same = std::min(there, f.of.best);
      there -= same;
      if (other == Role::hold_catch || other == Role::reuse) again[{f.of.fluid, f.of.dimension}] += same;
    }
    for (const auto& [key, n] : again) {
      if (n > 0) put_as_class(key.first, std::string(kDrainedAgain), {key.first, key.second, n, n, n}, -1, "what was put back and drained again is counted once a month, and is taken to come out first: " + with_words(rule.source.section, rule.source.sure) + "; the setting counting.reused");
    }
  }

  [[nodiscard]] Role role_of(std::int64_t place) {
    if (place < 1000) return Role::before;
    auto q = office_.in().db.query("SELECT role FROM place WHERE id = ?");
    q.bind(place);
    return q.step() ? static_cast<Role>(q.num(0)) : Role::before;
  }

  // What a mixture makes hazardous in the month: what stood in the container when the other waste was
  // poured in, and what went in after that, to the day on which it was emptied.
  void mixed() {
    for (const Office::WastePlace& p : office_.waste_places()) {
      const Stream* base = office_.stream_for(p.stream, day_);
      if (base == nullptr) continue;
      for (const Mixture& m : office_.mixtures(p)) {
        const std::int64_t first = m.pours.front().effect.moment;
        if (first > log::last_moment(day_) || m.until < log::first_moment(first_of(month_))) continue;
        const StreamFacts plain = office_.stream_facts(p.stream, p.id, day_);
        if (!office_.rule_of(m, *base, plain, day_).hazardous || (m.there_on(day_) && office_.facts(p.stream, p.id, day_).hazardous == plain.hazardous)) continue;
        put_mixture(p, *base, m, plain);
      }
    }
  }

  void put_mixture(const Office::WastePlace& p, const Stream& base, const Mixture& m, const StreamFacts& plain) {
    StreamFacts facts = office_.facts(p.stream, p.id, std::min(day_, m.until > log::last_moment(day_) ? day_ : Day{log::day_of_moment(m.until).n - 1}));
    if (facts.hazardous == plain.hazardous) {
      // Poured in and picked up on one day: no day ends with it there.
      facts = plain;
      facts.hazardous = YesNo::yes;
      facts.title += ", mixed with " + m.pours.front().title;
      facts.code = m.pours.front().code;
      facts.group = "hazardous-waste";
    }
    facts.counted = YesNo::yes;
    struct In {
      log::Effect effect;
      bool in, from_waste;
      Sized of;
    };
    std::vector<In> all;
    {
      auto q = office_.in().db.query(
          "SELECT l.moment, l.recorded, l.entry, f.target = ?1, f.source, f.fluid, f.dimension, f.low, f.best, f.high FROM leg l JOIN flow f ON f.entry = l.entry "
          "WHERE l.place = ?1 AND l.moment BETWEEN ?2 AND ?3 AND (f.source = ?1 OR f.target = ?1) ORDER BY l.moment, l.recorded, l.entry");
      q.bind(p.id.n).bind(m.began).bind(std::min(m.until, log::last_moment(day_)));
      while (q.step()) all.push_back({{q.num(0), q.num(1), EntryId{q.num(2)}}, q.num(3) != 0, office_.is_waste(q.num(4)), {q.num(5), q.num(6), q.num(7), q.num(8), q.num(9)}});
    }
    const log::Effect& met = m.pours.front().effect;
    const bool met_here = met.moment >= log::first_moment(first_of(month_));
    const std::string how = facts.mixture ? facts.why : "mixed with " + m.pours.front().title;
    for (const In& one : all) {
      if (poured_as(p, one.of.fluid)) continue;  // counted as what it was
      if (one.effect < met) {
        if (met_here) put(facts, &base, "there when other waste was poured in", one.of, true, one.in ? 1 : -1, how);
        continue;
      }
      if (!one.in || one.from_waste || one.effect.moment < log::first_moment(first_of(month_))) continue;
      put(facts, &base, "went in after other waste was poured in", one.of, true, 1, how);
    }
  }

  Office& office_;
  Month month_;
  Day day_;
  const RuleSet& rules_;
  bool drained_;
  std::map<Key, JudgedLine> by_;
};

}  // namespace

Reading read_month(Office& office, Month month, std::string_view which, std::vector<JudgedLine>* lines, std::vector<std::string>* notices) {
  Reading out;
  out.which = which;
  const Day day = last_of(month);
  const RuleSet* rules = office.rules_on(day);
  if (rules == nullptr) return out;
  MonthReader reader(office, month, *rules, which);
  reader.read();
  reader.sum(out, notices);
  out.category = returns::category(*rules, day, out.best_ug, out.acute_ug, out.residue_ug);
  out.category_high = returns::category(*rules, day, out.high_ug, out.acute_ug, out.residue_ug);
  out.title = returns::category_title(*rules, day, out.category);
  if (lines != nullptr) *lines = std::move(reader).lines();
  if (notices != nullptr && out.category != 0) {
    if (out.category_high > out.category) notices->push_back("may be over: with the upper bounds, " + kg(out.high_ug, returns::category_edges(*rules, day)) + ", the month is that of a " + returns::category_title(*rules, day, out.category_high));
    if (const std::string n = returns::rounding_notice(*rules, day, out.best_ug); !n.empty()) notices->push_back(n);
  }
  return out;
}

int category_of(Office& office, Month month) {
  const RuleSet* rules = office.rules_on(last_of(month));
  if (rules == nullptr || rules->scheme != "us") return 0;
  const RuleValue* word = rules->value("counting.date", last_of(month));
  return read_month(office, month, word != nullptr ? word->text : "decided", nullptr, nullptr).category;
}

}  // namespace baybook::book
