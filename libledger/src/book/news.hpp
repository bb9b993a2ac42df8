// What a file changed here that somebody should know of, beside what has to be settled.
#pragma once

#include "book/inside.hpp"

#include <baybook/exchange.hpp>

#include <map>
#include <set>
#include <string>
#include <utility>
#include <vector>

namespace baybook::book {

/// By how much the account of a closed job is off, in words; "" when it agrees, when a reason is on
/// record, when the job is open.
[[nodiscard]] std::string off_though_closed(Book::Inside& in, JobId job);

class News {
 public:
  /// What was, once the entries are in the log and before any of them is folded.
  News(Book::Inside& in, const std::vector<EntryId>& taken);
  /// What is, after all of them were folded. `now`: the clock of this machine.
  [[nodiscard]] std::vector<Changed> since(Instant now) const;

 private:
  /// By stream and place (0: every batch): the determination that holds.
  struct Says {
    EntryId entry;
    bool hazardous = false;
  };
  using Verdicts = std::map<std::pair<std::string, std::int64_t>, Says>;
  [[nodiscard]] Verdicts verdicts() const;
  [[nodiscard]] bool is_new(EntryId entry) const { return brought_.contains(entry); }

  void add_erased(std::vector<Changed>& out) const;
  void add_determined(std::vector<Changed>& out) const;
  void add_unbalanced(std::vector<Changed>& out) const;
  void add_clocks(Instant now, std::vector<Changed>& out) const;

  Book::Inside& in_;
  std::vector<EntryId> taken_;
  std::set<EntryId> brought_;
  Verdicts before_;
  /// The jobs that were closed and that something among the entries is about: what was off.
  std::map<JobId, std::string> jobs_;
  std::map<JobId, std::set<EntryId>> about_;
};

}  // namespace baybook::book
