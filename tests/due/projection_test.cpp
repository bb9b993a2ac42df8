#include "synthetic_use.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace baybook;
using namespace baybook::due;
using baybook_test::Dice;

namespace {

Day day(const std::string& iso) { return *read_day(iso); }

/// Readings of one car, typed one after the other.
class Car {
 public:
  Car& km(const std::string& iso, std::int64_t shown) { return put(day(iso), shown * 1000, false); }
  Car& miles(const std::string& iso, std::int64_t shown) { return put(day(iso), (shown * 1'609'344 + 500) / 1000, false); }
  Car& new_instrument_km(const std::string& iso, std::int64_t shown) { return put(day(iso), shown * 1000, true); }
  Car& put(Day on, std::int64_t metres, bool replaced) {
    readings_.push_back({on, metres, replaced, static_cast<std::int64_t>(readings_.size()) + 1});
    return *this;
  }
  [[nodiscard]] History history() const { return read_use(readings_); }
  [[nodiscard]] Use use() const { return history().use; }

 private:
  std::vector<OdometerReading> readings_;
};

double km_a_day(const Use& use) { return static_cast<double>(use.metres_per_day_millionths) / 1e9; }

/// 40 km a day for two years, a reading every 146 days: 0, 5840, ... 29200 km.
Car steady_car() {
  Car car;
  for (int i = 0; i <= 5; ++i) car.put(Day{19000 + 146 * i}, 5'840'000 * i, false);
  return car;
}
constexpr std::int32_t kSteadyLast = 19000 + 146 * 5;

std::int64_t width(const At& at) { return at.high - at.low; }

}  // namespace

TEST_SUITE("due/projection") {
  TEST_CASE("the worked example: 50 km a day, 20,000 km on 2025-07-20, 127 days after the last reading") {
    // engineering reference, section 9: computed, linear rate, no standard found
    const Use use = Car().km("2025-01-01", 10'000).km("2025-03-15", 13'650).use();
    CHECK(use.readings == 2);
    CHECK(use.metres_per_day_millionths == 50'000'000'000);
    const Reach reach = when_reaches(use, 20'000'000);
    CHECK(reach.known == Known::projected);
    CHECK_FALSE(reach.reached);
    CHECK(to_string(reach.likely) == "2025-07-20");
    CHECK(reach.likely.n - use.last_day.n == 127);
    CHECK(reach.early < reach.likely);
    CHECK(reach.likely < reach.late);
    CHECK(where_on(use, day("2025-07-20")).likely == 20'000'000);
  }

  TEST_CASE("part of a day counts as a day: one metre more is due a day later") {
    const Use use = Car().km("2025-01-01", 10'000).km("2025-03-15", 13'650).use();
    CHECK(to_string(when_reaches(use, 20'000'001).likely) == "2025-07-21");
    const Use thirds = Car().put(Day{100}, 0, false).put(Day{103}, 1000, false).use();  // a third of a kilometre a day
    CHECK(when_reaches(thirds, 2000).likely == Day{106});
    CHECK(when_reaches(thirds, 2001).likely == Day{107});
  }

  TEST_CASE("without a reading nothing is known, and nothing is said") {
    const Use use = read_use({}).use;
    CHECK(use == Use{});
    CHECK(when_reaches(use, 20'000'000) == Reach{});
    CHECK(where_on(use, Day{20'000}) == At{});
  }

  TEST_CASE("one reading has no rate: it says so and names no day") {
    const Use use = Car().km("2025-01-01", 10'000).use();
    const Reach reach = when_reaches(use, 20'000'000);
    CHECK(reach.known == Known::one_reading);
    CHECK_FALSE(reach.reached);
    CHECK(reach.likely == Day{});
    const At at = where_on(use, day("2026-01-01"));
    CHECK(at.known == Known::one_reading);
    CHECK(at.likely == 10'000'000);
    CHECK(when_reaches(use, 9'000'000).reached);
  }

  TEST_CASE("two readings on one day are one day: no rate, and the later one counts") {
    const Use use = Car().km("2025-01-01", 10'000).km("2025-01-01", 10'060).use();
    CHECK(use.readings == 2);
    CHECK(use.last_metres == 10'060'000);
    CHECK(when_reaches(use, 20'000'000).known == Known::one_reading);
  }

  TEST_CASE("a second reading on the last day moves the last reading and keeps the days") {
    const Use use = Car().km("2025-01-01", 10'000).km("2025-03-15", 13'600).km("2025-03-15", 13'650).use();
    CHECK(use.metres_per_day_millionths == 50'000'000'000);
    CHECK(to_string(when_reaches(use, 20'000'000).likely) == "2025-07-20");
  }

  TEST_CASE("a test drive on the day of an earlier visit belongs to that day") {
    const Use with = Car().km("2025-01-01", 10'000).km("2025-01-01", 10'040).km("2025-04-11", 15'040).use();
    CHECK(with.metres_per_day_millionths == 50'000'000'000);
  }

  TEST_CASE("a reading below an earlier one is named and not used") {
    const Car clean = steady_car();
    Car slipped = steady_car();
    slipped.put(Day{kSteadyLast + 30}, 3'040'000, false);  // a figure left out of 30,400
    const History history = slipped.history();
    CHECK(history.use == clean.use());
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0] == Slip{7, Day{kSteadyLast + 30}, 3'040'000, 29'200'000, false});
  }

  TEST_CASE("a slip in the middle of the history leaves no trace in the rate") {
    const Use clean = Car().km("2024-01-01", 10'000).km("2024-07-01", 17'280).km("2025-01-01", 24'640).use();
    const History history = Car().km("2024-01-01", 10'000).km("2024-03-01", 1'240).km("2024-07-01", 17'280).km("2025-01-01", 24'640).history();
    CHECK(history.use == clean);
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0].entry == 2);
    CHECK(history.slips[0].before == 10'000'000);
  }

  TEST_CASE("a wrong high reading is named as soon as one lower reading fits those before it") {
    const History history = Car().km("2024-01-01", 50'000).km("2024-06-01", 95'600).km("2024-09-01", 56'900).history();  // 55,600 was meant
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0] == Slip{2, day("2024-06-01"), 95'600'000, 50'000'000, true});
    CHECK(history.use == Car().km("2024-01-01", 50'000).km("2024-09-01", 56'900).use());
  }

  TEST_CASE("of two readings alone that contradict each other the earlier is kept, until a third one speaks") {
    Car car = Car().km("2024-01-01", 50'000).km("2024-06-01", 5'560);
    const History two = car.history();
    REQUIRE(two.slips.size() == 1);
    CHECK(two.slips[0] == Slip{2, day("2024-06-01"), 5'560'000, 50'000'000, false});
    CHECK(when_reaches(two.use, 60'000'000).known == Known::one_reading);
    CHECK(car.km("2024-09-01", 56'900).history().use.first_day == day("2024-01-01"));
    CHECK(Car().km("2024-01-01", 50'000).km("2024-06-01", 5'560).km("2024-09-01", 6'900).history().use.first_day == day("2024-06-01"));
  }

  TEST_CASE("a first reading typed far too high is named once two lower ones agree, with the one that follows it") {
    const History history = Car().km("2024-01-01", 500'000).km("2024-06-01", 55'600).km("2024-09-01", 57'900).history();
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0] == Slip{1, day("2024-01-01"), 500'000'000, 55'600'000, true});
    CHECK(history.use.first_day == day("2024-06-01"));
  }

  TEST_CASE("a reading that no car could have driven to is named at once, though nothing lower follows") {
    const History history = Car().km("2024-01-01", 50'000).km("2024-06-01", 55'600).km("2024-09-01", 569'000).history();
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0] == Slip{3, day("2024-09-01"), 569'000'000, 55'600'000, true});
    CHECK(history.use.last_metres == 55'600'000);
  }

  TEST_CASE("a wrong high reading that a car could have driven to is used, and widens the range") {
    const Use before = steady_car().use();
    Car car = steady_car();
    const History history = car.put(Day{kSteadyLast + 146}, 95'040'000, false).history();  // 35,040 was meant
    CHECK(history.slips.empty());
    CHECK(km_a_day(history.use) > 100.0);
    CHECK(history.use.spread_millionths > 2 * before.spread_millionths);
  }

  TEST_CASE("whole miles after whole kilometres of the same spot are not a slip") {
    // 80,467.9 km on the road: 80,467 km and 50,000 mi, which is 80,467.2 km; then 80,467 km again; 49,999 mi is 1,609 m less.
    const History history = Car().km("2024-01-01", 76'000).miles("2024-06-01", 50'000).km("2024-06-01", 80'467).miles("2024-06-02", 49'999).history();
    CHECK(history.slips.empty());
    CHECK(history.use.readings == 4);
    CHECK(km_a_day(history.use) == doctest::Approx(29.2).epsilon(0.02));
  }

  TEST_CASE("more than a mile back is a slip, and many small steps back do not add up unseen") {
    CHECK(Car().km("2024-01-01", 76'000).km("2024-01-02", 75'998).history().slips.size() == 1);
    CHECK(Car().km("2024-01-01", 76'000).km("2024-01-02", 75'999).km("2024-01-03", 75'998).km("2024-01-04", 75'997).history().slips.size() == 2);
  }

  TEST_CASE("steps back and forth by rounding add no distance") {
    Car car = Car().km("2024-01-01", 76'000).km("2024-07-01", 76'910);
    const Use before = car.use();
    for (int i = 1; i <= 20; ++i) car.put(Day{day("2024-07-01").n + i}, i % 2 != 0 ? 76'909'000 : 76'910'000, false);
    const Use after = car.use();
    CHECK(after.readings == 22);
    CHECK(km_a_day(after) < km_a_day(before));
  }

  TEST_CASE("a mile of rounding over a single day hardly moves the rate") {
    const Use before = steady_car().use();
    Car car = steady_car();
    const Use after = car.put(Day{kSteadyLast + 1}, 29'200'000 + 40'000 + 1'609, false).use();
    CHECK(km_a_day(after) == doctest::Approx(km_a_day(before)).epsilon(0.001));
    CHECK(after.spread_millionths <= before.spread_millionths + 1000);
  }

  TEST_CASE("three days in the workshop hardly move the projection or its range") {
    const Use before = steady_car().use();
    Car car = steady_car();
    const Use after = car.put(Day{kSteadyLast + 3}, 29'200'000, false).use();
    CHECK(km_a_day(after) == doctest::Approx(km_a_day(before)).epsilon(0.02));
    CHECK(static_cast<double>(after.spread_millionths) == doctest::Approx(static_cast<double>(before.spread_millionths)).epsilon(0.05));
    CHECK(when_reaches(after, 35'000'000).known == Known::projected);
  }

  TEST_CASE("two readings two days apart give a rate, and a range that says how little that is") {
    const Use two_days = Car().put(Day{19000}, 10'000'000, false).put(Day{19002}, 10'080'000, false).use();
    const Use two_hundred = Car().put(Day{19000}, 10'000'000, false).put(Day{19200}, 18'000'000, false).use();
    CHECK(two_days.metres_per_day_millionths == two_hundred.metres_per_day_millionths);
    const At wide = where_on(two_days, Day{19002 + 100});
    const At less = where_on(two_hundred, Day{19200 + 100});
    CHECK(width(wide) > 3 * width(less));
    CHECK(wide.low >= two_days.last_metres);
  }

  TEST_CASE("recent use weighs more than old use") {
    Car car = steady_car();  // 40 km a day for two years, then 80 for one
    const Use use = car.put(Day{kSteadyLast + 180}, 29'200'000 + 14'400'000, false).put(Day{kSteadyLast + 365}, 29'200'000 + 29'200'000, false).use();
    const double whole_history = 58'400.0 / (730 + 365);
    CHECK(km_a_day(use) > whole_history + 5.0);
    CHECK(km_a_day(use) < 80.0);
  }

  TEST_CASE("how often it was read does not matter, only how far and how long") {
    Car often;
    for (int i = 0; i <= 73; ++i) often.put(Day{19000 + 10 * i}, 400'000 * i, false);
    CHECK(often.use().metres_per_day_millionths == steady_car().use().metres_per_day_millionths);
  }

  TEST_CASE("a long gap is one stretch with its own mean, and old use from before it counts for less") {
    Car car = steady_car();  // four years without a reading, 10 km a day
    const Use use = car.put(Day{kSteadyLast + 1460}, 29'200'000 + 14'600'000, false).use();
    CHECK(km_a_day(use) > 10.0);
    CHECK(km_a_day(use) < 11.0);
    CHECK(use.known_days_millionths < 400'000'000);
  }

  TEST_CASE("a car that has driven no distance at all stands still: no day, and the reading stays") {
    const Use use = Car().km("2025-01-01", 10'000).km("2025-01-11", 10'000).use();
    const Reach reach = when_reaches(use, 20'000'000);
    CHECK(reach.known == Known::standing_still);
    CHECK(reach.likely == Day{});
    const At at = where_on(use, day("2026-01-01"));
    CHECK(at.known == Known::standing_still);
    CHECK(at.low == 10'000'000);
    CHECK(at.high == 10'000'000);
  }

  TEST_CASE("90 days without distance up to the last reading are standing still, 89 are not, and a drive ends it") {
    const auto after = [](int days) {
      Car car = steady_car();
      return car.put(Day{kSteadyLast + days}, 29'201'000, false);  // moved about the yard
    };
    CHECK(when_reaches(after(89).use(), 40'000'000).known == Known::projected);
    CHECK(when_reaches(after(90).use(), 40'000'000).known == Known::standing_still);
    CHECK(after(90).use().standing_days == 90);
    CHECK(when_reaches(after(90).put(Day{kSteadyLast + 120}, 30'400'000, false).use(), 40'000'000).known == Known::projected);
  }

  TEST_CASE("distance goes on across a replaced instrument") {
    // 50 km a day throughout; on 2025-04-11 the old one shows 15,000 km and the new one begins at 12 km.
    const History history = Car().km("2025-01-01", 10'000).km("2025-04-11", 15'000).new_instrument_km("2025-04-11", 12).km("2025-07-20", 5'012).history();
    CHECK(history.slips.empty());
    CHECK(history.use.readings == 4);
    CHECK(history.use.metres_per_day_millionths == 50'000'000'000);
    CHECK(history.use.last_metres == 5'012'000);
    CHECK(to_string(when_reaches(history.use, 10'012'000).likely) == "2025-10-28");
    REQUIRE(history.instruments.size() == 2);
    CHECK(history.instruments[0] == Instrument{1, day("2025-01-01"), 0});
    CHECK(history.instruments[1] == Instrument{3, day("2025-04-11"), 14'988'000});
  }

  TEST_CASE("the days between two instruments are unknown, not standing") {
    // The old one was last read 100 days before the new one was fitted.
    const Use use = Car().km("2025-01-01", 10'000).km("2025-04-11", 15'000).new_instrument_km("2025-07-20", 0).use();
    CHECK(use.metres_per_day_millionths == 50'000'000'000);
    CHECK(use.standing_days == 0);
    CHECK(to_string(when_reaches(use, 5'000'000).likely) == "2025-10-28");
    const Use at_once = Car().km("2025-01-01", 10'000).km("2025-04-11", 15'000).new_instrument_km("2025-04-11", 0).use();
    CHECK(use.known_days_millionths < at_once.known_days_millionths);
  }

  TEST_CASE("a slip on the new instrument is named by itself, and the old one's higher readings say nothing of it") {
    const History history =
        Car().km("2025-01-01", 200'000).km("2025-04-11", 205'000).new_instrument_km("2025-04-11", 0).km("2025-05-11", 1'500)
            .km("2025-06-10", 300).km("2025-07-10", 4'500).history();
    REQUIRE(history.slips.size() == 1);
    CHECK(history.slips[0] == Slip{5, day("2025-06-10"), 300'000, 1'500'000, false});
  }

  TEST_CASE("a distance that is there already is reached, on the day of the last reading") {
    const Use use = steady_car().use();
    for (const std::int64_t metres : {std::int64_t{0}, use.last_metres - 1, use.last_metres}) {
      const Reach reach = when_reaches(use, metres);
      CHECK(reach.reached);
      CHECK(reach.early == use.last_day);
      CHECK(reach.likely == use.last_day);
      CHECK(reach.late == use.last_day);
    }
    CHECK_FALSE(when_reaches(use, use.last_metres + 1).reached);
  }

  TEST_CASE("on and before the day of the last reading it is that reading") {
    const Use use = steady_car().use();
    for (const std::int32_t back : {0, 1, 400}) {
      const At at = where_on(use, Day{use.last_day.n - back});
      CHECK(at.low == use.last_metres);
      CHECK(at.high == use.last_metres);
    }
    CHECK(where_on(use, Day{use.last_day.n + 1}).likely == use.last_metres + 40'000);
  }

  TEST_CASE("the range grows with every day looked ahead") {
    const Use use = steady_car().use();
    for (std::int32_t n = 1; n < kHorizonDays; ++n) {
      const At now = where_on(use, Day{use.last_day.n + n});
      const At next = where_on(use, Day{use.last_day.n + n + 1});
      REQUIRE(width(next) > width(now));
      REQUIRE(next.low >= now.low);
    }
  }

  TEST_CASE("the range is wider for a car whose use varies") {
    Car varied;
    std::int64_t metres = 0;
    for (int i = 0; i <= 5; ++i) {
      varied.put(Day{19000 + 146 * i}, metres, false);
      metres += i % 2 == 0 ? 2'000'000 : 9'680'000;
    }
    const At even = where_on(steady_car().use(), Day{kSteadyLast + 180});
    const At uneven = where_on(varied.use(), Day{kSteadyLast + 180});
    const auto share = [](const At& at, const Use& use) { return static_cast<double>(width(at)) / static_cast<double>(at.likely - use.last_metres); };
    CHECK(share(uneven, varied.use()) > 1.5 * share(even, steady_car().use()));
  }

  TEST_CASE("the range is wider when there are few readings, and no less than the prior's share stays in it") {
    const Use two = Car().put(Day{19000}, 0, false).put(Day{19146}, 5'840'000, false).use();
    const Use six = steady_car().use();
    CHECK(two.metres_per_day_millionths == six.metres_per_day_millionths);
    CHECK(two.spread_millionths == 1'000'000);
    CHECK(six.spread_millionths < 1'000'000);
    CHECK(six.spread_millionths > 500'000);
    CHECK(width(where_on(two, Day{two.last_day.n + 180})) > width(where_on(six, Day{six.last_day.n + 180})));
  }

  TEST_CASE("a day beyond ten years is not named: its end is open") {
    const Use use = steady_car().use();
    const Reach near = when_reaches(use, use.last_metres + 10'000'000);
    CHECK_FALSE(near.early_open);
    CHECK_FALSE(near.late_open);
    const Reach far = when_reaches(use, use.last_metres + 130'000'000);  // 3,250 days at the likely rate
    CHECK_FALSE(far.early_open);
    CHECK_FALSE(far.likely_open);
    CHECK(far.late_open);
    CHECK(far.late == Day{use.last_day.n + kHorizonDays});
    const Reach never = when_reaches(use, 9'000'000'000);
    CHECK(never.early_open);
    CHECK(never.likely_open);
    CHECK(never.late_open);
    CHECK(where_on(use, Day{use.last_day.n + kHorizonDays}) == where_on(use, Day{2'000'000'000}));
  }

  TEST_CASE("the day of a distance and the distance on a day say the same, on any history") {
    for (std::uint64_t seed = 1; seed <= 200; ++seed) {
      CAPTURE(seed);
      const auto car = baybook_test::synthetic_car(baybook_test::kKinds[seed % 5], seed);
      const Use use = read_use(car.readings).use;
      Dice dice(seed);
      const std::int64_t metres = use.last_metres + dice.whole(1, 30'000'000);
      const Reach reach = when_reaches(use, metres);
      if (reach.known != Known::projected) continue;
      REQUIRE(reach.early <= reach.likely);
      REQUIRE(reach.likely <= reach.late);
      REQUIRE(use.last_day < reach.early);
      const auto first_there = [&](Day on, bool open, auto end) {
        if (!open) REQUIRE(end(where_on(use, on)) >= metres);
        REQUIRE(end(where_on(use, Day{on.n - 1})) < metres);
      };
      first_there(reach.early, reach.early_open, [](const At& at) { return at.high; });
      first_there(reach.likely, reach.likely_open, [](const At& at) { return at.likely; });
      first_there(reach.late, reach.late_open, [](const At& at) { return at.low; });
    }
  }

  TEST_CASE("the same readings give the same figures, to the last millionth") {
    // Written down once: a machine that rounds otherwise makes other derived rows.
    const Use use = Car().km("2023-02-03", 41'250).miles("2023-09-14", 29'870).km("2024-05-02", 56'004).km("2024-05-06", 56'004).km("2025-01-20", 66'780).use();
    CHECK(use.metres_per_day_millionths == 37'724'224'328);
    CHECK(use.known_days_millionths == 333'532'030);
    CHECK(use.spread_millionths == 992'761);
  }

  TEST_CASE("readings are taken by their days, whatever order they come in") {
    const Use use = read_use({{Day{19200}, 8'000'000, false, 2}, {Day{19000}, 0, false, 1}}).use;
    CHECK(use.metres_per_day_millionths == 40'000'000'000);
    CHECK(use.last_day == Day{19200});
  }

  TEST_CASE("a long history in which nothing fits is read to its end") {
    Car car;
    for (int i = 0; i < 20'000; ++i) car.put(Day{10'000 + i / 2}, 9'000'000'000 - 2'000LL * i, false);
    const History history = car.history();
    CHECK(history.use.readings == 1);
    CHECK(history.slips.size() == 19'999);
    Car seesaw;
    for (int i = 0; i < 20'000; ++i) seesaw.put(Day{10'000 + i}, i % 2 == 0 ? 40'000LL * i : 4'000'000'000 - 2'000LL * i, false);
    CHECK(seesaw.use().readings == 10'000);
    CHECK(km_a_day(seesaw.use()) == doctest::Approx(40.0));
  }

  TEST_CASE("the largest readings a book takes do not upset it") {
    constexpr std::int64_t kMost = 10'000'000'000;  // parse_distance refuses more
    const Use use = Car().put(Day{-25'000}, 0, false).put(Day{370'000}, kMost, false).use();
    CHECK(when_reaches(use, kMost).reached);
    const Reach reach = when_reaches(use, kMost + 1);
    CHECK(reach.known == Known::projected);
    CHECK(where_on(use, Day{375'000}).high > kMost);
    const Use across = Car().put(Day{-25'000}, 0, false).put(Day{-24'000}, 1'000'000, false).put(Day{370'000}, 5, true).use();
    CHECK(when_reaches(across, 6).known == Known::one_reading);  // what was known wore off in a thousand years
  }

  TEST_CASE(
      "a reading that the range did not hold makes the next range wider, one that it held a little "
      "narrower") {
    // 40 km a day for two years, a reading every 146 days.
    const Use before = steady_car().use();
    Car kept = steady_car();
    Car left = steady_car();
    const Use held = kept.put(Day{kSteadyLast + 146}, 29'200'000 + 5'840'000, false).use();
    const Use missed = left.put(Day{kSteadyLast + 146}, 29'200'000 + 29'200'000, false).use();
    CHECK(before.width_millionths < kUsualWidth);  // three of three were held
    CHECK(held.width_millionths < before.width_millionths);
    CHECK(held.width_millionths * 11 > before.width_millionths * 10);
    CHECK(missed.width_millionths > before.width_millionths * 13 / 10);
    CHECK(missed.width_millionths < before.width_millionths * 15 / 10);
    const History history = left.history();
    REQUIRE(history.misses.size() == 5);
    CHECK(history.misses.back().days == 146);
    CHECK(history.misses.back().width_millionths > before.width_millionths);
    CHECK(history.misses.front().width_millionths == 0);
  }

  TEST_CASE(
      "a reading lies just within the range at the width that its forecast needed, and outside at "
      "one less") {
    for (const std::int64_t driven : {std::int64_t{9'000'000}, std::int64_t{2'000'000}}) {
      CAPTURE(driven);
      Car car = steady_car();
      const History history = car.put(Day{kSteadyLast + 146}, 29'200'000 + driven, false).history();
      const std::int64_t needed = history.misses.back().width_millionths;
      const auto holds = [&](std::int64_t width) {
        Use use = steady_car().use();
        use.width_millionths = width;
        const At at = where_on(use, Day{kSteadyLast + 146});
        return at.low <= 29'200'000 + driven && 29'200'000 + driven <= at.high;
      };
      CHECK(holds(needed + 1000));
      CHECK_FALSE(holds(needed - 1000));
    }
  }

  TEST_CASE(
      "the range that is kept in a row is moved neither by how the car was foretold nor by other "
      "cars") {
    Use use = steady_car().use();
    const Reach kept = when_reaches_as_kept(use, use.last_metres + 10'000'000);
    const Reach drawn = when_reaches(use, use.last_metres + 10'000'000);
    CHECK(kept.likely == drawn.likely);
    use.width_millionths = 4'000'000;
    CHECK(when_reaches_as_kept(use, use.last_metres + 10'000'000) == kept);
    CHECK(when_reaches(use, use.last_metres + 10'000'000).early < drawn.early);
    CHECK(when_reaches(use, use.last_metres + 10'000'000).late > drawn.late);
    CHECK(when_reaches(use, use.last_metres + 10'000'000).likely == drawn.likely);
  }

  TEST_CASE("the late end lets a car stand for two weeks first, the likely day does not") {
    Use use = steady_car().use();
    use.width_millionths = 1'000'000;
    const std::int64_t metres = use.last_metres + 2'000'000;
    CHECK(when_reaches(use, metres).likely == when_reaches_as_kept(use, metres).likely);
    CHECK(when_reaches(use, metres).late.n == when_reaches_as_kept(use, metres).late.n + 14);
    CHECK(where_on(use, Day{use.last_day.n + 14}).low == use.last_metres);
  }
}
