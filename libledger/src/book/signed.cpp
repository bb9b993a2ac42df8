#include "book/signed.hpp"

namespace baybook::book {

using Moved = fluids::Ledger::Moved;

Moved moves_now(Book::Inside& in, EntryId entry) {
  Moved out{};
  auto q = in.db.query("SELECT dimension, sum(best) FROM flow WHERE entry = ? GROUP BY dimension");
  q.bind(entry.n);
  while (q.step()) out.at(static_cast<std::size_t>(q.num(0))) = q.num(1);
  return out;
}

SignedFigures signed_figures(Book::Inside& in) {
  SignedFigures out;
  {
    auto q = in.db.query("SELECT DISTINCT pickup FROM confirmed");
    while (q.step()) out[q.num(0)] = {};
  }
  for (auto& [id, moved] : out) moved = moves_now(in, EntryId{id});
  return out;
}

std::string told_moved(Book::Inside& in, const log::Fact& pickup, const Moved& before, const Moved& now) {
  const std::string name = pickup.details.has("document") ? std::string(pickup.details.str("document")) + " (entry " + entry_name(in, pickup.id()) + ")" : entry_name(in, pickup.id());
  auto q = in.db.query("SELECT 1 FROM confirmed WHERE pickup = ? LIMIT 1");
  q.bind(pickup.id().n);
  const std::string paper = q.step() ? "look at its paper, which is signed" : "look at its paper";
  if (pickup.withdrawn) return "pick-up " + name + " is withdrawn by this; " + paper;
  std::string was;
  for (std::size_t d = 0; d < before.size(); ++d) {
    if (before.at(d) != now.at(d)) was += (was.empty() ? "" : ", ") + show(before.at(d), static_cast<Dimension>(d), in.settings.units) + " was, " + show(now.at(d), static_cast<Dimension>(d), in.settings.units) + " is";
  }
  return "pick-up " + name + " comes to another figure by this: " + was + "; " + paper;
}

std::vector<std::string> moved_since(Book::Inside& in, const SignedFigures& before) {
  std::vector<std::string> out;
  for (const auto& [id, moved] : before) {
    const Moved now = moves_now(in, EntryId{id});
    if (now == moved) continue;
    out.push_back(told_moved(in, log::read_fact(in.db, EntryId{id}), moved, now));
  }
  return out;
}

}  // namespace baybook::book
