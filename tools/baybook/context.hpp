// What every verb needs: what was typed, the book, the clock, and where the answer goes.
#pragma once

#include "config.hpp"
#include "options.hpp"
#include "out.hpp"
#include "render/json.hpp"

#include <baybook/book.hpp>
#include <baybook/keep.hpp>
#include <baybook/reports.hpp>

#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>

namespace baybook::tool {

/// A refusal on its way to main, which alone turns it into three lines or a document, and an exit status.
struct Refused {
  Refusal refusal;
};

template <class T>
T need(Result<T> result) {
  if (!result.ok()) throw Refused{std::move(result).refusal()};
  return std::move(result).value();
}

/// A function to be handed to the library, which lets nothing that is thrown through: what this one
/// refuses is kept here, and comes as it is when the library has come back.
class Past {
 public:
  template <class Call>
  auto keep(Call call) {
    return [this, call = std::move(call)](auto&&... values) mutable {
      try {
        return call(std::forward<decltype(values)>(values)...);
      } catch (const Refused& r) {
        kept_ = r;
        throw std::runtime_error(r.refusal.what);
      }
    };
  }
  template <class T>
  T need(Result<T> result) {
    if (kept_) throw Refused{std::move(kept_->refusal)};
    return tool::need(std::move(result));
  }

 private:
  std::optional<Refused> kept_;
};

/// What may be there or not: none when it is not there or not clear which is meant. A disk that cannot be read is no answer.
template <class T>
std::optional<T> if_there(Result<T> result) {
  if (result.ok()) return std::move(result).value();
  const Code c = result.refusal().code;
  if (c == Code::unreadable || c == Code::unwritable || c == Code::unsound || c == Code::busy || c == Code::unknown_outcome || c == Code::callback_failed) throw Refused{std::move(result).refusal()};
  return std::nullopt;
}

[[noreturn]] void refuse(Code code, std::string what, std::string why = {}, std::string instead = {});

/// Randomness of the system, for salts and identities; false when it has none.
bool system_random(std::uint8_t* bytes, std::size_t size);

/// What the user should know of where the book lies: a backup, a network share. In keep_verbs.cpp.
void say_where_it_lies(const Book& book, bool writes, Out& err);

class Context {
 public:
  Context(const Verb& verb, Typed typed, const Config& config, bool json, Out& out, Out& err) : verb_(verb), typed_(std::move(typed)), config_(config), json_(json), out_(out), err_(err) {}

  [[nodiscard]] const Verb& verb() const { return verb_; }
  [[nodiscard]] const Typed& typed() const { return typed_; }
  [[nodiscard]] bool json() const { return json_; }
  [[nodiscard]] bool quiet() const { return typed_.has("quiet"); }
  [[nodiscard]] Out& out() { return out_; }
  [[nodiscard]] Out& err() { return err_; }

  /// The instant of this run: the system's clock, or BAYBOOK_NOW (for tests and demonstrations only).
  [[nodiscard]] Instant now();
  /// --book, else BAYBOOK_BOOK, else the settings, else a refusal.
  [[nodiscard]] std::string book_path() const;
  /// The same, or empty when none is said.
  [[nodiscard]] std::string book_if_said() const;
  /// What a file that this command writes may take the place of: --force as typed, and never the
  /// book, the settings or the program itself.
  [[nodiscard]] Placing placing(std::string another) const;
  /// What was kept of now goes: the book is closed, and the clock is read again when it is asked.
  void begin_again();
  /// Opens the book on first use; for writing when the verb writes.
  [[nodiscard]] Book& book();
  /// The same, opened for writing whatever the verb usually does.
  [[nodiscard]] Book& book_for_writing();
  /// Closes the book, and tells whether its log lies beside the file all the same: says so, unless in JSON.
  [[nodiscard]] bool close_book();
  [[nodiscard]] const Units& units() { return book().settings().units; }
  [[nodiscard]] Day today();

  // The n-th operand, and values of options, read as what they are. Each throws Refused.
  [[nodiscard]] const std::string& operand(std::size_t n) const { return typed_.operands.at(n); }
  [[nodiscard]] std::size_t operands() const { return typed_.operands.size(); }
  [[nodiscard]] Day day(std::string_view text);
  [[nodiscard]] std::optional<Day> day_option(std::string_view name);
  [[nodiscard]] Month month(std::string_view text);
  [[nodiscard]] AsOf as_of() { return day_option("as-of"); }
  /// The day that a report is of: --as-of, else today.
  [[nodiscard]] Day as_of_or_today();
  [[nodiscard]] Amount amount(std::string_view text) { return need(parse_amount(text, units())); }
  /// An amount, or none for the word `all`.
  [[nodiscard]] std::optional<Amount> amount_or_all(std::string_view text);
  [[nodiscard]] std::optional<Amount> amount_option(std::string_view name);
  [[nodiscard]] std::optional<Distance> distance_option(std::string_view name);
  [[nodiscard]] PlaceId place(std::string_view code) { return need(book().find_place(code)); }
  /// A car, or a job by its number or car. A name that is one slip away is read as the near one and said aloud, but never
  /// written to: a writing verb refuses it and names the near one.
  [[nodiscard]] CarId car(std::string_view text);
  [[nodiscard]] JobId job(std::string_view text);
  /// The job of that car that was written to under this run's --once key; none when it is new.
  [[nodiscard]] JobId job_of_retry(CarId car);
  [[nodiscard]] const std::string& required(std::string_view name) const;

  [[nodiscard]] Stamp stamp();
  /// Appends and prints the receipt; answers 0. `text` is what was typed and is private, printed after the summary.
  int write(const Draft& draft, std::string_view text = {});
  /// Prints the receipt of what was appended; answers 0.
  int say(Receipt r, std::string_view text);
  /// Where the clock does not go with what the book says: says so, and at a terminal asks before
  /// anything is written. Throws Refused when the answer is not yes.
  void ask_of_clock();
  /// Says so and asks nothing.
  void say_of_clock();
  /// Appends without printing, for verbs that print more than a receipt.
  [[nodiscard]] Receipt append(const Draft& draft);
  /// The entry that this run stored, for the case that it cannot be printed.
  [[nodiscard]] const std::string& stored() const { return stored_; }
  void note_stored(std::string ref) { stored_ = std::move(ref); }

  /// Begins the document of an answer: {"v":1,"ok":true
  [[nodiscard]] Json document() const;
  /// Ends and prints it.
  void print(Json& document);

 private:
  const Verb& verb_;
  Typed typed_;
  const Config& config_;
  bool json_;
  Out& out_;
  Out& err_;
  std::optional<Instant> now_;
  std::optional<Book> book_;
  std::optional<Day> today_;
  bool clock_answered_ = false, clock_said_ = false;
  [[nodiscard]] Stamp finish(Stamp s) const;
  void open(Access access);
  void check_slip(std::string_view typed, CarId found);
  std::string stored_;
};

}  // namespace baybook::tool
