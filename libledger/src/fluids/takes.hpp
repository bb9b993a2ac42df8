// What a line takes out of its source, and how much "all" of it is.
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::fluids {

/// Of a shelf one product alone, of anything else what is there.
struct Takes {
  FluidId fluid{};      ///< none: what the source holds, in proportion
  bool alone = false;   ///< only that
  bool beside = false;  ///< it is put on a shelf, where it mixes with nothing
};
[[nodiscard]] Result<Takes> what_it_takes(log::Desk& desk, Ledger& ledger, const Movement& draft,
                                          const MoveLine& line,
                                          std::vector<std::string>& warnings);

/// "All" of a place; with `only` of that product there. Refuses where nothing is, and where it is
/// kept in more than one kind of quantity.
[[nodiscard]] Result<Amount> all_there(log::Desk& desk, Ledger& ledger, const MoveLine& line,
                                       FluidId only);

}  // namespace baybook::fluids
