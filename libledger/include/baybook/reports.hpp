// Reading the book: every answer is derived from the log. Amounts are in base units; lists are sorted.
//
// `as_of`: the book as its entries tell it up to the end of that day (happened date), none: all of it.
#pragma once

#include <baybook/book.hpp>
#include <baybook/export.hpp>

#include <map>
#include <optional>
#include <string>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

using AsOf = std::optional<Day>;

/// One entry for reading.
struct EntryView {
  EntryRef ref;
  Day happened;
  std::optional<TimeOfDay> at{};
  Instant recorded;
  std::string kind;       ///< "movement", "fit", ...
  std::string verb;       ///< "drain", "code read": what it is called on the command line
  std::string by;         ///< name, or empty
  std::int64_t job_number = 0;
  std::string job;        ///< "17" or "17@office"
  std::string car;        ///< plate
  std::string summary;    ///< "drained 5.4 L coolant into pan-1"
  std::string text;       ///< the private main text, if any
  std::string fault_code; ///< entries of kind "code": "P0217"
  std::string came_off{};  ///< of a fitted part, what became of it: "taken out by entry 42 on
                           ///< 2026-06-01", or that it may be: "may be out: fitted again by ..."
  std::string came_back;  ///< a code that had been cleared on an earlier job: "cleared on job 12, 2026-01-14"; in last and history
  std::string compared{};  ///< of a spill that comes near a quantity of the rules, which one and how
  bool withdrawn = false;
  std::string waits{};  ///< it has no effect on entries of another installation: "withdraws entry
                        ///< 12 (...); baybook exchange agree 31@office"
  std::vector<EntryRef> corrected_by{};  ///< those that were not withdrawn, in effect order; the last one holds
  std::string digest;     ///< 64 hex
  std::string body;       ///< canonical body as hashed
  std::vector<std::pair<std::string, std::string>> private_values{};  ///< field, text ("" when erased)
};

/// One entry as a line of a list shows it, and as `EntryFilter::words` looks for it.
struct EntryLine {
  std::string entry;  ///< "17", "17@office"
  std::string day, time, by, car, job;
  std::string what;   ///< what it says, its text, and in brackets what became of it
};
/// `own`: the tag of the book that is read, left off from the numbers of its own entries.
[[nodiscard]] EntryLine line_of(const EntryView& entry, std::string_view own);
/// "put right by 42", "withdrawn by 42, 7@office"; "" when nothing corrects it.
[[nodiscard]] std::string corrections_of(const EntryView& entry, std::string_view own);

struct EntryFilter {
  std::optional<CarId> car{};
  std::optional<PlaceId> place{};
  std::optional<Day> from{}, until{};
  AsOf as_of{};
  /// Only entries in which all of these words stand, whatever their case and accents, each inside
  /// of a longer word as well: in their line as a list shows it (line_of), or in a text that it
  /// does not show (notes, contacts, part numbers of a schedule). Empty: all. There is no index:
  /// every entry is read until `newest` of them are found.
  std::string words{};
  std::size_t newest = 40;  ///< at most so many, the newest; listed oldest first
};
/// Refuses with `unclear` words that have nothing in them to look for.
[[nodiscard]] Result<std::vector<EntryView>> entries(const Book& book, const EntryFilter& filter);
[[nodiscard]] Result<EntryView> entry(const Book& book, EntryId id);

struct LevelRow {
  LevelAfter level;            ///< one row for each dimension it holds; an empty place has one row of its size's dimension
  std::vector<std::string> takes{};
  std::string stream{};
  std::vector<std::pair<std::string, std::int64_t>> parts{};  ///< product or class, best value; largest first
  std::int64_t filling = 0;    ///< waste places: the running number of the filling, 0 before the first
  std::optional<Day> since{};  ///< when something first went in since it was last empty
  std::optional<Day> last_moved{};
  /// Waste of another stream in it: with what, by which entry, why, and what the rules make of it.
  std::string mixed{};
  bool sealed = false;
  bool retired = false;
  bool bulk = false;  ///< a stock place in which `parts` are one mix; else they stand beside each other
  /// The size of a place that holds nothing in that kind of quantity: a drum of 200 L with granules
  /// by weight. How full it is cannot be told; it has one row all the same.
  std::optional<std::int64_t> other_size{};
  Dimension other_dimension = Dimension::volume;  ///< of other_size
};
[[nodiscard]] Result<std::vector<LevelRow>> levels(const Book& book, AsOf as_of = {}, bool with_circuits = false);

struct CarView {
  CarId id;
  std::string plate, vin, make, model, engine, keeper;
  int year = 0;
  bool scrapped = false;
  bool plate_erased = false;   ///< `plate` is "car:6" then
  std::vector<std::string> earlier_plates{};
  struct CircuitView {
    std::string name, takes, specification;
    std::optional<Amount> capacity;
  };
  std::vector<CircuitView> circuits{};
  std::optional<Day> odometer_day{};
  std::int64_t odometer_metres = 0;  ///< latest reading; only with odometer_day
};
[[nodiscard]] Result<CarView> car(const Book& book, CarId id, AsOf as_of = {});
[[nodiscard]] Result<std::vector<CarView>> cars(const Book& book);

/// One circuit in one job: what left it and where that is now, what entered it. In - out = change; every litre counts once.
struct JobAccount {
  std::string circuit;
  Dimension dimension = Dimension::volume;
  struct Figure { std::int64_t low = 0, best = 0, high = 0; };
  Figure left;         ///< out of the circuit
  Figure put_back;     ///< of what left: returned to a circuit
  Figure kept;         ///< of what left: filtered and kept (reuse)
  Figure undecided;    ///< of what left: in pans
  Figure to_waste;     ///< of what left: in waste places
  Figure shipped;      ///< of what left: picked up
  Figure gone;         ///< of what left: to the ground
  Figure missing;      ///< of what left: unseen, booked when the job was closed
  Figure lost;         ///< gone and missing together
  Figure difference;   ///< of what left: settled by gauges, used up
  Figure entered_back; ///< into the circuit out of reuse places and pans
  Figure entered_new;  ///< into the circuit out of stock or from a supplier
  Figure change;       ///< entered - left: below zero the circuit is short, above zero it is over
  bool was_low = false;  ///< of what it is over, the closing says that it was low when the car came
  std::vector<std::string> undecided_in{};  ///< "pan-1"
};
struct JobView {
  JobId id;
  std::int64_t number = 0;
  std::string ref;            ///< "17" or "17@office"
  CarId car;
  std::string plate;
  Day opened;
  std::optional<Day> closed{};
  std::string complaint, result;
  std::optional<std::int64_t> odometer_metres{};
  std::vector<EntryView> lines{};   ///< everything written on it, in effect order
  std::vector<JobAccount> accounts{};
  std::vector<Recheck> rechecks{};
  std::vector<std::string> people{};  ///< who wrote on it, in the order in which they first did
};
[[nodiscard]] Result<JobView> job(const Book& book, JobId id, AsOf as_of = {});
struct JobLine { std::int64_t number; std::string ref, plate, complaint; Day opened; std::optional<Day> closed; };
[[nodiscard]] Result<std::vector<JobLine>> jobs(const Book& book, bool open_only, AsOf as_of = {});

/// `last CAR`: the newest job and, for each circuit or the one asked for, the last time it was touched.
struct LastDone {
  CarView car;
  std::optional<JobView> last_job{};  ///< the newest job with anything on it
  struct Touched {
    std::string circuit;
    Day day;
    std::string job;
    std::string by;
    std::optional<std::int64_t> odometer_metres{};
    std::int64_t drained = 0, put_back = 0, new_in = 0, lost = 0;  ///< in that job (or that day), best values
    std::int64_t missing = 0;  ///< of what was lost: left unseen, the rest went to the ground
    Dimension dimension = Dimension::volume;
    /// Products that went in, or classes where no product is known; "coolant (put back)" of what came
    /// out of a pan or a reuse place. Of a bulk tank all that was mixed in it.
    std::vector<std::string> fluids_in{};
    std::vector<EntryView> lines{};        ///< the movements themselves
  };
  std::vector<Touched> circuits{};
  std::vector<EntryView> parts{};    ///< parts of the newest job (or of the job that touched the circuit asked for)
  std::vector<EntryView> codes{};    ///< fault codes of that job
  struct Watch {
    Recheck recheck;
    Day closed;        ///< the day its job was closed
    std::string job;
    std::optional<std::int64_t> odometer_metres{};  ///< the last reading at that time
    std::optional<std::int64_t> due_metres{};       ///< metres on the instrument of now when it is due; below nothing: it was due on the one before. None: no distance was asked for, or no reading is known
    std::optional<Day> put_off_until{};             ///< while it is put off (`due put-off`)
    std::string name{};   ///< "17/2": what `recheck` settles it by
  };
  std::vector<Watch> watch{};        ///< what was left to watch by this job and those before it, newest first
};
/// `movements`: also the movements themselves, in Touched::lines and last_job->lines; without them about half the work.
[[nodiscard]] Result<LastDone> last(const Book& book, CarId car, std::string_view circuit = {}, AsOf as_of = {}, bool movements = true);
[[nodiscard]] Result<std::vector<EntryView>> history(const Book& book, CarId car, AsOf as_of = {}, std::size_t newest = 100000);

/// One part as it was fitted, and what the book knows of where it is now.
struct FittedRow {
  std::string plate;
  CarId car;
  std::string part, lot, description;
  std::string quantity;  ///< as fitted: "4 pcs"
  std::string job;
  Day day;
  EntryRef entry;
  std::optional<std::int64_t> odometer_metres;
  /// Of what was fitted, what came off: by `work` or `fit` with what they take out.
  struct Out {
    EntryRef entry;  ///< that says so
    Day day;
    std::string job;
    std::string quantity;  ///< "1 pc"
  };
  std::vector<Out> came_off{};
  Amount left{};  ///< of what was fitted, what nobody has written to be out
  /// in: nothing says that it came off. unsure: the same number was fitted to the car again in a
  /// later job, and nothing says whether this one came off for it. out: all of it was taken out.
  enum class State : std::uint8_t { in, unsure, out } state = State::in;
  std::optional<EntryRef> again{};  ///< with unsure: the first entry that fitted it again
  std::optional<Day> again_on{};
  bool scrapped = false;            ///< the car is
};
[[nodiscard]] std::string_view name_of(FittedRow::State state) noexcept;
/// Every fitting of a part's number, in effect order. What the book was not told it does not know:
/// a part that was taken out elsewhere, or replaced by one of another number, stands as in.
[[nodiscard]] Result<std::vector<FittedRow>> fitted(const Book& book, std::string_view part, std::string_view lot = {}, AsOf as_of = {});

/// A sum of movements: best = measured + estimated, exactly; low and high are worst case. Of what is on hand (opening, closing) the two
/// parts say nothing: a gauge or a pick-up of everything settles bounds, not which litre was once measured.
struct Sum {
  std::int64_t low = 0, best = 0, high = 0;
  std::int64_t measured = 0, estimated = 0;
};
/// One fluid over a span of days, everything in the shop's own places (circuits of cars are outside the door).
/// opening + drained + received + brought_in + gauge = closing + put_back + new_used + lost_here + recycled + disposed + shipped_other + used_up.
struct TotalsRow {
  std::string fluid;    ///< class, or product when asked for
  std::string of_class;
  Dimension dimension = Dimension::volume;
  Sum opening;
  Sum drained;        ///< from circuits into the shop's places
  Sum received;       ///< from suppliers into stock
  Sum brought_in;     ///< shop waste that belongs to no job, old parts from cars
  Sum gauge;          ///< found by gauges: more (+) or less (-)
  Sum put_back;       ///< from reuse places and pans into circuits
  Sum new_used;       ///< from stock into circuits
  Sum lost_here;      ///< from the shop's places to the ground
  Sum recycled, disposed, shipped_other;
  Sum used_up;
  Sum closing;
  // Information beside the balance:
  Sum lost_from_cars;  ///< out of circuits to the ground and missing, together
  Sum ground_from_cars;   ///< of that: straight to the ground
  Sum missing_from_cars;  ///< of that: left unseen, booked when a job was closed
  Sum direct_new;      ///< from a supplier straight into a circuit
  Sum filtered;        ///< from pans into reuse places
  Sum to_waste;        ///< from anywhere into waste places
  std::int64_t closing_undecided = 0, closing_kept = 0, closing_stock = 0, closing_waste = 0;  ///< parts of closing
};
struct Totals {
  Day from, until;           ///< both included
  std::vector<TotalsRow> rows;
  std::string seal;
  std::string site;
  std::string caution;       ///< what is said with them wherever they are shown
};
[[nodiscard]] Result<Totals> totals(const Book& book, Day from, Day until, bool by_product = false, AsOf as_of = {});

/// What `prove` found.
struct Finding {
  std::string what;             ///< one sentence
  std::optional<EntryRef> entry{};
  std::string instead;          ///< what to do
};
/// A month that was closed.
struct ProvedMonth {
  Month month;
  EntryRef entry;                     ///< that closed it
  Day closed_on;
  std::int64_t differences = 0;       ///< figures that are others now
  std::vector<EntryRef> causes{};     ///< entries that came after the closing and reach into the month
  bool judged_otherwise = false;      ///< its category, counted weight or rules are others now
};
struct Proof {
  std::int64_t entries = 0;
  std::int64_t good = 0;              ///< entries before the first bad one
  std::vector<std::string> seals{};   ///< one for each installation
  std::vector<std::string> good_seals{};  ///< of each chain that breaks: its last good entry
  std::vector<Finding> findings{};    ///< the first ones; none: sound
  std::int64_t found = 0;             ///< how many there are in all
  /// Entries that hold and say what no entry of today can (an older version took them in): the
  /// first ones, each with the correction that puts it right. The log is sound with them.
  std::vector<Finding> unfit{};
  std::int64_t unfit_found = 0;       ///< how many there are in all
  std::int64_t unfit_open = 0;        ///< of those, all but openings and erasures, which nobody corrects
  std::vector<ProvedMonth> months{};  ///< the closed ones
  std::int64_t papers = 0;            ///< papers on file that are there and unchanged
  std::int64_t papers_elsewhere = 0;  ///< of other installations, that lie beside their own books
  /// What has to be settled after books were brought together (`conflicts` lists it), levels that do
  /// not fit among it. The log is sound with them. Not looked for where something was found.
  std::int64_t conflicts = 0;
  bool seal_checked = false;
  bool tables_compared = false;
};
/// `seal`: TAG:NUMBER:HEX from a printed page, or empty.
[[nodiscard]] Result<Proof> prove(const Book& book, std::string_view seal = {}, const Progress& progress = {});

}  // namespace baybook
BAYBOOK_API_END
