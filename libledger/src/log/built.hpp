// A draft that has passed its checks, ready to become an entry.
#pragma once

#include "log/entry.hpp"
#include "log/most.hpp"

#include <optional>
#include <string>
#include <utility>
#include <vector>

namespace baybook::log {

struct Built {
  Kind kind = Kind::opening;
  Value details;
  std::vector<std::pair<std::string, std::string>> privates{};  ///< field, NFC text
  std::vector<std::string> warnings{};

  void keep_private(std::string field, std::string text) {
    if (!text.empty()) privates.emplace_back(std::move(field), std::move(text));
  }
};

/// A refusal without figures.
[[nodiscard]] inline Refusal refuse(Code code, std::string what, std::string why = {}, std::string instead = {}) {
  return Refusal{code, std::move(what), std::move(why), std::move(instead), {}};
}
/// One private text: cleaned, and kept beside the entry when there is one.
[[nodiscard]] Result<Done> keep(Built& out, const char* field, const std::string& text);
/// A short text that stays in the open (make, model, a section).
[[nodiscard]] Result<Done> open_text(Value& details, const char* field, const std::string& text,
                                     std::size_t most = most::kText);

/// An entry as people name it: "17", or "17@office" for another installation's.
[[nodiscard]] std::string entry_name(const Installations& known, EntryId id);

/// What a check may look at.
struct Desk {
  store::Db& db;
  const Installations& known;
  const Units& units;
  Effect effect;  ///< where the new entry will stand
  Day today{};  ///< by the clock: what has happened is told by it, and not by the day of the entry
  Day beyond_doubt{};    ///< by which is judged what no later entry puts right (book/clock.hpp)
  bool dry_run = false;  ///< nothing is written: the number in `effect` is no entry's
  /// One of many that are taken in one go: that it is of an earlier day is no news.
  bool of_a_list = false;
  /// The reading before was taken out as misread: what it said of its instrument (service/reading.hpp).
  std::optional<std::int64_t> inherits{};
};

/// What to type where an entry must not happen before another: that one's day or, where a clock
/// that was ahead put it after today, what takes it away from there.
[[nodiscard]] std::string on_its_day(const Desk& desk, EntryId earlier, Day day);

}  // namespace baybook::log
