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
  /// What was, once the entries are in the log and before any of them is folded. `now`: the clock
  /// of this machine.
  News(Book::Inside& in, const std::vector<EntryId>& taken, Instant now);
  /// What is, after all of them were folded.
  [[nodiscard]] std::vector<Changed> since() const;

 private:
  /// By stream and place (0: every batch): the determination that holds.
  struct Says {
    EntryId entry;
    bool hazardous = false;
  };
  using Verdicts = std::map<std::pair<std::string, std::int64_t>, Says>;
  [[nodiscard]] Verdicts verdicts() const;
  [[nodiscard]] bool is_new(EntryId entry) const { return brought_.contains(entry); }

  void add_determined(std::vector<Changed>& out) const;
  void add_unbalanced(std::vector<Changed>& out) const;
  void add_rules(std::vector<Changed>& out) const;
  void add_clocks(std::vector<Changed>& out) const;
  [[nodiscard]] std::string rules_today() const;

  Book::Inside& in_;
  std::vector<EntryId> taken_;
  std::set<EntryId> brought_;
  Instant now_;
  Verdicts before_;
  bool may_rule_ = false;  ///< something among the entries can choose rules
  std::string rules_;
  /// The jobs that were closed and that something among the entries is about: what was off.
  std::map<JobId, std::string> jobs_;
  std::map<JobId, std::set<EntryId>> about_;
};

}  // namespace baybook::book
