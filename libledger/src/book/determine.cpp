// What holds of a stream before another determination of it is written.
#include "book/office.hpp"

#include "returns/determination.hpp"

namespace baybook::book {

Result<log::Built> build_determination(Book::Inside& in, log::Desk& desk, const Determination& draft) {
  Office office(in);
  const Day day = log::day_of_moment(desk.effect.moment);
  returns::Standing now;
  now.rules = office.rules_on(day);
  if (now.rules != nullptr) {
    for (const Stream& s : now.rules->streams) now.streams.push_back(s.name);
    now.stream = office.stream_for(draft.stream, day);
  }
  if (now.stream != nullptr) {
    const Office::Decided by = office.decided(*now.stream, draft.place, day);
    // One of every batch leaves a batch to be determined by itself.
    now.determined = by.entry.n != 0 && (!draft.place || by.of_place);
    if (by.entry.n != 0) now.hazardous_by_that = returns::read_determination(log::read_fact(in.db, by.entry).details).hazardous;
    now.determined = now.determined || (by.entry.n != 0 && now.hazardous_by_that != draft.hazardous);
    if (const Office::WastePlace* p = draft.place ? office.waste_place(draft.place.n) : nullptr) {
      for (const Mixture& m : office.mixtures(*p)) {
        if (!m.there_on(day)) continue;
        now.mixed = true;
        now.mixed_with_listed = now.rules->scheme == "us" && m.listed_by(day);
      }
    }
  }
  return returns::build(desk, in.ledger, draft, now);
}

}  // namespace baybook::book
