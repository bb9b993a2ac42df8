#include <baybook/text.hpp>

#include "text/unicode.hpp"

#include <algorithm>
#include <cstdlib>
#include <utility>

namespace baybook {

namespace {

constexpr std::size_t longest_slip = 400;        // bytes: longer than any name that is typed
constexpr std::int32_t past_unicode = 0x110000;  // stray bytes sit above the last code point and equal only themselves

std::vector<std::int32_t> folded_code_points(std::string_view text) {
  std::vector<std::int32_t> codes;
  const auto folded = text::mapped(text, UTF8PROC_STABLE | UTF8PROC_COMPOSE | UTF8PROC_CASEFOLD);
  text::for_each_piece(folded ? std::string_view{*folded} : text, [&](const text::Piece& piece, std::string_view) {
    codes.push_back(piece.valid ? utf8proc_tolower(piece.code) : past_unicode + piece.code);
  });
  return codes;
}

/// Optimal string alignment: insert, delete, replace, swap two neighbours; no part is edited twice. Three rows of the table.
int distance(const std::vector<std::int32_t>& a, const std::vector<std::int32_t>& b) {
  std::vector<int> two_back(b.size() + 1);
  std::vector<int> back(b.size() + 1);
  std::vector<int> row(b.size() + 1);
  for (std::size_t j = 0; j <= b.size(); ++j) back[j] = static_cast<int>(j);
  for (std::size_t i = 1; i <= a.size(); ++i) {
    row[0] = static_cast<int>(i);
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const int replace = back[j - 1] + (a[i - 1] == b[j - 1] ? 0 : 1);
      row[j] = std::min({back[j] + 1, row[j - 1] + 1, replace});
      if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) row[j] = std::min(row[j], two_back[j - 2] + 1);
    }
    std::swap(two_back, back);
    std::swap(back, row);
  }
  return back[b.size()];
}

}  // namespace

int edit_distance(std::string_view a, std::string_view b) { return distance(folded_code_points(a), folded_code_points(b)); }

std::vector<std::string> near_names(std::string_view typed, const std::vector<std::string>& known, std::size_t most) {
  if (typed.size() > longest_slip) return {};
  const std::vector<std::int32_t> wanted = folded_code_points(typed);
  const std::size_t reach = std::max<std::size_t>(1, wanted.size() / 3);
  std::vector<std::pair<int, std::string>> found;
  for (const std::string& name : known) {
    // A third farther than a typed text can be, each code point of four bytes.
    if (name.size() > 6 * longest_slip) continue;
    const std::vector<std::int32_t> codes = folded_code_points(name);
    const std::size_t longer = std::max(codes.size(), wanted.size());
    // Each edit changes the length by one at most: most names need no table at all.
    if (longer - std::min(codes.size(), wanted.size()) > reach) continue;
    const int far = distance(wanted, codes);
    if (static_cast<std::size_t>(far) <= reach) found.emplace_back(far, name);
  }
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  std::vector<std::string> names;
  for (auto& [far, name] : found) {
    if (names.size() == most) break;
    names.push_back(std::move(name));
  }
  return names;
}

}  // namespace baybook
