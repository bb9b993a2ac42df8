// The installations of a book: which there are, a word about one of them, and one thrown out that
// came in the wrong name.
//
// What an installation corrects, settles or erases of entries that are not its own has no effect
// while those who wrote them have met it and not accepted it. A word is an entry (PeerWord,
// drafts.hpp) and goes through Book::append. docs/exchange.md has it for the workshop.
#pragma once

#include <baybook/book.hpp>
#include <baybook/drafts.hpp>
#include <baybook/exchange.hpp>
#include <baybook/ids.hpp>
#include <baybook/result.hpp>

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// An installation of a book.
struct Peer {
  std::string tag, site;
  std::string identity;      ///< 32 hexadecimal digits
  std::int64_t entries = 0;  ///< its last number here
  Instant newest{};          ///< when that entry was recorded
  std::string first;         ///< 64 hexadecimal digits: digest of its entry 1
  /// own: this book. before: one that this book goes on from. accepted, met: by the last word of
  /// this book. known: without a word, as books that exchanged before there were words, or by the
  /// word of another.
  enum class State : std::uint8_t { own, before, accepted, met, known } state = State::known;
  std::optional<EntryRef> word{};  ///< the entry with that word
  std::int64_t waiting = 0;        ///< entries of it that have no effect on what they are about
};
[[nodiscard]] std::string_view name_of(Peer::State state) noexcept;
/// This book's own first, then by tag.
[[nodiscard]] Result<std::vector<Peer>> peers(const Book& book);
/// The first entry of an installation, as a PeerWord names it. Refuses with not_found.
[[nodiscard]] Result<EntryId> find_installation(const Book& book, std::string_view tag);

/// What an acceptance or an agreement would bring into effect. `entries`: what they are, `said`:
/// what each does; `texts`: private texts that would be gone for good.
struct WordPlan {
  std::vector<EntryRef> entries{};
  std::vector<std::string> said{};
  std::int64_t texts = 0;
  std::string tag, site, first;  ///< of the installation, `first` as in Peer
};
[[nodiscard]] Result<WordPlan> plan_word(const Book& book, const PeerWord& word, Instant now);

/// What would be thrown out: entries of one installation, from one number to its last.
struct ForgetPlan {
  EntryRef from, last;
  std::int64_t entries = 0;
  std::string digest;  ///< of the last one
  std::int64_t named_by =
      0;  ///< entries of others that name one of them: while there are any nothing is thrown out
  std::vector<EntryRef> names{};  ///< the first of those
};
/// `from`: the first number that goes; 1 for all of it. Refuses: not_found, not_allowed (this
/// book's own entries, and those it goes on from).
[[nodiscard]] Result<ForgetPlan> plan_forget(const Book& book, std::string_view tag,
                                             std::int64_t from);
/// What would be thrown out as an exchange file, so that it is not lost: it can be taken in again
/// with `accept`.
[[nodiscard]] Result<ExchangeOut> forget_out(const Book& book, const ForgetPlan& plan,
                                             const Sink& sink);
/// Throws it out, as planned: its entries and their texts, with a word of this book that says so.
/// Refuses with not_allowed when anything has changed since the plan, or while others name them.
[[nodiscard]] Result<Receipt> forget_installation(Book& book, const ForgetPlan& plan,
                                                  const Stamp& stamp);

}  // namespace baybook
BAYBOOK_API_END
