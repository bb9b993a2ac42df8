// Bodies as bytes: the one spelling that is hashed, and the way back.
//
// RFC 8785 (JSON Canonicalization Scheme), restricted: whole numbers within +-(2^53 - 1), no null, ASCII keys. Whatever
// canonical() writes, parse_canonical() reads back as an equal value; any other bytes it refuses.
#pragma once

#include "log/json.hpp"

#include <baybook/result.hpp>

#include <cstddef>
#include <string>
#include <string_view>

namespace baybook::log {

/// Objects and arrays inside each other, the outermost counted.
inline constexpr int max_depth = 32;
/// Larger documents are refused before they are looked at.
inline constexpr std::size_t max_document_bytes = std::size_t{1} << 20;

/// The canonical bytes: members in key order, no blanks, the shortest escapes, everything else raw UTF-8. Throws Malformed for
/// what could not be read back: invalid UTF-8, more than max_depth levels, more than max_document_bytes.
[[nodiscard]] std::string canonical(const Value& value);

/// JSON in any spelling. Refuses with `unsound`: what RFC 8259 does not allow, a byte order mark, null, fractions, exponents, -0,
/// whole numbers beyond 2^53 - 1, a key twice, keys that are not ASCII, invalid UTF-8, lone surrogates, and what is too deep or too large.
[[nodiscard]] Result<Value> parse_json(std::string_view text);

/// As parse_json, and refuses with `unsound` any spelling but the canonical one.
[[nodiscard]] Result<Value> parse_canonical(std::string_view text);

}  // namespace baybook::log
