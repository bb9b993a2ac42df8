// Whether what one installation corrects, settles or erases takes effect on the entries of another.
//
// A function of the entries alone, the same in every book that holds them: no book looks at which
// installation is its own. Every change of an effect that does not come with the entry itself comes
// with a word (entries of kind peer) or with an opening.
#pragma once

#include "log/entry.hpp"

#include <map>
#include <set>
#include <vector>

namespace baybook::book {

/// Values of settlement.joins: settlements, the same without effect, and words about installations
/// (docs/format.md).
enum class Joins : std::int64_t {
  apart = 0,
  join = 1,
  apart_held = 2,
  join_held = 3,
  met = 4,
  accept = 5,
  agree = 6,
  forget = 7
};
/// Added to correction.withdrawn and erased.asked where the entry has no effect on that one.
inline constexpr std::int64_t kHeld = 2;

/// erased.asked of a text whose absence a word explains: the erasure itself was thrown out.
inline constexpr std::int64_t kOnlyExplains = 4;

/// What an entry does to another: a text that is erased does not come back.
enum class Reach : std::uint8_t { correction, erasure };

/// Every word in the book, read once. A book in which nobody said one costs one look.
class Words {
 public:
  explicit Words(store::Db& db);

  /// What `by` says takes effect on `on`.
  [[nodiscard]] bool acts(EntryId by, EntryId on, Reach what = Reach::correction) const {
    return against(by, on, what).empty();
  }
  /// The installations whose word is missing for that, by origin; none when it takes effect.
  /// `agreed`: as if that installation had agreed to it.
  [[nodiscard]] std::vector<std::int64_t> against(EntryId by, EntryId on,
                                                  Reach what = Reach::correction,
                                                  std::int64_t agreed = 0) const;

  enum class Last : std::uint8_t { none, closed, open };
  /// The last word of one installation about another as it is here.
  [[nodiscard]] Last last(std::int64_t writer, std::int64_t about) const;
  /// The same, or where it has said nothing the word of the nearest one that it goes on from.
  [[nodiscard]] Last counts(std::int64_t writer, std::int64_t about) const;
  /// The entry with the word that counts; 0 when there is none.
  [[nodiscard]] EntryId said_in(std::int64_t writer, std::int64_t about) const;
  [[nodiscard]] bool any() const { return !last_.empty() || !agreed_.empty(); }
  /// The installations that this one says in its opening to go on from, and they in theirs, the
  /// nearest first.
  [[nodiscard]] static std::vector<std::int64_t> predecessors(store::Db& db, std::int64_t origin);

 private:
  struct Word {
    EntryId entry;
    bool open = false;
    std::set<EntryId> but;  ///< of an acceptance: entries that stay without effect
  };
  [[nodiscard]] Last opinion(std::int64_t writer, EntryId by, std::int64_t agreed) const;
  [[nodiscard]] std::set<std::int64_t> family(std::int64_t of, std::int64_t without) const;
  [[nodiscard]] std::set<std::int64_t> who_counts(std::int64_t of,
                                                  const std::set<std::int64_t>& family,
                                                  std::int64_t writer, Reach what) const;
  [[nodiscard]] std::set<std::int64_t> trusted(const std::set<std::int64_t>& by,
                                               std::int64_t without) const;
  [[nodiscard]] std::vector<std::int64_t> before(std::int64_t origin) const;
  [[nodiscard]] bool goes_on_from(std::int64_t later, std::int64_t earlier) const;

  std::map<std::int64_t, std::map<std::int64_t, Word>> last_;  ///< by writer, then whom it is about
  std::map<std::int64_t, std::set<EntryId>> agreed_;           ///< by writer
  std::map<std::int64_t, std::int64_t> continues_;  ///< by installation: the one it goes on from
};

/// The same for one entry. Reads nothing where both are of one installation.
[[nodiscard]] bool acts(store::Db& db, EntryId by, EntryId on, Reach what = Reach::correction);

}  // namespace baybook::book
