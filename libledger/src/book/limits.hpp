// What the kinds of limits share: the day, its rules, what stands on the site, and the lines found so far. One file for each kind.
#pragma once

#include "book/circumstances.hpp"
#include "book/filings.hpp"
#include "book/office.hpp"

#include "returns/category.hpp"

#include <map>
#include <string>
#include <utility>
#include <vector>

namespace baybook::book {

using State = LimitLine::State;

// A line is "near" within these (common practice, no source): told in docs/rules.md.
inline constexpr int kNearDays = 14;
inline constexpr int kNearPercent = 80;

/// One waste container that is not empty, as it stands on the day.
struct OnHand {
  const Office::WastePlace* place = nullptr;
  std::int64_t filling = 0;
  Day since;
  Day filled;  ///< of this filling alone: what was poured over may have stood longer
  EntryRef first;
  const Event* event = nullptr;  ///< the episodic event that its waste is of, if it does not count
  StreamFacts facts;
  const Stream* stream = nullptr;
  std::int64_t ug = 0, high_ug = 0, volume = 0, high_volume = 0, pieces = 0;
  bool unweighed = false;
  bool by_density = false, unmeasured = false;  ///< of the volume: some was weighed and stands here by its density; some has none
  [[nodiscard]] std::string name() const { return place->code + "/" + std::to_string(filling); }
  [[nodiscard]] bool counts() const { return facts.counted != YesNo::no; }
  [[nodiscard]] bool hazardous() const { return facts.hazardous != YesNo::no; }
};

/// Which clocks and limits are its own: "hazardous-waste", "acute", ... of the rules; "" when they
/// do not know its stream.
[[nodiscard]] const std::string& group_of(const OnHand& h);
/// Acute waste, and what was soaked up of it: totals, limits and a clock of their own.
[[nodiscard]] bool is_acute(const OnHand& h);
[[nodiscard]] bool is_acute_residue(const OnHand& h);

class LimitSheet {
 public:
  LimitSheet(Book::Inside& book, Day on);

  /// A value of the rules as it holds on the day; only where the book goes by rules.
  const RuleValue* value(std::string_view key) { return rules->value(key, day); }
  int category(Month month);
  /// The most stringent category of the months from one day to another, and the first month of it.
  struct OfMonth {
    int category = 0;
    Month month;
  };
  OfMonth category_between(Day from, Day until);
  /// A new line, with the section of the rule it comes from.
  LimitLine& line(const char* group, std::string what, const RuleValue* rule);

  Book::Inside& in;
  Office office;
  Day day;
  const RuleSet* rules = nullptr;  ///< nullptr: the book goes by none
  bool us = false;
  std::vector<OnHand> on_hand;
  std::vector<FilingRow> filings;  ///< on record by the day
  std::vector<Spell> spells;
  std::vector<Event> events;
  /// A very small generator's waste has passed a limit on the site: a small one's conditions hold
  /// for it (40 CFR 262.14(a)(4)), for acute waste those of a large one (262.14(a)(3)).
  bool passed_trigger = false, passed_acute = false;
  Limits out;

 private:
  std::map<std::int32_t, int> categories_;
};

/// Whether it is from kNearPercent of a limit on.
[[nodiscard]] bool near_limit(std::int64_t n, std::int64_t limit);
[[nodiscard]] State state_of_day(Day due, Day today);
[[nodiscard]] std::string days_left(Day due, Day today);
/// The days of a generator that run on a container: those of its waste's months, which stay until it
/// is gone, whatever the shop is now.
struct GeneratorClock {
  const RuleValue* rule = nullptr;  ///< nullptr: none runs
  LimitSheet::OfMonth of{};
};
[[nodiscard]] GeneratorClock generator_clock(LimitSheet& sheet, const OnHand& h);
/// The day and the entry since which the sum over these containers has been at a limit or over it
/// without a break.
[[nodiscard]] std::optional<std::pair<Day, EntryId>> crossing(
    LimitSheet& sheet, const std::vector<const OnHand*>& places, std::int64_t limit,
    bool at_least, bool volume);
/// Sets the state of a line that compares an amount with a limit; with the upper bounds it may be
/// over.
void compare(LimitLine& l, std::int64_t best, std::int64_t high, std::int64_t limit, bool at_least,
             const std::string& high_shown);
/// Kilograms with the digits that decide beside that limit.
[[nodiscard]] std::string kg_beside(std::int64_t ug, std::int64_t limit);
/// 270 days in place of 180 for waste that goes far: all of these have to (limits_haul.cpp).
[[nodiscard]] const RuleValue* clock_days(LimitSheet& sheet, const RuleValue* ordinary, const std::vector<const OnHand*>& waste);
/// Why the longer clock runs; "" while `days` is another one.
[[nodiscard]] std::string haul_told(LimitSheet& sheet, const OnHand& waste, const RuleValue* days);

// Weight, volume and number that stand on the site (limits_on_hand.cpp).
void read_on_hand(LimitSheet& sheet);
void weight_on_site(LimitSheet& sheet);
void satellites(LimitSheet& sheet);
void counts(LimitSheet& sheet);
// Acute waste and its residues (limits_acute.cpp).
void acute_on_site(LimitSheet& sheet);
void acute_satellites(LimitSheet& sheet);
// Above-ground oil, by the size of its containers (limits_oil.cpp).
void oil_plan(LimitSheet& sheet);
// Used oil that an analysis found off its specification (limits_used_oil.cpp).
void off_specification(LimitSheet& sheet);
void oil_storage(LimitSheet& sheet);
// Days that run (limits_clocks.cpp).
void undecided_pans(LimitSheet& sheet);
void container_clocks(LimitSheet& sheet);
void inspections(LimitSheet& sheet);
// Reports and notices on a day of the year, until they are on record as filed (limits_renewals.cpp).
void renewals(LimitSheet& sheet);
// Episodic events and enforcement holds (limits_events.cpp).
void episodic_events(LimitSheet& sheet);
void enforcement_holds(LimitSheet& sheet);
void own_deadlines(LimitSheet& sheet);
// Registrations of carriers and of premises (limits_registration.cpp).
void registrations(LimitSheet& sheet);
// Papers that have not come back (limits_papers.cpp), and until when records are kept (limits_keep.cpp).
void unreturned_papers(LimitSheet& sheet);
void returns_to_come(LimitSheet& sheet);
void kept_records(LimitSheet& sheet);
/// The newest pick-up of a stream's waste up to that day, from which its determination is kept.
[[nodiscard]] std::optional<Day> last_sent_off(Office& office, std::string_view stream, Day day);

}  // namespace baybook::book
