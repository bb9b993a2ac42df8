// Bringing books together: the entries of one as a file, taken into another, and what then has to be settled.
//
// Two installations (a tablet in the bay, a computer in the office) each write a chain of their own. An exchange file carries entries
// of any number of installations; taking it in is a union, so that any order, and the same file twice, give the same book.
// docs/format.md, "Exchange files", has every line of the file.
#pragma once

#include <baybook/book.hpp>
#include <baybook/drafts.hpp>
#include <baybook/ids.hpp>
#include <baybook/result.hpp>

#include <cstdint>
#include <functional>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// Takes the next bytes of a file that is being made.
using Sink = std::function<void(std::string_view bytes)>;
/// The next line of a file without its line end; false at its end.
using Lines = std::function<bool(std::string& line)>;

/// The longest line of an exchange file that is read, in bytes.
inline constexpr std::size_t kLongestExchangeLine = (std::size_t{1} << 20) + 1;

struct ExchangeOut {
  std::int64_t entries = 0;
  std::vector<std::string> seals{};  ///< of all installations, as far as the file goes
  std::string digest;                ///< 64 hexadecimal digits: SHA-256 of all bytes before the last line
};
/// The book's entries, of each installation from the one after the seal in `since` on (whole when no seal of it is given), with their
/// private texts. Refuses: unclear (a seal that is none), not_found (of an installation that is not here), not_allowed (a seal that does
/// not fit the log here: the other book is not a copy of the same).
[[nodiscard]] Result<ExchangeOut> exchange_out(const Book& book, const std::vector<std::string>& since, const Sink& sink);

/// What a file says of itself in its first and its last line, without what stands between.
struct ExchangeGlance {
  std::string by{};      ///< 32 hexadecimal digits: the installation whose book wrote it; empty: an
                         ///< older program did, which does not say
  std::string tag{};     ///< of `by` as this book calls it; empty when it is not in this book
  bool own = false;      ///< this book wrote it, or says so: whoever can write a file can say that
  bool taken = false;    ///< this very file was taken in before, and nothing of it was left
  std::int64_t entries = 0;
  std::string digest{};  ///< as in ExchangeOut
};
/// `first`, `last`: the two lines without their line ends. Refuses: unreadable (no exchange file, or
/// one of a newer program), unclear (it has no last line: it was cut off, or is being written).
[[nodiscard]] Result<ExchangeGlance> glance_at_exchange(const Book& book, std::string_view first,
                                                        std::string_view last);

/// Entries of one installation that a file has and the book has not, or has otherwise.
struct Lacking {
  std::string tag;           ///< here; of one that is not here: in the file
  bool own = false;          ///< this book's own
  std::int64_t entries = 0;  ///< above 0
  std::int64_t in_file = 0;  ///< the last number of it in the file
  std::int64_t last = 0;     ///< and in the book
};
/// Reads the file and changes nothing. Refuses with unclear: a damaged file.
[[nodiscard]] Result<std::vector<Lacking>> lacking(const Book& book, const Lines& lines);

/// One installation in a file that was taken in.
struct Exchanged {
  std::string tag;
  std::int64_t taken = 0;    ///< entries that are new here
  std::int64_t known = 0;    ///< entries that were here already
  std::int64_t left = 0;     ///< entries that were not taken
  std::int64_t last = 0;     ///< the last number of it in this book now
  Instant newest{};          ///< when that one was recorded
  std::int64_t in_file = 0;  ///< the last number of it that the file goes to
  Instant of{};              ///< when that one was recorded
  std::string why_left{};    ///< in words; empty when nothing was left
  std::vector<std::string> what_next{};  ///< how to find out who is right, and what to type in each
                                         ///< case; empty when nothing parted
  bool fork = false;         ///< one number with two digests, or entries of this book's own installation that it did not write
};
/// What an installation that this book has not met before brings along, in words, for a person to
/// judge.
struct Meeting {
  std::string tag;   ///< here
  std::string site;  ///< as its opening says
  std::int64_t entries = 0;
  Day from, until;        ///< days on which its entries happened
  std::string first;      ///< 64 hexadecimal digits: digest of its entry 1, to be compared with the
                          ///< other book's `peers`
  std::string goes_on{};  ///< its opening says that it goes on from another installation: from
                          ///< which entry, and whether that fits
  std::string
      accepted_by{};  ///< tag of an installation of this book that has accepted it; empty: nobody
  bool accepted = false;  ///< by this call, by that one, or by a word of this book from before
  struct Does {
    std::string what;  ///< "withdraws", "replaces", "erases", "asks to erase", "settles", "closes",
                       ///< "chooses rules", "determines", "writes on"
    std::int64_t count = 0;
    std::vector<std::string> said{};  ///< of each what it does to which entry; the first kMostSaid
  };
  static constexpr std::size_t kMostSaid = 20;
  std::vector<Does> does{};  ///< to entries of other installations, and to what is the whole shop's
  std::vector<std::string> kept_from_it{};  ///< erasures that an acceptance leaves without effect,
                                            ///< because a rule holds a text, in words
};
/// Something that a file changed and that somebody should know, beside what has to be settled.
struct Changed {
  /// determined: a stream is judged otherwise. unbalanced: the account of a closed job no longer
  /// agrees. rules: other rules are in force today. clock: of another installation, ahead of now.
  enum class What : std::uint8_t { determined, unbalanced, rules, clock };
  What what = What::determined;
  std::string text;                  ///< in words, with what to look at
  std::vector<EntryRef> entries{};   ///< that did it
};
[[nodiscard]] std::string_view name_of(Changed::What what) noexcept;

struct ExchangeIn {
  std::string by{};  ///< tag here of the installation whose book wrote the file; empty: not said
  std::vector<Exchanged> installations{};
  std::vector<Meeting> met{};  ///< installations that this book did not know
  std::int64_t taken = 0, left = 0;
  std::int64_t conflicts = 0;      ///< to be settled, in the whole book now
  std::int64_t papers_wanted = 0;  ///< papers that the entries name and that lie with the other book
  std::vector<std::string> pickups_moved{};  ///< pick-ups with a signed copy that come to another figure by this, in words
  std::vector<ClosedReach> closed_months{};  ///< that have other figures by this
  std::vector<std::string> closed_told{};    ///< the same in words
  /// Texts that an erasure of another book takes out here although a rule holds them by what this book has, in words.
  std::vector<std::string> erased_while_held{};
  std::int64_t waiting = 0;  ///< entries in the whole book now that have no effect on what they are
                             ///< about until somebody says so
  std::int64_t texts_erased =
      0;  ///< private texts of entries that were here before and are gone by this
  /// Erasures that take effect by this and reach a car on which a job is open, in words.
  std::vector<std::string> erased_at_work{};
  std::vector<Changed> changed{};  ///< what else somebody should know of
  bool dry_run = false;
  std::string noted{};             ///< the end of the write failed at first, and a second look found all of it stored, or what is still owed
};
struct ExchangeOptions {
  std::vector<std::string>
      call{};  ///< another tag here for an installation, when two have the same: "old=new"
  std::vector<std::string>
      accept{};  ///< tags, as they are here, of installations that are accepted with this. This
                 ///< book's own: entries of its own that go on from its last one come back in, as
                 ///< after it was put back to an older copy
  bool dry_run = false;
  bool accept_those_there = false;  ///< a tag of `accept` that is neither in the file nor here is
                                    ///< passed over: another file of the same folder may have it
  /// An installation that is new here and of another site is refused, unless it stands in `meet` or
  /// `accept`: somebody is to be asked.
  bool ask_of_sites = false;
  std::vector<std::string> meet{};
};
/// Takes a file in: every new entry or, when the file is damaged or an entry in it is not sound,
/// none. Of a forked installation nothing beyond the fork is taken, nor what rests on that. An
/// installation that was not in this book before is met (an entry of this book by `stamp`), unless
/// it is accepted by `options`, or has been by an installation that this book knew: until it is
/// accepted, what it corrects, settles and erases of entries that are not its own has no effect
/// (docs/exchange.md). Refuses: unclear (a damaged file, with the line), unreadable (a newer
/// program's file), not_allowed (the file begins after the end of what is here; another site, with
/// figures "stranger", a tag here, and "site" for each), ambiguous (two tags alike), wrong_usage
/// (`accept` names nobody). A file of which nothing was left is known again by its digest
/// (glance_at_exchange).
[[nodiscard]] Result<ExchangeIn> exchange_in(Book& book, const Lines& lines, std::string_view name,
                                             const Stamp& stamp,
                                             const ExchangeOptions& options = {});

/// Of a book that was put in the place of a lost one: the installations that may hold what it lost,
/// by tag. While there are any, Book::append refuses: a file of one of them has to come in first,
/// which goes as far as what the book held of it. Empty: the book may be written in.
[[nodiscard]] Result<std::vector<std::string>> waits_for(const Book& book);
/// Somebody says that no other book is left: it waits no more.
[[nodiscard]] Result<Done> waits_no_more(Book& book);

/// Something that two installations did without knowing of each other, and that a person has to
/// settle. What one did knowing of the other is none (docs/format.md, "Knowing").
struct Conflict {
  enum class What : std::uint8_t {
    car,       ///< a plate or vehicle number of two, or two plates one slip apart
    place,
    fluid,
    person,
    firm,
    deadline,
    document,     ///< one paper's number on two pick-ups
    correction,   ///< one entry corrected by two
    closing,      ///< a month closed twice
    level,        ///< of a place, by F3 to F5, or "all" of nothing
    withdrawn,    ///< what one withdrew while another wrote on it, or two of which each withdrew
                  ///< the other's
    movement,     ///< one whose two ends were joined
    recheck,      ///< answered good by one and not good by another
    choice,       ///< two choices that differ
    determination,  ///< a stream judged in two ways
    job,          ///< closed twice, written to after it was closed, two open ones of one car
    scrapped,     ///< a car that another installation worked on
    car_change,   ///< two plates, keepers or figures given to one car
    schedule,     ///< written anew by two
    twin,         ///< one movement that was entered in two books
    fork,         ///< an installation whose chain parted: two entries of one number
  };
  What what = What::car;
  std::string text;                    ///< "MARSH-07 is the plate of two cars"
  std::vector<EntryRef> entries{};     ///< the first is what `settle join` would keep
  std::vector<std::string> said{};     ///< one line for each entry: what it says
  std::vector<EntryRef> choices{};     ///< of which one is to hold, and a Choice says which; empty
                                       ///< where that is no answer
  std::vector<std::string> instead{};  ///< what can be typed, the likeliest first
};
[[nodiscard]] std::string_view name_of(Conflict::What what) noexcept;
[[nodiscard]] Result<std::vector<Conflict>> conflicts(const Book& book);

/// In what the installations of a book differ, as each chose it when it was begun, a sentence for
/// each setting: site, time zone, units, first rules, and how something typed is read. None when
/// they agree. No figure in the entries hangs on it. `printed_only`: those that show on a sheet.
[[nodiscard]] Result<std::vector<std::string>> differing_settings(const Book& book,
                                                                  bool printed_only = false);

}  // namespace baybook
BAYBOOK_API_END
