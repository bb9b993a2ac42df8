// Reading one object of a body field by field: what is missing, unknown or beyond a limit is noted,
// and the reading goes on.
#pragma once

#include "book/unfit.hpp"

#include <initializer_list>
#include <span>

namespace baybook::book {

/// Where a value stands, as text only when there is something to say.
struct Path {
  const Path* up = nullptr;
  std::string_view key;
  std::size_t index = 0;  ///< of a list, from 1; 0: a key
  [[nodiscard]] std::string text() const;
};

/// The entry that is read, and what was found in it.
class Reading {
 public:
  explicit Reading(const log::Header& header);
  /// Of details that a correction brings: what the entry itself must have (a private text) is not
  /// asked.
  bool of_correction = false;
  /// The private texts that the body commits to; null in details that a correction brings.
  const log::Value* privates = nullptr;

  [[nodiscard]] Day happened() const { return happened_; }
  [[nodiscard]] log::Kind kind() const { return kind_; }
  [[nodiscard]] std::string_view identity() const { return identity_; }
  [[nodiscard]] std::int64_t number() const { return number_; }
  [[nodiscard]] bool has_private(std::string_view field) const {
    return of_correction || (privates != nullptr && privates->has(field));
  }

  void add(const Path& path, std::string what, Unfit::Sort sort = Unfit::Sort::value);
  [[nodiscard]] std::vector<Unfit> take() { return std::move(all_); }

 private:
  std::string_view identity_;
  std::int64_t number_;
  log::Kind kind_;
  Day happened_;
  std::vector<Unfit> all_{};
};

enum class Need : std::uint8_t { if_said, always };

/// Bounds of an amount in base units.
struct AmountLimits {
  bool nothing = false;  ///< nothing at all may be said: a level, a measured amount
  /// Put together from others: past what can be typed, up to what a body can say.
  bool computed = false;
  std::optional<Dimension> of{};
};

/// One object. What is not asked for is unknown; end() says so.
class Fields {
 public:
  Fields(const log::Value& object, const Path& path, Reading& reading);
  [[nodiscard]] Reading& reading() const { return reading_; }

  const log::Value* any(std::string_view key, Need need);
  std::optional<std::string_view> text(std::string_view key, Need need, std::size_t most);
  /// What was typed for a figure: no control characters; blanks around it stay.
  void typed(std::string_view key, Need need);
  std::optional<std::string_view> code(std::string_view key, Need need);
  std::optional<std::string_view> word(std::string_view key, Need need,
                                       std::initializer_list<std::string_view> words);
  bool yes(std::string_view key);
  std::optional<bool> flag(std::string_view key, Need need);
  std::optional<std::int64_t> whole(std::string_view key, Need need, std::int64_t least,
                                    std::int64_t most);
  std::optional<Day> day(std::string_view key, Need need);
  /// "-120": a whole number of 64 bits, spelled in the one way.
  std::optional<std::int64_t> decimal(std::string_view key, Need need);
  bool hex(std::string_view key, Need need, std::size_t digits);
  bool ref(std::string_view key, Need need);
  void place(std::string_view key, Need need);
  void fluid(std::string_view key, Need need);
  void fluid_class(std::string_view key, Need need);
  std::optional<Amount> amount(std::string_view key, Need need, const AmountLimits& limits);
  /// A density with its source.
  std::optional<Density> density(std::string_view key);
  /// A reading in metres and what was typed for it, together or not at all.
  void distance(std::string_view metres, std::string_view typed, Need need, std::int64_t least = 0);
  template <class Each>
  void object(std::string_view key, Need need, const Each& each) {
    if (const log::Value* v = any(key, need)) inside(*v, Path{&path_, key, 0}, each);
  }
  /// Each item of a list, which is not empty when it is there.
  template <class Each>
  void items(std::string_view key, Need need, std::size_t most, const Each& each,
             bool may_be_empty = false) {
    const log::Value* v = any(key, need);
    if (v == nullptr || !list(*v, key, most, may_be_empty)) return;
    const Path in{&path_, key, 0};
    std::size_t n = 0;
    for (const log::Value& item : v->as_array()) each(item, Path{&in, {}, ++n});
  }
  template <class Each>
  void objects(std::string_view key, Need need, std::size_t most, const Each& each,
               bool may_be_empty = false) {
    items(
        key, need, most,
        [&](const log::Value& item, const Path& path) { inside(item, path, each); }, may_be_empty);
  }

  void wrong(std::string_view key, std::string what, Unfit::Sort sort = Unfit::Sort::value);
  /// Missing, or of another type.
  void malformed(std::string_view key, std::string what) {
    wrong(key, std::move(what), Unfit::Sort::form);
  }
  /// Of the object as a whole.
  void wrong(std::string what) { reading_.add(path_, std::move(what)); }
  /// Whether it is an object at all.
  explicit operator bool() const { return is_object_; }
  void end();

 private:
  template <class Each>
  void inside(const log::Value& v, const Path& path, const Each& each) {
    Fields fields(v, path, reading_);
    if (!fields) return;
    each(fields);
    fields.end();
  }
  bool list(const log::Value& v, std::string_view key, std::size_t most, bool may_be_empty);

  const log::Value& value_;
  const Path path_;
  Reading& reading_;
  bool is_object_;
  std::vector<std::string_view> known_{};
};

/// What is wrong with a text of at most so many bytes, "" when nothing is.
[[nodiscard]] std::string text_fault(std::string_view text, std::size_t most);
/// What is wrong with a value as a reference in that entry, "" when nothing is.
[[nodiscard]] std::string ref_fault(const log::Value& v, const Reading& reading);
/// Of what sort a word is that stands where only known ones do: a newer program may know it.
[[nodiscard]] inline Unfit::Sort word_sort(const log::Value& v) {
  return v.is_string() ? Unfit::Sort::newer : Unfit::Sort::form;
}
/// Of what sort such a fault of a reference is.
[[nodiscard]] Unfit::Sort ref_sort(const log::Value& v);
/// A value for a sentence: short, and safe for a terminal.
[[nodiscard]] std::string shown(const log::Value& v);

}  // namespace baybook::book
