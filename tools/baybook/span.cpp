#include "span.hpp"

#include <baybook/text.hpp>

#include <charconv>

namespace baybook::tool {

Span read_span(Context& c, const std::string& text) {
  if (const std::size_t dots = text.find(".."); dots != std::string::npos) {
    // Either end may be a month: from its first day, or to its last.
    const auto end_of = [&](const std::string& one, bool last) {
      if (one.size() != 7 && !one.ends_with("-month")) return c.day(one);
      const Month month = c.month(one);
      return last ? last_of(month) : first_of(month);
    };
    const Span s{end_of(text.substr(0, dots), false), end_of(text.substr(dots + 2), true)};
    if (s.until < s.from) refuse(Code::unclear, visible(text) + " ends before it begins", "", to_string(s.until) + ".." + to_string(s.from));
    return s;
  }
  // A quarter of a year: 2026-q1.
  if (text.size() == 7 && text[4] == '-' && (text[5] == 'q' || text[5] == 'Q') && text[6] >= '1' && text[6] <= '4') {
    const int month = (text[6] - '1') * 3 + 1;
    const Month first =
        c.month(text.substr(0, 5) + (month < 10 ? "0" : "") + std::to_string(month));
    return {first_of(first), last_of(Month{first.n + 2})};
  }
  if (text.size() == 4) {
    int year = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + 4, year);
    if (error == std::errc() && end == text.data() + 4) {
      const auto first = read_day(text + "-01-01");
      const auto last = read_day(text + "-12-31");
      if (first && last) return {*first, *last};
    }
  }
  const Month month = text.empty() ? month_of(c.as_of_or_today()) : c.month(text);
  return {first_of(month), last_of(month)};
}

}  // namespace baybook::tool
