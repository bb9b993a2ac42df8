// What the kinds of limits share: the day, its rules, what stands on the site, and the lines found so far. One file for each kind.
#pragma once

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
  EntryRef first;
  StreamFacts facts;
  const Stream* stream = nullptr;
  std::int64_t ug = 0, high_ug = 0, volume = 0, high_volume = 0, pieces = 0;
  bool unweighed = false;
  bool by_density = false, unmeasured = false;  ///< of the volume: some was weighed and stands here by its density; some has none
  [[nodiscard]] std::string name() const { return place->code + "/" + std::to_string(filling); }
  [[nodiscard]] bool counts() const { return facts.counted != YesNo::no; }
  [[nodiscard]] bool hazardous() const { return facts.hazardous != YesNo::no; }
};

class LimitSheet {
 public:
  LimitSheet(Book::Inside& book, Day on);

  /// A value of the rules as it holds on the day; only where the book goes by rules.
  const RuleValue* value(std::string_view key) { return rules->value(key, day); }
  int category(Month month);
  /// The most stringent category of the months from one day to another.
  int category_between(Day from, Day until);
  /// A new line, with the section of the rule it comes from.
  LimitLine& line(const char* group, std::string what, const RuleValue* rule);

  Book::Inside& in;
  Office office;
  Day day;
  const RuleSet* rules = nullptr;  ///< nullptr: the book goes by none
  bool us = false;
  std::vector<OnHand> on_hand;
  Limits out;

 private:
  std::map<std::int32_t, int> categories_;
};

/// Whether it is from kNearPercent of a limit on.
[[nodiscard]] bool near_limit(std::int64_t n, std::int64_t limit);
[[nodiscard]] State state_of_day(Day due, Day today);
[[nodiscard]] std::string days_left(Day due, Day today);
/// 270 days in place of 180 for waste that goes far: all of these have to (limits_haul.cpp).
[[nodiscard]] const RuleValue* clock_days(LimitSheet& sheet, const RuleValue* ordinary, const std::vector<const OnHand*>& waste);
/// Why the longer clock runs; "" while `days` is another one.
[[nodiscard]] std::string haul_told(LimitSheet& sheet, const OnHand& waste, const RuleValue* days);

// Weight, volume and number that stand on the site (limits_on_hand.cpp).
void read_on_hand(LimitSheet& sheet);
void weight_on_site(LimitSheet& sheet);
void satellites(LimitSheet& sheet);
void counts(LimitSheet& sheet);
void oil_plan(LimitSheet& sheet);
void universal_waste(LimitSheet& sheet);  // limits_handler.cpp
// Days that run (limits_clocks.cpp).
void undecided_pans(LimitSheet& sheet);
void container_clocks(LimitSheet& sheet);
void inspections(LimitSheet& sheet);
void renewals(LimitSheet& sheet);
void own_deadlines(LimitSheet& sheet);
// Registrations of carriers and of premises (limits_registration.cpp).
void registrations(LimitSheet& sheet);
// Papers that have not come back (limits_papers.cpp), and until when records are kept (limits_keep.cpp).
void unreturned_papers(LimitSheet& sheet);
void kept_records(LimitSheet& sheet);
/// The newest pick-up of a stream's waste up to that day, from which its determination is kept.
[[nodiscard]] std::optional<Day> last_sent_off(Office& office, std::string_view stream, Day day);

}  // namespace baybook::book
