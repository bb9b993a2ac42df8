#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/find") {
  struct FindShop : TestBook {
    CarId seven = car("MARSH-07");
    CarId eight = car("MARSH-08");
    CarId dune{};
    FindShop() {
      NewCar c;
      c.plate = "DUNE-42";
      c.vin = "1M8GDM9AXKP042788";
      dune = CarId{write(c).entry.id.n};
    }
  };

  TEST_CASE("a car is found by its plate however it is typed, a fragment, the tail of its VIN, or with one slip") {
    FindShop s;
    for (const char* typed : {"DUNE-42", "dune 42", "dune42", "UNE-4", "042788", "DUME-42", "DUNE-4", "DUNE-24"}) {
      CAPTURE(typed);
      const auto r = s->find_car(typed, Match::near);
      REQUIRE_MESSAGE(r.ok(), why(r));
      CHECK(*r == s.dune);
    }
    CHECK(*s->find_car("marsh07") == s.seven);
  }

  TEST_CASE("what fits several cars lists them, and what fits none says what is near") {
    FindShop s;
    const auto many = s->find_car("MARSH", Match::near);
    REQUIRE_FALSE(many.ok());
    CHECK(many.refusal().code == Code::ambiguous);
    CHECK(many.refusal().why.find("MARSH-07, MARSH-08") != std::string::npos);
    const auto none = s->find_car("DUNES-77", Match::near);
    REQUIRE_FALSE(none.ok());
    CHECK(none.refusal().code == Code::not_found);
    CHECK(s->find_car("--").refusal().code == Code::unclear);
    CHECK_FALSE(s->find_car("%", Match::near).ok());
  }

  TEST_CASE("a car is found by a plate it once wore, unless another wears it now") {
    FindShop s;
    CarChange c;
    c.car = s.seven;
    c.plate = "DUNE-07";
    s.write(c);
    CHECK(*s->find_car("MARSH-07") == s.seven);
    CHECK(*s->find_car("DUNE-07") == s.seven);
    const CarId newcomer = s.car("MARSH-07");
    CHECK(*s->find_car("MARSH-07") == newcomer);
  }

  TEST_CASE("places and fluids that are not there name their neighbours") {
    FindShop s;
    s.place("drum-coolant", Role::waste, "180L", {"coolant"});
    const auto p = s->find_place("drum-colant");
    REQUIRE_FALSE(p.ok());
    CHECK(p.refusal().why == "near it: drum-coolant");
    CHECK(p.refusal().instead == "drum-coolant");
    const auto f = s->find_fluid("colant");
    REQUIRE_FALSE(f.ok());
    CHECK(f.refusal().instead == "coolant");
  }

  TEST_CASE("a job is found by its number, or by a car with exactly one open job") {
    FindShop s;
    const JobId one = s.job(s.seven);
    CHECK(*s->find_job("1") == one);
    CHECK(*s->find_job("1@bay") == one);
    CHECK(*s->find_job("MARSH-07") == one);
    CHECK(s->find_job("MARSH-08").refusal().what.find("has no open job") != std::string::npos);
    CHECK(s->find_job("9").refusal().code == Code::not_found);
    CHECK(s->find_job("1@office").refusal().code == Code::not_found);
    s.job(s.seven);
    CHECK(s->find_job("MARSH-07").refusal().code == Code::ambiguous);
  }
}
