// What an open book has in memory.
#pragma once

#include "book/chance.hpp"
#include "fluids/ledger.hpp"
#include "log/built.hpp"
#include "log/entry.hpp"
#include "store/db.hpp"

#include <baybook/book.hpp>
#include <baybook/text.hpp>

#include <functional>
#include <set>
#include <optional>

namespace baybook {

struct Book::Inside {
  Inside(const std::string& path, store::Db::Mode mode, book::Chance random_, const Making& making = {}) : db(path, mode, making), random(std::move(random_)), ledger(db) {}

  store::Db db;
  book::Chance random;
  fluids::Ledger ledger;
  log::Installations known;
  Settings settings;
  std::optional<BackupMark> backup;
  /// The span in which the zone's offset does not change, so that a short command need not load the zone database.
  std::optional<LocalDay> zone_window;
  bool zone_window_stored = false;
  /// append writes many entries in one transaction when this is set (see append_all).
  bool in_batch = false;
  /// Cars of which something was folded that can move what is due; a schedule moves that of all.
  std::set<CarId> due_moved;
  bool due_moved_for_all = false;
  /// A file is coming in: its entries are in the log and not folded yet.
  bool takes_in = false;
  /// Words that only tell what is being done (met, forget) may be written.
  bool tells_of_peers = false;
  /// Other things are one now than before, or other corrections hold: everything has to be folded
  /// anew.
  bool settlements_moved = false;
  /// The reading before was taken out as misread, in this same write: what it said of its instrument.
  std::optional<std::int64_t> after_misread{};
};

}  // namespace baybook

namespace baybook::book {

/// The private key under which once-keys and the zone window are kept beside the log.
[[nodiscard]] Result<LocalDay> local_now(Book::Inside& in, Instant now);
[[nodiscard]] TimeOfDay time_of(const LocalDay& local);
/// The time of an entry that happened on `on`: as typed, made clear by the zone of the site, or of now for an entry of today, or none.
[[nodiscard]] Result<std::optional<TimeOfDay>> time_of_entry(Book::Inside& in, const Stamp& stamp, Day on, const LocalDay& now);
void load(Book::Inside& in);

/// Runs `body` and turns what the layers throw into a refusal. What a function of the caller throws
/// comes as a Failure of its own (from_caller.hpp); what is left is the book's.
template <class T>
Result<T> guarded(const std::function<Result<T>()>& body) {
  try {
    return body();
  } catch (const store::Failure& f) {
    return Refusal{f.code, f.what(), "", f.instead, {}};
  } catch (const log::Malformed& m) {
    return Refusal{Code::unsound, "an entry cannot be read: " + visible(m.what()), "", "baybook prove", {}};
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const std::exception& e) {
    return Refusal{Code::unsound, "the book contradicts itself: " + visible(e.what()), "", "baybook prove", {}};
  }
}

/// Folds one entry that is new to the book into every derived table. The row is in the log already.
void fold_new(Book::Inside& in, const log::Fact& fact);
/// Folds corrections: what the targets said before is taken out, what they say now is put in.
void fold_correction(Book::Inside& in, const log::Fact& correction, const log::Value& details);
/// The entries that a correction is about: what it corrects, and what it withdraws with it.
[[nodiscard]] std::vector<EntryId> targets_of(const log::Value& details, std::int64_t origin);
/// What no correction changes, whoever writes one: an opening, an erasure, a word.
[[nodiscard]] bool never_corrected(store::Db& db, EntryId entry);
/// Which correction or choice holds for `target` now; writes the amended row.
void recompute_amended(store::Db& db, EntryId target);
/// Makes the rows of what is due anew for the cars that were touched since the last time. After Ledger::flush.
void refresh_due(Book::Inside& in);
/// Drops and derives everything anew, inside the caller's transaction.
void rebuild_all(Book::Inside& in, const Progress& progress = {});

/// Refusal text for rules that were newly broken by what the ledger resolved; none when all is well.
[[nodiscard]] std::optional<Refusal> refusal_for(Book::Inside& in, EntryId new_entry, bool correction, std::vector<EntryId>* broken);

/// What an entry says, for telling what a correction changed.
struct Said {
  bool withdrawn = false;
  std::string summary, text;
  std::vector<PlaceId> places;
};
[[nodiscard]] Said said(Book::Inside& in, EntryId entry);
/// What a receipt needs to know of before the entry was folded.
struct Before {
  std::optional<EntryId> corrected{};        ///< of a correction: its target
  std::optional<Said> was{};                 ///< what that said
  std::map<EntryId, std::string> also{};     ///< what the entries said that are withdrawn with it
  std::vector<PlaceId> moved{};              ///< whose levels changed: of the places of the entry, and of what was resolved again after it
  /// Accounts of closed jobs that were only topped up and off by more than is asked about today:
  /// circuit, dimension of each. They closed before anybody asked.
  std::set<std::pair<JobId, std::pair<std::int64_t, std::int64_t>>> asked_nothing{};
  bool folded_anew = false;
};
/// What Before::asked_nothing keeps, of the jobs that a correction of `corrected` may reach.
[[nodiscard]] std::set<std::pair<JobId, std::pair<std::int64_t, std::int64_t>>> never_asked(
    Book::Inside& in, const log::Fact& correction, EntryId corrected);
/// Fills a receipt once the entry is folded.
void tell(Book::Inside& in, const log::Fact& fact, const Before& before, Receipt& r);

/// Details of a correction: {"target":…,"action":…,"details":…,"also":[…]}; checks dependants.
[[nodiscard]] Result<log::Built> build_correction(Book::Inside& in, log::Desk& desk, const Correction& draft);
/// Entries that hold and would name something that is not there without this one.
[[nodiscard]] std::vector<EntryId> dependants(store::Db& db, const log::Fact& fact);
/// The correction by which an entry does not hold; none when it does.
[[nodiscard]] std::optional<EntryId> withdrawn_by(store::Db& db, EntryId entry);

/// The frozen figures of a month; refuses when undecided fluid is left, when a balance does not hold, or when it is closed already.
[[nodiscard]] Result<log::Built> build_close(Book::Inside& in, log::Desk& desk, const CloseMonth& draft);

/// "drained 5.4 L coolant into pan-1": what an entry says, without its private text.
[[nodiscard]] std::string summarize(Book::Inside& in, const log::Fact& fact);
/// The private text that matters most, "" when there is none.
[[nodiscard]] std::string main_text(Book::Inside& in, const log::Fact& fact);
[[nodiscard]] std::string_view main_field(log::Kind kind);
[[nodiscard]] std::string verb_of(const log::Fact& fact);
[[nodiscard]] std::string place_name(Book::Inside& in, PlaceId place);
/// The same for a command that is to be typed: with this installation's tag when the name alone means two places.
[[nodiscard]] std::string place_to_type(Book::Inside& in, PlaceId place);
[[nodiscard]] std::string fluid_name(store::Db& db, FluidId fluid);
/// What a line of a movement moves: of one that took all there was, as it comes out where the entry stands now.
[[nodiscard]] Amount amount_moved(Book::Inside& in, const log::Fact& fact, std::int64_t line, const log::Value& spec);
[[nodiscard]] EntryRef ref_of(const Book::Inside& in, EntryId id);
/// An entry as people name it: "17", or "17@office" for another installation's.
[[nodiscard]] std::string entry_name(const Book::Inside& in, EntryId id);

}  // namespace baybook::book
