// What holds for a span of days: episodic events, enforcement holds, extensions that were granted.
#pragma once

#include "book/filings.hpp"

#include <optional>
#include <string>
#include <vector>

namespace baybook::book {

[[nodiscard]] Result<log::Built> build_circumstance(Book::Inside& in, log::Desk& desk,
                                                    const Circumstance& draft);

/// A circumstance as the log has it.
struct Spell {
  EntryId entry;
  Circumstance::What what = Circumstance::What::event;  ///< never an end
  Day day;
  bool planned = false, petitioned = false;
  int days = 0;
  std::vector<PlaceId> containers{};
  std::optional<Day> ended{};
};
/// All that was on record by that moment, by their first day.
[[nodiscard]] std::vector<Spell> spells_until(store::Db& db, std::int64_t moment);

/// An episodic event as the rules of its first day judge it.
struct Event {
  Spell spell;
  const RuleValue* notice = nullptr;  ///< days before, or hours after, its first day
  const RuleValue* length = nullptr;
  Day notice_due;
  std::optional<Day> noticed{};
  Day until;            ///< its last permitted day
  Day last;             ///< that or, when it was ended before, the day it was
  /// Why its waste counts all the same; empty: it does not.
  std::string counts{};
  [[nodiscard]] bool has(PlaceId place) const;
  [[nodiscard]] bool runs_on(Day day) const { return spell.day <= day && day <= last; }
};
/// Events on record by the end of a day, as they stood then: a term that is not over yet is kept.
/// Without rules that know such events there are none.
[[nodiscard]] std::vector<Event> events_on(Office& office, Day day);
/// The newest day that the book can know of: that of its last entry's recording.
[[nodiscard]] Day known_day(store::Db& db);

/// Until when a record is kept while enforcement actions are not resolved (40 CFR 262.40(d)): the
/// first day on which it may go, none while an action that began before that day runs.
struct Stretched {
  std::optional<Day> free{};
  EntryId by{};  ///< the hold that moved it; 0: none did
};
[[nodiscard]] Stretched stretched(const std::vector<Spell>& spells, Day free);

}  // namespace baybook::book
