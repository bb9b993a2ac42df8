// The units that people type, their factors, and the refusals that all quantities share.
#pragma once

#include <baybook/quantity.hpp>

#include "quantity/decimal.hpp"

#include <string>
#include <string_view>
#include <vector>

namespace baybook::quantity {

/// One unit: `num`/`den` base units (nanolitres, micrograms, pieces), exact.
struct Unit {
  std::string_view name;  ///< the short spelling, as suggested in refusals
  Dimension dimension;
  std::int64_t num;
  std::int64_t den;
};

/// What a spelling stands for.
struct UnitReading {
  const Unit* unit = nullptr;      ///< the one reading; null when there is none or more than one
  const Unit* us = nullptr;        ///< with `imperial`: a bare gallon, quart, pint or fluid ounce and no setting for it
  const Unit* imperial = nullptr;
  std::string_view readings{};     ///< any other spelling with several readings: what they are
  std::string_view rather{};       ///< for `readings`: the spelling to use
};

/// Reads a unit of volume, mass or count as typed, blanks inside allowed ("fl oz"). Capitals do not matter, except
/// that ML and Mg are left unclear: by SI a capital M is a million times a thousand of the small one.
[[nodiscard]] UnitReading read_unit(std::string_view typed, const Units& units);

/// A spelling that a slip may have been meant as. Two that stand for the same are of one size.
struct KnownUnit {
  std::string text;
  std::string stands_for;
};
[[nodiscard]] const std::vector<KnownUnit>& amount_spellings();

/// The book's own unit of a dimension, and the spelling of it that `parse_amount` reads back under `units`.
[[nodiscard]] const Unit& book_unit(Dimension d, const Units& units) noexcept;
[[nodiscard]] std::string_view shown_name(Dimension d, const Units& units) noexcept;
[[nodiscard]] const Unit& gram() noexcept;

/// "a or b or c".
[[nodiscard]] std::string joined(const std::vector<std::string>& texts);
/// `text` without blanks, in lower case (ASCII).
[[nodiscard]] std::string folded(std::string_view text);

[[nodiscard]] Refusal refusal(Code code, std::string what, std::string why, const std::string& instead, std::vector<Figure> figures = {});

/// What the refusals below are about.
struct Subject {
  std::string_view noun;   ///< "amount"
  std::string_view typed;  ///< all of it, as typed
  std::string_view unit;   ///< the book's unit, to be suggested: "L"
  std::string_view example;  ///< one that is read: "5.2L"
};

/// What to type when nothing can be made of `typed`: words with the example marked as one, so that nobody types it as it stands.
[[nodiscard]] std::string words_like(std::string_view typed, std::string_view example);
/// The same for what was read and breaks a rule: "the amount that is meant, like 5.2L".
[[nodiscard]] std::string meant_like(std::string_view noun, std::string_view example);

[[nodiscard]] Refusal nothing_typed(std::string_view noun, std::string_view example);
/// For each NumberFault but none. `part` is the piece of `subject.typed` that holds the numeral at its start; `example`
/// stands in the words of what to type when nothing can be made of it.
[[nodiscard]] Refusal number_refused(const Subject& subject, std::string_view part, const Number& number, std::string_view example,
                                     std::string_view limit);
[[nodiscard]] Refusal no_unit(const Subject& subject, std::string_view why);
/// `unit` is the piece of `subject.typed` that is not known. What to type names a unit only when it is clear which one was meant.
[[nodiscard]] Refusal unknown_unit(const Subject& subject, std::string_view unit, const std::vector<KnownUnit>& known);
/// `subject.typed` with the piece `piece` of it replaced.
[[nodiscard]] std::string replaced(std::string_view typed, std::string_view piece, std::string_view by);

}  // namespace baybook::quantity
