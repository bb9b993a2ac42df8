// Rules that an entry may break where it stands, and which of them a change made worse.
#include "fluids/ends.hpp"
#include "fluids/ledger.hpp"

#include <algorithm>

namespace baybook::fluids {

using log::Fact;

void Ledger::check_target(const Fact& fact, PlaceId to, const std::vector<Flow>& done,
                          std::size_t first, Ask ask) {
  if (is_end(to) || ask == Ask::nothing) return;
  const PlaceInfo& p = info(to);
  for (std::size_t i = first; i < done.size(); ++i) {
    if (done[i].target != to) continue;  // the car's own before-flow
    const std::int64_t came = class_of(done[i].what.fluid);
    const std::string_view group = log::class_at(came).group;
    std::int64_t against = 0;
    if (p.role == Role::circuit && !p.takes.empty()) {
      if (log::class_at(p.takes.front()).group != group) against = p.takes.front();
    } else if (!p.takes.empty()) {
      if (std::find(p.takes.begin(), p.takes.end(), came) == p.takes.end()) against = p.takes.front();
    } else if (ask == Ask::neighbours) {
      for (const auto& [what, part] : held(to).parts) {
        const std::int64_t here = class_of(what.fluid);
        if (part.sum.best > 0 && log::class_at(here).group != group) against = here;
      }
    }
    if (against != 0) {
      breach({fact.id(), to, Rule::wrong_fluid, 1, against, came, 0});
      return;
    }
    if (p.role == Role::reuse || p.role == Role::stock) {
      for (const auto& [what, part] : held(to).parts) {
        const bool another = part.sum.best > 0 && what.fluid != done[i].what.fluid &&
                             what.fluid >= 1000 && done[i].what.fluid >= 1000;
        if (!another) continue;
        // Cans on a shelf do not mix; of one class they have to be told apart from now on.
        const bool apart = ask == Ask::class_only;
        if (apart && class_of(what.fluid) != came) continue;
        warnings_.push_back(
            p.code + (apart ? " now holds two products of one class, kept apart: what is taken "
                              "from it says which (--fluid)"
                            : " now holds two products; whether they may be mixed is for their "
                              "makers to say"));
        return;
      }
    }
  }
}

void Ledger::check_room(const Fact& fact, PlaceId to, std::int64_t dimension) {
  if (is_end(to)) return;
  const PlaceInfo& p = info(to);
  if (p.size < 0 || p.dimension != dimension) return;
  const Bounds now = total(to, dimension);
  if (now.best > p.size) {
    if (p.role == Role::circuit) warnings_.push_back("by the book this circuit now holds more than its capacity");
    else breach({fact.id(), to, Rule::overfill, now.best - p.size, now.best, 0, dimension});
  } else if (now.high > p.size && p.role != Role::circuit) {
    warnings_.push_back(p.code + " may be over its size; gauge it when you can");
  }
}

void Ledger::breach(const Breach& b) {
  breaches_now_[{b.entry.n, b.place.n, static_cast<std::int64_t>(b.rule)}] = b;
  auto q = db_.query("INSERT OR REPLACE INTO breach(entry, place, rule, excess) VALUES(?, ?, ?, ?)");
  q.bind(b.entry.n).bind(b.place.n).bind(static_cast<std::int64_t>(b.rule)).bind(b.excess).run();
}

std::vector<Ledger::Change> Ledger::worse() const {
  std::vector<Change> out;
  for (const auto& [key, b] : breaches_now_) {
    const auto it = breaches_before_.find(key);
    const std::int64_t was = it == breaches_before_.end() ? 0 : it->second;
    if (b.excess > was) out.push_back({b, was});
  }
  for (const auto& [key, b] : emptied_) out.push_back({b, 0});
  return out;
}

void Ledger::clear_changes() {
  breaches_now_.clear();
  breaches_before_.clear();
  moved_before_.clear();
  had_lines_.clear();
  emptied_.clear();
  watched_.reset();
}

}  // namespace baybook::fluids
