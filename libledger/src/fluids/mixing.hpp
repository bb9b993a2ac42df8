// Whether what a movement brings together may be kept together.
#pragma once

#include "fluids/ledger.hpp"
#include "log/built.hpp"

#include <baybook/drafts.hpp>

namespace baybook::fluids {

/// Two refrigerants in one cylinder are refused, two coolants of another product in a place that is kept for putting back, or in a
/// circuit, and coolants of two cars whose makers do not ask for the same, are warned of: whether they may be mixed is for their makers to say (common practice, no source). `mixing_reason` lets both pass.
[[nodiscard]] Result<Done> check_mixing(log::Desk& desk, Ledger& ledger, const Movement& draft, std::vector<std::string>& warnings);

}  // namespace baybook::fluids
