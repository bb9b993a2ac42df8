// What can be written into a book: one struct for each kind of entry, filled from what a person typed.
//
// Texts marked (private) never reach a hashed body: the body holds a salted digest, the text lies beside the log.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/export.hpp>
#include <baybook/ids.hpp>
#include <baybook/places.hpp>
#include <baybook/quantity.hpp>

#include <optional>
#include <string>
#include <variant>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

struct NewPlace {
  std::string code;                ///< "drum-coolant"
  Role role = Role::hold_catch;    ///< catch, reuse, stock or waste
  std::optional<Amount> size{};    ///< none: not limited by the book
  std::vector<std::string> takes{};  ///< classes; empty: the stream's, else anything of one group at a time
  std::string stream{};            ///< waste places only: "waste-coolant"; empty: the first class taken
  std::string area{};              ///< where it stands: "yard"; what `inspect` looks at
  bool satellite = false;          ///< waste places: at the point of generation, in the sense of the rules; needs an area
  /// Stock places: one tank in which what comes in mixes. Else it is a shelf: cans stand beside each
  /// other, and each product is taken by itself.
  bool bulk = false;
};
struct PlaceMark {  ///< what happens to the container itself
  /// open: an empty container stands there again, or a retired one is in use again. bulk, shelf: a
  /// stock place is from that moment on a tank in which things mix, or no longer is.
  enum class What : std::uint8_t { seal, open, retire, bulk, shelf } what = What::seal;
  PlaceId place;
  std::string note{};  ///< (private)
};
struct NewFluid {
  std::string code;     ///< "oat-violet"
  std::string of_class; ///< "coolant"
  std::string product;  ///< maker's name for it
  Dimension dimension = Dimension::volume;
  std::optional<Density> density{};
  std::string density_source{};  ///< needed with density
  /// What it is made of, as far as it is known (a data sheet): a spill is compared by it. All that is
  /// reportable in it; what is not named is taken not to be in it.
  std::vector<MassShare> shares{};
};
struct NewPerson {
  std::string name;       ///< (private)
  std::string contact{};  ///< (private)
  std::string certificate{};  ///< (private) of the person, for refrigerant work: number and who gave it
};
struct CircuitDraft {
  std::string circuit;              ///< a name of circuits()
  std::optional<Amount> capacity{};
  std::string specification{};      ///< as the car's maker words it; not private
};
struct NewCar {
  std::string plate;   ///< (private)
  std::string vin{};   ///< (private)
  std::string make{}, model{}, engine{};
  int year = 0;        ///< 0: not said
  std::vector<CircuitDraft> circuits{};
  std::string keeper{}, keeper_contact{};  ///< (private)
};
struct CarChange {  ///< only what is set changes
  CarId car;
  std::optional<std::string> plate{}, vin{}, keeper{}, keeper_contact{};  ///< (private)
  std::vector<CircuitDraft> circuits{};
  bool scrapped = false;
  std::string note{};  ///< (private)
};
/// How a reading stands to the one before it. A counter goes back for one of three reasons, and each
/// has its own arithmetic; which it was is said, never guessed (docs/what-is-due.md).
enum class Dial : std::uint8_t {
  goes_on,      ///< it shows no less than before
  replaced,     ///< the first reading of another instrument: distance goes on from it
  rolled_over,  ///< it came to its last figure and began again at nothing: what it counts to is added
  misread,      ///< the reading before was misread: it is taken out in the same step
};
struct OpenJob {
  CarId car;
  std::optional<Distance> odometer{};
  std::string odometer_reason{};  ///< (private) what is told beside a `dial` other than goes_on
  std::string complaint{};        ///< (private)
  Dial dial = Dial::goes_on;      ///< of the odometer
};
struct Recheck {
  std::string what;                      ///< (private)
  std::optional<int> after_days{};
  std::optional<Distance> after_distance{};
};
struct CloseJob {
  JobId job;
  std::string result{};             ///< (private)
  std::vector<Recheck> rechecks{};
  /// What went in beyond what came out, where that is more than may be off (docs/invariants.md,
  /// F7): it had left unseen and is booked as missing, with its bounds; or the circuit was low, or
  /// empty, when it came. One of the two, for all circuits of which it can be true.
  bool book_missing = false;
  bool was_low = false;
  std::string as_is{};  ///< (private) or, and of what goes out short: why it may stay as it is
};
struct Odometer {
  CarId car;
  JobId job{};
  Distance reading;
  std::string reason{};  ///< (private) what is told beside a `dial` other than goes_on
  Dial dial = Dial::goes_on;
};
struct CodeNote {
  enum class What : std::uint8_t { read, cleared, returned } what = What::read;
  JobId job;
  std::string code;    ///< "P0217"
  std::string note{};  ///< (private)
};
/// A part comes off again.
struct TakenOut {
  EntryId fit;                     ///< the entry that fitted it, to the same car
  std::optional<Amount> amount{};  ///< none: all of it that is still in
};
struct Work {
  JobId job;
  std::string text;    ///< (private)
  std::string kind{};  ///< what sort of work it is, a code of the shop: "cooling"; what came back is counted by it
  std::vector<TakenOut> takes_out{};
};
struct Fit {
  JobId job;
  std::string part;           ///< maker's number
  std::string description{};  ///< (private)
  std::string lot{};
  Amount quantity;
  int warranty_months = 0;
  std::optional<Distance> warranty_distance{};
  enum class Old : std::uint8_t { not_said, waste, core, customer, none } old = Old::not_said;
  PlaceId old_into{};            ///< with Old::waste
  std::optional<Amount> old_amount{};  ///< with Old::waste; none: the quantity fitted
  std::string old_class{};       ///< with Old::waste: a class, "old-parts" when empty
  std::vector<TakenOut> takes_out{};  ///< what came off for it
};
struct TorqueNote {
  JobId job;
  std::string fastener;  ///< (private)
  Torque torque;
};

enum class MoveVerb : std::uint8_t { drain, filter, fill, spill, decant, receive, discard, pickup };
[[nodiscard]] std::string_view name_of(MoveVerb verb) noexcept;

struct MoveLine {
  PlaceId from;
  PlaceId to;
  std::optional<Amount> amount{};  ///< none: everything that is there (best value), typed "all"
  /// From the supplier what it is, needed. From a shelf (a stock place that is no bulk tank) which of
  /// the products there, needed when several could be meant; a class stands for the one product of it
  /// that is there. From anywhere else it is not said: what leaves a mix leaves in proportion.
  FluidId fluid{};
  Fate fate = Fate::none;          ///< pick-ups
  std::string treatment{};         ///< pick-ups: the rules' code for it, "R9", "H061"
  std::string lot{};               ///< receive
  std::optional<Amount> measured{};  ///< pick-ups: what the carrier measured, beside what the book says left
};
/// Where a spill got to.
enum class Reached : std::uint8_t { not_said, floor, drain, soil, water };
struct Movement {
  MoveVerb verb = MoveVerb::drain;
  JobId job{};                 ///< needed for drain and fill
  std::vector<MoveLine> lines;
  std::string note{};          ///< (private) the filter it went through, where the spill went
  std::string carrier{}, receiver{};  ///< (private) pick-ups
  std::string document{};      ///< pick-ups, deliveries: number of the paper; one pick-up, one number
  FirmId carrier_firm{}, receiver_firm{};  ///< pick-ups: firms of the book, whose numbers the register prints
  std::string transport{};                 ///< pick-ups: the mode of transport, "road"
  Reached reached = Reached::not_said;     ///< spills
  std::string cleaned{};       ///< (private) spills: how it was cleaned up
  std::string machine{};       ///< refrigerant: the machine that recovered or charged it
  std::string mixing_reason{}; ///< (private) why two groups may meet in one place
  std::vector<MassShare> shares{};  ///< spills: what was in it, before what the product's own entry says
  bool own_vehicle = false;     ///< pick-ups: the shop carried the load itself
  std::optional<Distance> haul{};  ///< pick-ups: how far it went, before what the receiver's entry says
};
/// What a receiver of waste is recognised as, where a rule asks for it (40 CFR 279.24: own loads).
enum class ReceivesAs : std::uint8_t { not_said, collection_centre, aggregation_point };
struct Gauge {
  PlaceId place;
  std::optional<Amount> level{};        ///< read off, or
  std::optional<Amount> gross{}, tare{};  ///< weighed, in mass; a volume place needs a density as well
  std::optional<Density> density{};
  std::string density_source{};
  /// What it is, when the book thinks the place is empty. Of a shelf: the product that was looked at,
  /// needed when several stand there.
  FluidId fluid{};
  std::string reason{};                 ///< (private)
};

/// Changes to the details of an earlier entry; only what is set changes, and only where the entry has such a field.
struct Patch {
  std::optional<Amount> amount{};
  std::optional<PlaceId> from{}, into{};
  std::optional<FluidId> fluid{};  ///< of a delivery, of what was taken from a shelf, of a gauge
  std::optional<Distance> odometer{};
  std::optional<std::string> text{};  ///< (private) the entry's main text: complaint, work, result, note, reason, name, plate
  std::optional<std::string> code{}, part{}, lot{}, document{};
  std::optional<Torque> torque{};
  std::optional<std::vector<TakenOut>> takes_out{};  ///< of work, fit: all that came off
  int line = 1;  ///< which line of a movement
  /// Of a reading, with another figure or without: replaced, rolled_over, or that it goes on.
  std::optional<Dial> dial{};
  bool no_odometer = false;  ///< of a job's opening: it says no reading
  std::optional<std::vector<MassShare>> shares{};  ///< of a product, of a spill: all of them
  std::optional<Distance> haul{};              ///< of a firm, of a pick-up
  // Of a firm:
  std::optional<ReceivesAs> receives_as{};
  std::optional<std::vector<std::string>> streams{};
  std::optional<Day> registered{};
};
struct Correction {
  EntryId target;
  bool withdraw = false;
  Patch patch{};                ///< when not withdrawn
  std::string why;              ///< (private) needed
  bool with_dependants = false; ///< withdraw what stands on it as well
};

/// A carrier or a receiver of waste.
struct NewFirm {
  std::string code;           ///< "quill-tarn"
  std::string name;           ///< (private)
  std::string contact{};      ///< (private)
  bool carries = false, receives = false;
  struct Number {
    std::string what;         ///< "federal identification number", "permit"
    std::string number;
  };
  std::vector<Number> numbers{};
  std::optional<Distance> haul{};          ///< how far waste goes to it, by road
  ReceivesAs receives_as = ReceivesAs::not_said;
  std::vector<std::string> streams{};      ///< whose waste goes to it, where none has gone anywhere yet: "coolant"
  std::optional<Day> registered{};         ///< of a carrier: the day its registration was made or renewed
};
/// From a day on the book goes by another rule set.
struct ChooseRules {
  std::string set;            ///< one of rule_set_names()
  Day from;
  std::string file{};         ///< the shop's own file: the whole text, kept in the log, so that an old month can be judged again
  std::string file_name{};
};
/// The signed copy of a pick-up's paper came back.
struct ConfirmPickup {
  EntryId pickup;
  Day signed_on;              ///< when the receiver signed
  struct Measured {
    int line = 1;
    Amount amount;
  };
  std::vector<Measured> measured{};
  std::string note{};         ///< (private)
};
/// Somebody looked at an area with containers.
struct Inspection {
  std::string area;           ///< "yard"
  bool faults = false;        ///< something has to be put right
  std::string findings{};     ///< (private)
  std::optional<Day> next{};  ///< none: by the rules
};
/// Why a stream, or one place's content, is or is not hazardous.
struct Determination {
  std::string stream;
  PlaceId place{};            ///< none: every batch of the stream
  bool hazardous = true;
  enum class Basis : std::uint8_t { test, knowledge } basis = Basis::test;
  std::string reason{};       ///< (private) needed: what the result or the knowledge is
  std::string laboratory{};   ///< (private)
  std::vector<std::string> codes{};  ///< waste codes: "D008", "F005", "13 02 05*"
  /// A figure of the analysis, compared with the rules: "lead" is "5.0 mg/L"; "<0.05 mg/L" where the
  /// laboratory found less than that.
  struct Found {
    std::string what;
    std::string is;
  };
  std::vector<Found> found{};
  /// Of what the rules leave out of the count: why the exclusion does not cover it.
  enum class Ground : std::uint8_t {
    not_said,
    mixed,       ///< it was mixed with hazardous waste
    halogens,    ///< used oil: the presumption of its halogens is not rebutted
    disposal,    ///< it is to be disposed of, not recycled
    conditions,  ///< the conditions of the exclusion are not kept
  } ground = Ground::not_said;
  bool rebuts = false;  ///< `reason` rebuts the presumption that the halogens of used oil give rise to
};
/// A paper kept as a file beside the book: its digest is in the log.
struct Paper {
  EntryId about;
  std::string file;           ///< name in the folder of papers
  std::string sha256;         ///< 64 hex
  std::int64_t bytes = 0;
  std::string title{};        ///< (private)
};
/// A renewal or report by a date.
struct Deadline {
  std::string code;           ///< "carrier-registration"
  Day due;
  int every_months = 0;       ///< 0: once
  std::string section{};      ///< of the rule that asks for it
  std::string what{};         ///< (private)
};
struct DeadlineDone {
  DeadlineId deadline;
  std::optional<Day> next{};  ///< none: by its months, or settled for good
  std::string note{};         ///< (private)
};
/// A report or a notice was filed, or a return was received. Its paper is kept with a Paper about
/// this entry.
struct Filing {
  std::string what;           ///< a code of the shop's own, or one that the limits look for:
                              ///< biennial-report, re-notification, exception-report, event-notice,
                              ///< return-received, carrier-record, receiver-record
  std::string period{};       ///< "2025" or "2026-q1"; which of them, what is filed says
  Day on;                     ///< when it was filed, or received; never after the day of the entry
  EntryId about{};            ///< the pick-up of an exception report, the event of its notice, a firm
  /// How: where the rules name one way alone, another one settles nothing.
  enum class Way : std::uint8_t { unsaid, electronic, paper } way = Way::unsaid;
  std::string note{};         ///< (private)
};
/// What holds for a span of days and changes what is asked of the shop.
struct Circumstance {
  /// event: waste out of the ordinary in containers of its own; hold: an enforcement action that is
  /// not resolved; extension: days that the authority granted one container; end: of an event or a
  /// hold.
  enum class What : std::uint8_t { event, hold, extension, end } what = What::event;
  Day day;                    ///< the first one; of an extension when it was granted; of an end the last
  bool planned = false;       ///< of an event; it may lie ahead
  bool petitioned = false;    ///< of an event: one more in its year, which the authority allowed
  std::vector<PlaceId> containers{};  ///< of an event all that are its own; of an extension the one
  int days = 0;               ///< of an extension
  EntryId about{};            ///< of an end: the entry of what ends
  std::string note{};         ///< (private)
};
/// The figures of a month are frozen.
struct CloseMonth {
  Month month;
  std::string note{};         ///< (private)
};

/// How often a task falls due on a car: at the first of its limits that is reached, counted from when it was last done.
struct Interval {
  std::string task;            ///< a code: "engine-oil"
  CarId car{};                 ///< for one car; or
  std::string make{}, model{}, engine{};  ///< for the cars of a model (engine: only those with it); or
  int from_year = 0, until_year = 0;      ///< of the model's years; 0: no end
  std::string specification{};            ///< for the cars whose `circuit` asks for it
  std::string circuit{};       ///< done in a job that drained and filled this circuit
  std::vector<std::string> parts{};       ///< done in a job that fitted one of these numbers
  int months = 0;              ///< 0: no limit by time
  std::optional<Distance> distance{};
  int hours = 0;               ///< of the engine; 0: no limit by hours
  int filtered_percent = 0;    ///< of the interval, when filtered fluid was put back; 0: kFilteredPercent
  std::string source;          ///< where the figures are from, needed: "workshop booklet, page 12"
  std::string at{};  ///< where it stands in its file, "tern.toml:12:1: ", told before what is
                     ///< refused of it; not kept
};
/// When filtered fluid was put back its interval is that much of the one for new fluid. Common practice, no source.
inline constexpr int kFilteredPercent = 50;
/// A filtered batch is looked at again when it has been kept for so many days. Common practice, no source.
inline constexpr int kReuseDays = 30;
/// A schedule: the intervals of a file (a later file of the same name takes its place), or one interval for one car.
struct Schedule {
  std::string name{};          ///< a code; empty: one interval for one car, set by hand
  std::vector<Interval> intervals;
  int reuse_days = 0;          ///< 0: kReuseDays
};
/// A task of a car was done, or when it was last done elsewhere.
struct TaskDone {
  CarId car;
  JobId job{};
  std::string task;
  std::optional<Day> when{};   ///< none: on the day of the entry
  std::optional<Distance> odometer{};  ///< none: the reading of that day
  std::optional<std::int64_t> engine_minutes{};
  std::string note{};          ///< (private)
};
/// What is due is put off until a day: a task of a car, or a recheck.
struct PutOff {
  CarId car{};
  std::string task{};
  EntryId closing{};           ///< with `recheck`: the closing that set it
  int recheck = 0;
  Day until;
  std::string why;             ///< (private) needed
};
/// What a recheck found.
struct RecheckDone {
  EntryId closing;             ///< the closing of the job that set it
  int number = 1;
  bool good = true;            ///< the fault is gone
  JobId job{};                 ///< the job in which it was looked at, if any
  std::string note{};          ///< (private)
};
/// A reading of the engine's hour counter.
struct EngineHours {
  CarId car;
  JobId job{};
  std::int64_t minutes = 0;
  std::string typed{};         ///< "1250h"
  std::string reason{};        ///< (private) what is told beside a `dial` other than goes_on
  Dial dial = Dial::goes_on;
};

/// Two things that two installations named alike, after their books were brought together.
struct Settle {
  EntryId keep;                ///< the entry that made the one: a car, place, fluid, person or firm; or, to keep apart, any two entries that are listed as a conflict
  EntryId other;
  bool join = true;            ///< they are one and go by `keep` from now on; false: they are two, and are not listed again
  std::string why{};           ///< (private)
};

/// Of entries of which only one can be right (two corrections of one entry, a month closed twice,
/// one pick-up entered in two books) this one holds, and the others of its conflict do not.
struct Choice {
  EntryId holds;      ///< one of Conflict::choices
  std::string why{};  ///< (private)
};

/// Private texts are removed for good. One thing is named: a car, a person, a firm, an entry, or an erasure that was asked for earlier.
struct Erasure {
  CarId car{};
  bool keeper = false, plate = false, vin = false, texts = false;  ///< of a car: which; texts: of its entries and those of its jobs
  PersonId person{};
  FirmId firm{};
  EntryId entry{};
  std::string field{};         ///< of an entry: one of its private fields; empty: all of them
  EntryId asked{};             ///< what that entry asked for
  enum class Reason : std::uint8_t { request, expired } reason = Reason::request;  ///< a free text could hold the very name
  bool when_allowed = false;   ///< while a rule holds one of them: put on record that it was asked for, and erase nothing yet
};

/// A word of this book about another installation: what that one corrects, settles and erases of
/// entries that are not its own.
struct PeerWord {
  /// accept: from now on it takes effect, and so does what it wrote so far. agree: one entry of it
  /// does. met and forget are written by exchange_in and forget_installation alone: append refuses
  /// them.
  enum class What : std::uint8_t { met, accept, agree, forget } what = What::accept;
  EntryId entry;      ///< agree: the entry agreed to; forget: the first one thrown out; else the
                      ///< installation's entry 1
  std::string tag{};  ///< met: its tag as it stands in the file
};

using Draft = std::variant<NewPlace, PlaceMark, NewFluid, NewPerson, NewCar, CarChange, OpenJob,
                           CloseJob, Odometer, CodeNote, Work, Fit, TorqueNote, Movement, Gauge,
                           Correction, NewFirm, ChooseRules, ConfirmPickup, Inspection,
                           Determination, Paper, Deadline, DeadlineDone, CloseMonth, Schedule,
                           TaskDone, PutOff, RecheckDone, EngineHours, Settle, Erasure, PeerWord, Filing,
                           Circumstance, Choice>;

}  // namespace baybook
BAYBOOK_API_END
