// Makes a book with many cars and five intervals for each: baybook_due_load FILE CARS. Everything is invented.
//
// Every entry goes through Book::append; only the commit is shared by a batch of them.
#include "book/inside.hpp"

#include <baybook/book.hpp>

#include <chrono>
#include <cstdlib>
#include <iostream>
#include <memory>
#include <random>
#include <string>

namespace {

using namespace baybook;

template <class T>
T need(Result<T> r) {
  if (r.ok()) return std::move(r).value();
  std::cerr << "refused: " << r.refusal().what << "\n  " << r.refusal().why << "\n  " << r.refusal().instead << "\n";
  std::exit(1);
}

constexpr std::int64_t kDay = 86'400'000;
// Far enough on for its oldest entry to be of a day that a clock can say (docs/decisions/0024-clocks.md).
constexpr std::int64_t kNow = 1'830'326'400'000;  // 2028-01-01T08:00:00Z
constexpr const char* kTasks[] = {"engine-oil", "brake", "inspection", "air-filter", "timing-belt"};

Interval interval(const char* task, int months, std::int64_t km) {
  Interval i;
  i.task = task;
  i.make = "Corvane";
  i.model = "Tern";
  i.months = months;
  if (km > 0) i.distance = Distance{km * 1000, std::to_string(km) + "km"};
  i.source = "invented";
  return i;
}

}  // namespace

int main(int argc, char** argv) {
  if (argc != 3) {
    std::cerr << "baybook_due_load FILE CARS\n";
    return 2;
  }
  const std::int64_t cars = std::atoll(argv[2]);
  std::mt19937_64 engine(1);
  Settings settings;
  settings.site = "Saltmarsh Motor Works";
  settings.tag = "bay";
  settings.zone = "Europe/Lisbon";
  Instant now{kNow - 900 * kDay};
  Book book = need(Book::start(argv[1], settings, now, [&](std::uint8_t* bytes, std::size_t size) {
    for (std::size_t i = 0; i < size; ++i) bytes[i] = static_cast<std::uint8_t>(engine() & 255);
    return true;
  }));
  Book::Inside& in = book.inside();
  in.db.cache(64 * 1024);
  in.in_batch = true;
  auto transaction = std::make_unique<store::Transaction>(in.db);
  std::int64_t written = 0;
  const auto put = [&](const Draft& d) {
    Stamp s;
    s.now = now;
    const Receipt r = need(book.append(d, s));
    if (++written % 50'000 == 0) {
      in.ledger.flush();
      book::refresh_due(in);
      transaction->commit();
      transaction.reset();
      transaction = std::make_unique<store::Transaction>(in.db);
    }
    return r.entry.id.n;
  };
  std::vector<CarId> all;
  for (std::int64_t i = 0; i < cars; ++i) {
    NewCar c;
    c.plate = "BENCH-" + std::to_string(i);
    c.make = "Corvane";
    c.model = "Tern";
    all.push_back(CarId{put(c)});
  }
  Schedule plan;
  plan.name = "plan";
  plan.intervals = {interval(kTasks[0], 12, 15000), interval(kTasks[1], 24, 0), interval(kTasks[2], 12, 0), interval(kTasks[3], 0, 30000), interval(kTasks[4], 72, 90000)};
  put(plan);
  std::vector<std::int64_t> km(all.size());
  for (int round = 0; round < 4; ++round) {
    now.ms = kNow - (800 - 250 * round) * kDay;
    for (std::size_t i = 0; i < all.size(); ++i) {
      km[i] += 3000 + static_cast<std::int64_t>(engine() % 15000);
      Odometer o;
      o.car = all[i];
      o.reading = Distance{km[i] * 1000, std::to_string(km[i]) + "km"};
      put(o);
    }
    for (std::size_t i = 0; i < all.size(); ++i) {
      for (int t = 0; t < 5; ++t) {
        if (round != (t + static_cast<int>(i % 3)) % 4) continue;
        TaskDone d;
        d.car = all[i];
        d.task = kTasks[t];
        d.when = Day{static_cast<std::int32_t>(now.ms / kDay - static_cast<std::int64_t>(engine() % 100))};
        if (round == 0) d.when.reset();
        put(d);
      }
    }
  }
  in.ledger.flush();
  const auto begin = std::chrono::steady_clock::now();
  in.due_moved_for_all = true;
  book::refresh_due(in);
  const double seconds = std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
  transaction->commit();
  in.db.exec("PRAGMA wal_checkpoint(TRUNCATE)");
  std::cerr << written << " entries, " << all.size() << " cars with five intervals; all rows made anew in " << seconds << " s\n";
  return 0;
}
