// What is put back and drained again within a month: 40 CFR 262.13(d)(3), read by guidance as once a
// calendar month; the setting counting.reused has the other reading.
#include "support/waste_shop.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

/// 60 L of coolant drained, filtered, put back into the same car and drained again; 64.2 kg each time
/// at 1.07 kg/L. Counted when drained.
struct Twice {
  TestBook b{"bay", 5, "2026-01-02T09:00:00.000Z"};
  CarId car, other;
  PlaceId pan, keep;
  explicit Twice(const std::string& reused) {
    ChooseRules rules;
    rules.set = "us-federal";
    rules.from = day("2026-01-01");
    rules.file = "[[value]]\nkey = \"counting.date\"\nis = \"drained\"\nsection = \"our reading\"\n";
    if (!reused.empty()) rules.file += "[[value]]\nkey = \"counting.reused\"\nis = \"" + reused + "\"\nsection = \"our reading\"\n";
    rules.file_name = "ours.toml";
    b.write(rules);
    car = b.car("MARSH-07", "200L");
    other = b.car("FEN-22", "200L");
    pan = b.place("pan-1", Role::hold_catch, "200L");
    keep = b.place("keep-1", Role::reuse, "200L", {"coolant"});
  }
  void drained_twice(CarId second, const char* second_day) {
    b.now = instant("2026-01-05T10:00:00.000Z");
    const JobId job = b.job(car, "2026-01-05");
    b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "60L", job));
    b.write(TestBook::move(MoveVerb::filter, pan, keep, "all"));
    b.write(TestBook::move(MoveVerb::fill, keep, b.coolant(car), "60L", job));
    b.now = instant((std::string(second_day) + "T10:00:00.000Z").c_str());
    const JobId again = second == car ? job : b.job(second, second_day);
    b.write(TestBook::move(MoveVerb::drain, b.coolant(second), pan, "60L", again));
  }
  Judgement judged(const char* month) {
    const auto j = judge(b.book(), month_of(day(std::string(month) + "-01")));
    REQUIRE_MESSAGE(j.ok(), why(j));
    return *j;
  }
};

constexpr std::int64_t kOnce = 64'200'000'000;

}  // namespace

TEST_SUITE("book/reused") {
  TEST_CASE("the same coolant, put back and drained again in a month, counts once, and the line names the section and the setting") {
    Twice s("");
    s.drained_twice(s.car, "2026-01-20");
    const Judgement j = s.judged("2026-01");
    CHECK(j.reading.best_ug == kOnce);
    CHECK(j.reading.category == 1);
    bool told = false;
    for (const JudgedLine& l : j.lines) told = told || (l.why.find("262.13(d)(3)") != std::string::npos && l.why.find("counting.reused") != std::string::npos && l.best_ug == -kOnce);
    CHECK(told);
  }

  TEST_CASE("by the other reading it counts whenever it is drained, and the month is a small one") {
    Twice s("each-time");
    s.drained_twice(s.car, "2026-01-20");
    CHECK(s.judged("2026-01").reading.best_ug == 2 * kOnce);
    CHECK(s.judged("2026-01").reading.category == 2);
  }

  TEST_CASE("another car's coolant is another, and so is what is drained in the next month") {
    Twice car("");
    car.drained_twice(car.other, "2026-01-20");
    CHECK(car.judged("2026-01").reading.best_ug == 2 * kOnce);
    Twice month("");
    month.drained_twice(month.car, "2026-02-03");
    CHECK(month.judged("2026-01").reading.best_ug == kOnce);
    CHECK(month.judged("2026-02").reading.best_ug == kOnce);
  }
}
