// A value, or the reason why there is none.
//
// The library never prints and never exits. Across this border it throws std::bad_alloc, NoValue
// (below) where a caller takes a value that is not there, and std::overflow_error where a function's
// own comment says so (volume_of, mass_of); nothing else, whatever a function does that the caller
// handed in. Every refusal has a name (Code), a sentence with the figures in it, why it is so, and
// what to type instead.
#pragma once

#include <baybook/export.hpp>

#include <memory>
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
  not_found,        ///< no car, job, place, fluid, person or entry of that name, or behind that id
  ambiguous,        ///< more than one fits
  already_there,    ///< the name is taken, the job to be closed is closed, the once-key was used with other details
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
  callback_failed,  ///< a function that the caller handed in failed: it threw, or its randomness is
                    ///< none; nothing was written
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
  /// What to type instead; may be empty. What begins with `baybook` is a whole command as it is typed
  /// into a shell, with words in capitals or dots for what only the reader knows, and a remark behind
  /// `  # ` where there is more to say.
  std::string instead;
  std::vector<Figure> figures{};
  std::vector<std::string> lines{};  ///< where one sentence does not do: all of it, line by line
  std::vector<std::string> others{};  ///< what else can be typed, the likeliest first; may be empty
};

/// The refusal with every text in it made safe for a terminal (see visible in text.hpp): the name
/// of a file, a word that was typed. Every Result does so with what it is given, so that no refusal
/// of the library can carry a control character out; figures stay exact.
[[nodiscard]] Refusal printable(Refusal refusal);

/// Thrown by a Result that is asked for the side that it does not have, which is a programming
/// error: what() says the words of the refusal that nobody looked at, or that there is none.
class NoValue : public std::bad_variant_access {
 public:
  explicit NoValue(const Refusal& refusal);
  /// Of a Result that holds a value and is asked for its refusal.
  NoValue();
  [[nodiscard]] const char* what() const noexcept override { return words_->c_str(); }

 private:
  std::shared_ptr<const std::string> words_;  // shared, so that a copy of it throws nothing
};

/// A value or a Refusal. Asking for the side that is not there throws NoValue.
template <class T>
class [[nodiscard]] Result {
 public:
  Result(T value) : held_(std::in_place_index<0>, std::move(value)) {}          // NOLINT(google-explicit-constructor)
  Result(Refusal refusal)
      : held_(std::in_place_index<1>, printable(std::move(refusal))) {
  }  // NOLINT(google-explicit-constructor)

  [[nodiscard]] bool ok() const noexcept { return held_.index() == 0; }
  explicit operator bool() const noexcept { return ok(); }

  [[nodiscard]] const T& value() const& { return must_be(), *std::get_if<0>(&held_); }
  [[nodiscard]] T& value() & { return must_be(), *std::get_if<0>(&held_); }
  [[nodiscard]] T&& value() && { return must_be(), std::move(*std::get_if<0>(&held_)); }
  [[nodiscard]] const Refusal& refusal() const& { return must_not_be(), *std::get_if<1>(&held_); }
  [[nodiscard]] Refusal&& refusal() && {
    return must_not_be(), std::move(*std::get_if<1>(&held_));
  }

  const T& operator*() const& { return value(); }
  T& operator*() & { return value(); }
  const T* operator->() const { return &value(); }
  T* operator->() { return &value(); }

 private:
  void must_be() const {
    if (const Refusal* none = std::get_if<1>(&held_)) throw NoValue(*none);
  }
  void must_not_be() const {
    if (ok()) throw NoValue();
  }
  std::variant<T, Refusal> held_;
};

/// Success without a value.
struct Done {};

}  // namespace baybook
BAYBOOK_API_END
