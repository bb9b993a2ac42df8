// Calling a function that the caller handed in: randomness, progress, lines, items.
//
// What it throws is not the book's fault and says nothing of the book, so it is neither let through
// (result.hpp says what is thrown) nor taken for damage.
#pragma once

#include "store/db.hpp"

#include <exception>
#include <new>
#include <string>
#include <utility>

namespace baybook::book {

/// Answers what `call` answers. Throws store::Failure(callback_failed) for whatever it throws, and
/// lets std::bad_alloc through. `what` names the function: "the function that takes bytes".
template <class Call>
decltype(auto) from_caller(const char* what, Call&& call) {
  const auto failed = [&](const std::string& how) {
    return store::Failure(Code::callback_failed, std::string(what) + " failed: " + how,
                          "the same again when it works; nothing was written");
  };
  try {
    return std::forward<Call>(call)();
  } catch (const std::bad_alloc&) {
    throw;
  } catch (const store::Failure&) {
    throw;  // of a function that was wrapped already
  } catch (const std::exception& e) {
    throw failed(e.what());
  } catch (...) {
    throw failed("it threw something that is no std::exception");
  }
}

/// The same progress, told through from_caller; empty when it is.
[[nodiscard]] inline Progress guarded_progress(const Progress& progress) {
  if (!progress) return {};
  return [progress](std::string_view doing, std::int64_t done, std::int64_t of) {
    from_caller("the function that is told of progress", [&] { progress(doing, done, of); });
  };
}

}  // namespace baybook::book
