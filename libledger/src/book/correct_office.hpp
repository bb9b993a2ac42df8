// Corrections of what the office is told by: what a fluid is made of, and what a firm is.
#pragma once

#include "book/inside.hpp"

namespace baybook::book {

/// Whether a patch says anything of the sort.
[[nodiscard]] bool patches_office(const Patch& patch);
/// Puts it into the details; refuses where the entry has no such field.
[[nodiscard]] Result<Done> patch_office(Book::Inside& in, log::Desk& desk, const log::Fact& old,
                                        const Patch& patch, log::Built& out, log::Value& details);

}  // namespace baybook::book
