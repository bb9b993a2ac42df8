#include "due/projection.hpp"

#include <algorithm>
#include <cfloat>
#include <cmath>
#include <cstddef>
#include <optional>

// Only + - * / and sqrt, which IEEE 754 rounds exactly, and no fused multiply-add (libledger/CMakeLists.txt says so to the compiler):
// the same figures on every machine.
static_assert(FLT_EVAL_METHOD == 0, "intermediate results must not carry more than a double's bits");

namespace baybook::due {
namespace {

// Tuning values, found on synthetic use (docs/projection.md), not physical facts. Shares are of the square of the rate.
constexpr double kKeep = 0.9975;         // what a day's weight keeps from one day to the next: half after 277 days
constexpr double kLowUse = 5000.0;       // m/day: below about this, use varies more than in proportion
constexpr double kRateShare = 0.025;     // variance of the rate to come against the rate seen, however far ahead
constexpr double kSeasonShare = 0.04;    // the same, of comings and goings that even out over a year
constexpr double kKnownShare = 5.0;      // the same, for each day less than known: few readings, a wide range
constexpr double kDrift = 0.00002;       // the same, for each day looked ahead
constexpr double kDayShare = 2.0;        // variance of a day's own distance
constexpr double kRounding = 1610.0 * 1610.0 / 6.0;  // m^2: two readings in whole miles
constexpr double kReach = 1.2;           // half width of the range, in deviations
constexpr double kPriorStretches = 5.0;  // the prior spread weighs as much as so many long stretches of this car
constexpr double kFullStretch = 40.0;    // days: a stretch of this length counts a quarter in the spread, a longer one more
constexpr double kMostSurprise = 36.0;   // no stretch counts as more than this (six deviations, squared)

// A whole-mile reading after a whole-kilometre one of the same spot can be lower by one of the larger unit.
constexpr std::int64_t kRoundingMetres = 1610;
// No car drives farther day after day: 24 hours at about 60 km/h. Common sense, no source.
constexpr std::int64_t kMostMetresPerDay = 1'500'000;
constexpr std::int32_t kStandingDays = 90;
// Readings looked back over for one that fits: keeps a long, broken history from costing its square.
constexpr std::size_t kLookBack = 64;

constexpr double kMillion = 1'000'000.0;

/// kKeep to the power of `days`, by squaring: std::pow may differ in the last bit between machines.
double kept_after(std::int32_t days) {
  double base = kKeep;
  double out = 1.0;
  for (std::int32_t n = days; n > 0; n /= 2) {
    if (n % 2 != 0) out *= base;
    base *= base;
  }
  return out;
}

std::int64_t millionths(double value) { return static_cast<std::int64_t>(value * kMillion + 0.5); }

using Readings = std::vector<OdometerReading>;

/// Readings of one instrument that fit together, as far as the last of them.
struct Chain {
  std::size_t length = 1;
  std::int64_t first = 0;
  std::int64_t highest = 0;  // rounding is forgiven against this, or many small steps back would add up
  std::optional<std::size_t> before{};

  /// Holds more readings; of two as long, the one that has come less far.
  [[nodiscard]] bool better_than(const Chain& other) const {
    if (length != other.length) return length > other.length;
    return highest - first < other.highest - other.first;
  }
};

/// Whether `later` can follow a chain that ends with `earlier`.
bool fits(const OdometerReading& earlier, std::int64_t highest, const OdometerReading& later) {
  const std::int64_t days = later.day.n - earlier.day.n;
  return later.metres >= highest - kRoundingMetres && later.metres - earlier.metres <= kMostMetresPerDay * (days + 1);
}

/// Marks the largest set of one instrument's readings [from, to) that fits together.
void mark_used(const Readings& all, std::size_t from, std::size_t to, std::vector<bool>& used) {
  std::int64_t highest = all[from].metres;
  std::size_t clean = from + 1;
  for (; clean < to && fits(all[clean - 1], highest, all[clean]); ++clean) highest = std::max(highest, all[clean].metres);
  if (clean == to) {
    std::fill(used.begin() + static_cast<std::ptrdiff_t>(from), used.begin() + static_cast<std::ptrdiff_t>(to), true);
    return;
  }
  std::vector<Chain> chains(to - from);
  std::size_t best = 0;
  for (std::size_t i = 0; i < chains.size(); ++i) {
    const OdometerReading& reading = all[from + i];
    chains[i].first = chains[i].highest = reading.metres;
    for (std::size_t j = i > kLookBack ? i - kLookBack : 0; j < i; ++j) {
      if (!fits(all[from + j], chains[j].highest, reading)) continue;
      const Chain longer{chains[j].length + 1, chains[j].first, std::max(chains[j].highest, reading.metres), j};
      if (longer.better_than(chains[i])) chains[i] = longer;
    }
    if (chains[i].better_than(chains[best])) best = i;
  }
  for (std::optional<std::size_t> at = best; at; at = chains[*at].before) used[from + *at] = true;
}

/// The readings of one instrument that are not used, each with the used one before it.
void name_slips(const Readings& all, std::size_t from, std::size_t to, const std::vector<bool>& used, std::vector<Slip>& out) {
  std::size_t first = from;
  while (!used[first]) ++first;  // the largest set has at least one
  std::size_t last = first;
  for (std::size_t i = from; i < to; ++i) {
    if (used[i]) {
      last = i;
      continue;
    }
    const OdometerReading& r = all[i];
    const std::int64_t other = all[last].metres;
    out.push_back({r.entry, r.day, r.metres, other, r.metres >= other - kRoundingMetres});
  }
}

/// The half width of the range `days` ahead, in metres, at spread 1.
double half_width(double rate, double known_days, double days) {
  const double size = rate * rate + kLowUse * kLowUse;
  const double years = days / 365.25;
  const double rate_part = days * days * (kRateShare + kSeasonShare / (1.0 + years * years * 4.0) + kDrift * days + kKnownShare / known_days);
  return std::sqrt(size * (rate_part + kDayShare * days) + kRounding);
}

/// What is known while walking forward over the stretches between readings.
struct Walk {
  double days = 0.0, metres = 0.0;      // weighted
  double weight = 0.0, surprise = 0.0;  // weighted, of the stretches foretold

  void pass(std::int32_t n) {
    const double keep = kept_after(n);
    days *= keep;
    metres *= keep;
    weight *= keep;
    surprise *= keep;
  }

  /// A stretch of `n` days: first how wrong it would have been foretold, then what it says of the rate.
  void stretch(std::int32_t n, std::int64_t driven) {
    const auto length = static_cast<double>(n);
    const auto distance = static_cast<double>(driven);
    double foretold_off = -1.0;
    if (days > 0.0) {
      const double expected = metres / days * length;
      const double width = half_width(metres / days, days, length);
      // The range is as many times up as down, so a miss is measured the same way: half as far is as wrong as twice as far.
      const double off = distance < expected ? expected / std::max(distance, 1.0) * expected - expected : distance - expected;
      foretold_off = std::min(off / width * (off / width), kMostSurprise);
    }
    pass(n);
    const double weighted = (1.0 - kept_after(n)) / (1.0 - kKeep);
    days += weighted;
    metres += distance / length * weighted;
    if (foretold_off >= 0.0) {
      const double counts = length / (length + kFullStretch) * (length / (length + kFullStretch));
      weight += counts;
      surprise += counts * foretold_off;
    }
  }

  [[nodiscard]] double spread() const { return std::sqrt((kPriorStretches + surprise) / (kPriorStretches + weight)); }
};

/// How far an instrument had come at the end of a day. Rounding lets a reading fall back a little; this never does.
struct DayEnd {
  Day day;
  std::int64_t metres = 0;
};

std::vector<DayEnd> day_ends(const Readings& all, std::size_t from, std::size_t to, const std::vector<bool>& used) {
  std::vector<DayEnd> out;
  for (std::size_t i = from; i < to; ++i) {
    if (!used[i]) continue;
    if (out.empty() || out.back().day < all[i].day) out.push_back({all[i].day, out.empty() ? all[i].metres : out.back().metres});
    out.back().metres = std::max(out.back().metres, all[i].metres);
  }
  return out;
}

/// What the used readings of one instrument add. What was driven between the last reading of an instrument and the first of the next
/// is not known: those days count for nothing, but they pass.
void walk_instrument(const Readings& all, std::size_t from, std::size_t to, const std::vector<bool>& used, Walk& walk, History& out) {
  Use& use = out.use;
  std::size_t first = from;
  while (!used[first]) ++first;  // the largest set has at least one
  if (use.readings == 0) {
    use.first_day = all[first].day;
    out.instruments.push_back({all[first].entry, all[first].day, 0});
  } else {
    walk.pass(all[first].day.n - use.last_day.n);
    out.instruments.push_back({all[first].entry, all[first].day, out.instruments.back().added_metres + use.last_metres - all[first].metres});
  }
  for (std::size_t i = first; i < to; ++i) {
    if (!used[i]) continue;
    ++use.readings;
    use.last_day = all[i].day;
    use.last_metres = all[i].metres;
  }
  const std::vector<DayEnd> ends = day_ends(all, from, to, used);
  for (std::size_t i = 1; i < ends.size(); ++i) walk.stretch(ends[i].day.n - ends[i - 1].day.n, ends[i].metres - ends[i - 1].metres);
  use.standing_days = 0;
  for (auto end = ends.rbegin(); end != ends.rend() && ends.back().metres - end->metres <= kRoundingMetres; ++end) {
    use.standing_days = ends.back().day.n - end->day.n;
  }
}

Known known_of(const Use& use) {
  if (use.readings == 0) return Known::nothing;
  if (use.known_days_millionths == 0) return Known::one_reading;
  if (use.metres_per_day_millionths == 0 || use.standing_days >= kStandingDays) return Known::standing_still;
  return Known::projected;
}

struct Ahead {
  double low = 0.0, likely = 0.0, high = 0.0;  // metres driven
};

/// The range is as many times up as down, so that its low end never comes below nothing.
Ahead ahead(const Use& use, std::int32_t days) {
  const double rate = static_cast<double>(use.metres_per_day_millionths) / kMillion;
  const double known = static_cast<double>(use.known_days_millionths) / kMillion;
  const double spread = static_cast<double>(use.spread_millionths) / kMillion;
  const auto n = static_cast<double>(days);
  const double likely = rate * n;
  const double wide = kReach * spread * half_width(rate, known, n);
  return {likely * likely / (likely + wide), likely, likely + wide};
}

/// The first day, counted from the last reading, on which `end` has come `to_go`; none within the horizon. Every end only grows.
template <class End>
std::optional<std::int32_t> first_day(const Use& use, double to_go, End end) {
  // The rate is kept rounded: half a metre short is there.
  to_go -= 0.5;
  if (end(ahead(use, kHorizonDays)) < to_go) return std::nullopt;
  std::int32_t not_yet = 0;
  std::int32_t there = kHorizonDays;
  while (there - not_yet > 1) {
    const std::int32_t middle = not_yet + (there - not_yet) / 2;
    (end(ahead(use, middle)) < to_go ? not_yet : there) = middle;
  }
  return there;
}

std::int64_t whole(double metres) { return static_cast<std::int64_t>(metres + 0.5); }

}  // namespace

History read_use(Readings readings) {
  std::stable_sort(readings.begin(), readings.end(), [](const OdometerReading& a, const OdometerReading& b) { return a.day < b.day; });
  History out;
  Walk walk;
  std::vector<bool> used(readings.size(), false);
  for (std::size_t from = 0; from < readings.size();) {
    std::size_t to = from + 1;
    while (to < readings.size() && !readings[to].replaced) ++to;
    mark_used(readings, from, to, used);
    name_slips(readings, from, to, used, out.slips);
    walk_instrument(readings, from, to, used, walk, out);
    from = to;
  }
  if (millionths(walk.days) > 0) {
    out.use.metres_per_day_millionths = millionths(walk.metres / walk.days);
    out.use.known_days_millionths = millionths(walk.days);
    out.use.spread_millionths = millionths(walk.spread());
  }
  return out;
}

Reach when_reaches(const Use& use, std::int64_t metres) {
  Reach out;
  out.known = known_of(use);
  if (out.known == Known::nothing) return out;
  if (metres <= use.last_metres) {
    out.reached = true;
    out.early = out.likely = out.late = use.last_day;
    return out;
  }
  if (out.known != Known::projected) return out;
  const auto to_go = static_cast<double>(metres - use.last_metres);
  const auto name = [&use](std::optional<std::int32_t> days, Day& day, bool& open) {
    open = !days;
    day = Day{use.last_day.n + days.value_or(kHorizonDays)};
  };
  name(first_day(use, to_go, [](const Ahead& a) { return a.high; }), out.early, out.early_open);
  name(first_day(use, to_go, [](const Ahead& a) { return a.likely; }), out.likely, out.likely_open);
  name(first_day(use, to_go, [](const Ahead& a) { return a.low; }), out.late, out.late_open);
  return out;
}

At where_on(const Use& use, Day day) {
  At out{known_of(use), use.last_metres, use.last_metres, use.last_metres};
  if (out.known != Known::projected || day <= use.last_day) return out;
  const std::int64_t days = std::int64_t{day.n} - use.last_day.n;
  const Ahead driven = ahead(use, static_cast<std::int32_t>(std::min<std::int64_t>(days, kHorizonDays)));
  out.low += whole(driven.low);
  out.likely += whole(driven.likely);
  out.high += whole(driven.high);
  return out;
}

}  // namespace baybook::due
