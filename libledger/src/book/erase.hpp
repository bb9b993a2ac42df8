// Erasures: which texts, whether they may go, their rows, and the files afterwards.
#pragma once

#include "book/inside.hpp"
#include "book/words.hpp"

#include <baybook/due.hpp>
#include <baybook/erase.hpp>

#include <set>

namespace baybook::book {

/// One private text that is there now.
struct PrivateText {
  EntryId entry;
  std::string field;
  std::optional<Holding> held{};
};
struct Reached {
  EntryId about;
  std::vector<PrivateText> texts;  ///< by entry, then field
};
/// What an erasure reaches as the book stands: every version ever written, withdrawn entries and corrections included.
[[nodiscard]] Result<Reached> reached_by(Book::Inside& in, const Erasure& draft, Day today);
/// Looks at each text whether a rule holds it on that day (erase_holds.cpp).
void look_for_holds(Book::Inside& in, std::vector<PrivateText>& texts, Day today);
/// Of entries that came from another book and are not folded yet: the erasures among them of texts that are here and held, in words (erase_holds.cpp).
[[nodiscard]] std::vector<std::string> held_and_erased(Book::Inside& in, const std::vector<EntryId>& brought);
/// Of what is held, what goes last.
[[nodiscard]] std::optional<Holding> longest(const std::vector<PrivateText>& texts);
/// The car's own entries, those of its jobs, papers kept with them, and all corrections of these.
[[nodiscard]] std::set<std::int64_t> entries_of_car(store::Db& db, CarId car);
/// "car:6", "person:5", "firm quill-tarn", "entry 17".
[[nodiscard]] std::string about_name(Book::Inside& in, EntryId about);

[[nodiscard]] Result<log::Built> build_erasure(Book::Inside& in, log::Desk& desk, const Erasure& draft);
[[nodiscard]] std::string summary_of_erasure(Book::Inside& in, const log::Fact& fact);

/// A body has a size that every reader can count on: entries in one list of texts.
/// Texts, by entry, as the member "list" of details names them.
[[nodiscard]] std::vector<log::Value> list_of_texts(const std::vector<PrivateText>& texts,
                                                    const log::Installations& known);
/// The texts that the details of an erasure name, whether they are there or not.
[[nodiscard]] std::vector<PrivateText> named_by_erasure(const log::Value& details, std::int64_t origin);
/// The rows of `erased` of one erasure, those included on which it has no effect: all that rebuild
/// does about it.
void list_erased(store::Db& db, const Words& words, const log::Row& row);
/// An erasure that is new to the book: its rows, the private texts gone, and what was derived from them made anew. In the caller's transaction,
/// after which finish_erasure is owed.
void erase_texts(Book::Inside& in, const log::Fact& erasure);
/// After the commit: rids the files of the bytes. What stands in the way is told in the receipt, and by `due` until it is done.
void finish_erasure(Book::Inside& in, Receipt& r);
/// In a copy, which was written anew and holds nothing of what was erased: it has no erasure to finish.
void forget_unfinished(store::Db& copy);

/// Erasures that were asked for and may be done, soon or by now; one that is not finished (erase_due.cpp).
[[nodiscard]] std::vector<DueLine> due_of_erasures(Book::Inside& in, Day today, int within);

}  // namespace baybook::book
