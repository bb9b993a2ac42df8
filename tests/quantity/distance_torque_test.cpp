#include "units_program.hpp"

#include <baybook/quantity.hpp>

#include <doctest/doctest.h>

#include <cmath>
#include <string>

namespace {

using namespace baybook;

Units miles_and_pounds() {
  Units units;
  units.distance = DistanceUnit::mile;
  units.torque = TorqueUnit::pound_foot;
  return units;
}

std::int64_t metres(std::string_view text) {
  CAPTURE(text);
  const auto distance = parse_distance(text, Units{});
  REQUIRE_MESSAGE(distance.ok(), distance.refusal().what);
  CHECK(distance->typed == text);
  return distance->metres;
}

std::int64_t millinewton_metres(std::string_view text) {
  CAPTURE(text);
  const auto torque = parse_torque(text, Units{});
  REQUIRE_MESSAGE(torque.ok(), torque.refusal().what);
  CHECK(torque->typed == text);
  return torque->millinewton_metres;
}

struct Refused {
  std::string_view text;
  Code code;
  std::string_view instead;
};

}  // namespace

TEST_SUITE("quantity/distance") {
  TEST_CASE("a reading is kept in whole metres, rounded half to even") {
    CHECK(metres("88210km") == 88'210'000);
    CHECK(metres("88210 KM") == 88'210'000);
    CHECK(metres("0 km") == 0);
    CHECK(metres("1 m") == 1);
    CHECK(metres("2.5 m") == 2);
    CHECK(metres("3.5 m") == 4);
    CHECK(metres("10000000 km") == 10'000'000'000);
    // NIST SP 811, App. B: 1 mi = 1609.344 m.
    CHECK(metres("1000 miles") == 1'609'344);
    CHECK(metres("54811 mi") == 88'209'754);  // 88,209,753.984 m
    CHECK(metres("54811.3 mi") == 88'210'237);  // 88,210,236.7872 m
  }

  TEST_CASE("a mile is that of the units program") {
    for (const std::string text : {"1", "54811", "199999.9"}) {
      CHECK(std::abs(static_cast<double>(metres(text + " mi")) - test::units_program_number(text + " mile", "m")) <= 0.5 + 1e-6);
    }
  }

  TEST_CASE("whole miles and kilometres print back as typed") {
    const Units units = miles_and_pounds();
    for (std::int64_t n = 0; n < 2'000'000; n = n * 3 + 1) {
      const std::string miles = std::to_string(n) + " mi";
      const std::string kilometres = std::to_string(n) + " km";
      CHECK(show_distance(metres(miles), units) == miles);
      CHECK(show_distance(metres(kilometres), Units{}) == kilometres);
    }
    CHECK(show_distance(500, Units{}) == "0 km");
    CHECK(show_distance(1'500, Units{}) == "2 km");
  }

  TEST_CASE("a distance that cannot be used is refused with what to type") {
    for (const Refused& row : {
             Refused{"", Code::unclear, "a number with its unit, like 88210km"}, Refused{"88210", Code::unclear, "88210km"}, Refused{"54,811 mi", Code::unclear, "54811 mi"},
             Refused{"54.811 km", Code::unclear, "54811 km"}, Refused{"54 811 km", Code::unclear, "54811 km"},
             Refused{"54811 mils", Code::unclear, "54811 miles"}, Refused{"88210 km.", Code::unclear, "88210 km"},
             Refused{"5 M", Code::unclear, "a number with its unit, like 88210km"}, Refused{"88210k", Code::unclear, "a number with its unit, like 88210km"},
             Refused{"far", Code::unclear, "a number with its unit, like 88210km"}, Refused{"54.811.5 km", Code::unclear, "the distance that is meant, like 88210km"},
             Refused{"-5 km", Code::not_allowed, "5 km"}, Refused{"10000000.1 km", Code::not_allowed, "the distance that is meant, like 88210km"},
             Refused{"999999999999999999999 km", Code::not_allowed, "the distance that is meant, like 88210km"}, Refused{"5\x02km", Code::not_text, ""},
         }) {
      CAPTURE(row.text);
      const auto distance = parse_distance(row.text, Units{});
      REQUIRE_FALSE(distance.ok());
      CHECK(distance.refusal().code == row.code);
      if (!row.instead.empty()) CHECK(distance.refusal().instead == row.instead);
    }
    CHECK(parse_distance("54811", miles_and_pounds()).refusal().instead == "54811mi");
  }
}

TEST_SUITE("quantity/torque") {
  TEST_CASE("a torque is kept in whole millinewton-metres") {
    CHECK(millinewton_metres("110Nm") == 110'000);
    CHECK(millinewton_metres("110 N\xC2\xB7m") == 110'000);
    CHECK(millinewton_metres("110 nm") == 110'000);
    CHECK(millinewton_metres("9,5 N-m") == 9'500);
    CHECK(millinewton_metres("10000Nm") == 10'000'000);
    // NIST SP 811, App. B: 1 lbf.ft = 1.3558179483314004 N.m, 1 lbf.in a twelfth of it, 1 kgf.m = 9.80665 N.m.
    for (const std::string_view text : {"81 lbft", "81 lbf\xC2\xB7" "ft", "81 ft-lb", "81 lb-ft", "81 ft lbs", "81 LBFT"}) {
      CHECK(millinewton_metres(text) == 109'821);  // 109,821.2538 mN.m
    }
    CHECK(millinewton_metres("90 lbin") == 10'169);    // 10,168.6346 mN.m
    CHECK(millinewton_metres("11.2 kgfm") == 109'834);  // 109,834.48 mN.m
  }

  TEST_CASE("factors are those of the units program") {
    const auto check = [](const std::string& ours, const std::string& theirs) {
      const double want = test::units_program_number(theirs, "millinewton meter");
      CHECK(std::abs(static_cast<double>(millinewton_metres(ours)) - want) <= 0.5 + 1e-6);
    };
    check("7375.6 lbft", "7375.6 lbf foot");
    check("88507.4 lbin", "88507.4 lbf inch");
    check("1019.7 kgfm", "1019.7 kgf meter");
  }

  TEST_CASE("a torque prints in the unit of the book") {
    CHECK(show_torque(110'000, Units{}) == "110 Nm");
    CHECK(show_torque(109'821, Units{}) == "109.8 Nm");
    CHECK(show_torque(9'525, Units{}) == "9.525 Nm");
    CHECK(show_torque(millinewton_metres("81 lbft"), miles_and_pounds()) == "81 lbft");
  }

  TEST_CASE("a torque that cannot be used is refused with what to type") {
    for (const Refused& row : {
             Refused{"", Code::unclear, "a number with its unit, like 110Nm"}, Refused{"110", Code::unclear, "110Nm"}, Refused{"1,100 Nm", Code::unclear, "1100 Nm or 1.1 Nm"},
             Refused{"110 Nn", Code::unclear, ""}, Refused{"110 N--m", Code::unclear, "110 Nm"}, Refused{"tight", Code::unclear, "a number with its unit, like 110Nm"},
             Refused{"9 Ncm", Code::unclear, "a number with its unit, like 110Nm"}, Refused{"110 kgcm", Code::unclear, "a number with its unit, like 110Nm"}, Refused{"110 lbft.", Code::unclear, "110 lbft"},
             Refused{"0 Nm", Code::not_allowed, "the torque that is meant, like 110Nm"}, Refused{"0.0001 Nm", Code::not_allowed, "the torque that is meant, like 110Nm"},
             Refused{"-5 Nm", Code::not_allowed, "5 Nm"}, Refused{"10000.1 Nm", Code::not_allowed, "the torque that is meant, like 110Nm"},
             Refused{"9999999999999.999999999999 lbft", Code::not_allowed, "the torque that is meant, like 110Nm"},
             Refused{"99999999999999999999 lbft", Code::not_allowed, "the torque that is meant, like 110Nm"}, Refused{"5\x02Nm", Code::not_text, ""},
         }) {
      CAPTURE(row.text);
      const auto torque = parse_torque(row.text, Units{});
      REQUIRE_FALSE(torque.ok());
      CHECK(torque.refusal().code == row.code);
      if (!row.instead.empty()) CHECK(torque.refusal().instead == row.instead);
    }
    CHECK(parse_torque("81", miles_and_pounds()).refusal().instead == "81lbft");
  }
}
