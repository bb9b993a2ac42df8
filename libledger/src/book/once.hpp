// Once-keys: the same key again changes nothing and tells what was written the first time.
#pragma once

#include "book/inside.hpp"

#include <baybook/drafts.hpp>

namespace baybook::book {

/// One write under a once-key, or without one.
class Once {
 public:
  Once(Book::Inside& in, const Draft& draft, const Stamp& stamp);
  [[nodiscard]] bool known() const { return entry_ != 0; }
  /// The receipt of the first write; refuses when something else was asked for then.
  [[nodiscard]] Result<Receipt> first() const;
  /// Keeps the key with the entry that is being written; nothing without a key.
  void remember(EntryId entry) const;

 private:
  Book::Inside& in_;
  std::string key_, request_;  ///< keyed digests, 32 bytes each; empty without a key
  std::int64_t entry_ = 0;
  std::string known_request_;
};

/// How many once-keys do not fit the secret that they were written under.
[[nodiscard]] std::int64_t once_rows_changed(store::Db& db);
/// The job that the entry under a once-key belongs to; none when the key is new or the entry is of no job.
[[nodiscard]] JobId job_under(Book::Inside& in, std::string_view once_key);
/// The key itself, or when what was written under it was withdrawn, the key under which it is written again.
[[nodiscard]] std::string key_after_withdrawn(Book::Inside& in, std::string key);
/// What the erasure under a once-key is about; none when the key is new or of another kind of entry.
[[nodiscard]] EntryId erased_under(Book::Inside& in, std::string_view once_key);

}  // namespace baybook::book
