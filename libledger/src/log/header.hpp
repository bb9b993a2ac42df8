// The header of a body, and the columns that are copies of it.
#pragma once

#include "log/entry.hpp"

#include <string>

namespace baybook::log {

/// What the columns beside a body must hold, read from the body alone: id, recorded, moment, kind, who. Row::body and Row::digest are
/// left empty. Throws Malformed when the header lacks something or says what no header says.
struct Header {
  std::string identity;
  Row row;
  std::int64_t format = 0, version = 0;
};
[[nodiscard]] Header read_header(const Value& body);

}  // namespace baybook::log
