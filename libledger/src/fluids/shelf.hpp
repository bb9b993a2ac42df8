// Shelves: stock places on which cans stand beside each other, so that nothing in them mixes.
//
// A line says in its own body by which rule it was written (docs/format.md, Line): one with `alone`
// takes one product and leaves the others where they stand; one without it takes from a mix, in
// proportion, as every line did before there were shelves. So no setting of a place, and no program,
// changes what an entry moved (decision 0028).
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::fluids {

/// Whether a stock place is one tank at that moment, in which what comes in mixes.
[[nodiscard]] bool is_bulk(store::Db& db, PlaceId place, std::int64_t moment);
/// Whether it is a stock place whose products are kept apart at that moment.
[[nodiscard]] bool is_shelf(store::Db& db, Ledger& ledger, PlaceId place, std::int64_t moment);

/// A product, or a class of which no product is known, as it is typed.
[[nodiscard]] std::string fluid_code(store::Db& db, FluidId fluid);

/// How much a place held just before that moment; with `only` of that product alone.
[[nodiscard]] Bounds held_before(Ledger& ledger, PlaceId place, std::int64_t dimension,
                                 FluidId only, const log::Effect& effect);

/// A line that takes from a shelf.
struct Taking {
  MoveVerb verb = MoveVerb::fill;
  PlaceId from, to;
  FluidId said{};                  ///< none: whichever it must be
  std::optional<Amount> amount{};  ///< none: all of it
  JobId job{};
  bool mixing = false;             ///< a reason was given why it goes where it does not belong
};
/// The product that it takes: the one that is said, or the one there that belongs where it goes.
/// None where nothing stands on the shelf, which is refused as anywhere (F3). Refuses with
/// `ambiguous` when several could be meant, with `not_allowed` when nothing there belongs there.
[[nodiscard]] Result<FluidId> taken_from_shelf(log::Desk& desk, Ledger& ledger, const Taking& t);

/// The product that a reading of a shelf is of. None: of all of them, which are gone.
[[nodiscard]] Result<FluidId> gauged_on_shelf(log::Desk& desk, Ledger& ledger, PlaceId place,
                                              const Amount& level, FluidId said);

/// Whether a place may be a bulk tank (else a shelf) from now on. What stood beside each other on it
/// is one mix then, which is told; two groups never are.
[[nodiscard]] Result<Done> mixes_from_now_on(log::Desk& desk, Ledger& ledger, PlaceId place,
                                             bool bulk, std::vector<std::string>& warnings);

/// What may be said against a product that goes into a circuit of another class of its group: a
/// gearbox may ask for it, so a reason lets it pass.
[[nodiscard]] std::optional<Refusal> other_class(log::Desk& desk, Ledger& ledger, PlaceId circuit,
                                                 FluidId fluid);

}  // namespace baybook::fluids
