// What taking a list costs, counted in steps of SQLite's machine: the same on every machine.
#include "support/has.hpp"
#include "support/test_book.hpp"

#include <baybook/bulk.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

struct Lists {
  TestBook b;
  CarId car;
  Lists() {
    car = b.car("MARSH-07", "6.8L");
    Schedule s;
    Interval i;
    i.car = car;
    i.task = "brake";
    i.months = 24;
    i.source = "invented for this test";
    s.intervals.push_back(i);
    b.write(s);
  }

  // Takes `count` items, as `import` does, all of them of one day; answers the steps of each after
  // the first.
  template <class MakeDraft>
  std::int64_t steps_of(int count, const MakeDraft& draft) {
    std::int64_t begun = 0;
    int n = 0;
    const auto taken = append_all(b.book(), [&]() -> Result<std::optional<Item>> {
      if (n == 1) begun = b->inside().db.steps();
      if (n == count) return std::optional<Item>{};
      const auto found = car_of_plate(b.book(), "MARSH-07");
      REQUIRE(found.ok());
      Item item{draft(*found, next_++), b.stamp("2026-03-01")};
      item.if_not_there = true;
      item.stamp.once = "row " + std::to_string(next_);
      ++n;
      return std::optional<Item>(std::move(item));
    });
    REQUIRE_MESSAGE(taken.ok(), why(taken));
    CHECK(taken->written == count);
    // What is due is made anew once, at the end: it is looked at apart.
    return (last_ = b->inside().db.steps() - begun) / (count - 1);
  }

 private:
  int next_ = 0;
  std::int64_t last_ = 0;
};

}  // namespace

TEST_SUITE("book/bulk work") {
  TEST_CASE(
      "what a row of a list costs does not grow with the readings, hours or finished tasks that "
      "its car has") {
    const auto reading = [](CarId car, int n) -> Draft {
      Odometer d;
      d.car = car;
      d.reading = Distance{80'000'000 + n * 1000, std::to_string(80'000 + n) + "km"};
      return d;
    };
    const auto hours = [](CarId car, int n) -> Draft {
      EngineHours d;
      d.car = car;
      d.minutes = 60 * (1000 + n);
      d.typed = std::to_string(1000 + n) + "h";
      return d;
    };
    const auto task = [](CarId car, int n) -> Draft {
      TaskDone d;
      d.car = car;
      d.task = "brake";
      d.when = Day{day("2015-01-01").n + n};
      return d;
    };
    using Make = std::function<Draft(CarId, int)>;
    for (const auto& [kind, draft] :
         {std::pair<const char*, Make>{"readings", reading}, {"hours", hours}, {"tasks", task}}) {
      CAPTURE(kind);
      Lists lists;
      const std::int64_t first = lists.steps_of(50, draft);
      (void)lists.steps_of(1500, draft);
      const std::int64_t later = lists.steps_of(1500, draft);
      CAPTURE(first);
      CAPTURE(later);
      CHECK(first > 0);
      // Deeper trees and the one look at what is due are let pass; a row that reads every row
      // before it takes thousands more.
      CHECK(later < first + 400);
    }
  }

  TEST_CASE(
      "an item that came twice in one list is there the second time, whatever day and car it is "
      "sorted by") {
    Lists lists;
    const auto take = [&](const std::vector<std::pair<std::string, std::int64_t>>& rows) {
      std::size_t n = 0;
      const auto taken = append_all(lists.b.book(), [&]() -> Result<std::optional<Item>> {
        if (n == rows.size()) return std::optional<Item>{};
        Odometer d;
        d.car = lists.car;
        d.reading = Distance{rows[n].second, std::to_string(rows[n].second / 1000) + "km"};
        Item item{d, lists.b.stamp(rows[n].first)};
        item.if_not_there = true;
        ++n;
        return std::optional<Item>(std::move(item));
      });
      REQUIRE_MESSAGE(taken.ok(), why(taken));
      return std::pair(taken->written, taken->known);
    };
    CHECK(take({{"2026-03-01", 80'000'000},
                {"2026-03-02", 81'000'000},
                {"2026-03-01", 80'000'000},
                {"2026-03-02", 81'000'000}}) == std::pair<std::int64_t, std::int64_t>(2, 2));
    CHECK(take({{"2026-03-02", 81'000'000}, {"2026-03-02", 81'500'000}, {"2026-03-02", 81'500'000}})
              .second == 2);
  }

  TEST_CASE(
      "each entry is told of as it is appended, with its warnings, and a car is found by its whole "
      "plate alone") {
    Lists lists;
    int told = 0;
    std::size_t warned = 0;
    int n = 0;
    const auto taken = append_all(
        lists.b.book(),
        [&]() -> Result<std::optional<Item>> {
          if (n == 2) return std::optional<Item>{};
          Odometer d;
          d.car = lists.car;
          d.reading = Distance{n == 0 ? 80'000'000 : 801'000'000, n == 0 ? "80000km" : "801000km"};
          return std::optional<Item>(
              Item{d, lists.b.stamp(n++ == 0 ? "2026-03-01" : "2026-03-02")});
        },
        false,
        [&](const Receipt& r) {
          ++told;
          // Of earlier days is what a list has as a rule: that is not warned of.
          warned += r.warnings.size();
          for (const std::string& w : r.warnings) CHECK(has(w, "if a digit slipped"));
        });
    REQUIRE_MESSAGE(taken.ok(), why(taken));
    CHECK(told == 2);
    CHECK(warned == 1);
    CHECK(car_of_plate(lists.b.book(), "marsh 07").ok());
    for (const char* part : {"MARSH", "07", "MARSH-08", "car:3"}) {
      CAPTURE(part);
      const auto found = car_of_plate(lists.b.book(), part);
      REQUIRE_FALSE(found.ok());
      CHECK(found.refusal().code == Code::not_found);
    }
    lists.b.car("MARSH-09", "6.8L");
    CHECK(has(car_of_plate(lists.b.book(), "MARSH").refusal().what,
              "there is no car with plate MARSH"));
  }
}
