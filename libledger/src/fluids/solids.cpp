#include "fluids/solids.hpp"

#include <algorithm>
#include <iterator>

namespace baybook::fluids {

bool is_solid(std::string_view of_class) noexcept {
  constexpr std::string_view solids[] = {"absorbent", "oil-filters",  "fuel-filters",
                                         "batteries", "tyres",        "old-parts",
                                         "airbags",   "aerosol-cans", "packaging",
                                         "wipes",     "grease"};
  return std::find(std::begin(solids), std::end(solids), of_class) != std::end(solids);
}

}  // namespace baybook::fluids
