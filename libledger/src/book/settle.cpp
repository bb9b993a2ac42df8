#include "book/settle.hpp"
#include "book/words.hpp"

#include "log/references.hpp"
#include "service/build.hpp"

#include <baybook/text.hpp>

#include <functional>
#include <map>

namespace baybook::book {

using log::Built;
using log::Fact;
using log::Kind;
using log::Value;
using log::refuse;

bool can_be_one(Kind k) { return k == Kind::car || k == Kind::place || k == Kind::fluid || k == Kind::person || k == Kind::firm; }

namespace {

// What two things must have in common to be one: a key of their details, and how people call it.
struct Common {
  const char* key;
  const char* word;
};
std::vector<Common> common_of(Kind k) {
  if (k == Kind::place) return {{"role", "role"}, {"stream", "stream"}};
  if (k == Kind::fluid) return {{"class", "class"}, {"unit", "unit"}};
  return {};
}

std::string said_of(const Value& details, const char* key) { return details.has(key) ? std::string(details.str(key)) : "none"; }

std::optional<Amount> size_of(const Fact& place) {
  const Value* size = place.details.find("size");
  if (size == nullptr) return std::nullopt;
  return log::read_amount(*size);
}

// The size of the place that stays is that of both. What they hold together may be more: where the
// other one would hold it, that one is to stay; where neither would, it is told, and settle list goes
// on telling it.
std::optional<Refusal> too_small_for_both(Book::Inside& in, const log::Desk& desk, const Fact& keep,
                                          const Fact& other,
                                          std::vector<std::string>& warnings) {
  const auto size = size_of(keep);
  const auto of_other = size_of(other);
  const auto in_units = [&](std::int64_t n, const Amount& of) {
    return show(n, of.dimension, desk.units);
  };
  const std::string stays = place_name(in, PlaceId{keep.id().n});
  if (size && of_other && (size->dimension != of_other->dimension || size->best != of_other->best))
    warnings.push_back("their sizes are " + in_units(size->best, *size) + " and " +
                       in_units(of_other->best, *of_other) + "; that of the one that stays holds");
  if (!size) return std::nullopt;
  const auto dimension = static_cast<std::int64_t>(size->dimension);
  const auto level = [&](EntryId id) {
    return in.ledger.level(PlaceId{log::goes_by(in.db, id.n)}, dimension).best;
  };
  const std::int64_t held = level(keep.id()) + level(other.id());
  if (held <= size->best) return std::nullopt;
  const std::string told = stays + " would hold " + in_units(held, *size) + ", " +
                           in_units(held - size->best, *size) + " over its size of " +
                           in_units(size->best, *size);
  const bool fits_other =
      !of_other || (of_other->dimension == size->dimension && held <= of_other->best);
  if (fits_other)
    return refuse(Code::not_allowed, told,
                  "the size of the one that stays is that of both; the other one " +
                      (of_other ? "holds " + in_units(of_other->best, *of_other)
                                : std::string("has none")),
                  "baybook settle join " + entry_name(in, other.id()) + " " +
                      entry_name(in, keep.id()) + " --dry-run  # keeps the other one, and its size");
  warnings.push_back(told + "; if both are one drum, what each book put in is there twice, or its "
                            "size is wrong: baybook settle list");
  return std::nullopt;
}

// The groups that joins make, each under the one that the latest join in effect order kept.
void recompute_settled(store::Db& db) {
  std::map<std::int64_t, std::int64_t> leads;
  const std::function<std::int64_t(std::int64_t)> lead = [&](std::int64_t id) {
    while (leads.contains(id) && leads[id] != id) id = leads[id];
    return id;
  };
  {
    auto q = db.query("SELECT keep, other FROM settlement WHERE joins = 1 ORDER BY moment, recorded, entry");
    while (q.step()) {
      const std::int64_t keep = q.num(0);
      const std::int64_t other = q.num(1);
      const std::int64_t a = lead(keep);
      const std::int64_t b = lead(other);
      // The later word on who leads holds, also within a group that is one already.
      leads[a] = keep;
      leads[b] = keep;
      leads[other] = keep;
      leads[keep] = keep;
    }
  }
  {
    auto q = db.query("DELETE FROM settled");
    q.run();
  }
  for (const auto& [id, unused] : leads) {
    const std::int64_t by = lead(id);
    if (by == id) continue;
    auto q = db.query("INSERT INTO settled(id, goes_by) VALUES(?, ?)");
    q.bind(id).bind(by).run();
  }
  db.settled_changed();
}

}  // namespace

Result<Built> build_settlement(Book::Inside& in, log::Desk& desk, const Settle& draft) {
  store::Db& db = in.db;
  if (draft.keep == draft.other) return refuse(Code::wrong_usage, "entry " + entry_name(in, draft.keep) + " is named twice", "two things are settled to be one, or to be two", "the entries as `baybook settle list` shows them");
  const auto keep = log::find_fact(db, draft.keep);
  const auto other = log::find_fact(db, draft.other);
  // Of two that were each withdrawn by the other's installation it can be said that neither is to
  // hold.
  const bool both_gone = !draft.join && keep && other && keep->withdrawn && other->withdrawn;
  for (const auto& [fact, id] : {std::pair(&keep, draft.keep), std::pair(&other, draft.other)}) {
    if (!*fact) return refuse(Code::not_found, "there is no entry " + entry_name(in, id), "", "the entries as `baybook settle list` shows them");
    if ((*fact)->withdrawn && !both_gone)
      return refuse(Code::not_allowed, "entry " + entry_name(in, id) + " was withdrawn",
                    "what does not hold needs no settling", "baybook settle list");
  }
  const std::string both = "entry " + entry_name(in, draft.keep) + " (" + summarize(in, *keep) + ") and entry " + entry_name(in, draft.other) + " (" + summarize(in, *other) + ")";
  if (draft.join) {
    if (!can_be_one(keep->kind) || keep->kind != other->kind) {
      return refuse(Code::not_allowed, both + " cannot be one", "two cars, two places, two fluids, two people or two firms can", keep->kind == other->kind ? "baybook correct " + entry_name(in, draft.other) + " --withdraw --why \"...\"  # if one is too many" : "the entries as `baybook settle list` shows them");
    }
    if (log::goes_by(db, draft.keep.n) == log::goes_by(db, draft.other.n) && log::goes_by(db, draft.keep.n) == draft.keep.n) {
      return refuse(Code::already_there, both + " are one already", "", "baybook settle list");
    }
    for (const Common& c : common_of(keep->kind)) {
      const std::string a = said_of(keep->details, c.key);
      const std::string b = said_of(other->details, c.key);
      if (a != b) return refuse(Code::not_allowed, both + " cannot be one: their " + c.word + " is " + a + " and " + b, "what is in them could not be told apart afterwards", "baybook settle rename " + entry_name(in, draft.other) + " NAME  # if they are two");
    }
    if (keep->kind == Kind::place) {
      auto q = db.query("SELECT entry FROM flow WHERE (source = ?1 AND target = ?2) OR (source = ?2 AND target = ?1) LIMIT 1");
      q.bind(draft.keep.n).bind(draft.other.n);
      if (q.step()) return refuse(Code::not_allowed, both + " cannot be one: entry " + entry_name(in, EntryId{q.num(0)}) + " moved from one into the other", "a movement has two ends (F1)", "baybook settle rename " + entry_name(in, draft.other) + " NAME  # if they are two");
    }
  } else {
    auto q = db.query("SELECT 1 FROM settlement WHERE joins = 0 AND ((keep = ?1 AND other = ?2) OR (keep = ?2 AND other = ?1))");
    q.bind(draft.keep.n).bind(draft.other.n);
    if (q.step()) return refuse(Code::already_there, both + " are settled to be two already", "", "baybook settle list");
    if (const std::int64_t one = log::goes_by(db, draft.keep.n); one == log::goes_by(db, draft.other.n)) {
      // The settlement of these two, or where they were joined over a third, the last of those that did it.
      auto joined = db.query(
          "SELECT entry FROM settlement WHERE joins = 1 AND (keep IN (?1, ?2, ?3) OR keep IN (SELECT id FROM settled WHERE goes_by = ?3)) "
          "ORDER BY (keep IN (?1, ?2) AND other IN (?1, ?2)) DESC, moment DESC, recorded DESC, entry DESC LIMIT 1");
      joined.bind(draft.keep.n).bind(draft.other.n).bind(one);
      const std::string settlement = joined.step() ? entry_name(in, EntryId{joined.num(0)}) : std::string("N");
      return refuse(Code::not_allowed, both + " were settled to be one", "by entry " + settlement, "baybook correct " + settlement + " --withdraw --why \"...\"");
    }
  }
  Built out;
  if (draft.join && keep->kind == Kind::place) {
    if (auto no = too_small_for_both(in, desk, *keep, *other, out.warnings)) return std::move(*no);
  }
  out.kind = Kind::settle;
  out.details["action"] = draft.join ? "join" : "apart";
  out.details["keep"] = log::write_ref(draft.keep.n, desk.known);
  out.details["other"] = log::write_ref(draft.other.n, desk.known);
  if (auto ok = log::keep(out, "why", draft.why); !ok.ok()) return std::move(ok).refusal();
  return out;
}

void fold_settlement(Book::Inside& in, const Fact& fact) {
  if (fact.withdrawn) return;
  const Value& d = fact.details;
  const bool joins = d.str("action") == "join";
  if (joins) {
    // Entries from elsewhere may say anything; a car that went by a place would be neither.
    const auto keep = log::read_row(in.db, EntryId{log::read_ref(d.at("keep"), fact.origin())});
    const auto other = log::read_row(in.db, EntryId{log::read_ref(d.at("other"), fact.origin())});
    if (!keep || !other || keep->kind != other->kind || !can_be_one(keep->kind)) throw log::Malformed("a settlement joins what cannot be one");
  }
  const EntryId keep{log::read_ref(d.at("keep"), fact.origin())};
  const EntryId other{log::read_ref(d.at("other"), fact.origin())};
  // It is about both: with one of them it may not touch it does nothing.
  const bool held = !acts(in.db, fact.id(), keep) || !acts(in.db, fact.id(), other);
  {
    auto q = in.db.query("INSERT INTO settlement(entry, moment, recorded, joins, keep, other) VALUES(?, ?, ?, ?, ?, ?)");
    q.bind(fact.id().n)
        .bind(fact.effect.moment)
        .bind(fact.effect.recorded)
        .bind(std::int64_t{joins} + (held ? kHeld : 0));
    q.bind(keep.n).bind(other.n).run();
  }
  if (!joins || held) return;
  recompute_settled(in.db);
  in.settlements_moved = true;
}

void unfold_settlement(Book::Inside& in, const Fact& fact) {
  if (fact.withdrawn) return;
  {
    auto q = in.db.query("DELETE FROM settlement WHERE entry = ?");
    q.bind(fact.id().n).run();
  }
  if (fact.details.str("action") != "join") return;
  recompute_settled(in.db);
  in.settlements_moved = true;
}

}  // namespace baybook::book
