// Sentences and lines for a terminal.
#pragma once

#include <baybook/book.hpp>
#include <baybook/reports.hpp>

#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool {

/// Columns of the terminal that standard output is; 80 when it is none, so that the same command gives the same bytes.
[[nodiscard]] int text_width();
/// `text` broken at blanks so that no line is wider than `width`; the first begins with `first`, the others with as many blanks.
[[nodiscard]] std::string wrapped(std::string_view first, std::string_view text, int width = text_width());
/// What can be typed, behind `first`. A command stands on one line whatever its width, for it is typed
/// or copied as it stands; a remark behind it ("  # if they are one") that does not fit goes below it,
/// as a remark. Anything else is wrapped.
[[nodiscard]] std::string to_be_typed(std::string_view first, std::string_view text,
                                      int width = text_width());
/// "2 things to be settled: baybook settle list", as a line of its own; nothing when there are none.
[[nodiscard]] std::string conflicts_line(std::int64_t conflicts);
/// "a, b, c"
[[nodiscard]] std::string joined(const std::vector<std::string>& list, std::string_view between = ", ");
/// Whether a sum is marked with ~: an estimate is in it, or its bounds are apart.
[[nodiscard]] bool rough(const Sum& sum);
/// The units in which a sentence may say that it closes: litres, kilograms and pieces are decimal
/// numbers of base units, gallons are not.
[[nodiscard]] Units exact_units(Units units);
/// "5.4 L", or "0.85 L (0.5 to 1.2)" when the bounds differ.
[[nodiscard]] std::string bounded(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units, bool exact = false);
/// "5.4 of 20 L", "5.4 L".
[[nodiscard]] std::string level_text(const LevelAfter& level, const Units& units);
/// "17", or "17@office" when it is not this book's own installation.
[[nodiscard]] std::string ref_text(const EntryRef& ref, const std::string& own_tag);
/// "2026-03-05 09:40", or the day alone when no time was given.
[[nodiscard]] std::string when(Day day, const std::optional<TimeOfDay>& at);
/// The first `n` hex digits.
[[nodiscard]] std::string short_digest(const std::string& digest, std::size_t n = 12);
/// "after 3 days or 200 km"
[[nodiscard]] std::string recheck_when(const Recheck& r, const Units& units);

}  // namespace baybook::tool
