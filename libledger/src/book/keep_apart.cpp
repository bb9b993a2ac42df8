#include "book/keep_apart.hpp"

#include "book/office.hpp"

#include <algorithm>

namespace baybook::book {

namespace {

std::vector<std::int64_t> classes_in(Book::Inside& in, PlaceId place) {
  std::vector<std::int64_t> out;
  if (place.n < 1000) return out;
  for (const auto& [what, sum] : in.ledger.contents(place)) {
    const std::int64_t c = in.ledger.class_of(what.fluid);
    if (sum.best > 0 && std::find(out.begin(), out.end(), c) == out.end()) out.push_back(c);
  }
  return out;
}

bool forbids(const Stream& a, const Stream& b) {
  return std::find(a.never_with.begin(), a.never_with.end(), b.name) != a.never_with.end();
}

}  // namespace

std::optional<Refusal> kept_apart(Book::Inside& in, Day day, const Movement& draft,
                                  const log::Value& details) {
  if (!draft.mixing_reason.empty()) return std::nullopt;
  std::optional<Office> office;  // the rule file is read only when two classes meet
  const std::int64_t absorbent = find_class(std::string_view("absorbent"))->number;
  const std::vector<log::Value>& written = details.list("lines");
  for (std::size_t i = 0; i < draft.lines.size(); ++i) {
    const MoveLine& line = draft.lines[i];
    // On a shelf nothing meets.
    if (written[i].has("beside")) continue;
    if (line.to.n < 1000 || is_circuit(line.to)) continue;
    const fluids::PlaceInfo to = in.ledger.info(line.to);
    if (std::find(to.takes.begin(), to.takes.end(), absorbent) != to.takes.end() || (draft.verb == MoveVerb::spill && to.takes.empty())) continue;
    const log::Value* named = written[i].find("fluid");
    std::vector<std::int64_t> comes;
    if (named != nullptr)
      comes = {in.ledger.class_of(log::read_fluid(*named, in.known.own().origin).n)};
    else
      comes = classes_in(in, line.from);
    if (comes.empty() && is_circuit(line.from)) comes = in.ledger.info(line.from).takes;
    const std::vector<std::int64_t> there = classes_in(in, line.to);
    for (const std::int64_t c : comes) {
      if (std::find(there.begin(), there.end(), c) != there.end()) continue;
      for (const std::int64_t t : there) {
        if (!office) office.emplace(in);
        const FluidClass* mine = find_class(FluidId{c});
        const FluidClass* theirs = find_class(FluidId{t});
        if (mine == nullptr || theirs == nullptr) continue;
        const RuleSet* rules = office->rules_on(day);
        if (rules == nullptr) return std::nullopt;
        const Stream* a = rules->stream_of(mine->name, day);
        const Stream* b = rules->stream_of(theirs->name, day);
        if (a == nullptr || b == nullptr || a == b || (!forbids(*a, *b) && !forbids(*b, *a))) continue;
        const Stream& says = forbids(*b, *a) ? *b : *a;
        const RuleValue* law = rules->value("mixing.rule", day);
        return Refusal{Code::not_allowed, to.code + " holds " + std::string(theirs->name) + "; " + std::string(mine->name) + " would be mixed into it",
                       a->title + " and " + b->title + " are kept apart by the rules of " + rules->name + " (never-with of " + says.name + ", " + says.source.section + ")" + (law != nullptr ? "; " + law->text + " (" + with_words(law->source.section, law->source.sure) + ")" : std::string()),
                       "another place, or --mixing-reason \"...\" if it has happened already", {}};
      }
    }
  }
  return std::nullopt;
}

}  // namespace baybook::book
