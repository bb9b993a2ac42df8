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

void kept_records(LimitSheet& sheet) {
  struct P { EntryId entry; Day day; std::string document; };
  std::vector<P> all;
  {
    auto q = sheet.in.db.query("SELECT entry, moment, document FROM pickup WHERE moment <= ? ORDER BY moment, recorded, entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) all.push_back({EntryId{q.num(0)}, log::day_of_moment(q.num(1)), q.text(2)});
  }
  const auto until = [&](std::string what, Day start, const RuleValue* rule, EntryId entry) {
    LimitLine l;
    l.group = "keep";
    l.what = std::move(what);
    l.section = rule->source.section;
    l.sure = rule->source.sure;
    l.due = returns::purge_day(start, rule->n);
    if (*l.due < sheet.day) return;
    l.figures = std::to_string(rule->n) + " months from " + to_string(start);
    l.entries.push_back(ref_of(sheet.in, entry));
    sheet.out.keep.push_back(std::move(l));
  };
  for (const P& p : all) {
    const RuleSet* then = sheet.office.rules_on(p.day);
    if (then == nullptr) continue;
    if (const RuleValue* rule = then->value("retention.pickup.months", p.day)) until("paper " + p.document + " of the pick-up", p.day, rule, p.entry);
  }
  const RuleValue* determination = sheet.value("retention.determination.months");
  if (determination == nullptr) return;
  // From when the waste was last sent off; a batch that is still here is kept anyway. A load that left before the determination was made is
  // none of what it is about, so the months never begin before it.
  struct D { EntryId entry; std::string stream; PlaceId place; Day day; };
  std::vector<D> made;
  {
    auto q = sheet.in.db.query("SELECT entry, stream, place, moment FROM determined WHERE moment <= ? ORDER BY moment, recorded, entry");
    q.bind(log::last_moment(sheet.day));
    while (q.step()) made.push_back({EntryId{q.num(0)}, q.text(1), PlaceId{q.num(2)}, log::day_of_moment(q.num(3))});
  }
  for (const D& d : made) {
    const std::optional<Day> last = last_sent_off(sheet.office, d.stream, sheet.day);
    if (last) until("determination of " + d.stream + (d.place.n != 0 ? ", " + place_name(sheet.in, d.place) : ""), std::max(*last, d.day), determination, d.entry);
  }
}

}  // namespace baybook::book
