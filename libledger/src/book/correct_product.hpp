// Which product a corrected line or gauge is of.
#pragma once

#include "book/inside.hpp"

#include "fluids/build.hpp"

namespace baybook::book {

/// A movement whose line is put right: the patch and what the whole entry says.
struct PatchedLine {
  const log::Fact& old;
  const Patch& patch;
  const log::Value& details;
  MoveVerb verb;
  PlaceId from, to;  ///< as they are now
};
/// Writes into `line`, which has its places and its amount already, what it takes and how. One that
/// is only put right in its amount or its target keeps the rule under which it was written.
[[nodiscard]] Result<Done> patch_product(Book::Inside& in, log::Desk& desk, const PatchedLine& of,
                                         log::Value& line);

/// The product of a gauge reading.
[[nodiscard]] Result<Done> patch_gauged(Book::Inside& in, log::Desk& desk, const log::Fact& old,
                                        FluidId fluid, log::Value& details);

}  // namespace baybook::book
