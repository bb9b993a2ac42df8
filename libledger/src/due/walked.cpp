#include "due/walked.hpp"

#include "due/counter.hpp"

#include <algorithm>
#include <optional>

namespace baybook::due {

namespace {

__extension__ using Wide = __int128;

constexpr std::int64_t kWhole = 1'000'000;

// Tuning values, as in projection.cpp (docs/projection.md).
constexpr std::int64_t kUsualForecasts = 40;  // what is usual counts as much as so many
constexpr std::int64_t kFullStretch = 40;     // days: a forecast so far ahead counts half
constexpr std::int64_t kLeastWidth = 500'000;
constexpr std::int64_t kMostWidth = 6'000'000;
constexpr std::int64_t kStep = 50'000;

constexpr std::size_t kMostCars = 200;
constexpr std::size_t kMostReadings = 24;

/// Of a hundred usual forecasts, in millionths: f^2 / (f^2 + (u/2)^2), which is four in five at
/// the usual width u, and half of them at half of it.
std::int64_t usually_held(std::int64_t width) {
  const auto square = static_cast<Wide>(width) * width;
  const auto usual = static_cast<Wide>(kUsualWidth) * kUsualWidth / 4;
  return static_cast<std::int64_t>(square * kWhole / (square + usual));
}

/// The first car with a reading from that id on; none.
std::optional<CarId> first_from(store::Db& db, std::int64_t id) {
  auto q = db.query("SELECT car FROM reading WHERE car >= ? ORDER BY car LIMIT 1");
  q.bind(id);
  return q.step() ? std::optional(CarId{q.num(0)}) : std::nullopt;
}

std::vector<CarId> every(store::Db& db, std::size_t most) {
  std::vector<CarId> out;
  for (auto car = first_from(db, 0); car && out.size() < most; car = first_from(db, car->n + 1))
    out.push_back(*car);
  return out;
}

std::vector<CarId> spread_over_book(store::Db& db, std::size_t most) {
  std::vector<CarId> out = every(db, most + 1);
  if (out.size() <= most) return out;
  auto q = db.query("SELECT max(car) FROM reading");
  const std::int64_t first = out.front().n;
  const auto step =
      std::max<std::int64_t>(1, (q.step_num() - first) / static_cast<std::int64_t>(most));
  out.clear();
  for (std::int64_t at = first; out.size() < most; at += step) {
    const auto car = first_from(db, out.empty() ? at : std::max(at, out.back().n + 1));
    if (!car) break;
    out.push_back(*car);
  }
  return out;
}

}  // namespace

std::int64_t width_to_hold(const std::vector<Miss>& misses) {
  struct Counted {
    std::int64_t width, counts;
  };
  std::vector<Counted> sorted;
  std::int64_t all = 0;
  for (const Miss& m : misses) {
    const std::int64_t counts = m.days * kWhole / (m.days + kFullStretch);
    sorted.push_back({m.width_millionths, counts});
    all += counts;
  }
  std::sort(sorted.begin(), sorted.end(),
            [](const Counted& a, const Counted& b) { return a.width < b.width; });
  std::size_t next = 0;
  std::int64_t held = 0;
  for (std::int64_t width = kLeastWidth; width < kMostWidth; width += kStep) {
    for (; next < sorted.size() && sorted[next].width <= width; ++next) held += sorted[next].counts;
    const std::int64_t with_usual = held + kUsualForecasts * usually_held(width);
    if (with_usual * 5 >= (all + kUsualForecasts * kWhole) * 4) return width;
  }
  return kMostWidth;
}

Walked walk_forward(store::Db& db, std::int64_t until) {
  Walked out;
  std::vector<Miss> misses;
  for (const CarId car : spread_over_book(db, kMostCars)) {
    std::vector<OdometerReading> readings = newest_of(db, car, until, kMostReadings);
    if (readings.size() < kEnoughReadings) continue;
    const History history = read_use(std::move(readings));
    if (history.misses.empty()) continue;
    ++out.cars;
    misses.insert(misses.end(), history.misses.begin(), history.misses.end());
  }
  out.forecasts = std::ssize(misses);
  out.width_millionths = width_to_hold(misses);
  return out;
}

}  // namespace baybook::due
