// A draft that a book must not take.
#pragma once

#include "support/has.hpp"
#include "support/hints.hpp"
#include "support/test_book.hpp"

namespace baybook::test {

/// Refused, with that code, those words and something to type instead; the book is as it was before.
inline Refusal refused(TestBook& b, const Draft& draft, Code code, std::string_view words) {
  const std::string before = b.dump();
  const auto r = b.try_write(draft);
  REQUIRE_FALSE(r.ok());
  CAPTURE(why(r));
  CHECK(r.refusal().code == code);
  CHECK(has(r.refusal().what, words));
  CHECK_FALSE(r.refusal().instead.empty());
  CHECK(harm_of(r.refusal().instead) == "");
  CHECK(b.dump() == before);
  return r.refusal();
}

}  // namespace baybook::test
