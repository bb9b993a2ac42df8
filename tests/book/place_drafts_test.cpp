// What is asked of a place, of a mark on it and of a product before it becomes an entry: every refusal says what, why and what to type instead.
#include "support/refused.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

NewPlace place_of(const std::string& code, Role role, std::vector<std::string> takes = {}) {
  NewPlace p;
  p.code = code;
  p.role = role;
  p.takes = std::move(takes);
  return p;
}

NewFluid product_of(const std::string& code, const std::string& of_class) {
  NewFluid f;
  f.code = code;
  f.of_class = of_class;
  return f;
}

}  // namespace

TEST_SUITE("book/place drafts") {
  TEST_CASE("a name is one word of letters and digits, and means one thing") {
    TestBook b;
    b.place("pan-1", Role::hold_catch);
    b.fluid("oat-violet", "coolant");
    CHECK_FALSE(refused(b, place_of("", Role::hold_catch), Code::unclear, "").instead.empty());
    CHECK_FALSE(refused(b, product_of("", "coolant"), Code::unclear, "").instead.empty());
    CHECK(has(refused(b, place_of("pan-1", Role::stock), Code::already_there, "pan-1 is the name of a place or a fluid already").instead, "pan-1-2"));
    refused(b, place_of("oat-violet", Role::stock), Code::already_there, "oat-violet is the name of a place or a fluid already");
    refused(b, product_of("pan-1", "coolant"), Code::already_there, "pan-1 is the name");
    CHECK(has(refused(b, place_of("coolant", Role::stock), Code::already_there, "coolant is the name of a class of fluid").instead, "coolant-1"));
    refused(b, product_of("engine-oil", "engine-oil"), Code::already_there, "is the name of a class of fluid");
  }

  TEST_CASE("a place is one of those that a shop has, and has room for something") {
    TestBook b;
    for (const Role role : {Role::circuit, Role::before, Role::supplier, Role::ground, Role::receiver, Role::used_up, Role::difference, Role::missing}) {
      CAPTURE(name_of(role));
      CHECK(refused(b, place_of("x-1", role), Code::wrong_usage, "one of catch, reuse, stock, waste").instead == "--role catch");
    }
    NewPlace nothing = place_of("x-1", Role::hold_catch);
    nothing.size = Amount{Dimension::volume, 0, 0, 0, false, "0L"};
    CHECK(refused(b, nothing, Code::not_allowed, "holds nothing").instead == "--size 20L");
  }

  TEST_CASE("what a place takes is a class that there is, a slip is answered with its neighbours") {
    TestBook b;
    CHECK(has(refused(b, place_of("drum-1", Role::waste, {"coolan"}), Code::not_found, "no class of fluid or waste named coolan").why, "coolant"));
    // Nothing is near to it: then nothing is said to be.
    CHECK(refused(b, place_of("drum-1", Role::waste, {"qqqqqqqqqqqqqqq"}), Code::not_found, "named qqqqqqqqqqqqqqq").why.empty());
    CHECK(has(refused(b, product_of("green-1", "engine-oi"), Code::not_found, "named engine-oi").why, "engine-oil"));
  }

  TEST_CASE("what becomes of waste is read as it is told, and by the verb") {
    CHECK(read_fate("recycle") == Fate::recycled);
    CHECK(read_fate("dispose") == Fate::disposed);
    CHECK(read_fate(name_of(Fate::recycled)) == Fate::recycled);
    CHECK(read_fate(name_of(Fate::disposed)) == Fate::disposed);
    CHECK(name_of(Fate::none) == "none");
    CHECK_FALSE(read_fate("none").has_value());
  }

  TEST_CASE("a waste place has one stream, of its own name or after the first class that it takes, no other place has one") {
    TestBook b;
    refused(b, place_of("drum-1", Role::waste), Code::wrong_usage, "needs to say what goes in");
    NewPlace named = place_of("drum-1", Role::waste);
    named.stream = "Mixed-Oils";
    // No rules are in force: the waste of a class alone has a name.
    CHECK(has(refused(b, named, Code::not_found, "know a stream named mixed-oils").why,
              "waste-coolant for one"));
    named.stream = "waste-engin-oil";
    CHECK(refused(b, named, Code::not_found, "waste-engin-oil").instead ==
          "--stream waste-engine-oil");
    named.stream = "Waste-Engine-Oil";  // kept as any code is, in small letters
    b.write(named);
    named.code = "drum-2";
    named.stream = "two words";
    refused(b, named, Code::unclear, "two words");
    NewPlace pan = place_of("pan-1", Role::hold_catch);
    pan.stream = "waste-coolant";
    CHECK(has(refused(b, pan, Code::wrong_usage, "only a waste place has a stream").instead, "--role waste"));
    b.write(place_of("drum-3", Role::waste, {"coolant"}));
    const std::string now = b.dump();
    CHECK(has(now, "'waste-engine-oil'"));
    CHECK(has(now, "'waste-coolant'"));
  }

  TEST_CASE("a place at the point of generation is a waste place and stands in an area with a name") {
    TestBook b;
    NewPlace p = place_of("drum-1", Role::waste, {"coolant"});
    p.area = "two words";
    refused(b, p, Code::unclear, "two words");
    p.area.clear();
    p.satellite = true;
    CHECK(has(refused(b, p, Code::wrong_usage, "drum-1 stands in no area").instead, "--area"));
    p.area = "bay-2";
    p.role = Role::hold_catch;
    p.takes.clear();
    CHECK(has(refused(b, p, Code::wrong_usage, "drum-1 is not a waste place").instead, "no --satellite"));
    p.role = Role::waste;
    p.takes = {"coolant"};
    b.write(p);
  }

  TEST_CASE("a container is sealed once and full, opened and retired when it is empty") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
    const PlaceId drum = b.place("drum-1", Role::waste, "60L", {"coolant"});
    const JobId job = b.job(car);
    const auto mark = [](PlaceMark::What what, PlaceId p, std::string note = {}) { return PlaceMark{what, p, std::move(note)}; };
    for (const PlaceId p : {b.coolant(car), kSupplier, kGround}) refused(b, mark(PlaceMark::What::seal, p), Code::not_allowed, "only the shop's own places");
    refused(b, mark(PlaceMark::What::seal, drum), Code::not_allowed, "drum-1 is empty: there is nothing to seal");
    b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "5.4L", job));
    b.write(TestBook::move(MoveVerb::decant, pan, drum, "5L"));
    for (const PlaceMark::What what : {PlaceMark::What::open, PlaceMark::What::retire}) {
      CHECK(has(refused(b, mark(what, pan), Code::not_allowed, "pan-1 still holds something by the book").instead, "baybook gauge pan-1 0L"));
    }
    refused(b, mark(PlaceMark::What::seal, drum, std::string("a\x1b[31m")), Code::not_text, "note");
    b.write(mark(PlaceMark::What::seal, drum, "until Thursday"));
    CHECK(has(refused(b, mark(PlaceMark::What::seal, drum), Code::already_there, "drum-1 is sealed already").instead, "baybook place open drum-1"));
    b.write(TestBook::move(MoveVerb::decant, pan, b.place("drum-2", Role::waste, "60L", {"coolant"}), "all"));
    b.write(mark(PlaceMark::What::retire, pan));
    for (const PlaceMark::What what : {PlaceMark::What::seal, PlaceMark::What::retire})
      CHECK(refused(b, mark(what, pan), Code::not_allowed, "pan-1 is retired").instead ==
            "another place, or baybook place open pan-1 if it is in use again");
    b.write(mark(PlaceMark::What::open, pan));
    CHECK(b.level(pan) == 0);
  }

  TEST_CASE("a product is of a class, named by its maker, and a density comes with its source") {
    TestBook b;
    NewFluid f = product_of("oat-violet", "coolant");
    f.product = "Violet\x07premix";
    refused(b, f, Code::not_text, "product");
    f.product = "Violet OAT premix";
    f.density = density_of("1.07kg/L");
    CHECK(has(refused(b, f, Code::wrong_usage, "a density needs its source").instead, "--source"));
    f.density_source = "a\nb\x1b";
    refused(b, f, Code::not_text, "source");
    f.density_source = "data sheet of the maker, 2025";
    b.write(f);
  }
}
