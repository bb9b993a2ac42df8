// What the office prints, as reports: each from the library's answer, none of it rendered yet.
#pragma once

#include "../context.hpp"
#include "../report/label.hpp"
#include "../report/report.hpp"

#include <baybook/due.hpp>
#include <baybook/keep.hpp>
#include <baybook/returns.hpp>

namespace baybook::tool::sheet {

/// The head that every print carries: site, period, program, seal, rules.
[[nodiscard]] report::Report begin(Context& c, std::string kind, std::string title, std::string period);
void by_rules(report::Report& r, const std::string& rules, const std::string& digest, const std::string& aid);

// Cells.
[[nodiscard]] report::Cell text(std::string s, bool strong = false);
/// A figure with two decimals (three where it needs them), its exact value beside it; an empty cell
/// for nothing. Marked with ~ when it is estimated, or rounded to these decimals.
[[nodiscard]] report::Cell figure(std::int64_t n, Dimension d, const Units& units, bool estimated = false, bool strong = false, bool show_zero = false);
/// Every digit of it, in the unit of the column's heading.
[[nodiscard]] std::string exact_number(std::int64_t n, Dimension d, const Units& units);
[[nodiscard]] report::Cell mass(const std::optional<std::int64_t>& ug);
/// The same with the digits that decide beside those weights.
[[nodiscard]] report::Cell mass_beside(std::int64_t ug, const std::vector<std::int64_t>& edges);
[[nodiscard]] report::Column figures(std::string heading, std::string unit, std::string key = {});
[[nodiscard]] std::string amount(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units);
/// The same, and with every digit of it for programs: rounded figures would not add up.
[[nodiscard]] report::Cell amount_cell(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units);
[[nodiscard]] std::string hazard_word(const StreamFacts& s);
[[nodiscard]] std::string refs(Context& c, const std::vector<EntryRef>& list);

/// What the rules make of the months of a span; nothing when the book goes by none.
void add_streams(Context& c, report::Report& r, Day from, Day until);
/// One line for each closed month of the span whose figures are others now: said before any figure.
[[nodiscard]] std::vector<std::string> amendments(Context& c, Day from, Day until);
/// What is told of months that are not over, or have not begun, so that their figures are not taken
/// for a result.
[[nodiscard]] std::vector<std::string> remarks(Context& c, Day from, Day until, bool judged);
void add_judgements(Context& c, report::Report& r, Day from, Day until);
/// Closed months of the span that changed since, each difference, who and why.
void add_closings(Context& c, report::Report& r, Day from, Day until);
[[nodiscard]] report::Report totals(Context& c, const Totals& t);
[[nodiscard]] report::Report split(Context& c, Day from, Day until, SplitBy by, const std::string& word);
[[nodiscard]] report::Report register_of(Context& c, Day from, Day until);
[[nodiscard]] report::Report limits(Context& c, const Limits& l);
[[nodiscard]] report::Report due(Context& c, const DueList& list);
/// The days of the list as an iCalendar file; plates, names and texts only when they are asked for.
[[nodiscard]] std::string calendar(Context& c, const DueList& list, bool with_personal);
[[nodiscard]] report::Report car(Context& c, CarId car, AsOf as_of);

/// Renders and hands over: to --out FILE (the form by --form or the file's name), or to standard output. Answers the exit status.
int deliver(Context& c, const report::Report& r);
/// The same for what is rendered already.
int hand_over(Context& c, const std::string& bytes, const std::string& seal);
/// Writes a file so that it is whole or not there: beside it, synced, read again, given its name by
/// baybook::take_name.
void write_file(const std::string& path, std::string_view bytes, Placing how);
[[nodiscard]] report::Paper paper_of(Context& c);

}  // namespace baybook::tool::sheet
