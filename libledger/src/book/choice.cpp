#include "book/choice.hpp"

#include "book/come_back.hpp"
#include "book/conflict_list.hpp"
#include "book/knowing.hpp"
#include "book/unfit_prove.hpp"
#include "log/references.hpp"

#include <baybook/text.hpp>

#include <algorithm>

namespace baybook::book {

using log::Built;
using log::Fact;
using log::Kind;
using log::Value;
using log::refuse;

bool is_choice(const Value& details) {
  const Value* action = details.find("action");
  return action != nullptr && *action == Value("keep");
}
bool is_choice(const Fact& fact) { return fact.kind == Kind::settle && is_choice(fact.details); }

std::vector<EntryId> over_of(const Value& details, std::int64_t origin) {
  std::vector<EntryId> out;
  for (const Value& ref : details.list("over")) out.push_back(EntryId{log::read_ref(ref, origin)});
  return out;
}

namespace {

void add(std::vector<EntryId>& all, EntryId one) {
  if (std::find(all.begin(), all.end(), one) == all.end()) all.push_back(one);
}

// Everything that is listed as what cannot hold beside it.
std::vector<EntryId> against(Book::Inside& in, EntryId holds) {
  std::vector<EntryId> out;
  for (const Conflict& c : list_conflicts(in)) {
    const auto is = [&](const EntryRef& r) { return r.id == holds; };
    if (std::none_of(c.choices.begin(), c.choices.end(), is)) continue;
    for (const EntryRef& r : c.choices) {
      if (r.id != holds) add(out, r.id);
    }
  }
  std::sort(out.begin(), out.end());
  return out;
}

// A choice that holds and that has this entry hold.
std::optional<EntryId> chosen_by(store::Db& db, EntryId holds) {
  for (const EntryId choice : standing_choices(db)) {
    const Fact fact = log::read_fact(db, choice);
    if (EntryId{log::read_ref(fact.details.at("keep"), fact.origin())} == holds) return choice;
  }
  return std::nullopt;
}

Refusal nothing_to_choose(Book::Inside& in, EntryId holds) {
  const std::string name = entry_name(in, holds);
  const auto by = chosen_by(in.db, holds);
  if (by && !withdrawn_by(in.db, holds))
    return refuse(Code::already_there,
                  "entry " + name + " holds already, by entry " + entry_name(in, *by), "",
                  "baybook settle list");
  return refuse(Code::not_allowed, "entry " + name + " is none of several of which one can hold",
                "one is chosen among those that are listed together", "baybook settle list");
}

// What stands on an entry that is not to hold would name something that is not there.
std::optional<Refusal> stands_on(Book::Inside& in, EntryId entry) {
  const auto fact = log::find_fact(in.db, entry);
  if (!fact || fact->withdrawn) return std::nullopt;
  const std::vector<EntryId> all = dependants(in.db, *fact);
  if (all.empty()) return std::nullopt;
  std::string list;
  for (std::size_t n = 0; n < all.size() && n < 12; ++n)
    list += (n == 0 ? "" : ", ") + entry_name(in, all[n]);
  const std::string name = entry_name(in, entry);
  return refuse(Code::has_dependants,
                std::to_string(all.size()) +
                    (all.size() == 1 ? " later entry stands" : " later entries stand") +
                    " on entry " + name + ": " + list,
                "without it they would name something that is not there",
                "baybook correct " + name + " --withdraw --with-dependants --why \"...\"");
}

}  // namespace

Result<Built> build_choice(Book::Inside& in, log::Desk& desk, const Choice& draft) {
  const auto holds = log::find_fact(in.db, draft.holds);
  if (!holds)
    return refuse(Code::not_found, "there is no entry " + entry_name(in, draft.holds), "",
                  "baybook settle list");
  const std::vector<EntryId> over = against(in, draft.holds);
  if (over.empty()) return nothing_to_choose(in, draft.holds);
  for (const EntryId other : over) {
    if (auto refused = stands_on(in, other)) return std::move(*refused);
  }
  if (holds->withdrawn) {
    if (auto refused = unfit_to_come_back(in, draft.holds)) return std::move(*refused);
    if (auto refused = cannot_come_back(in, desk, draft.holds)) return std::move(*refused);
  }
  Built out;
  out.kind = Kind::settle;
  out.details["action"] = "keep";
  out.details["keep"] = log::write_ref(draft.holds.n, desk.known);
  std::vector<Value> refs;
  for (const EntryId other : over) refs.push_back(log::write_ref(other.n, desk.known));
  out.details["over"] = Value(std::move(refs));
  if (auto ok = log::keep(out, "why", draft.why); !ok.ok()) return std::move(ok).refusal();
  return out;
}

std::string instead_of_choice(Book::Inside& in, const Fact& choice) {
  for (const EntryId other : over_of(choice.details, choice.origin())) {
    const auto fact = log::find_fact(in.db, other);
    if (fact && log::moves(fact->kind))
      return "baybook correct " + entry_name(in, other) +
             " --withdraw --with-dependants --why \"...\"";
  }
  return "baybook settle list";
}

void list_choice(store::Db& db, const Words& words, const Fact& choice) {
  const std::int64_t origin = choice.effect.id.origin();
  const EntryId keep{log::read_ref(choice.details.at("keep"), origin)};
  const auto row = [&](EntryId target, std::int64_t what) {
    if (never_corrected(db, target)) return;
    auto q = db.query(
        "INSERT OR REPLACE INTO correction(target, moment, recorded, entry, withdrawn) VALUES(?, ?, "
        "?, ?, ?)");
    q.bind(target.n).bind(choice.effect.moment).bind(choice.effect.recorded).bind(choice.id().n);
    q.bind(what + (words.acts(choice.id(), target) ? 0 : kHeld)).run();
  };
  for (const EntryId target : over_of(choice.details, origin)) row(target, 1);
  row(keep, kStands);
}

std::vector<EntryId> standing_choices(store::Db& db) {
  std::vector<EntryId> out;
  auto q = db.query(
      "SELECT DISTINCT c.entry FROM correction c JOIN entry e ON e.id = c.entry WHERE e.kind = 32 "
      "AND c.withdrawn IN (1, 8) AND c.entry NOT IN (SELECT target FROM amended WHERE withdrawn = "
      "1) ORDER BY c.moment, c.recorded, c.entry");
  while (q.step()) add(out, EntryId{q.num(0)});
  return out;
}

namespace {

struct Chosen {
  EntryId entry, keep;
  std::vector<EntryId> over;
  [[nodiscard]] bool names(EntryId e) const {
    return e == keep || std::find(over.begin(), over.end(), e) != over.end();
  }
  [[nodiscard]] bool without(EntryId e) const { return e != keep && names(e); }
};

// Whether somebody who held both has decided between what they would have hold.
bool decided(store::Db& db, const std::vector<Chosen>& all, const Chosen& a, const Chosen& b) {
  return std::any_of(all.begin(), all.end(), [&](const Chosen& c) {
    return c.names(a.keep) && c.names(b.keep) && knows(db, c.entry, a.entry) &&
           knows(db, c.entry, b.entry);
  });
}

}  // namespace

std::vector<Contradiction> contradictions(Book::Inside& in) {
  std::vector<Chosen> all;
  for (const EntryId id : standing_choices(in.db)) {
    const Fact fact = log::read_fact(in.db, id);
    all.push_back({id, EntryId{log::read_ref(fact.details.at("keep"), fact.origin())},
                   over_of(fact.details, fact.origin())});
  }
  std::vector<Contradiction> out;
  for (std::size_t n = 0; n < all.size(); ++n) {
    for (std::size_t m = 0; m < n; ++m) {
      const Chosen& a = all[m];
      const Chosen& b = all[n];
      if (!a.without(b.keep) && !b.without(a.keep)) continue;
      if (!apart_in_knowledge(in.db, a.entry, b.entry) || decided(in.db, all, a, b)) continue;
      out.push_back({a.entry, b.entry, a.keep, b.keep});
    }
  }
  return out;
}

}  // namespace baybook::book
