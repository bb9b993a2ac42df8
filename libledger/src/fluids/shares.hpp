// What a fluid is made of, as bodies say it: a list of {"best","high","low","substance","typed"},
// in millionths of the mass.
#pragma once

#include "log/built.hpp"

#include <baybook/quantity.hpp>

#include <vector>

namespace baybook::fluids {

/// Refuses a substance named twice, and parts that are more than the whole together.
[[nodiscard]] Result<log::Value> write_shares(const std::vector<MassShare>& shares);
/// Those of details, empty when they say none.
[[nodiscard]] std::vector<MassShare> read_shares(const log::Value& details);

}  // namespace baybook::fluids
