// Words of a book about another installation: met, accept, agree, forget. Their details, their
// rows, and what they bring into effect.
#pragma once

#include "book/inside.hpp"
#include "book/words.hpp"

#include <baybook/drafts.hpp>

namespace baybook::book {

/// Details {"what":"met"|"accept","installation":hex,"first":digest of its entry
/// 1,"tag":...,"but":[numbers]}, {"what":"agree",...,"number":N, "digest":of that entry},
/// {"what":"forget",...,"number":N,"last":M,"digest":of entry M}. None of it is a reference: what
/// is thrown out later must not leave the word without a leg. Refuses what takes no word, and an
/// erasure agreed to while a rule holds a text of it.
[[nodiscard]] Result<log::Built> build_word(Book::Inside& in, log::Desk& desk,
                                            const PeerWord& draft);
[[nodiscard]] std::string summary_of_word(Book::Inside& in, const log::Fact& fact);

/// The row of table settlement of a word. All that rebuild does about it.
void list_word(store::Db& db, const log::Row& row);
/// A word that is new to the book. Inside::settlements_moved says whether anything takes effect, or
/// loses it, by it.
void fold_word(Book::Inside& in, const log::Fact& fact);

/// Whether a row of correction, erased or settlement has an effect that the words do not give it,
/// or the other way round.
[[nodiscard]] bool effects_moved(Book::Inside& in);
/// Everything folded anew, and the texts gone that an erasure names which takes effect now. In the
/// caller's transaction; finish_erasure is owed.
void fold_anew(Book::Inside& in);

/// What has no effect on an entry of another installation, and whose word is missing.
struct Held {
  EntryId entry;  ///< the correction, settlement or erasure
  log::Kind kind = log::Kind::correction;
  std::string text;                     ///< "withdraws entry 12 (drained 5.4 L coolant into pan-1)"
  std::vector<std::int64_t> waits_for;  ///< by origin
  bool ours = false;        ///< an entry of this book that agrees brings some of it into effect
  std::int64_t texts = 0;   ///< of an erasure: texts that are there and would go
  std::vector<EntryId> on;  ///< what it has no effect on
};
/// All of them in the book, by entry; of one installation or one entry where that is said. What was
/// withdrawn is none.
[[nodiscard]] std::vector<Held> held_entries(Book::Inside& in, std::int64_t origin = 0,
                                             EntryId entry = {});
/// "entry 12 (drained 5.4 L coolant into pan-1)"; where it cannot be read yet, its kind.
[[nodiscard]] std::string told_entry(Book::Inside& in, EntryId entry);
/// The erasures of an installation that a rule of this book holds on that day, with the reason in
/// words.
struct HeldByRule {
  EntryId erasure;
  std::string text;
};
[[nodiscard]] std::vector<HeldByRule> held_by_rules(Book::Inside& in, std::int64_t origin,
                                                    Day today);
/// The digest of an entry in hexadecimal digits, "" when it is not there.
[[nodiscard]] std::string digest_of(store::Db& db, EntryId entry);
/// What has to be done about a held entry, to be typed here or in another book.
[[nodiscard]] std::string how_to_agree(Book::Inside& in, const Held& held);

}  // namespace baybook::book
