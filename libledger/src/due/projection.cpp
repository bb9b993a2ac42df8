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
constexpr double kWider =
    0.5;  // the range is so much wider after a reading that it did not hold ...
constexpr double kNarrower =
    0.1;  // ... and so much narrower after one that it did: even at one miss in five
constexpr double kLeastWidth = 0.5;
constexpr double kMostWidth = 8.0;
// In a repair, a holiday or a winter a car stands for some days: the late end allows for so many.
constexpr std::int32_t kStands = 14;

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
/// As shown: `turned` is what was added up for the times that the instrument began again.
void name_slips(const Readings& all, std::size_t from, std::size_t to,
                const std::vector<bool>& used, const std::vector<std::int64_t>& turned,
                std::vector<Slip>& out) {
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
    out.push_back({r.entry, r.day, r.metres - turned[i], other - turned[last],
                   r.metres >= other - kRoundingMetres});
  }
}

/// The half width of the range `days` ahead, in metres, at spread 1.
double half_width(double rate, double known_days, double days) {
  const double size = rate * rate + kLowUse * kLowUse;
  const double years = days / 365.25;
  const double rate_part = days * days * (kRateShare + kSeasonShare / (1.0 + years * years * 4.0) + kDrift * days + kKnownShare / known_days);
  return std::sqrt(size * (rate_part + kDayShare * days) + kRounding);
}

/// How wide a range is drawn.
struct Wide {
  double times = 1.0;
  std::int32_t stands = 0;  // days for which the late end lets the car stand first
};
constexpr Wide kAsKept{};

struct Ahead {
  double low = 0.0, likely = 0.0, high = 0.0;  // metres driven
};

/// What a range is drawn from: metres a day, the days that the rate stands on, the car's spread.
struct Basis {
  double rate, days, spread;
};

/// The range is as many times up as down, so that its low end never comes below nothing.
Ahead ahead(const Basis& of, std::int32_t days, const Wide& wide) {
  const auto n = static_cast<double>(days);
  const auto driving = static_cast<double>(std::max(0, days - wide.stands));
  const double likely = of.rate * n;
  const double driven = of.rate * driving;
  const double up = kReach * of.spread * half_width(of.rate, of.days, n) * wide.times;
  const double down = kReach * of.spread * half_width(of.rate, of.days, driving) * wide.times;
  return {driven * driven / (driven + down), likely, likely + up};
}

/// The least width at which the range `days` ahead holds what was driven.
double width_to_hold(const Basis& of, std::int32_t days, double driven) {
  const double likely = of.rate * static_cast<double>(days);
  if (driven >= likely) {
    const double one = kReach * of.spread * half_width(of.rate, of.days, static_cast<double>(days));
    return (driven - likely) / one;
  }
  const auto driving = static_cast<double>(std::max(0, days - kStands));
  const double least = of.rate * driving;
  if (driven >= least) return 0.0;
  const double one = kReach * of.spread * half_width(of.rate, of.days, driving);
  return (least / std::max(driven, 1.0) * least - least) / one;
}

/// What is known while walking forward over the stretches between readings.
struct Walk {
  explicit Walk(double width_before) : width(width_before) {}

  double days = 0.0, metres = 0.0;      // weighted
  double weight = 0.0, surprise = 0.0;  // weighted, of the stretches foretold
  double width;                         // of the range, after the readings that it held or did not
  std::vector<Miss> misses;

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
      const double one = half_width(metres / days, days, length);
      // The range is as many times up as down, so a miss is measured the same way: half as far is as wrong as twice as far.
      const double off = distance < expected ? expected / std::max(distance, 1.0) * expected - expected : distance - expected;
      foretold_off = std::min(off / one * (off / one), kMostSurprise);
      learn(n, width_to_hold({metres / days, days, spread()}, n, distance));
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

  /// A short stretch says little of how wide the range has to be.
  void learn(std::int32_t n, double needed) {
    const auto length = static_cast<double>(n);
    const double counts = length / (length + kFullStretch);
    misses.push_back({millionths(std::min(needed, kMostWidth)), n});
    width = needed > width ? width * (1.0 + kWider * counts) : width / (1.0 + kNarrower * counts);
    width = std::min(std::max(width, kLeastWidth), kMostWidth);
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
void walk_instrument(const Readings& all, std::size_t from, std::size_t to,
                     const std::vector<bool>& used, const std::vector<std::int64_t>& turned,
                     Walk& walk, History& out) {
  Use& use = out.use;
  std::size_t first = from;
  while (!used[first]) ++first;  // the largest set has at least one
  if (use.readings == 0) {
    use.first_day = all[first].day;
    out.instruments.push_back({all[first].entry, all[first].day, 0});
  } else {
    walk.pass(all[first].day.n - use.last_day.n);
    const std::int64_t driven = out.instruments.back().added_metres + use.last_metres;
    const std::int64_t shown = all[first].metres - turned[first];
    out.instruments.push_back({all[first].entry, all[first].day, driven - shown});
  }
  std::int64_t round = turned[first];
  for (std::size_t i = first; i < to; ++i) {
    if (!used[i]) continue;
    ++use.readings;
    use.last_day = all[i].day;
    use.last_metres = all[i].metres - turned[i];
    if (turned[i] == round) continue;
    const std::int64_t added = out.instruments.back().added_metres + turned[i] - round;
    out.instruments.push_back({all[i].entry, all[i].day, added});
    round = turned[i];
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

Basis known_by(const Use& use) {
  return {static_cast<double>(use.metres_per_day_millionths) / kMillion,
          static_cast<double>(use.known_days_millionths) / kMillion,
          static_cast<double>(use.spread_millionths) / kMillion};
}

Wide wide_of(const Use& use) {
  return {static_cast<double>(use.width_millionths) / kMillion, kStands};
}

/// The first day, counted from the last reading, on which `end` has come `to_go`; none within the horizon. Every end only grows.
template <class End>
std::optional<std::int32_t> first_day(const Basis& of, const Wide& wide, double to_go, End end) {
  // The rate is kept rounded: half a metre short is there.
  to_go -= 0.5;
  if (end(ahead(of, kHorizonDays, wide)) < to_go) return std::nullopt;
  std::int32_t not_yet = 0;
  std::int32_t there = kHorizonDays;
  while (there - not_yet > 1) {
    const std::int32_t middle = not_yet + (there - not_yet) / 2;
    (end(ahead(of, middle, wide)) < to_go ? not_yet : there) = middle;
  }
  return there;
}

std::int64_t whole(double metres) { return static_cast<std::int64_t>(metres + 0.5); }

}  // namespace

History read_use(Readings readings, std::int64_t width_millionths) {
  std::stable_sort(readings.begin(), readings.end(), [](const OdometerReading& a, const OdometerReading& b) { return a.day < b.day; });
  History out;
  Walk walk(static_cast<double>(width_millionths) / kMillion);
  // Distance goes on where an instrument began again at nothing: its range is added while the
  // readings are weighed, and taken off again from what is told of them.
  std::vector<std::int64_t> turned(readings.size(), 0);
  for (std::size_t i = 0; i < readings.size(); ++i) {
    const bool goes_on = i > 0 && !readings[i].replaced;
    turned[i] = (goes_on ? turned[i - 1] : 0) + readings[i].turned;
    readings[i].metres += turned[i];
  }
  std::vector<bool> used(readings.size(), false);
  for (std::size_t from = 0; from < readings.size();) {
    std::size_t to = from + 1;
    while (to < readings.size() && !readings[to].replaced) ++to;
    mark_used(readings, from, to, used);
    name_slips(readings, from, to, used, turned, out.slips);
    walk_instrument(readings, from, to, used, turned, walk, out);
    from = to;
  }
  if (millionths(walk.days) > 0) {
    out.use.metres_per_day_millionths = millionths(walk.metres / walk.days);
    out.use.known_days_millionths = millionths(walk.days);
    out.use.spread_millionths = millionths(walk.spread());
  }
  out.use.width_millionths = millionths(walk.width);
  out.misses = std::move(walk.misses);
  return out;
}

namespace {

Reach reaches(const Use& use, std::int64_t metres, const Wide& wide) {
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
  const Basis of = known_by(use);
  const auto first = [&](auto end) { return first_day(of, wide, to_go, end); };
  name(first([](const Ahead& a) { return a.high; }), out.early, out.early_open);
  name(first([](const Ahead& a) { return a.likely; }), out.likely, out.likely_open);
  name(first([](const Ahead& a) { return a.low; }), out.late, out.late_open);
  return out;
}

}  // namespace

Reach when_reaches(const Use& use, std::int64_t metres) {
  return reaches(use, metres, wide_of(use));
}

Reach when_reaches_as_kept(const Use& use, std::int64_t metres) {
  return reaches(use, metres, kAsKept);
}

At where_on(const Use& use, Day day) {
  At out{known_of(use), use.last_metres, use.last_metres, use.last_metres};
  if (out.known != Known::projected || day <= use.last_day) return out;
  const std::int64_t days = std::int64_t{day.n} - use.last_day.n;
  const auto far = static_cast<std::int32_t>(std::min<std::int64_t>(days, kHorizonDays));
  const Ahead driven = ahead(known_by(use), far, wide_of(use));
  out.low += whole(driven.low);
  out.likely += whole(driven.likely);
  out.high += whole(driven.high);
  return out;
}

}  // namespace baybook::due
