// What details are made of, read back from a body that anybody may have written.
#include "support/test_book.hpp"

#include "log/entry.hpp"
#include "log/sum.hpp"

#include <doctest/doctest.h>

#include <limits>
#include <string>
#include <tuple>

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

TEST_CASE("a figure of a body is digits to its end, and no more of them than a number has") {
  for (const char* wrong : {"12x", "x", "", "1 ", "+1", "0x1f", "1.5", "9223372036854775808", "99999999999999999999"}) {
    CAPTURE(std::string(wrong));
    Value v = log::write_amount({Dimension::volume, 10, 20, 30, true, "10..30"});
    v["best"] = wrong;
    CHECK_THROWS_AS((void)log::read_amount(v), Malformed);
  }
}

TEST_CASE("an amount of a body is within 2^53 - 1 on both sides, so that sums of it stay whole") {
  constexpr std::int64_t most = (std::int64_t{1} << 53) - 1;
  for (const auto& [low, best, high, fits] : {std::tuple{std::int64_t{0}, most, most, true}, {-most, std::int64_t{0}, most, true}, {std::int64_t{0}, std::int64_t{1}, most + 1, false}, {std::int64_t{0}, most + 1, most + 1, false},
                                              {-most - 1, std::int64_t{0}, std::int64_t{1}, false}}) {
    const Amount a{Dimension::volume, low, best, high, true, "x"};
    const Value v = log::write_amount(a);
    if (fits) CHECK(log::read_amount(v) == a);
    else CHECK_THROWS_AS((void)log::read_amount(v), Malformed);
  }
}

TEST_CASE("a sum that runs over is told instead of a wrong figure") {
  std::int64_t sum = std::numeric_limits<std::int64_t>::max() - 1;
  log::add_to(sum, 1, 1);
  CHECK(sum == std::numeric_limits<std::int64_t>::max());
  CHECK_THROWS_AS(log::add_to(sum, 1, 1), Malformed);
  sum = 0;
  CHECK_THROWS_AS(log::add_to(sum, -1, std::numeric_limits<std::int64_t>::min()), Malformed);
  log::add_to(sum, -1, 5);
  CHECK(sum == -5);
}

TEST_CASE("a place and a fluid of a body are ones that there are") {
  constexpr std::int64_t own = 74565;
  Value circuit;
  circuit["car"] = 17;
  circuit["circuit"] = "coolant";
  CHECK(log::read_place(circuit, own) == circuit_of(CarId{own << 40 | 17}, *find_circuit("coolant")));
  CHECK(log::read_place(Value("ground"), own) == kGround);
  CHECK(log::read_place(Value(17), own) == PlaceId{own << 40 | 17});
  circuit["circuit"] = "hydrogen";
  CHECK_THROWS_AS((void)log::read_place(circuit, own), Malformed);
  Value no_car;
  no_car["circuit"] = "coolant";
  CHECK_THROWS_AS((void)log::read_place(no_car, own), Malformed);
  CHECK_THROWS_AS((void)log::read_place(Value("the pan"), own), Malformed);
  CHECK(log::read_fluid(Value("coolant"), own).n == find_class(std::string_view("coolant"))->number);
  CHECK_THROWS_AS((void)log::read_fluid(Value("hydrogen"), own), Malformed);
  CHECK_THROWS_AS((void)log::class_at(999), Malformed);
  CHECK_THROWS_AS((void)log::circuit_at(PlaceId{0}), Malformed);
  CHECK_THROWS_AS((void)log::read_day_number("2026-02-30"), Malformed);
  CHECK(log::read_day_number("1970-01-02") == 1);
}

TEST_CASE("the units of a book are read back as they were written, every one of them") {
  for (const VolumeUnit volume : {VolumeUnit::litre, VolumeUnit::us_gallon, VolumeUnit::imperial_gallon}) {
    for (const auto gallon : {std::optional<VolumeUnit>(), std::optional(VolumeUnit::us_gallon), std::optional(VolumeUnit::imperial_gallon)}) {
      for (const bool other : {false, true}) {
        Units u;
        u.volume = volume;
        u.gallon = gallon;
        u.distance = other ? DistanceUnit::mile : DistanceUnit::kilometre;
        u.torque = other ? TorqueUnit::pound_foot : TorqueUnit::newton_metre;
        u.estimate_percent = other ? 25 : 0;
        CHECK(log::write_units(log::read_units(log::write_units(u))) == log::write_units(u));
        CHECK(log::read_units(log::write_units(u)).volume == volume);
        CHECK(log::read_units(log::write_units(u)).gallon == gallon);
      }
    }
  }
}

TEST_CASE("an installation without a bit in its first digits has the number 1, for 0 is nobody's") {
  CHECK(log::origin_of("00000000000000000000000000000000") == 1);
  CHECK(log::origin_of("00004000000000000000000000000000") == 1);
  CHECK(log::origin_of("fffff000000000000000000000000000") == (1 << 18) - 1);
  log::Installations none;
  CHECK_THROWS_AS((void)none.own(), Malformed);
  CHECK(none.tag_of(7) == "?");
  CHECK_THROWS_AS((void)log::write_ref(std::int64_t{7} << 40 | 1, none), Malformed);
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

TEST_CASE("an entry that is listed and not there is told as such, as in a file in which a bit has flipped") {
  test::TestBook b;
  const EntryId first{b->inside().known.own().origin << 40 | 1};
  CHECK(log::row_of(b->inside().db, first).kind == log::Kind::opening);
  try {
    (void)log::row_of(b->inside().db, EntryId{first.n + 7});
    FAIL("it is there");
  } catch (const store::Failure& f) {
    CHECK(f.code == Code::unsound);
    CHECK(std::string(f.what()).find("entry 8 is listed and not there") != std::string::npos);
  }
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
