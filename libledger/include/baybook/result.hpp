// A value, or the reason why there is none.
//
// The library never prints, never exits and throws nothing but std::bad_alloc across this border. Every refusal
// has a name (Code), a sentence with the figures in it, why it is so, and what to type instead.
#pragma once

#include <baybook/export.hpp>

#include <string>
#include <string_view>
#include <utility>
#include <variant>
#include <vector>

BAYBOOK_API_BEGIN
namespace baybook {

/// Names of refusals. The order is the order of precedence: when several apply, the first one is returned.
enum class Code {
  wrong_usage,      ///< the call itself makes no sense (missing operand, two options that exclude each other)
  unclear,          ///< text that has no reading or more than one: a bare number, an ambiguous gallon, 03/04/2026
  not_text,         ///< invalid UTF-8, or control characters
  not_found,        ///< no car, job, place, fluid, person or entry of that name
  ambiguous,        ///< more than one fits
  already_there,    ///< the name is taken, the job is already closed, the once-key was used with other details
  not_allowed,      ///< against a rule of the book (F1 to F9 in docs/invariants.md)
  runs_backwards,   ///< an odometer reading below the one before it
  in_future,        ///< happened after today
  would_overdraw,   ///< more than the place holds (F3)
  would_overfill,   ///< past the size of the place (F4)
  has_dependants,   ///< a correction would break entries that stand on it
  does_not_close,   ///< the fluid accounts of a job do not close
  unsound,          ///< what is stored contradicts itself: a broken chain, a wrong digest, a table out of step
  busy,             ///< another program is writing; nothing was written
  unreadable,       ///< no such file, not a book, a newer book, no permission
  unwritable,       ///< read-only, full; nothing was written
  unknown_outcome,  ///< the commit failed: reopen and repeat with the same once-key
};

/// The stable text of a code, as printed in JSON: "would_overfill".
[[nodiscard]] std::string_view name_of(Code code) noexcept;

/// A figure of a refusal by name, as text with its unit or in exact base units ("size_nl", "180000000000").
struct Figure {
  std::string name;
  std::string value;
};

/// Why something was not done. Nothing was written when a function returns one (unless code is unknown_outcome).
struct Refusal {
  Code code = Code::wrong_usage;
  std::string what;     ///< what is wrong, with the figures; lower case, no full stop
  std::string why;      ///< the rule behind it; may be empty
  std::string instead;  ///< what to type instead; may be empty
  std::vector<Figure> figures{};
  std::vector<std::string> lines{};  ///< where one sentence does not do: all of it, line by line
};

/// The refusal with every text in it made safe for a terminal (see visible in text.hpp): the name
/// of a file, a word that was typed. Every Result does so with what it is given, so that no refusal
/// of the library can carry a control character out; figures stay exact.
[[nodiscard]] Refusal printable(Refusal refusal);

/// A value or a Refusal. Asking for the side that is not there is a programming error (std::bad_variant_access).
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}          // NOLINT(google-explicit-constructor)
  Result(Refusal refusal)
      : held_(std::in_place_index<1>, printable(std::move(refusal))) {
  }  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool ok() const noexcept { return held_.index() == 0; }
  explicit operator bool() const noexcept { return ok(); }

  [[nodiscard]] const T& value() const& { return std::get<0>(held_); }
  [[nodiscard]] T& value() & { return std::get<0>(held_); }
  [[nodiscard]] T&& value() && { return std::get<0>(std::move(held_)); }
  [[nodiscard]] const Refusal& refusal() const& { return std::get<1>(held_); }
  [[nodiscard]] Refusal&& refusal() && { return std::get<1>(std::move(held_)); }

  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

 private:
  std::variant<T, Refusal> held_;
};

/// Success without a value.
struct Done {};

}  // namespace baybook
BAYBOOK_API_END
