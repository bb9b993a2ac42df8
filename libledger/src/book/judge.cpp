// Streams over a span, and the judgement of a month.
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

}  // namespace

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
    // Containers of one stream that are not the same waste (by code, hazard, mixture) are apart.
    std::map<std::tuple<std::string, std::string, int, std::int64_t>, std::pair<StreamRow, Masses>> by;
    office.each(from, until, [&](const book::WasteLine& l, bool before) {
      const book::Office::WastePlace* p = office.waste_place(l.place);
      if (p == nullptr) return;
      const StreamFacts facts = office.facts(p->stream, p->id, until);
      auto& [row, mass] = by[{facts.name, facts.code + "|" + facts.title, static_cast<int>(facts.hazardous), l.dimension}];
      row.stream = facts;
      row.dimension = static_cast<Dimension>(l.dimension);
      mass.stream = office.stream_for(p->stream, until);
      const auto weight = office.weight_in(l.fluid, mass.stream, until);
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
        for (const auto& [fluid, best] : mass.left) log::add_to(*row.closing_ug, 1, book::Office::mass(best, static_cast<std::int64_t>(row.dimension), office.weight_in(fluid, mass.stream, until)).value());
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
    j.edges_ug = returns::category_edges(*rules, day);
    const RuleValue* word = rules->value("counting.date", day);
    const std::string which = word != nullptr ? word->text : "decided";
    j.reading = book::read_month(office, month, which, &j.lines, &j.notices);
    for (const JudgedLine& l : j.lines) {
      if (!l.best_ug || l.source == "found by gauges") continue;
      log::add_to(l.stream.hazardous == YesNo::yes ? j.hazardous_ug : l.stream.hazardous == YesNo::no ? j.not_hazardous_ug : j.undetermined_ug, 1, *l.best_ug);
    }
    if (rules->scheme == "us") {
      std::vector<JudgedLine> lines;
      const Reading other = book::read_month(office, month, which == "decided" ? "drained" : "decided", &lines, nullptr);
      if (other.category != j.reading.category) {
        j.other = other;
        for (const JudgedLine& l : lines) {
          if (l.source == book::kDrainedAgain) j.notices.push_back("read otherwise: " + l.why);
        }
      }
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
