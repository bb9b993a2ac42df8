#include "book/bring.hpp"

#include "book/erase.hpp"
#include "book/knowing.hpp"
#include "book/peers.hpp"
#include "log/references.hpp"

#include <algorithm>
#include <map>

namespace baybook::book {

using log::Fact;
using log::Kind;

void insert_entry(Book::Inside& in, const log::Row& row) {
  auto q = in.db.query("INSERT INTO entry(id, recorded, moment, kind, who, body, digest) VALUES(?, ?, ?, ?, ?, ?, ?)");
  q.bind(row.id.n).bind(row.recorded).bind(row.moment).bind(static_cast<std::int64_t>(row.kind)).bind(row.who).bind(row.body).bind_blob(row.digest.data(), row.digest.size());
  if (q.changed() != 1) throw store::Failure(Code::unsound, in.db.path() + ": the entry was not taken", "baybook prove");
}

void insert_private(Book::Inside& in, EntryId entry, const PrivateValue& text) {
  {
    // What was erased here is never brought back; what somebody would like to see erased is taken
    // like any text.
    auto gone =
        in.db.query("SELECT 1 FROM erased WHERE entry = ? AND field = ? AND asked = 0 LIMIT 1");
    gone.bind(entry.n).bind(text.field);
    if (gone.step()) return;
  }
  auto q = in.db.query("INSERT INTO private(entry, field, salt, value) VALUES(?, ?, ?, ?)");
  q.bind(entry.n).bind(text.field).bind_blob(text.salt.data(), text.salt.size()).bind(text.value);
  if (q.changed() != 1) throw store::Failure(Code::unsound, in.db.path() + ": a private text was not taken", "baybook prove");
}

namespace {

// Beyond this many, folding one by one (each looks at what comes after it) may cost more than folding all anew. A guess, not measured.
constexpr std::size_t kOneByOne = 200;

// The entries in an order in which each comes after what it names; those of one installation stay in the order of their numbers.
std::vector<EntryId> after_what_they_name(store::Db& db, const std::vector<EntryId>& entries) {
  std::map<std::int64_t, std::vector<EntryId>> chains;
  for (const EntryId id : entries) chains[id.origin()].push_back(id);
  std::map<std::int64_t, std::size_t> done;
  for (auto& [origin, chain] : chains) {
    std::sort(chain.begin(), chain.end());
    done[origin] = 0;
  }
  const auto waits = [&](EntryId named) {
    const auto chain = chains.find(named.origin());
    if (chain == chains.end()) return false;
    const auto at = std::lower_bound(chain->second.begin(), chain->second.end(), named);
    return at != chain->second.end() && *at == named && static_cast<std::size_t>(at - chain->second.begin()) >= done[named.origin()];
  };
  std::vector<EntryId> out;
  for (bool moved = true; moved;) {
    moved = false;
    for (const auto& one : chains) {
      const std::int64_t origin = one.first;
      const std::vector<EntryId>& chain = one.second;
      for (std::size_t& n = done[origin]; n < chain.size(); ++n) {
        const log::Row row = log::row_of(db, chain[n]);
        const log::Value body = log::parse_body(row.body);
        std::vector<log::Reference> names = log::references_in(body.at("details"), origin);
        if (row.who != 0) names.push_back({"by", EntryId{row.who}, {}});
        if (std::any_of(names.begin(), names.end(), [&](const log::Reference& r) { return r.entry != chain[n] && waits(r.entry); })) break;
        out.push_back(chain[n]);
        moved = true;
      }
    }
  }
  return out;
}

}  // namespace

void fold_brought(Book::Inside& in, const std::vector<EntryId>& entries) {
  if (entries.empty()) return;
  // Words, before what waits for them. They, and openings, may bring into effect what is here
  // already, or take the effect from it.
  for (const EntryId id : entries) {
    const log::Row row = log::row_of(in.db, id);
    list_seen(in.db, id, row.body);
    if (row.kind == Kind::peer) list_word(in.db, row);
  }
  if (effects_moved(in)) {
    fold_anew(in);
    return;
  }
  std::vector<EntryId> in_order;
  if (entries.size() <= kOneByOne) in_order = after_what_they_name(in.db, entries);
  // Entries that wait for each other in a circle cannot be put in an order; folding all anew needs none.
  if (in_order.size() != entries.size()) {
    fold_anew(in);
    return;
  }
  for (const EntryId id : in_order) {
    const log::Row row = log::row_of(in.db, id);
    if (row.kind == Kind::opening || row.kind == Kind::peer) continue;
    Fact fact;
    fact.effect = {row.moment, row.recorded, row.id};
    fact.kind = row.kind;
    fact.who = row.who;
    fact.source = id;
    const log::Value body = log::parse_body(row.body);
    if (const log::Value* d = body.find("details")) fact.details = *d;
    log::go_by_settlements(in.db, fact);
    fold_new(in, fact);
    if (in.settlements_moved) {
      fold_anew(in);
      return;
    }
    in.ledger.flush();
    refresh_due(in);
  }
}

}  // namespace baybook::book
