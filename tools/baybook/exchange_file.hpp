// One exchange file: what it says of itself, and taking it in.
#pragma once

#include "context.hpp"

#include <baybook/exchange.hpp>

#include <string>
#include <vector>

namespace baybook::tool {

/// What the first and the last line of a file say. Throws Refused: it cannot be read, is no
/// exchange file, or was cut off.
[[nodiscard]] ExchangeGlance glance_at(Context& c, const std::string& path);

struct TakeIn {
  bool dry_run = false;
  bool ask = true;          ///< at a terminal somebody may be asked; else it is refused
  bool accept = true;       ///< what --accept says counts
  bool of_a_folder = false; ///< --accept may name what is in another file
};
/// Takes the file in by what was typed (--call, --accept, --meet, --yes). Throws Refused.
[[nodiscard]] ExchangeIn take_file(Context& c, const std::string& path, const TakeIn& how);

/// Before this book's own exchange file at `path` is written anew: throws Refused when it holds
/// what this book does not, as after it was put back to an older copy. A file that is not there or
/// not its own is not looked at.
void must_hold_all_of(Context& c, const std::string& path);

/// The identity of this book's installation.
[[nodiscard]] std::string own_identity(Context& c);

/// Writes the book to `path`, over its own exchange file alone, or over another with --force.
struct WrittenFile {
  ExchangeOut out;
  std::int64_t bytes = 0;
};
/// `in_shared_folder`: others of the folder's group may read it.
[[nodiscard]] WrittenFile write_exchange(Context& c, const std::string& path,
                                         const std::vector<std::string>& since,
                                         bool in_shared_folder = false);

}  // namespace baybook::tool
