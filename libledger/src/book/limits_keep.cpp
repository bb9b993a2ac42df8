// Until when records are kept.
#include "book/limits.hpp"

#include <algorithm>
#include <optional>

namespace baybook::book {

std::optional<Day> last_sent_off(Office& office, std::string_view stream, Day day) {
  std::optional<Day> last;
  for (const Office::WastePlace& p : office.waste_places()) {
    if (office.stream_for(p.stream, day) != office.stream_for(stream, day)) continue;
    auto q = office.in().db.query("SELECT max(l.moment) FROM leg l JOIN flow f ON f.entry = l.entry WHERE l.place = ?1 AND f.source = ?1 AND f.target = 4 AND l.moment <= ?2 HAVING count(*) > 0");
    q.bind(p.id.n).bind(log::last_moment(day));
    if (q.step() && (!last || *last < log::day_of_moment(q.num(0)))) last = log::day_of_moment(q.num(0));
  }
  return last;
}

namespace {

// A line of what is kept; none from the day on which an erasure lets it go. An enforcement action
// that is not resolved keeps what had to be kept when it began.
class Keep {
 public:
  explicit Keep(LimitSheet& sheet) : sheet_(sheet) {}

  void until(std::string what, Day start, const RuleValue* rule, EntryId entry) {
    const Day free = returns::purge_day(start, rule->n);
    const Stretched held = stretched(sheet_.spells, free);
    if (held.free && *held.free <= sheet_.day) return;
    LimitLine l;
    l.group = "keep";
    l.what = std::move(what);
    l.section = rule->source.section;
    l.sure = rule->source.sure;
    l.due = held.free;
    l.figures = std::to_string(rule->n) + " months from " + to_string(start);
    l.entries.push_back(ref_of(sheet_.in, entry));
    if (held.by.n != 0) {
      l.figures += held.free ? ", longer by an enforcement action"
                             : ", to " + to_string(free) + ", and until the enforcement action ends";
      l.entries.push_back(ref_of(sheet_.in, held.by));
    }
    sheet_.out.keep.push_back(std::move(l));
  }

  void pickups() {
    struct P { EntryId entry; Day day; std::string document; };
    std::vector<P> all;
    {
      auto q = sheet_.in.db.query("SELECT entry, moment, document FROM pickup WHERE moment <= ? ORDER BY moment, recorded, entry");
      q.bind(log::last_moment(sheet_.day));
      while (q.step()) all.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
    }
    for (const P& p : all) {
      const RuleSet* then = sheet_.office.rules_on(p.day);
      if (then == nullptr) continue;
      if (const RuleValue* rule = then->value("retention.pickup.months", p.day)) until("paper " + p.document + " of the pick-up", p.day, rule, p.entry);
    }
  }

  // From when the waste was last sent off; a batch that is still here is kept anyway. A load that left before the determination was made is
  // none of what it is about, so the months never begin before it.
  void determinations() {
    const RuleValue* rule = sheet_.value("retention.determination.months");
    if (rule == nullptr) return;
    struct D { EntryId entry; std::string stream; PlaceId place; Day day; };
    std::vector<D> made;
    {
      auto q = sheet_.in.db.query("SELECT entry, stream, place, moment FROM determined WHERE moment <= ? ORDER BY moment, recorded, entry");
      q.bind(log::last_moment(sheet_.day));
      while (q.step()) made.push_back({EntryId{q.num(0)}, q.text(1), PlaceId{q.num(2)}, log::day_of_moment(q.num(3))});
    }
    for (const D& d : made) {
      const std::optional<Day> last = last_sent_off(sheet_.office, d.stream, sheet_.day);
      if (last) until("determination of " + d.stream + (d.place.n != 0 ? ", " + place_name(sheet_.in, d.place) : ""), std::max(*last, d.day), rule, d.entry);
    }
  }

  void filed() {
    for (const FilingRow& f : sheet_.filings) {
      const auto kept = kept_filing(sheet_.office, f);
      if (kept) until(f.what + (f.period.empty() ? "" : " " + f.period) + ", filed on " + to_string(f.on), kept->start, kept->rule, f.entry);
    }
  }

  // The approval of a second event, 40 CFR 262.233, from its end.
  void approvals() {
    for (const Event& e : sheet_.events) {
      const RuleValue* rule = sheet_.value("retention.event-approval.months");
      if (rule == nullptr || !e.spell.petitioned) continue;
      until("approval of the event of " + to_string(e.spell.day), e.last, rule, e.spell.entry);
    }
  }

 private:
  LimitSheet& sheet_;
};

}  // namespace

void kept_records(LimitSheet& sheet) {
  Keep keep(sheet);
  keep.pickups();
  keep.determinations();
  keep.filed();
  keep.approvals();
}

}  // namespace baybook::book
