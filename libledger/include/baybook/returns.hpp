// The office's answers: streams by month, the generator category, closed months, limits and deadlines, the register, firms, labels.
//
// What is judged here is judged by the rule set of the day it is about (rules.hpp) and is an aid: it defers to the competent
// authority, local codes and licensed practice. Amounts are in base units; masses in micrograms.
#pragma once

#include <baybook/book.hpp>
#include <baybook/export.hpp>
#include <baybook/reports.hpp>
#include <baybook/rules.hpp>

#include <optional>
#include <string>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// What a stream is on a day, as far as the rules and the determinations on record say.
struct StreamFacts {
  std::string name;      ///< of the rules: "used-coolant"; the place's own word when the rules have none
  std::string title;     ///< "Used antifreeze"
  std::string code;      ///< "16 01 14*"; the mirror code when it was determined not to be hazardous
  YesNo hazardous = YesNo::by_determination;  ///< by_determination: nobody has determined it
  YesNo counted = YesNo::no;                  ///< toward the US category
  std::string why, section, note;
  Sure sure = Sure::memory;
  std::optional<EntryRef> determined{};       ///< the determination that decides it
  bool known = false;    ///< the rules have this stream
  /// Which clock runs: the stream's group, or another where a determination or a mixture makes it so
  /// ("acute", "hazardous-waste").
  std::string group{};
  /// Waste of another stream that was poured in since the container was last empty.
  struct Mixture {
    EntryRef entry;        ///< the first one that brought any
    std::string with;      ///< title of the other stream
    std::string reason{};  ///< as typed; empty when none was
    /// What it makes of the whole, with the section and how sure that is.
    std::string told{};
  };
  std::optional<Mixture> mixture{};
};

/// One stream over a span of days, all its waste places together. opening + in = out + closing:
/// opening + from_cars + from_shop + brought_in + moved_in + gauge = recycled + disposed + shipped_other + lost + moved_out + taken_back + closing.
struct StreamRow {
  StreamFacts stream;
  Dimension dimension = Dimension::volume;
  Sum opening;
  Sum from_cars;      ///< straight from circuits
  Sum from_shop;      ///< decided: from pans, reuse places, stock
  Sum brought_in;     ///< absorbents, old parts, shop waste
  Sum moved_in;       ///< from other waste places
  Sum gauge;          ///< found by gauges: more (+) or less (-)
  Sum recycled, disposed, shipped_other;
  Sum lost;
  Sum moved_out;      ///< to other waste places
  Sum taken_back;     ///< back into the shop, used up
  Sum closing;
  std::optional<std::int64_t> generated_ug{}, shipped_ug{}, closing_ug{};  ///< mass beside volume; none when a part has no density
  std::string density;   ///< "1.07 kg/L (50/50 ..., confirmed)": what the masses were worked out with
};
/// Streams over a span, in the order of their names.
[[nodiscard]] Result<std::vector<StreamRow>> streams(const Book& book, Day from, Day until);

/// One line of what a month's judgement stands on.
struct JudgedLine {
  StreamFacts stream;
  std::string source;        ///< "decided in the month", "found by a gauge", ...
  Dimension dimension = Dimension::volume;
  std::int64_t low = 0, best = 0, high = 0;
  std::optional<std::int64_t> low_ug{}, best_ug{}, high_ug{};  ///< none: pieces, or no density
  std::string density;
  bool counts = false;
  std::string why;
};
struct Reading {
  std::string which;         ///< "decided": counted when it goes into a waste place; "drained": counted when it leaves the car
  std::int64_t low_ug = 0, best_ug = 0, high_ug = 0;  ///< non-acute
  std::int64_t acute_ug = 0, residue_ug = 0;
  int category = 0;          ///< 1 very small, 2 small, 3 large; 0: the scheme has none
  int category_high = 0;     ///< with the upper bounds
  std::string title;         ///< in the rule's words
};
struct Judgement {
  Month month;
  std::string rules, rules_title, rules_digest, scheme, aid;
  std::vector<JudgedLine> lines{};     ///< what counts, then what was recorded and does not
  Reading reading;                     ///< by the rule file's word
  std::optional<Reading> other{};      ///< the other reading, where its category differs
  std::int64_t hazardous_ug = 0, not_hazardous_ug = 0, undetermined_ug = 0;  ///< list-of-waste: by code and hazard
  std::vector<std::int64_t> edges_ug{};  ///< the weights at which the category turns (decimals_beside)
  std::vector<std::string> notices{};  ///< rounding band, not weighed, not determined, may be over
  std::vector<std::string> unsure{};   ///< values used that were not confirmed, with how sure they are
};
/// Refuses with not_found when the book goes by no rules in that month.
[[nodiscard]] Result<Judgement> judge(const Book& book, Month month);

/// A standing limit, a clock, a deadline.
struct LimitLine {
  std::string group;         ///< "on hand", "clock", "paper", "inspection", "renewal", "deadline", "pan", "satellite", "oil plan", "used oil", "oil storage", "event", "hold", "spill", "own transport", "registration", "keep"
  std::string what;          ///< "drum-solvent/3, used solvent, since 2026-01-04"
  std::optional<Day> due{};  ///< last permitted day, or the day on which to act
  std::string figures;       ///< "142 kg of 6,000 kg"
  std::string section;
  Sure sure = Sure::memory;
  enum class State : std::uint8_t { fine, near, over } state = State::fine;
  std::string settle;        ///< the verb that settles it
  std::vector<EntryRef> entries{};
};
struct Limits {
  Day day;
  std::string rules, rules_digest, aid;
  int category = 0;
  std::string category_title;  ///< of the month of `day`
  std::vector<LimitLine> lines{};  ///< what is over and has no day, then the nearest first; others without a day last
  /// Until when records are kept: the first day on which each may go, the earliest first; no day
  /// while an enforcement action holds it.
  std::vector<LimitLine> keep{};
};
[[nodiscard]] Result<Limits> limits(const Book& book, Day day);

/// One row of the chronological register (2008/98/EC art. 35; the US log): what went into a waste place, and what was picked up.
struct RegisterRow {
  Day day;
  EntryRef entry;
  bool out = false;           ///< left the place: picked up, or found missing by a gauge
  std::string place;          ///< "drum-coolant/7"
  StreamFacts stream;
  Dimension dimension = Dimension::volume;
  std::int64_t low = 0, best = 0, high = 0;
  bool estimated = false;
  std::optional<std::int64_t> best_ug{};
  std::string origin;         ///< "MARSH-07, job 17", "pan-1", "the shop", "difference found by a gauge"
  std::string destination;    ///< receiver's name, the place, or "difference found by a gauge"
  std::string carrier, transport, document, treatment, fate;
  std::optional<Amount> measured{};   ///< by the carrier or the receiver
  std::optional<Day> confirmed{};
};
[[nodiscard]] Result<std::vector<RegisterRow>> waste_register(const Book& book, Day from, Day until);

struct PickupView {
  EntryRef entry;
  Day day;
  std::string document, carrier, receiver;
  std::optional<Day> confirmed{};
  struct Line {
    int number = 1;
    std::string place, stream;
    Dimension dimension = Dimension::volume;
    std::int64_t best = 0;
    std::optional<Amount> measured{};
    std::int64_t difference = 0;   ///< measured - booked, when both are of one dimension
    /// What the booked volume weighs, in micrograms, when the carrier weighed it and the densities of all of it are known; and by which.
    std::optional<std::int64_t> booked_ug{};
    std::string density{};
  };
  std::vector<Line> lines{};
};
[[nodiscard]] Result<PickupView> pickup(const Book& book, EntryId entry);
[[nodiscard]] Result<std::vector<PickupView>> pickups(const Book& book, bool unconfirmed_only);

struct FirmView {
  FirmId id;
  std::string code, name, contact;
  bool carries = false, receives = false;
  std::vector<NewFirm::Number> numbers{};
  std::optional<Distance> haul{};      ///< how far waste goes to it
  ReceivesAs receives_as = ReceivesAs::not_said;
  std::vector<std::string> streams{};  ///< whose waste goes to it
  std::optional<Day> registered{};     ///< of a carrier
};
[[nodiscard]] Result<std::vector<FirmView>> firms(const Book& book);
struct AreaView {
  std::string area;
  std::vector<std::string> places;
  std::optional<Day> inspected{};
};
[[nodiscard]] Result<std::vector<AreaView>> areas(const Book& book);
/// The folder beside the book in which papers are kept.
[[nodiscard]] std::string papers_folder(const std::string& book_path);
/// SHA-256 (FIPS 180-4), 64 lower-case hexadecimal digits: the digest that a paper is put on record with.
[[nodiscard]] std::string sha256_hex(std::string_view bytes);
struct PaperView { EntryRef entry, about; std::string file, sha256, title; std::int64_t bytes = 0; };
[[nodiscard]] Result<std::vector<PaperView>> papers(const Book& book);
struct DeadlineView { DeadlineId id; EntryRef entry; std::string code, what, section; Day due; int months = 0; bool settled = false; };
[[nodiscard]] Result<std::vector<DeadlineView>> deadlines(const Book& book);

/// What was filed or received, in the order of what and period.
struct FilingView {
  EntryRef entry;
  std::string what, period;
  Day filed;
  std::optional<EntryRef> about{};
  std::string note;
};
[[nodiscard]] Result<std::vector<FilingView>> filings(const Book& book);

/// A closed month: the frozen figures against those of now.
struct Difference {
  std::string fluid;      ///< class
  std::string column;     ///< "drained"
  Dimension dimension = Dimension::volume;
  std::int64_t closed_at = 0, now = 0;                                       ///< the best figure, in base units
  std::int64_t closed_low = 0, closed_high = 0, now_low = 0, now_high = 0;   ///< and its bounds
};
struct ClosedMonth {
  EntryRef entry;
  Day closed_on;
  std::string by, seal, rules, rules_digest, category;   ///< as frozen
  /// What the month is judged to be now, where that is not what was frozen: by rules, category or counted weight (micrograms).
  struct Judged {
    std::string rules, rules_digest, category;
    std::int64_t counted_ug = 0;
  };
  std::optional<Judged> judged_now{};
  std::int64_t counted_ug = 0;       ///< as frozen; 0 when it went by no rules with a category
  std::vector<Difference> differences{};
  std::vector<EntryView> causes{};   ///< entries that came after the closing and reach into the month
};
/// None when the month is open.
[[nodiscard]] Result<std::optional<ClosedMonth>> closed_month(const Book& book, Month month);

/// What a container's label says. label() refuses: not_found (no such place, no rules on that day), not_allowed (no waste place).
struct LabelFacts {
  std::string place, filling;    ///< "drum-solvent", "drum-solvent/3"
  StreamFacts stream;
  std::vector<std::string> words, hazard, cautions;
  std::optional<Day> since{};    ///< accumulation start
  std::string code;
  std::string payload;           ///< QR: "BAYBOOK:..." (docs/format.md)
  std::string rules, rules_digest, aid, site;
};
[[nodiscard]] Result<LabelFacts> label(const Book& book, PlaceId place, Day day);

/// The seal that every print carries. One installation: TAG:NUMBER:16 hex, and the whole digest. Several: the SHA-256 over their sorted
/// seals, one a line, and the list.
struct Seals {
  std::string seal;              ///< TAG:NUMBER:16 hex, or "all:COUNT:16 hex"
  std::string digest;            ///< 64 hex
  std::vector<std::string> all;  ///< each installation's
};
[[nodiscard]] Result<Seals> seals(const Book& book);

/// A spill beside one substance of the rules. What got out is compared, whatever was picked up again, together with what got out
/// within the rule's window around it: of all such windows the one with the largest sum.
struct SpillComparison {
  std::string substance;      ///< "ethylene glycol"
  std::vector<std::string> fluids{};  ///< what it was in: "coolant", "oat-violet"
  Mass quantity;              ///< of the rule
  std::string typed{};        ///< "5000 lb"
  std::string window{}, section{};
  Sure sure = Sure::memory;
  std::int64_t low_ug = 0, best_ug = 0, high_ug = 0;  ///< of the substance, in that window
  /// With spills that may lie within the window: of one of the two no time of day is written, and it is of a neighbouring day.
  std::int64_t may_high_ug = 0;
  std::int64_t may_best_ug = 0;
  bool unweighed = false;     ///< some of it has no weight in the book, and is not in the figures
  enum class State : std::uint8_t {
    below,
    unknown,     ///< nothing of it has a weight
    near,        ///< from 80 percent on
    may_be,      ///< at it or over it with the upper bounds, or with what may lie within the window
    at_or_over,
  } state = State::below;
  std::string mass;           ///< "1.61 kg (3.54 lb)"
  std::string share;          ///< which share was used, and who says so
  std::string told;           ///< all of it in one sentence
  std::vector<EntryRef> entries{};   ///< that were summed
  std::vector<EntryRef> may{};       ///< that may belong to them
};
[[nodiscard]] std::string_view name_of(SpillComparison::State state) noexcept;  ///< "below", "unknown", "near", "may-be", "at-or-over"
struct SpillAdvice {
  EntryRef entry;
  Day day;
  std::vector<SpillComparison> substances{};  ///< of a fluid whose shares nobody said: the lowest quantity first
  std::vector<std::string> notes{};  ///< what the shares that were said leave open; what the rules name no quantity for
  std::string oil{};     ///< it is oil, and reached water or a drain: what the rules say of that
  std::string call{};    ///< whom to call
  /// What is said aloud: comparisons that are not below, oil, whom to call. Empty for a spill that comes near nothing.
  std::vector<std::string> lines{};
  bool is_spill = false;  ///< of other entries nothing is compared
};
/// A spill against the reportable quantities of the rules. It never says that no report is due. Empty for an entry that is no spill, and
/// where the book goes by no rules.
[[nodiscard]] Result<SpillAdvice> spill_advice(const Book& book, EntryId spill);

/// Totals split by car, by job or by who did it: what was drained, put back, new, lost.
enum class SplitBy : std::uint8_t { car, job, person };
struct SplitRow {
  std::string key;        ///< plate, "17", name
  std::string fluid;      ///< class
  Dimension dimension = Dimension::volume;
  Sum drained, put_back, new_used;
  Sum lost;               ///< to the ground and missing, together
  Sum to_ground, missing;  ///< the parts of it
  Sum to_waste;
};
[[nodiscard]] Result<std::vector<SplitRow>> split_totals(const Book& book, Day from, Day until, SplitBy by);

}  // namespace baybook
BAYBOOK_API_END
