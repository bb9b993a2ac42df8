// How wide the columns of a table are, and where a text goes on to the next line. The same for a screen and for paper: only the
// measure differs.
#pragma once

#include "report.hpp"

#include <functional>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace baybook::tool::report {

using Measure = std::function<double(std::string_view)>;

/// `text` in lines no wider than `room`, broken at blanks. A word that is wider than a whole line goes on below, behind a
/// hyphen or a stroke where it has one; nothing of it is lost.
[[nodiscard]] std::vector<std::string> lines_of(std::string_view text, double room, const Measure& measure);
[[nodiscard]] double longest_word(std::string_view text, const Measure& measure);

struct Demand {
  double natural = 0;  ///< nothing breaks
  double least = 0;    ///< no word breaks
};
/// Every cell, heading and sum of the table. `plain` and `bold`: the two weights. A figure never breaks.
[[nodiscard]] std::vector<Demand> demands(const Table& table, const Measure& plain, const Measure& bold);
/// Widths that fill at most `room` (without gaps); nothing when not even the least widths fit.
[[nodiscard]] std::optional<std::vector<double>> shared_room(const std::vector<Demand>& demands, double room);
/// The last resort: words break, the narrow columns keep what they need.
[[nodiscard]] std::vector<double> forced_room(const std::vector<Demand>& demands, double room);

}  // namespace baybook::tool::report
