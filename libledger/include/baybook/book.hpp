// The book: one SQLite file with the log and everything derived from it.
//
// A Book belongs to one thread. Nothing here reads the clock, the environment or a random device: they come in as arguments.
#pragma once

#include <baybook/calendar.hpp>
#include <baybook/clock.hpp>
#include <baybook/drafts.hpp>
#include <baybook/export.hpp>
#include <baybook/ids.hpp>
#include <baybook/quantity.hpp>
#include <baybook/result.hpp>

#include <cstdint>
#include <functional>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// Fills `size` bytes with randomness fit for salts and identities, and says whether it could.
/// Salts that can be guessed give private texts away, so nothing is written with what is none:
/// callback_failed when it says false or throws, when a few tries give nothing but zeros or bytes
/// that repeat themselves, or when there is none where randomness is needed. Reading needs none.
using Random = std::function<bool(std::uint8_t* bytes, std::size_t size)>;

/// How an installation and its book begin. None of it can be changed by editing; all of it is in entry 1.
struct Settings {
  std::string site;              ///< "Saltmarsh Motor Works"
  std::string tag;               ///< short name of this installation, "bay"
  std::string zone = "UTC";      ///< IANA name
  Units units{};
  DateOrder date_order = DateOrder::none;
  std::string rules{};           ///< one of rule_set_names(), or none; holds until the book chooses another (ChooseRules)
};

/// An entry as people name it: `17`, or `17@office` for another installation's.
struct EntryRef {
  EntryId id;
  std::string tag;
  [[nodiscard]] std::int64_t number() const { return id.number(); }
};

/// Who and when. Without `on` it happened today in the zone of the site.
struct Stamp {
  Instant now;
  PersonId by{};              ///< none: not said
  std::optional<Day> on{};
  std::optional<Minute> at{};           ///< time of day on the wall of the site; without it an entry of today carries the time it is written
  std::optional<std::int16_t> at_offset{};  ///< minutes from UTC, to tell the two readings of an hour that comes twice
  std::string once{};         ///< once-key; the same key again changes nothing
  bool dry_run = false;       ///< all checks, nothing written
  bool clock_is_right = false;  ///< somebody answered for `now`: an erasure is judged by it
                                ///< although it leapt ahead (clock_against)
};

/// A place after an entry.
struct LevelAfter {
  PlaceId place;
  std::string name;       ///< "pan-1", "MARSH-07 coolant", "ground"
  Role role = Role::hold_catch;
  Dimension dimension = Dimension::volume;
  std::int64_t low = 0, best = 0, high = 0;
  std::optional<std::int64_t> size{};
};

/// One line for the person who handles it.
struct Caution {
  std::string text;
  bool again = false;  ///< one of the places handled this class earlier on the same day: it was said then
};

/// A closed month that an entry reaches into (returns.hpp, closed_month).
struct ClosedReach {
  Month month;
  EntryRef entry;        ///< that closed it
  bool changes = false;  ///< its figures, or what it is judged to be, are others with this; else
                         ///< the entry, or what it corrects, only lies in it
  bool amended = false;  ///< its figures are not those of the closing: its print says so
};

struct Receipt {
  EntryRef entry;
  std::string digest;                 ///< 64 hex
  std::string body;                   ///< the canonical body, as hashed
  std::string summary;                ///< "drained 5.4 L coolant into pan-1"
  std::int64_t job_number = 0;        ///< of the job opened or written to
  std::vector<LevelAfter> levels{};   ///< each place whose level changed, ends of the world left out
  std::vector<std::string> warnings{};
  std::vector<Caution> cautions{};
  std::vector<ClosedReach> closed_months{};  ///< by month; told in words among the warnings
  std::string was{}, now{};           ///< corrections: what the corrected entry said and says
  /// Of a correction or a choice: why nothing that it is about has changed; empty when it has.
  std::string no_effect{};
  bool repeated = false;              ///< the once-key was known: this is the first entry
  bool dry_run = false;
  ClockCheck clock{};  ///< how the clock stood; what is to be said of it is among the warnings
  bool unfinished = false;            ///< erasures: on record, but bytes of the texts may still be in a file (finish_erasures)
};

/// Version of the SQLite that the library runs on, "3.40.1".
[[nodiscard]] std::string engine_version();

enum class Access : std::uint8_t { read, write };

/// How the file of a new book is made.
struct Making {
  bool group = false;          ///< mode 0660 instead of 0600: everybody of the group may write
  bool network_share = false;  ///< on a network share too, where locks cannot be relied on
};

/// What a backup carries: when it was made and how far it goes.
struct BackupMark {
  Instant made{};
  std::string seal;  ///< of the installation whose book it is a copy of
};

/// How much of a name has to be there. What one is about to write is asked for exactly: a slip is
/// never written to the car next to it.
enum class Match : std::uint8_t {
  exact,  ///< all of it
  part,   ///< a part of it too, if only one fits; for somebody who sees which one it was
  near,   ///< or one slip away, if only one is
};

/// Called now and then while something takes long: what is being done, and how far it is. `of` 0: it is not known how much there is.
/// What it throws ends what is being done (callback_failed).
using Progress = std::function<void(std::string_view doing, std::int64_t done, std::int64_t of)>;

class Book {
 public:
  /// Makes a new book (file mode 0600) with entry 1. Refuses: unclear and not_text (site, tag),
  /// not_found (zone, rules), not_allowed (settings that are none, a year in which no clock can
  /// stand, a name that belongs to another book), already_there (the file exists), unwritable,
  /// callback_failed (`random`); then no file is made.
  [[nodiscard]] static Result<Book> start(const std::string& path, const Settings& settings, Instant now, const Random& random, const Making& making = {});
  /// Opens a book. Refuses: unreadable (no file, not a book, newer, other tables than a book has),
  /// unwritable, unsound (a damaged file), busy, not_allowed (writing in a backup).
  [[nodiscard]] static Result<Book> open(const std::string& path, Access access, const Random& random);

  Book(Book&&) noexcept;
  Book& operator=(Book&&) noexcept;
  ~Book();

  [[nodiscard]] const Settings& settings() const;
  [[nodiscard]] const std::string& path() const;
  /// Whether this file is a backup: it is read like any book and never written in.
  [[nodiscard]] const std::optional<BackupMark>& backup() const;
  /// The local day of an instant at the site. Refuses: not_allowed (a year in which no clock can
  /// stand: clock.hpp), not_found (zone).
  [[nodiscard]] Result<Day> today(Instant now) const;
  /// TAG:NUMBER:first 16 hex of the digest of the last entry; "?" when it cannot be read, as of the names below.
  [[nodiscard]] std::string seal() const;

  /// The one way to write: checks everything, writes one entry, folds it into every derived table, commits; or leaves nothing.
  /// Refuses: wrong_usage (a draft that names nothing where it must, or says what no such entry
  /// keeps), not_found (an id behind which there is nothing, something else than a thing of that
  /// kind, or what was withdrawn), not_allowed (a figure that no typing could give: below nothing,
  /// out of its range or its bounds, another than its `typed` says; a rule of the book), and what
  /// each rule refuses with.
  [[nodiscard]] Result<Receipt> append(const Draft& draft, const Stamp& stamp);

  // Finding things by what people call them, all of the name unless `how` asks for less. Each refuses with not_found (with near
  // names), ambiguous (with the candidates), and unclear or not_text where what was typed has no name in it.
  [[nodiscard]] Result<PlaceId> find_place(std::string_view code) const;
  [[nodiscard]] Result<FluidId> find_fluid(std::string_view code_or_class) const;
  [[nodiscard]] Result<PersonId> find_person(std::string_view name) const;
  /// A plate now or once worn, or a VIN, whole; `car:6`, `car:6@office`: by the number of its
  /// entry. With Match::part also a fragment of a plate (2 or more) or the tail of a VIN (4 or
  /// more), with Match::near also one slip away from a plate, if only one car is.
  [[nodiscard]] Result<CarId> find_car(std::string_view text, Match how = Match::exact) const;
  /// `17`, `17@office`, or a car with exactly one open job, found as find_car finds it. A bare
  /// number is a job of this installation, or of one that it goes on from; with Match::part, if
  /// none of them gave that number, another's.
  [[nodiscard]] Result<JobId> find_job(std::string_view text, Match how = Match::exact) const;
  /// The job that was written to under a once-key, so that a retry that names it by its car finds it after it was closed; none else.
  [[nodiscard]] JobId job_under_once(std::string_view key) const;
  /// What the erasure that was written under a once-key is about: its name may be erased with it.
  [[nodiscard]] EntryId erased_under_once(std::string_view key) const;
  /// `42`, `42@office`, `last`.
  [[nodiscard]] Result<EntryId> find_entry(std::string_view text) const;
  [[nodiscard]] Result<FirmId> find_firm(std::string_view code_or_name) const;
  [[nodiscard]] Result<DeadlineId> find_deadline(std::string_view code) const;
  /// A pick-up by the number of its paper, or by its entry.
  [[nodiscard]] Result<EntryId> find_pickup(std::string_view document_or_entry) const;
  /// A circuit of the job's car.
  [[nodiscard]] Result<PlaceId> find_circuit_of(JobId job, std::string_view circuit) const;
  [[nodiscard]] Result<CarId> car_of_job(JobId job) const;
  [[nodiscard]] std::string name_of_place(PlaceId place) const;
  [[nodiscard]] std::string plate_of(CarId car) const;
  /// Names for completion: places, fluids, people, plates of cars that are not scrapped, open jobs, firms, areas, deadlines, papers of
  /// pick-ups that are not confirmed, rechecks to be looked at ("17/2"), "tasks CAR": what schedules ask for on that car.
  [[nodiscard]] std::vector<std::string> names(std::string_view of_what) const;

  /// Drops every derived table and folds the log anew.
  [[nodiscard]] Result<Done> rebuild();

  struct Inside;
  [[nodiscard]] Inside& inside() const { return *inside_; }

 private:
  explicit Book(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace baybook
BAYBOOK_API_END
