// Sums of what stands in tables: a hostile book can make them run over, and that is said instead of a wrong figure.
#pragma once

#include "log/json.hpp"

namespace baybook::log {

/// sum += sign * amount; throws Malformed beyond 2^63.
inline void add_to(std::int64_t& sum, std::int64_t sign, std::int64_t amount) {
  std::int64_t signed_amount = 0;
  if (__builtin_mul_overflow(sign, amount, &signed_amount) || __builtin_add_overflow(sum, signed_amount, &sum)) throw Malformed("a sum of amounts beyond 2^63");
}

}  // namespace baybook::log
