// The month by fluid: sums of the tally, which the ledger keeps in step.
#pragma once

#include "store/db.hpp"

#include <baybook/reports.hpp>

#include <functional>

namespace baybook::returns {

/// Names a fluid or class by its number; the class number of a fluid.
struct Names {
  std::function<std::string(std::int64_t)> fluid;
  std::function<std::int64_t(std::int64_t)> class_of;
};

/// Rows by class (or product), in the order of class names. Whole months come from the tally; days at either end that do not
/// make a whole month are summed from the flows.
[[nodiscard]] std::vector<TotalsRow> rows(store::Db& db, Day from, Day until, bool by_product, const Names& names);

}  // namespace baybook::returns
