// The words of a book about installations whose entries come in with a file.
#pragma once

#include "book/inside.hpp"

#include <baybook/drafts.hpp>
#include <baybook/exchange.hpp>

#include <optional>
#include <set>
#include <string>
#include <vector>

namespace baybook::book {

/// An installation that was not in the book before the file.
struct Stranger {
  log::Installation installation;
  std::string in_file;  ///< its tag there
};

/// Within the caller's transaction: writes that they were met, or that they are accepted.
class Greeting {
 public:
  Greeting(Book& book, const Stamp& stamp, const ExchangeOptions& options);

  /// Fills `out.met`. Before anything of the file is folded: an erasure that must not take effect
  /// has to find the word there.
  [[nodiscard]] std::optional<Refusal> meet(const std::vector<Stranger>& strangers,
                                            ExchangeIn& out);
  /// After the entries were folded: those that were here before, and are accepted with this file.
  [[nodiscard]] std::optional<Refusal> accept_known();

  [[nodiscard]] bool accepts() const { return !accept_.empty(); }
  /// The last entry that was written; 0 when none was.
  [[nodiscard]] EntryId written() const { return written_; }

 private:
  [[nodiscard]] std::optional<Refusal> meet_one(const Stranger& stranger, Day today,
                                                ExchangeIn& out);
  /// Tag of an installation that this book knew, has not left unaccepted, and that accepted it.
  [[nodiscard]] std::string accepted_by(std::int64_t origin) const;
  [[nodiscard]] std::optional<Refusal> say(const PeerWord& word);

  Book& book_;
  Book::Inside& in_;
  Stamp stamp_;
  std::set<std::string> accept_, meet_;
  bool ask_of_sites_, those_there_;
  std::vector<Meeting> elsewhere_{};  ///< of other sites, of which nobody was asked
  log::Installations before_;
  EntryId written_;
};

}  // namespace baybook::book
