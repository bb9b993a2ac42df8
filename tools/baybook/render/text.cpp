#include "text.hpp"

#include <baybook/text.hpp>

#include <algorithm>
#include <sys/ioctl.h>
#include <unistd.h>

namespace baybook::tool {

int text_width() {
  static const int width = [] {
    winsize size{};
    if (::isatty(1) != 1 || ::ioctl(1, TIOCGWINSZ, &size) != 0 || size.ws_col < 40) return 80;
    return static_cast<int>(size.ws_col);
  }();
  return width;
}

std::string wrapped(std::string_view first, std::string_view text, int width) {
  std::string out(first);
  const int indent = display_width(first);
  int at = indent;
  bool begun = false;
  while (!text.empty()) {
    const std::size_t blank = text.find(' ');
    const std::string_view word = text.substr(0, blank);
    text.remove_prefix(blank == std::string_view::npos ? text.size() : blank + 1);
    if (word.empty()) continue;
    const int w = display_width(word);
    if (begun && at + 1 + w > width) {
      out += '\n';
      out.append(static_cast<std::size_t>(indent), ' ');
      at = indent;
      begun = false;
    }
    if (begun) {
      out += ' ';
      ++at;
    }
    out += word;
    at += w;
    begun = true;
  }
  out += '\n';
  return out;
}

std::string to_be_typed(std::string_view first, std::string_view text, int width) {
  if (!text.starts_with("baybook ")) return wrapped(first, text, width);
  constexpr std::string_view kRemark = "  # ";
  const std::size_t at = text.find(kRemark);
  if (at == std::string_view::npos || display_width(first) + display_width(text) <= width)
    return std::string(first) + std::string(text) + "\n";
  const std::string below(static_cast<std::size_t>(display_width(first)), ' ');
  std::string out = std::string(first) + std::string(text.substr(0, at)) + "\n";
  std::string remark = wrapped("", text.substr(at + kRemark.size()), width - display_width(first) - 2);
  while (!remark.empty()) {
    const std::size_t end = remark.find('\n');
    out += below + "# " + remark.substr(0, end + 1);
    remark.erase(0, end + 1);
  }
  return out;
}

std::string conflicts_line(std::int64_t n) {
  if (n == 0) return {};
  return wrapped("", std::to_string(n) + (n == 1 ? " thing" : " things") +
                         " to be settled: baybook settle list");
}

std::string joined(const std::vector<std::string>& list, std::string_view between) {
  std::string out;
  for (const std::string& s : list) {
    if (!out.empty()) out += between;
    out += s;
  }
  return out;
}

bool rough(const Sum& sum) { return sum.estimated != 0 || sum.low != sum.high; }

Units exact_units(Units units) {
  units.volume = VolumeUnit::litre;
  return units;
}

std::string bounded(std::int64_t low, std::int64_t best, std::int64_t high, Dimension d, const Units& units, bool exact) {
  std::string out = show(best, d, units, exact);
  // A reading takes bounds away: what a gauge changed has the smaller bound last.
  if (low > high) std::swap(low, high);
  if (low != best || high != best) out += " (" + show(low, d, units, exact) + " to " + show(high, d, units, exact) + ")";
  return out;
}

std::string level_text(const LevelAfter& l, const Units& units) {
  std::string best = show(l.best, l.dimension, units);
  std::string out;
  if (l.size) {
    const std::string size = show(*l.size, l.dimension, units);
    const std::size_t a = best.rfind(' ');
    const std::size_t b = size.rfind(' ');
    // One unit is enough when both have the same.
    if (a != std::string::npos && b != std::string::npos && (best.substr(a) == size.substr(b) || l.best == 0)) best.erase(a);
    out = best + " of " + size;
  } else {
    out = best;
  }
  // No container holds less than nothing, however wide the bounds have grown.
  if (l.low != l.best || l.high != l.best) out += " (" + show(std::max<std::int64_t>(0, l.low), l.dimension, units) + " to " + show(l.high, l.dimension, units) + ")";
  return out;
}

std::string ref_text(const EntryRef& ref, const std::string& own_tag) {
  std::string out = std::to_string(ref.number());
  if (ref.tag != own_tag) out += "@" + ref.tag;
  return out;
}

std::string when(Day day, const std::optional<TimeOfDay>& at) {
  return to_string(day) + (at ? " " + to_string(at->minute) + " (UTC" + to_string(*at).substr(5) + ")" : "");
}

std::string short_digest(const std::string& digest, std::size_t n) { return digest.substr(0, n); }

std::string recheck_when(const Recheck& r, const Units& units) {
  std::string out;
  if (r.after_days) out = "after " + std::to_string(*r.after_days) + (*r.after_days == 1 ? " day" : " days");
  if (r.after_distance) out += (out.empty() ? "after " : " or ") + show_distance(*r.after_distance, units);
  return out;
}

}  // namespace baybook::tool
