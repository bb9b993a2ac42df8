#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

/// One drum that its owner lets take engine oil and brake fluid: what the rules say of the two is another matter.
struct TwoInOne {
  TestBook b;
  CarId car = b.car("MARSH-07");
  PlaceId drum = b.place("drum-mixed", Role::waste, "100L", {"engine-oil", "brake-fluid"});
  PlaceId oil = b.place("can-oil", Role::stock, "50L", {"engine-oil"});
  PlaceId brake = b.place("can-brake", Role::stock, "50L", {"brake-fluid"});
  FluidId oil_class{find_class("engine-oil")->number};
  FluidId brake_class{find_class("brake-fluid")->number};

  TwoInOne() {
    b.write(TestBook::move(MoveVerb::receive, kSupplier, oil, "40L", {}, oil_class));
    b.write(TestBook::move(MoveVerb::receive, kSupplier, brake, "40L", {}, brake_class));
    b.write(TestBook::move(MoveVerb::decant, oil, drum, "5L"));
  }
  void go_by(const char* set) {
    ChooseRules r;
    r.set = set;
    r.from = day("2026-01-01");
    b.write(r);
  }
};

}  // namespace

TEST_SUITE("book/keep_apart") {
  TEST_CASE("what the rules keep apart is not poured together, and the refusal names the rule and its section") {
    TwoInOne t;
    t.go_by("us-federal");
    auto r = t.b.try_write(TestBook::move(MoveVerb::decant, t.brake, t.drum, "1L"));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::not_allowed);
    CHECK(r.refusal().what == "drum-mixed holds engine-oil; brake-fluid would be mixed into it");
    CHECK(r.refusal().why.find("us-federal") != std::string::npos);
    CHECK(r.refusal().why.find("never-with of used-oil, ") != std::string::npos);
    CHECK(r.refusal().instead.find("--mixing-reason") != std::string::npos);
    CHECK(levels(t.b.book()).value().size() == 3);
  }

  TEST_CASE("a book that goes by no rules leaves it to its owner") {
    TwoInOne t;
    auto r = t.b.try_write(TestBook::move(MoveVerb::decant, t.brake, t.drum, "1L"));
    CHECK_MESSAGE(r.ok(), why(r));
  }

  TEST_CASE("what has happened is written down with its reason, and more of the same is not refused anew") {
    TwoInOne t;
    t.go_by("us-federal");
    Movement m = TestBook::move(MoveVerb::decant, t.brake, t.drum, "1L");
    m.mixing_reason = "the wrong funnel";
    auto r = t.b.try_write(m);
    CHECK_MESSAGE(r.ok(), why(r));
    auto again = t.b.try_write(TestBook::move(MoveVerb::decant, t.brake, t.drum, "1L"));
    CHECK_MESSAGE(again.ok(), why(again));
    auto oil = t.b.try_write(TestBook::move(MoveVerb::decant, t.oil, t.drum, "1L"));
    CHECK_MESSAGE(oil.ok(), why(oil));
  }

  TEST_CASE("the figures of the shop come before the rules: too much is told as too much") {
    TwoInOne t;
    t.go_by("us-federal");
    auto r = t.b.try_write(TestBook::move(MoveVerb::decant, t.brake, t.drum, "41L"));
    REQUIRE_FALSE(r.ok());
    CHECK(r.refusal().code == Code::would_overdraw);
  }

  TEST_CASE("the rules of the day decide: a movement from before them is taken") {
    TwoInOne t;
    ChooseRules r;
    r.set = "us-federal";
    r.from = day("2026-04-01");
    t.b.write(r);
    auto before = t.b.try_write(TestBook::move(MoveVerb::decant, t.brake, t.drum, "1L"));
    CHECK_MESSAGE(before.ok(), why(before));
  }
}
