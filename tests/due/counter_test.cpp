// What a counter says through instruments that were replaced or began again at nothing.
#include "due/counter.hpp"

#include <doctest/doctest.h>

using namespace baybook;
using namespace baybook::due;

namespace {

/// One reading a month, each by its own day as moment.
Counter counter_of(std::vector<OdometerReading> readings) {
  Counter c;
  c.readings = std::move(readings);
  for (std::size_t i = 0; i < c.readings.size(); ++i) {
    c.readings[i].entry = static_cast<std::int64_t>(i) + 1;
    c.moments.push_back(c.readings[i].day.n);
  }
  return c;
}
OdometerReading km(std::int32_t day, std::int64_t n) { return {Day{day}, n * 1000}; }
OdometerReading replaced(std::int32_t day, std::int64_t n) { return {Day{day}, n * 1000, true}; }
OdometerReading turned(std::int32_t day, std::int64_t n) {
  return {Day{day}, n * 1000, false, 0, 100'000'000};
}

}  // namespace

TEST_SUITE("due/counter") {
  TEST_CASE(
      "what a slip said of its instrument the next reading says, whether it was replaced or began "
      "again") {
    // 9,400 was 940: the first of the new instrument is the slip.
    Counter c = counter_of(
        {km(100, 50'000), km(130, 53'000), replaced(160, 94'000), km(190, 1'800), km(220, 2'600)});
    c.weigh();
    REQUIRE(c.slips.size() == 1);
    CHECK(c.slips[0].entry == 3);
    CHECK(c.driven(100, 300) == 3'800'000);
    CHECK(c.due_after(100, 50'000'000, 10'000'000) == 2'600'000 - 3'800'000 + 10'000'000);

    Counter round = counter_of(
        {km(100, 98'000), km(130, 99'000), turned(160, 94'000), km(190, 1'800), km(220, 2'600)});
    round.weigh();
    REQUIRE(round.slips.size() == 1);
    CHECK(round.slips[0].metres == 94'000'000);  // as it was shown
    CHECK(round.driven(100, 300) == 4'600'000);
    CHECK(round.use.last_metres == 2'600'000);
  }

  TEST_CASE("what began again at nothing has the rate and the days of one that went on") {
    Counter on = counter_of(
        {km(100, 96'000), km(130, 97'500), km(160, 99'000), km(190, 100'500), km(220, 102'000)});
    Counter round = counter_of(
        {km(100, 96'000), km(130, 97'500), km(160, 99'000), turned(190, 500), km(220, 2'000)});
    on.weigh();
    round.weigh();
    CHECK(round.slips.empty());
    CHECK(round.use.metres_per_day_millionths == on.use.metres_per_day_millionths);
    CHECK(round.use.spread_millionths == on.use.spread_millionths);
    CHECK(round.use.last_metres == 2'000'000);
    CHECK(when_reaches(round.use, 4'000'000) == when_reaches(on.use, 104'000'000));
    const History history = read_use(round.readings);
    REQUIRE(history.instruments.size() == 2);
    CHECK(history.instruments[1] == Instrument{4, Day{190}, 100'000'000});
  }

  TEST_CASE("nothing was driven where no reading goes on from another") {
    Counter c = counter_of({km(100, 50'000), replaced(160, 10), km(190, 40)});
    c.weigh();
    CHECK_FALSE(c.driven(100, 160).has_value());
    CHECK(c.driven(100, 190) == 30'000);
    CHECK_FALSE(c.driven(190, 300).has_value());
  }
}
