#include "book/words.hpp"

#include "log/json.hpp"
#include "log/references.hpp"

#include <algorithm>

namespace baybook::book {

using log::Value;

namespace {

std::string digest_here(store::Db& db, EntryId entry) {
  auto q = db.query("SELECT digest FROM entry WHERE id = ?");
  q.bind(entry.n);
  return q.step() ? log::hex_of(q.blob(0)) : std::string();
}

std::set<EntryId> stay_without_effect(const Value& details, std::int64_t of) {
  std::set<EntryId> out;
  if (!details.has("but")) return out;
  for (const Value& n : details.list("but")) out.insert(EntryId{of << 40 | n.as_int()});
  return out;
}

}  // namespace

Words::Words(store::Db& db) {
  struct Row {
    EntryId entry;
    Joins what;
    EntryId about;
    EntryId named;
  };
  std::vector<Row> rows;
  {
    auto q = db.query(
        "SELECT entry, joins, keep, other FROM settlement WHERE joins >= 4 ORDER BY entry");
    while (q.step())
      rows.push_back(
          {EntryId{q.num(0)}, static_cast<Joins>(q.num(1)), EntryId{q.num(2)}, EntryId{q.num(3)}});
  }
  if (rows.empty()) return;
  // In the order of their numbers, so that of one writer the last word stays.
  for (const Row& r : rows) {
    const std::int64_t writer = r.entry.origin();
    const std::int64_t about = r.about.origin();
    const Value body = log::parse_body(log::row_of(db, r.entry).body);
    const Value& d = body.at("details");
    switch (r.what) {
      case Joins::met: last_[writer][about] = {r.entry, false, {}}; break;
      case Joins::accept:
        // An acceptance is of one chain: whoever comes with another first entry under that number
        // is somebody else.
        last_[writer][about] = {r.entry, d.str("first") == digest_here(db, r.about),
                                stay_without_effect(d, about)};
        break;
      case Joins::forget:
        // Entries thrown out from a later number on leave the installation what it was.
        if (r.named.number() == 1) last_[writer][about] = {r.entry, false, {}};
        break;
      case Joins::agree:
        if (d.str("digest") == digest_here(db, r.named)) agreed_[writer].insert(r.named);
        break;
      case Joins::apart:
      case Joins::join:
      case Joins::apart_held:
      case Joins::join_held: break;
    }
  }
  std::vector<std::int64_t> all;
  {
    auto q = db.query("SELECT origin FROM installation ORDER BY origin");
    while (q.step()) all.push_back(q.num(0));
  }
  for (const std::int64_t origin : all) {
    try {
      if (const std::int64_t before = log::continued_origin(db, origin);
          before != 0 && before != origin)
        continues_[origin] = before;
    } catch (const log::Malformed&) {
      // It says nothing that could be read: it goes on from nobody.
    }
  }
}

Words::Last Words::last(std::int64_t writer, std::int64_t about) const {
  const auto words = last_.find(writer);
  if (words == last_.end()) return Last::none;
  const auto word = words->second.find(about);
  if (word == words->second.end()) return Last::none;
  return word->second.open ? Last::open : Last::closed;
}

Words::Last Words::counts(std::int64_t writer, std::int64_t about) const {
  Last said = last(writer, about);
  for (const std::int64_t earlier : before(writer)) {
    if (said == Last::none && earlier != about) said = last(earlier, about);
  }
  return said;
}

EntryId Words::said_in(std::int64_t writer, std::int64_t about) const {
  std::vector<std::int64_t> all = before(writer);
  all.insert(all.begin(), writer);
  for (const std::int64_t one : all) {
    if (last(one, about) != Last::none) return last_.at(one).at(about).entry;
  }
  return {};
}

Words::Last Words::opinion(std::int64_t writer, EntryId by, std::int64_t agreed) const {
  if (writer == agreed) return Last::open;
  if (const auto it = agreed_.find(writer); it != agreed_.end() && it->second.contains(by))
    return Last::open;
  const Last said = last(writer, by.origin());
  if (said == Last::open && last_.at(writer).at(by.origin()).but.contains(by)) return Last::closed;
  return said;
}

// An opening can say anything, a circle too.
std::vector<std::int64_t> Words::before(std::int64_t origin) const {
  std::vector<std::int64_t> out;
  for (auto it = continues_.find(origin); it != continues_.end();
       it = continues_.find(it->second)) {
    if (it->second == origin || std::find(out.begin(), out.end(), it->second) != out.end()) break;
    out.push_back(it->second);
  }
  return out;
}

bool Words::goes_on_from(std::int64_t later, std::int64_t earlier) const {
  const std::vector<std::int64_t> all = before(later);
  return std::find(all.begin(), all.end(), earlier) != all.end();
}

std::vector<std::int64_t> Words::predecessors(store::Db& db, std::int64_t origin) {
  std::vector<std::int64_t> out;
  for (std::int64_t at = log::continued_origin(db, origin);
       at != 0 && at != origin && std::find(out.begin(), out.end(), at) == out.end();
       at = log::continued_origin(db, at))
    out.push_back(at);
  return out;
}

// Those that one of `by` accepted, and those that they accepted; not one that one of `by` has met
// and not accepted.
std::set<std::int64_t> Words::trusted(const std::set<std::int64_t>& by,
                                      std::int64_t without) const {
  std::set<std::int64_t> out;
  std::vector<std::int64_t> open(by.begin(), by.end());
  while (!open.empty()) {
    const auto words = last_.find(open.back());
    open.pop_back();
    if (words == last_.end()) continue;
    for (const auto& [about, word] : words->second) {
      if (!word.open || about == without || by.contains(about)) continue;
      const bool refused = std::any_of(by.begin(), by.end(), [&, who = about](std::int64_t one) {
        return last(one, who) == Last::closed;
      });
      if (!refused && out.insert(about).second) open.push_back(about);
    }
  }
  return out;
}

// An installation and those that go on from it: they speak for its entries. Anybody can write into
// an opening that it goes on from another; one that the family, or somebody it accepted, has met
// and not accepted is none of them.
std::set<std::int64_t> Words::family(std::int64_t of, std::int64_t without) const {
  std::set<std::int64_t> out{of};
  for (bool grown = true; grown;) {
    grown = false;
    std::set<std::int64_t> speak = trusted(out, without);
    speak.insert(out.begin(), out.end());
    for (const auto& [later, earlier] : continues_) {
      if (later == without || out.contains(later) || !out.contains(earlier)) continue;
      const bool refused = std::any_of(
          speak.begin(), speak.end(),
          [&, who = later](std::int64_t one) { return last(one, who) == Last::closed; });
      if (!refused) grown = out.insert(later).second || grown;
    }
  }
  out.erase(without);
  return out;
}

// Whose word counts about what a writer does to entries of an installation whose family has said
// nothing: of those from whom it goes on, of those whom they accepted, of those who accepted it.
// What cannot be undone waits for everybody who met the writer. Whom the family has met and not
// accepted never counts.
std::set<std::int64_t> Words::who_counts(std::int64_t of, const std::set<std::int64_t>& family,
                                         std::int64_t writer, Reach what) const {
  std::set<std::int64_t> near = family;
  for (const std::int64_t earlier : before(of)) {
    if (earlier != writer) near.insert(earlier);
  }
  std::set<std::int64_t> out = trusted(near, writer);
  out.insert(near.begin(), near.end());
  for (const auto& [one, words] : last_) {
    const bool vouches = what == Reach::erasure || last(one, of) == Last::open;
    const bool refused = std::any_of(near.begin(), near.end(), [&, who = one](std::int64_t s) {
      return last(s, who) == Last::closed;
    });
    if (one != writer && vouches && !refused) out.insert(one);
  }
  return out;
}

std::vector<std::int64_t> Words::against(EntryId by, EntryId on, Reach what,
                                         std::int64_t agreed) const {
  std::vector<std::int64_t> out;
  const std::int64_t writer = by.origin();
  if (writer == on.origin() || !any()) return out;
  const std::set<std::int64_t> speak = family(on.origin(), writer);
  bool said = false;
  for (const std::int64_t one : speak) {
    const Last word = opinion(one, by, agreed);
    said = said || word != Last::none;
    if (word != Last::closed) continue;
    // Who goes on from it answers for it: it may never write again.
    const bool answered = std::any_of(speak.begin(), speak.end(), [&](std::int64_t later) {
      return opinion(later, by, agreed) == Last::open && goes_on_from(later, one);
    });
    if (!answered) out.push_back(one);
  }
  if (said) return out;
  // They have said nothing.
  for (const std::int64_t one : who_counts(on.origin(), speak, writer, what)) {
    if (opinion(one, by, agreed) == Last::closed) out.push_back(one);
  }
  return out;
}

bool acts(store::Db& db, EntryId by, EntryId on, Reach what) {
  return by.origin() == on.origin() || Words(db).acts(by, on, what);
}

}  // namespace baybook::book
