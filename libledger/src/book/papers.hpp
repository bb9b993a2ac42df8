// The files beside the book: each has the digest that its entry says, and no name that leads out of the folder.
#pragma once

#include "book/inside.hpp"

#include <baybook/keep.hpp>

#include <set>

namespace baybook::book {

/// A paper as the log has it.
struct KeptPaper {
  EntryId entry;
  std::string file, digest;  ///< digest: 64 hexadecimal digits
  std::int64_t bytes = 0;
};
[[nodiscard]] std::vector<KeptPaper> kept_papers(store::Db& db);

/// The installations whose papers should lie beside this book: its own, and those whose copy it went on from. Papers do not travel with the
/// entries of another: they lie beside its own book.
[[nodiscard]] std::set<std::int64_t> kept_beside(Book::Inside& in);

enum class PaperState {
  good,
  missing,
  changed,
  unreadable,  ///< there, or behind a folder that may not be looked into; what it is cannot be
               ///< known
  bad_name,
};
/// Looks at one paper in `folder`; reads it to the end.
[[nodiscard]] PaperState look_at(const std::string& folder, const KeptPaper& paper);
/// What is wrong with it, as a finding. `folder` is where it should be.
[[nodiscard]] Finding finding_of(const Book::Inside& in, const KeptPaper& paper, PaperState state, const std::string& folder);

/// Copies the papers of `in` from one folder into another, each read again; on the way out removes what it made unless it was kept.
class PapersCopy {
 public:
  PapersCopy(Book::Inside& in, std::string from, std::string to) : in_(in), from_(std::move(from)), to_(std::move(to)) {}
  PapersCopy(const PapersCopy&) = delete;
  PapersCopy& operator=(const PapersCopy&) = delete;
  ~PapersCopy();
  /// What could not be copied, because it is not there or not what was put on record. Throws store::Failure when the disk refuses.
  [[nodiscard]] std::vector<Finding> run(const Progress& progress);
  [[nodiscard]] std::int64_t copied() const { return copied_; }
  void keep() { keep_ = true; }

 private:
  void copy(const std::string& file);
  Book::Inside& in_;
  std::string from_, to_;
  std::vector<std::string> made_;
  std::int64_t copied_ = 0;
  bool made_folder_ = false;
  bool keep_ = false;
};

}  // namespace baybook::book
