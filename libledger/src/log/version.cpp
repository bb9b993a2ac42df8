#include "log/version.hpp"

#include <algorithm>
#include <array>
#include <string_view>

namespace baybook::log {

namespace {

// What came with version 2. A row stays for ever: it says what the version in a hashed body stands
// for. docs/format.md, "Versions".
constexpr std::array<std::string_view, 15> kFields = {
    "alone",        // of a gauge: only that product was read
    "bulk",         // of a place
    "codes",        // of a determination, as are the next three
    "found",
    "ground",
    "haul-m",       // of a firm and of a pick-up: how far its waste goes
    "own-vehicle",  // of a pick-up
    "receives-as",  // of a firm
    "rebuts",
    "registered",   // of a firm
    "rolled-over",  // of a reading
    "shares",       // of a product and of a spill
    "streams",      // of a firm
    "takes-out",    // of work and of a part
    "was-low",      // of a closing
};

bool any_item(const Value* list, bool (*is)(const Value&)) {
  return list != nullptr && list->is_array() &&
         std::any_of(list->as_array().begin(), list->as_array().end(), is);
}

bool is_new_line(const Value& line) {
  if (!line.is_object()) return false;
  const Value* to = line.find("to");
  return line.has("alone") || line.has("beside") || (to != nullptr && *to == Value("missing"));
}

bool is_new_row(const Value& row) { return row.is_object() && row.has("missing-from-cars"); }

bool is_new_mark(const Value& details) {
  const Value* what = details.find("what");
  return details.has("place") && what != nullptr &&
         (*what == Value("bulk") || *what == Value("shelf"));
}

bool says_what_is_new(const Value& details) {
  return std::any_of(kFields.begin(), kFields.end(),
                     [&](std::string_view field) { return details.has(field); }) ||
         any_item(details.find("lines"), is_new_line) ||
         any_item(details.find("rows"), is_new_row) || is_new_mark(details);
}

// A choice between entries that cannot all hold: "over" names those that do not.
bool says_what_came_with_3(const Value& details) { return details.has("over"); }

}  // namespace

std::int64_t version_for(const Value& details) {
  if (!details.is_object()) return 1;
  if (says_what_came_with_3(details)) return 3;
  const Value* replaced = details.find("details");
  const std::int64_t inside =
      replaced != nullptr && details.has("target") ? version_for(*replaced) : 1;
  return std::max<std::int64_t>(inside, says_what_is_new(details) ? 2 : 1);
}

std::int64_t version_of_body(const Value& body) {
  const Value* details = body.find("details");
  const std::int64_t of = details != nullptr ? version_for(*details) : 1;
  return body.has("seen") ? std::max<std::int64_t>(of, 3) : of;
}

}  // namespace baybook::log
