// Parts that come off a car again: which entry takes out what another one fitted.
#pragma once

#include "log/built.hpp"

#include <baybook/drafts.hpp>

#include <optional>
#include <vector>

namespace baybook::service {

/// One entry that says that a fitted part came off.
struct Taking {
  log::Effect effect;              ///< of the entry that says so
  std::optional<Amount> amount{};  ///< none: all that was still in
};
/// What takes out the part of that fit entry, in effect order. Withdrawn entries take out nothing.
[[nodiscard]] std::vector<Taking> takings_of(store::Db& db, EntryId fit);
/// How much of what was fitted is still in after these, in base units; never below nothing.
[[nodiscard]] std::int64_t still_in(const Amount& fitted, const std::vector<Taking>& takings);
/// An entry that fitted a part to a car and holds.
struct Fitting {
  log::Effect effect;
  JobId job;
  std::string key;  ///< its number, as plates are compared
};
/// Every one of a car, in effect order, up to that moment.
[[nodiscard]] std::vector<Fitting> fittings_of(store::Db& db, CarId car, std::int64_t until);
/// The first of them that fitted the number of `fitted` once more, in a later job: what was fitted
/// before may have come off for it. Several of one number in one job are as a rule several places
/// of the car.
[[nodiscard]] const Fitting* fitted_again(const std::vector<Fitting>& all, const Fitting& fitted);

/// Writes what an entry on that car takes out into its details. Refuses what was not fitted to it,
/// not yet, or is out already. `itself`: of an entry that is put right, that entry.
[[nodiscard]] Result<Done> write_takes_out(const log::Desk& desk, log::Value& details,
                                           const std::vector<TakenOut>& list, CarId car,
                                           EntryId itself);
/// Warns of a part of that number that is still in by the book: an entry that fits one more does
/// not say whether that one came off.
void say_if_fitted_before(const log::Desk& desk, const Fit& draft, std::string_view part, CarId car,
                          std::vector<std::string>& warnings);

/// "took out 1 pc of WP-4471 (entry 15)", one text for each part that the details say came off.
[[nodiscard]] std::vector<std::string> told_of_takes_out(store::Db& db,
                                                         const log::Installations& known,
                                                         const Units& units, const log::Fact& fact);

// The rows of `part` that say so: no number, the fit entry's id in the place of the lot.
void fold_takes_out(store::Db& db, const log::Fact& fact);
void unfold_takes_out(store::Db& db, const log::Fact& fact);

}  // namespace baybook::service
