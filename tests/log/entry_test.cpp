// What details are made of, read back from a body that anybody may have written.
#include "support/test_book.hpp"

#include "log/entry.hpp"

#include <doctest/doctest.h>

#include <string>

using namespace baybook;
using log::Malformed;
using log::Value;

TEST_SUITE_BEGIN("log/entry");

TEST_CASE("a reference names an entry that can be, of an installation that can be") {
  constexpr std::int64_t own = 74565;
  CHECK(log::read_ref(Value(17), own) == (own << 40 | 17));
  CHECK(log::read_ref(Value("48d14000000000000000000000000000:17"), 7) == (own << 40 | 17));
  for (const Value& wrong : {Value(0), Value(-1), Value(std::int64_t{1} << 40), Value("48d14000000000000000000000000000:0"), Value("48d14000000000000000000000000000:-1"),
                             Value("48d14000000000000000000000000000:1099511627776"), Value("48d14000000000000000000000000000:"), Value("48d14:17"),
                             Value("zzzzz000000000000000000000000000:17"), Value("48D14000000000000000000000000000:17"), Value("48d1400000000000000000000000000x:17")}) {
    CHECK_THROWS_AS((void)log::read_ref(wrong, own), Malformed);
  }
}

TEST_CASE("an amount of a body has its best value between its bounds") {
  Amount a{Dimension::volume, 10, 20, 30, true, "10..30"};
  CHECK(log::read_amount(log::write_amount(a)) == a);
  a.low = 21;
  CHECK_THROWS_AS((void)log::read_amount(log::write_amount(a)), Malformed);
  a.low = 10;
  a.high = 19;
  CHECK_THROWS_AS((void)log::read_amount(log::write_amount(a)), Malformed);
}

TEST_CASE("an estimate of a body is off by 0 to 100 percent") {
  Value units = log::write_units(Units{});
  CHECK(log::read_units(units).estimate_percent == Units{}.estimate_percent);
  for (const std::int64_t percent : {std::int64_t{-1}, std::int64_t{101}, (std::int64_t{1} << 32) + 10}) {
    units["estimate-percent"] = percent;
    CHECK_THROWS_AS((void)log::read_units(units), Malformed);
  }
}

TEST_CASE("the time in the bytes of a body is a whole text") {
  CHECK(log::time_of_body(R"({"number":1,"time":"09:11+01:00","version":1})") == TimeOfDay{Minute{551}, 60});
  CHECK_FALSE(log::time_of_body(R"({"number":1,"time":"09:11+01:00 or so","version":1})").has_value());
  CHECK_FALSE(log::time_of_body(R"({"number":1,"time":"09:11+01:00)").has_value());
}

TEST_CASE("the first entry recorded since an instant is found by halving, in its own installation") {
  test::TestBook b;
  std::vector<std::int64_t> recorded = {b.now.ms};
  for (int i = 0; i < 9; ++i) {
    NewPerson p;
    p.name = "Invented " + std::to_string(i);
    b.write(p);
    recorded.push_back(b.now.ms);
    b.now.ms += i % 3 == 0 ? 0 : 60'000;
  }
  store::Db& db = b.book().inside().db;
  const std::int64_t own = b.book().inside().known.own().origin;
  for (std::size_t i = 1; i < recorded.size(); ++i) {
    CAPTURE(i);
    CHECK(log::first_recorded_since(db, own, Instant{recorded[i]}) == EntryId{own << 40 | static_cast<std::int64_t>(i + 1)});
    CHECK(log::first_recorded_since(db, own, Instant{recorded[i] + 1}) == EntryId{own << 40 | static_cast<std::int64_t>(i + 2)});
  }
  CHECK(log::first_recorded_since(db, own, Instant{0}) == EntryId{own << 40 | 1});
  CHECK(log::first_recorded_since(db, own + 1, Instant{0}) == EntryId{(own + 1) << 40 | 1});
}

TEST_SUITE_END();
