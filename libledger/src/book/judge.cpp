// Streams over a span, and what the rules make of a month.
#include "book/asked.hpp"
#include "book/office.hpp"
#include "book/own_transport.hpp"
#include "book/spills.hpp"

#include "log/sum.hpp"
#include "returns/category.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

void add(Sum& s, int sign, const WasteLine& l, bool leaves_whole) {
  log::add_to(s.low, sign, sign > 0 || leaves_whole ? l.low : l.high);
  log::add_to(s.high, sign, sign > 0 || leaves_whole ? l.high : l.low);
  log::add_to(s.best, sign, l.best);
  log::add_to(l.estimated ? s.estimated : s.measured, sign, l.best);
}

bool generates(const WasteLine& l) { return !l.out && l.other != Role::waste && l.other != Role::difference; }

std::string kg(std::int64_t ug) { return show_number(ug, Dimension::mass, Units{}, 3) + " kg"; }

}  // namespace

Reading read_month(Office& office, Month month, std::string_view which, std::vector<JudgedLine>* lines, std::vector<std::string>* notices) {
  Reading out;
  out.which = which;
  const Day day = last_of(month);
  const RuleSet* rules = office.rules_on(day);
  if (rules == nullptr) return out;
  struct Key {
    std::string stream, source, density;
    std::int64_t dimension;
    bool counts;
    auto operator<=>(const Key&) const = default;
  };
  std::map<Key, JudgedLine> by;
  const auto put = [&](const std::string& stream, PlaceId place, const char* source, std::int64_t fluid, std::int64_t dimension, std::int64_t low, std::int64_t best, std::int64_t high, bool generated, int sign = 1) {
    const StreamFacts facts = office.facts(stream, place, day);
    const Stream* s = office.stream_for(stream, day);
    const auto weight = office.weight(fluid, s);
    const bool counts = generated && (facts.counted != YesNo::no || !facts.known);
    JudgedLine& line = by[{facts.name, source, weight && dimension == 0 ? weight->told : "", dimension, counts}];
    line.stream = facts;
    line.source = source;
    line.dimension = static_cast<Dimension>(dimension);
    line.counts = counts;
    log::add_to(line.low, sign, sign > 0 ? low : high);
    log::add_to(line.best, sign, best);
    log::add_to(line.high, sign, sign > 0 ? high : low);
    const auto l = Office::mass(low, dimension, weight);
    const auto b = Office::mass(best, dimension, weight);
    const auto h = Office::mass(high, dimension, weight);
    if (b) {
      line.low_ug = line.low_ug.value_or(0) + (sign > 0 ? *l : -*h);
      line.best_ug = line.best_ug.value_or(0) + sign * *b;
      line.high_ug = line.high_ug.value_or(0) + (sign > 0 ? *h : -*l);
      if (dimension == 0) line.density = weight->told;
    }
    line.why = !facts.known ? "no stream of the rules: counted until it is one"
               : generated  ? (facts.counted == YesNo::by_determination ? "not determined: counted until `baybook determine " + facts.name + "` says --hazardous or --not-hazardous. " + facts.why : facts.why)
                            : "a gauge settles an amount, it generates none: correct the entry that it settles if this is new waste";
  };
  const bool drained = which == "drained";
  office.each(first_of(month), day, [&](const WasteLine& l, bool before) {
    if (before) return;
    const Office::WastePlace* p = office.waste_place(l.place);
    if (p == nullptr) return;
    const bool found = !l.out && l.other == Role::difference;
    if (!generates(l) && !found) return;
    // In the other reading, what comes out of pans and keeps was counted when it was drained.
    if (drained && (l.other == Role::hold_catch || l.other == Role::reuse)) return;
    put(p->stream, p->id, found ? "found by gauges" : l.other == Role::circuit ? "straight from cars" : l.other == Role::supplier || l.other == Role::before ? "brought in" : "decided in the month", l.fluid, l.dimension, l.low, l.best, l.high, generates(l));
  });
  if (drained) {
    const RuleValue* filtered = rules->value("counting.filtered-after-storage", day);
    const bool filtered_counts = filtered == nullptr || filtered->n != 0;
    struct Row { std::int64_t fluid, dimension, source, target, low, best, high; };
    std::vector<Row> rows;
    {
      auto q = office.in().db.query("SELECT fluid, dimension, source, target, low, best, high FROM tally WHERE month = ? AND ((source = 0 AND target IN (1, 2)) OR (source IN (1, 2) AND target = 0))");
      q.bind(std::int64_t{month.n});
      while (q.step()) rows.push_back({q.num(0), q.num(1), q.num(2), q.num(3), q.num(4), q.num(5), q.num(6)});
    }
    for (const Row& r : rows) {
      const bool back = r.source != 0;
      if (back && filtered_counts) continue;
      const FluidClass* c = find_class(FluidId{office.in().ledger.class_of(r.fluid)});
      put("waste-" + std::string(c != nullptr ? c->name : "unknown"), {}, back ? "put back" : "drained in the month", r.fluid, r.dimension, r.low, r.best, r.high, true, back ? -1 : 1);
    }
  }
  for (const auto& each_line : by) {
    const JudgedLine& line = each_line.second;
    if (line.counts) {
      if (line.best_ug) {
        const std::string group = [&] {
          const Stream* s = office.stream_for(line.stream.name, day);
          return s != nullptr ? s->group : std::string();
        }();
        if (group == "acute") {
          log::add_to(out.acute_ug, 1, *line.best_ug);
        } else if (group == "acute-residue") {
          log::add_to(out.residue_ug, 1, *line.best_ug);
        } else {
          log::add_to(out.low_ug, 1, *line.low_ug);
          log::add_to(out.best_ug, 1, *line.best_ug);
          log::add_to(out.high_ug, 1, *line.high_ug);
        }
      } else if (notices != nullptr && line.best != 0) {
        notices->push_back(line.stream.title + ": " + show(line.best, line.dimension, office.in().settings.units) + " without a weight, so it is missing in the total: weigh it, or give the stream a density");
      }
    }
  }
  out.category = returns::category(*rules, day, out.best_ug, out.acute_ug, out.residue_ug);
  out.category_high = returns::category(*rules, day, out.high_ug, out.acute_ug, out.residue_ug);
  out.title = returns::category_title(*rules, day, out.category);
  if (lines != nullptr) {
    for (auto& [key, line] : by) lines->push_back(std::move(line));
    std::stable_sort(lines->begin(), lines->end(), [](const JudgedLine& a, const JudgedLine& b) { return a.counts > b.counts; });
  }
  if (notices != nullptr && out.category != 0) {
    if (out.category_high > out.category) notices->push_back("may be over: with the upper bounds, " + kg(out.high_ug) + ", the month is that of a " + returns::category_title(*rules, day, out.category_high));
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

namespace baybook {

using book::guarded;

Result<std::vector<StreamRow>> streams(const Book& b, Day from, Day until) {
  from = book::asked(from);
  until = book::asked(until);
  return guarded<std::vector<StreamRow>>([&]() -> Result<std::vector<StreamRow>> {
    book::Office office(b.inside());
    store::Snapshot snapshot(b.inside().db);
    struct Masses {
      std::int64_t generated = 0, shipped = 0;
      std::map<std::int64_t, std::int64_t> left;  ///< by fluid: weighed once, for a sum of rounded weights leaves crumbs in an empty drum
      const Stream* stream = nullptr;
      bool whole = true;
    };
    std::map<std::tuple<std::string, std::string, std::int64_t>, std::pair<StreamRow, Masses>> by;
    office.each(from, until, [&](const book::WasteLine& l, bool before) {
      const book::Office::WastePlace* p = office.waste_place(l.place);
      if (p == nullptr) return;
      const StreamFacts facts = office.facts(p->stream, p->id, until);
      auto& [row, mass] = by[{facts.name, facts.code, l.dimension}];
      row.stream = facts;
      row.dimension = static_cast<Dimension>(l.dimension);
      mass.stream = office.stream_for(p->stream, until);
      const auto weight = office.weight(l.fluid, mass.stream);
      const auto ug = book::Office::mass(l.best, l.dimension, weight);
      if (!ug) mass.whole = false;
      log::add_to(mass.left[l.fluid], l.out ? -1 : 1, l.best);
      if (weight && l.dimension == 0 && row.density.find(weight->told) == std::string::npos) row.density += (row.density.empty() ? "" : "; ") + weight->told;
      book::add(row.closing, l.out ? -1 : 1, l, l.whole);
      if (before) {
        book::add(row.opening, l.out ? -1 : 1, l, l.whole);
        return;
      }
      if (!l.out) {
        if (book::generates(l) && ug) log::add_to(mass.generated, 1, *ug);
        switch (l.other) {
          case Role::circuit: book::add(row.from_cars, 1, l, false); break;
          case Role::waste: book::add(row.moved_in, 1, l, false); break;
          case Role::difference: book::add(row.gauge, 1, l, false); break;
          case Role::hold_catch:
          case Role::reuse:
          case Role::stock: book::add(row.from_shop, 1, l, false); break;
          default: book::add(row.brought_in, 1, l, false); break;
        }
        return;
      }
      switch (l.other) {
        case Role::receiver:
          if (ug) log::add_to(mass.shipped, 1, *ug);
          book::add(l.fate == Fate::recycled ? row.recycled : l.fate == Fate::disposed ? row.disposed : row.shipped_other, 1, l, false);
          break;
        case Role::ground:
        case Role::missing: book::add(row.lost, 1, l, false); break;
        case Role::waste: book::add(row.moved_out, 1, l, false); break;
        default: book::add(row.taken_back, 1, l, false); break;
      }
    });
    std::vector<StreamRow> out;
    for (auto& [key, both] : by) {
      auto& [row, mass] = both;
      if (mass.whole) {
        row.generated_ug = mass.generated;
        row.shipped_ug = mass.shipped;
        row.closing_ug = 0;
        for (const auto& [fluid, best] : mass.left) log::add_to(*row.closing_ug, 1, book::Office::mass(best, static_cast<std::int64_t>(row.dimension), office.weight(fluid, mass.stream)).value());
      }
      for (Sum* on_hand : {&row.opening, &row.closing}) {
        if (on_hand->low != on_hand->high) continue;
        on_hand->measured = on_hand->best;
        on_hand->estimated = 0;
      }
      const bool moved = row.from_cars.best != 0 || row.from_shop.best != 0 || row.brought_in.best != 0 || row.moved_in.best != 0 || row.gauge.best != 0 || row.recycled.best != 0 || row.disposed.best != 0 ||
                         row.shipped_other.best != 0 || row.lost.best != 0 || row.moved_out.best != 0 || row.taken_back.best != 0;
      if (moved || row.opening.best != 0 || row.closing.best != 0) out.push_back(std::move(row));
    }
    return out;
  });
}

Result<Judgement> judge(const Book& b, Month month) {
  month = book::asked(month);
  return guarded<Judgement>([&]() -> Result<Judgement> {
    book::Office office(b.inside());
    store::Snapshot snapshot(b.inside().db);
    const Day day = last_of(month);
    const RuleSet* rules = office.rules_on(day);
    if (rules == nullptr)
      return Refusal{Code::not_found,
                     "the book goes by no rule set in " + to_string(month),
                     "a month is judged by the rules of that month",
                     "baybook rules set NAME --from " + to_string(first_of(month)),
                     {}};
    Judgement j;
    j.month = month;
    j.rules = rules->name;
    j.rules_title = rules->title;
    j.rules_digest = rules->digest;
    j.scheme = rules->scheme;
    j.aid = rules->aid;
    const RuleValue* word = rules->value("counting.date", day);
    const std::string which = word != nullptr ? word->text : "decided";
    j.reading = book::read_month(office, month, which, &j.lines, &j.notices);
    for (const JudgedLine& l : j.lines) {
      if (!l.best_ug || l.source == "found by gauges") continue;
      log::add_to(l.stream.hazardous == YesNo::yes ? j.hazardous_ug : l.stream.hazardous == YesNo::no ? j.not_hazardous_ug : j.undetermined_ug, 1, *l.best_ug);
    }
    if (rules->scheme == "us") {
      const Reading other = book::read_month(office, month, which == "decided" ? "drained" : "decided", nullptr, nullptr);
      if (other.category != j.reading.category) j.other = other;
    }
    std::vector<std::string> seen;
    const auto unsure = [&](std::string what, Sure sure) {
      if (sure == Sure::confirmed || std::find(seen.begin(), seen.end(), what) != seen.end()) return;
      seen.push_back(what);
      j.unsure.push_back(what.find(words_for(sure)) != std::string::npos ? what : what + ": " + std::string(words_for(sure)));
    };
    for (const JudgedLine& l : j.lines) {
      if (l.stream.known) unsure(l.stream.title + " (" + l.stream.section + ")", l.stream.sure);
      const Stream* s = office.stream_for(l.stream.name, day);
      if (s != nullptr && s->density && l.dimension == Dimension::volume) unsure("density of " + l.stream.title + ", " + s->density->typed + " (" + s->density_source + ")", s->density_sure);
      if (!l.stream.note.empty() && std::find(j.notices.begin(), j.notices.end(), l.stream.title + ": " + l.stream.note) == j.notices.end()) j.notices.push_back(l.stream.title + ": " + l.stream.note);
    }
    if (word != nullptr) unsure("which date generates waste (" + word->source.section + ")", word->source.sure);
    book::spill_notices(office, month, j.notices);
    book::own_transport_notices(office, month, j.notices);
    return j;
  });
}

}  // namespace baybook
