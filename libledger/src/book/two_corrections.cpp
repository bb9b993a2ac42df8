// One entry that two people corrected, neither knowing of the other.
#include "book/conflict_list.hpp"
#include "book/knowing.hpp"

#include "log/references.hpp"

#include <algorithm>
#include <map>

namespace baybook::book {

using log::Value;

namespace {

struct Correcting {
  EntryId entry;
  bool withdraws = false;
};

// By what is corrected; those that somebody withdrew are none.
std::map<EntryId, std::vector<Correcting>> standing(store::Db& db) {
  std::map<EntryId, std::vector<Correcting>> out;
  auto q = db.query(
      "SELECT c.target, c.entry, c.withdrawn FROM correction c WHERE c.withdrawn IN (0, 1) AND "
      "c.entry NOT IN (SELECT target FROM amended WHERE withdrawn = 1) AND EXISTS (SELECT 1 FROM "
      "correction d WHERE d.target = c.target AND (d.entry >> 40) <> (c.entry >> 40)) ORDER BY "
      "c.target, c.moment, c.recorded, c.entry");
  while (q.step()) out[EntryId{q.num(0)}].push_back({EntryId{q.num(1)}, q.num(2) == 1});
  return out;
}

std::vector<std::pair<std::string, std::string>> texts_of(store::Db& db, EntryId entry) {
  std::vector<std::pair<std::string, std::string>> out;
  auto q = db.query("SELECT field, value FROM private WHERE entry = ? AND field <> 'why' ORDER BY field");
  q.bind(entry.n);
  while (q.step()) out.emplace_back(q.text(0), q.text(1));
  return out;
}

// Both withdraw it, or both have it say the same: there is nothing to choose.
bool agree(store::Db& db, const Correcting& a, const Correcting& b) {
  if (a.withdraws || b.withdraws) return a.withdraws && b.withdraws;
  const auto details = [&](EntryId entry) {
    const Value body = log::parse_body(log::row_of(db, entry).body);
    std::string said;
    // Whose entries they name is said otherwise in each installation.
    const Value& in_it = body.at("details").at("details");
    for (const log::Reference& r : log::references_in(in_it, entry.origin()))
      said += std::to_string(r.entry.n) + " ";
    return std::pair(said, in_it);
  };
  const auto [named_a, said_a] = details(a.entry);
  const auto [named_b, said_b] = details(b.entry);
  const bool same = said_a == said_b || (named_a == named_b && log::without_references(said_a) ==
                                                                   log::without_references(said_b));
  return same && texts_of(db, a.entry) == texts_of(db, b.entry);
}

EntryId what_holds(store::Db& db, EntryId target) {
  auto q = db.query("SELECT entry FROM amended WHERE target = ?");
  q.bind(target.n);
  return q.step() ? EntryId{q.num(0)} : EntryId{};
}

}  // namespace

void list_corrections(Book::Inside& in, const ConflictMaker& maker, std::vector<Conflict>& out) {
  for (const auto& [target, all] : standing(in.db)) {
    for (std::size_t n = 1; n < all.size(); ++n) {
      for (std::size_t m = 0; m < n; ++m) {
        const Correcting& a = all[m];
        const Correcting& b = all[n];
        if (!apart_in_knowledge(in.db, a.entry, b.entry) || maker.apart(a.entry, b.entry) ||
            agree(in.db, a, b))
          continue;
        const bool decided = std::any_of(all.begin(), all.end(), [&](const Correcting& c) {
          return knows(in.db, c.entry, a.entry) && knows(in.db, c.entry, b.entry);
        });
        if (decided) continue;
        const EntryId holds = what_holds(in.db, target);
        Conflict c = maker.make(
            Conflict::What::correction,
            "entry " + entry_name(in, target) + " was corrected by two installations" +
                (holds.n != 0 ? "; entry " + entry_name(in, holds) + " holds" : ""),
            {a.entry, b.entry});
        maker.choose(c, {a.entry, b.entry});
        maker.keep_apart(c, a.entry, b.entry);
        out.push_back(std::move(c));
      }
    }
  }
}

}  // namespace baybook::book
