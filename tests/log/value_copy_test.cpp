// Copies of a value where memory runs out: at every allocation of the copy in turn.
#include "log/json.hpp"

#include <doctest/doctest.h>

#include <cstdlib>
#include <new>
#include <string>

namespace {

long until_failure = -1;  ///< allocations that still succeed; below 0: all do

}  // namespace

// In the place of the library's own in this program.
void* operator new(std::size_t size) {
  if (until_failure == 0) throw std::bad_alloc();
  if (until_failure > 0) --until_failure;
  if (void* p = std::malloc(size == 0 ? 1 : size)) return p;
  throw std::bad_alloc();
}
void* operator new(std::size_t size, const std::nothrow_t&) noexcept { return until_failure == 0 ? nullptr : std::malloc(size == 0 ? 1 : size); }
void operator delete(void* p) noexcept { std::free(p); }
void operator delete(void* p, std::size_t) noexcept { std::free(p); }

using namespace baybook;
using log::Value;

TEST_SUITE_BEGIN("log/value_copy");

namespace {

const std::string kLong(100, 'x');  // longer than a string keeps within itself

Value nested() {
  Value v;
  v["a"] = kLong;
  v["b"] = Value::Array{Value(kLong), Value(1), Value(true), Value(kLong + "2")};
  Value inner;
  inner[std::string(40, 'k')] = kLong;
  inner["m"] = Value::Array{Value(inner), Value(kLong)};
  v["c"] = inner;
  return v;
}

/// `what` with 0, 1, 2, ... allocations, until it succeeds; how often it failed.
template <class What>
int failures(const What& what) {
  for (int n = 0;; ++n) {
    bool done = false;
    until_failure = n;
    try {
      what();
      done = true;
    } catch (const std::bad_alloc&) {
    }
    until_failure = -1;
    if (done) return n;
  }
}

}  // namespace

TEST_CASE("a copy for which there is no memory is none, and nothing else happens") {
  const Value v = nested();
  CHECK(failures([&] {
          const Value copy(v);
          until_failure = -1;
          CHECK(copy == v);
        }) > 8);
}

TEST_CASE("a value that could not be assigned is what it was before") {
  const Value v = nested();
  Value target("before");
  CHECK(failures([&] {
          CHECK(target == Value("before"));
          target = v;
          until_failure = -1;
        }) > 8);
  CHECK(target == v);
  const Value& self = target;
  target = self;
  CHECK(target == v);
}

TEST_SUITE_END();
