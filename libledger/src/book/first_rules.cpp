#include "book/first_rules.hpp"

#include "book/differing.hpp"

#include <algorithm>
#include <set>

namespace baybook::book {

namespace {

// What the closing that counts was judged by; empty: by no rules.
std::string closed_by(store::Db& db, EntryId closing) {
  const log::Fact fact = log::read_fact(db, closing);
  const log::Value* rules = fact.details.find("rules");
  return rules == nullptr ? std::string() : std::string(rules->str("set"));
}

}  // namespace

FirstRules first_rules(Book::Inside& in) {
  FirstRules out;
  if (in.known.all.size() < 2) {
    out.set = in.settings.rules;
    return out;
  }
  std::vector<Opened> all = openings(in);
  // A copy that goes on goes by what the book goes by that it is a copy of.
  std::set<std::int64_t> here;
  for (const Opened& o : all) here.insert(o.installation.origin);
  std::erase_if(all, [&](const Opened& o) { return here.contains(o.continues); });
  std::sort(all.begin(), all.end(),
            [](const Opened& a, const Opened& b) { return a.effect < b.effect; });
  std::set<std::string> chosen;
  for (const Opened& o : all) {
    chosen.insert(o.settings.rules);
    if (out.set.empty()) out.set = o.settings.rules;
  }
  if (chosen.size() < 2) return out;
  std::map<Month, EntryId> closings;
  {
    // Of two closings the earlier: its figures were given out first.
    auto q = in.db.query("SELECT month, entry FROM closed ORDER BY moment, recorded, entry");
    while (q.step())
      closings.try_emplace(Month{static_cast<std::int32_t>(q.num(0))}, EntryId{q.num(1)});
  }
  for (const auto& [month, closing] : closings) {
    const std::string by = closed_by(in.db, closing);
    if (by != out.set && chosen.contains(by)) out.closed.emplace(month, by);
  }
  return out;
}

}  // namespace baybook::book
