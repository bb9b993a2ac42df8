#include "columns.hpp"

#include "characters.hpp"

#include <algorithm>

namespace baybook::tool::report {

namespace {

// Between which code points a word may be cut at all.
std::vector<std::size_t> cuts(std::string_view word) {
  const std::vector<std::size_t> at = starts(word);
  const std::vector<char32_t> codes = code_points(word);
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    if (i == 0 || !joins_the_one_before(codes[i])) out.push_back(at[i]);
  }
  out.push_back(word.size());
  return out;
}

template <class Each>
void for_each_word(std::string_view text, Each&& each) {
  while (!text.empty()) {
    const std::size_t blank = text.find(' ');
    const std::string_view word = text.substr(0, blank);
    text.remove_prefix(blank == std::string_view::npos ? text.size() : blank + 1);
    if (!word.empty()) each(word);
  }
}

// Rounding must not send the widest word of a column to a second line.
constexpr double kSlack = 0.01;

}  // namespace

std::vector<std::string> lines_of(std::string_view text, double room, const Measure& measure) {
  if (measure(text) <= room + kSlack) return {std::string(text)};
  std::vector<std::string> out;
  std::string line;
  double at = 0;
  const double blank = measure(" ");
  for_each_word(text, [&](std::string_view word) {
    double width = measure(word);
    if (!line.empty() && at + blank + width <= room + kSlack) {
      line += ' ';
      line += word;
      at += blank + width;
      return;
    }
    if (!line.empty()) {
      out.push_back(line);
      line.clear();
    }
    while (width > room + kSlack) {
      const std::vector<std::size_t> ends = cuts(word);
      std::size_t best = ends.size() > 1 ? ends[1] : word.size();
      std::size_t behind_hyphen = 0;
      for (const std::size_t end : ends) {
        if (end == 0) continue;
        if (measure(word.substr(0, end)) > room + kSlack) break;
        best = end;
        if (word[end - 1] == '-' || word[end - 1] == '/') behind_hyphen = end;
      }
      // A name or a number of a paper is read more easily when it goes on where its writer has parted it.
      if (behind_hyphen != 0 && best < word.size()) best = behind_hyphen;
      if (best >= word.size()) break;
      out.emplace_back(word.substr(0, best));
      word.remove_prefix(best);
      width = measure(word);
    }
    line = word;
    at = width;
  });
  if (!line.empty() || out.empty()) out.push_back(line);
  return out;
}

double longest_word(std::string_view text, const Measure& measure) {
  double most = 0;
  for_each_word(text, [&](std::string_view word) { most = std::max(most, measure(word)); });
  return most;
}

std::vector<Demand> demands(const Table& table, const Measure& plain, const Measure& bold) {
  std::vector<Demand> out(table.columns.size());
  for (std::size_t c = 0; c < table.columns.size(); ++c) {
    const std::string heading = heading_of(table.columns[c]);
    out[c] = {longest_word(heading, bold), longest_word(heading, bold)};
    const auto take = [&](const Cell& cell, bool strong) {
      const Measure& measure = strong || cell.strong ? bold : plain;
      const double width = measure(cell.text);
      out[c].natural = std::max(out[c].natural, width);
      out[c].least = std::max(out[c].least, table.columns[c].whole || (table.columns[c].figure && is_number(cell.text)) ? width : longest_word(cell.text, measure));
    };
    for (const auto& row : table.rows) {
      if (c < row.size()) take(row[c], false);
    }
    for (const auto& row : table.foot) {
      if (c < row.size()) take(row[c], true);
    }
    // A heading of a few words takes two lines before it widens a column of short figures.
    out[c].natural = std::max(out[c].natural, std::min(bold(heading), out[c].natural * 1.5));
  }
  return out;
}

std::optional<std::vector<double>> shared_room(const std::vector<Demand>& demands, double room) {
  double natural = 0;
  double least = 0;
  for (const Demand& d : demands) {
    natural += d.natural;
    least += d.least;
  }
  std::vector<double> out;
  if (natural <= room) {
    for (const Demand& d : demands) out.push_back(d.natural);
    return out;
  }
  if (least > room) return std::nullopt;
  // Columns that would be content with a small share get all they ask for; the greedy ones divide the rest.
  std::vector<bool> settled(demands.size(), false);
  out.assign(demands.size(), 0);
  double left = room - least;
  bool changed = true;
  while (changed) {
    changed = false;
    std::size_t open = 0;
    for (std::size_t c = 0; c < demands.size(); ++c) open += settled[c] ? 0U : 1U;
    if (open == 0) break;
    const double fair = left / static_cast<double>(open);
    for (std::size_t c = 0; c < demands.size(); ++c) {
      const double wish = demands[c].natural - demands[c].least;
      if (settled[c] || wish > fair) continue;
      settled[c] = true;
      out[c] = demands[c].natural;
      left -= wish;
      changed = true;
    }
  }
  double wishes = 0;
  for (std::size_t c = 0; c < demands.size(); ++c) wishes += settled[c] ? 0 : demands[c].natural - demands[c].least;
  for (std::size_t c = 0; c < demands.size(); ++c) {
    if (!settled[c]) out[c] = demands[c].least + (wishes > 0 ? left * (demands[c].natural - demands[c].least) / wishes : 0);
  }
  return out;
}

std::vector<double> forced_room(const std::vector<Demand>& demands, double room) {
  std::vector<Demand> tamed = demands;
  // The widest word of all gives way first.
  for (double cap = room; cap > 1; cap *= 0.95) {
    for (std::size_t c = 0; c < tamed.size(); ++c) tamed[c].least = std::min(demands[c].least, cap);
    if (auto widths = shared_room(tamed, room)) return *widths;
  }
  return std::vector<double>(demands.size(), room / static_cast<double>(demands.size()));
}

}  // namespace baybook::tool::report
