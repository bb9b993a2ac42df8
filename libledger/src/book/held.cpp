// Which entries have no effect on what others wrote, until somebody says so.
#include "book/choice.hpp"
#include "book/peers.hpp"

#include <algorithm>
#include <map>
#include <set>

namespace baybook::book {

using log::Kind;

std::string told_entry(Book::Inside& in, EntryId entry) {
  const std::string name = "entry " + entry_name(in, entry);
  const auto row = log::read_row(in.db, entry);
  if (!row) return name;
  try {
    const std::string text = summarize(in, log::read_fact(in.db, *row));
    return name + (text.empty() ? "" : " (" + text + ")");
  } catch (const log::Malformed&) {
  } catch (const store::Failure&) {
    // It came with the same file, and what it names is not folded yet.
  }
  return name + " (" + std::string(log::name_of(row->kind)) + ")";
}

namespace {

class HeldList {
 public:
  HeldList(Book::Inside& in, std::int64_t origin, EntryId entry)
      : in_(in), words_(in.db), origin_(origin), entry_(entry) {}

  std::vector<Held> all() {
    if (entry_.n == 0) look_for_refused();
    corrections();
    settlements();
    erasures();
    std::vector<Held> out;
    for (auto& [id, held] : held_) {
      if (!held.waits_for.empty()) out.push_back(std::move(held));
    }
    return out;
  }

 private:
  [[nodiscard]] bool wanted(EntryId e) const {
    if (entry_.n != 0) return e == entry_;
    return (origin_ == 0 || e.origin() == origin_) && !refused_.contains(e);
  }

  // What this book has withdrawn it does not want, whether that has an effect in the other book or
  // not; nor is anybody asked about that no.
  void look_for_refused() {
    auto q = in_.db.query(
        "SELECT target, entry FROM correction WHERE withdrawn IN (1, 3) AND (entry >> 40) = ?1 AND "
        "(target >> 40) <> ?1 AND EXISTS (SELECT 1 FROM entry e WHERE e.id = target AND e.kind IN "
        "(17, 32))");
    q.bind(in_.known.own().origin);
    while (q.step()) {
      refused_.insert(EntryId{q.num(0)});
      refused_.insert(EntryId{q.num(1)});
    }
  }

  Held& add(EntryId by, Kind kind, EntryId on, Reach reach) {
    Held& h = held_[by];
    h.entry = by;
    h.kind = kind;
    h.on.push_back(on);
    for (const std::int64_t one : words_.against(by, on, reach)) {
      if (std::find(h.waits_for.begin(), h.waits_for.end(), one) == h.waits_for.end())
        h.waits_for.push_back(one);
    }
    h.ours = h.ours || words_.against(by, on, reach, in_.known.own().origin).empty();
    return h;
  }

  void corrections() {
    struct Row {
      EntryId entry, target;
      std::int64_t what;
    };
    std::vector<Row> rows;
    {
      auto q = in_.db.query(
          "SELECT entry, target, withdrawn FROM correction WHERE withdrawn IN (2, 3, 10) AND entry NOT IN "
          "(SELECT target FROM amended WHERE withdrawn = 1) ORDER BY entry, target");
      while (q.step())
        rows.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}, q.num(2) - kHeld});
    }
    for (const Row& r : rows) {
      if (!wanted(r.entry)) continue;
      const auto row = log::read_row(in_.db, r.entry);
      Held& h = add(r.entry, row ? row->kind : Kind::correction, r.target, Reach::correction);
      if (h.on.size() > 3) continue;
      h.text += (h.text.empty() ? "" : "; ") +
                (h.on.size() == 3 ? "and more"
                                  : std::string(r.what == kStands ? "chooses "
                                                : r.what == 1     ? "withdraws "
                                                                  : "replaces ") +
                                        told_entry(in_, r.target));
    }
  }

  void settlements() {
    struct Row {
      EntryId entry, keep, other;
      bool joins;
    };
    std::vector<Row> rows;
    {
      auto q = in_.db.query(
          "SELECT entry, keep, other, joins FROM settlement WHERE joins IN (2, 3) ORDER BY entry");
      while (q.step())
        rows.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}, EntryId{q.num(2)},
                        q.num(3) == static_cast<std::int64_t>(Joins::join_held)});
    }
    for (const Row& r : rows) {
      if (!wanted(r.entry)) continue;
      for (const EntryId end : {r.keep, r.other}) {
        if (!words_.acts(r.entry, end)) add(r.entry, Kind::settle, end, Reach::correction);
      }
      held_[r.entry].text = std::string("settles that ") + told_entry(in_, r.other) + " and " +
                            told_entry(in_, r.keep) + (r.joins ? " are one" : " are two");
    }
  }

  void erasures() {
    struct Row {
      EntryId erasure, entry;
      bool asked;
    };
    std::vector<Row> rows;
    {
      auto q = in_.db.query(
          "SELECT e.erasure, e.entry, e.asked FROM erased e JOIN private p ON p.entry = e.entry "
          "AND p.field = e.field WHERE e.asked IN (2, 3) ORDER BY e.erasure, e.entry");
      while (q.step())
        rows.push_back({EntryId{q.num(0)}, EntryId{q.num(1)}, q.num(2) == kHeld + 1});
    }
    for (const Row& r : rows) {
      if (!wanted(r.erasure)) continue;
      Held& h = add(r.erasure, Kind::erasure, r.entry, Reach::erasure);
      ++h.texts;
      if (std::count(h.on.begin(), h.on.end(), r.entry) > 1) h.on.pop_back();
      h.text = (r.asked ? "asks to erase " : "erases ") + std::to_string(h.texts) +
               (h.texts == 1 ? " text of " : " texts of ");
      h.text += h.on.size() == 1 ? told_entry(in_, h.on.front())
                                 : std::to_string(h.on.size()) + " entries, the first " +
                                       told_entry(in_, h.on.front());
    }
  }

  Book::Inside& in_;
  Words words_;
  std::int64_t origin_;
  EntryId entry_;
  std::set<EntryId> refused_;
  std::map<EntryId, Held> held_;
};

}  // namespace

std::vector<Held> held_entries(Book::Inside& in, std::int64_t origin, EntryId entry) {
  {
    auto q = in.db.query("SELECT 1 FROM settlement WHERE joins >= 4 LIMIT 1");
    if (!q.step()) return {};
  }
  return HeldList(in, origin, entry).all();
}

std::string how_to_agree(Book::Inside& in, const Held& held) {
  const std::string name = entry_name(in, held.entry);
  if (held.ours)
    return held.kind == Kind::erasure && held.texts > 0
               ? "baybook exchange agree " + name + " --dry-run"
               : "baybook exchange agree " + name;
  std::string where;
  for (const std::int64_t one : held.waits_for)
    where += (where.empty() ? "" : " and ") + std::string(in.known.tag_of(one));
  return "in the book of " + where + ": baybook exchange agree " +
         std::to_string(held.entry.number()) + "@" +
         std::string(in.known.tag_of(held.entry.origin())) + " --dry-run";
}

}  // namespace baybook::book
