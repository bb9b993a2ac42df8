// The funnel: a draft that a program makes by itself is held to the limits of what is typed.
#include "support/test_book.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

struct Shop {
  TestBook b{"bay", 21};
  PlaceId can, pan, parts;
  CarId car;
  JobId job;
  FluidId oat;
  Shop() {
    can = b.place("can-1", Role::stock, "", {"coolant"});
    pan = b.place("pan-1", Role::hold_catch, "");
    parts = b.place("bin-1", Role::waste, "", {"old-parts"});
    oat = b.fluid("oat-1", "coolant");
    car = b.car("MARSH-07");
    job = b.job(car);
  }
};

Amount litres_of(std::int64_t low, std::int64_t best, std::int64_t high) {
  return {Dimension::volume, low, best, high, low != high, "some"};
}

std::vector<std::pair<const char*, Draft>> beyond(const Shop& s) {
  std::vector<std::pair<const char*, Draft>> out;
  const Amount one{Dimension::count, 1, 1, 1, false, "1pcs"};
  for (const std::int64_t mnm : {std::int64_t{-5}, std::int64_t{0}, std::int64_t{10'000'001}})
    out.emplace_back("torque", TorqueNote{s.job, "bolt", {mnm, "some"}});
  for (const std::int64_t m : {std::int64_t{-1}, std::int64_t{10'000'000'001}})
    out.emplace_back("reading", Odometer{s.car, {}, {m, "some"}, ""});
  for (const std::int64_t n : {std::int64_t{0}, std::int64_t{-1}, std::int64_t{1'000'001}}) {
    Fit f;
    f.job = s.job;
    f.part = "WP-1";
    f.quantity = {Dimension::count, n, n, n, false, "some"};
    out.emplace_back("quantity", f);
  }
  Fit warranty;
  warranty.job = s.job;
  warranty.part = "WP-1";
  warranty.quantity = one;
  warranty.warranty_distance = Distance{-1, "some"};
  out.emplace_back("warranty", warranty);
  NewPlace big;
  big.code = "tank-1";
  big.size = litres_of(2'000'000'000'000'000, 2'000'000'000'000'000, 2'000'000'000'000'000);
  out.emplace_back("size", big);
  for (const Amount& a :
       {litres_of(-5, 5, 5), litres_of(5, 5, 2'000'000'000'000'000), litres_of(7, 5, 9)}) {
    Movement m = TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat);
    m.lines.front().amount = a;
    out.emplace_back("amount", m);
  }
  Movement many = TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat);
  many.lines.resize(1001, many.lines.front());
  out.emplace_back("lines", many);
  NewCar c;
  c.plate = "MARSH-08";
  c.circuits = {{"coolant", litres_of(0, 0, 0), ""}};
  out.emplace_back("capacity", c);
  CloseJob close;
  close.job = s.job;
  close.rechecks = {{"level", 35'001, {}}};
  out.emplace_back("recheck", close);
  Paper p;
  p.about = EntryId{s.can.n};
  p.file = "slip.pdf";
  p.sha256 = std::string(64, 'a');
  p.bytes = -1;
  out.emplace_back("paper", p);
  ChooseRules rules;
  rules.set = "eu";
  rules.from = day("2026-01-01");
  rules.file_name = "ours\n.toml";
  rules.file = "title = \"x\"";
  out.emplace_back("rules", rules);
  Schedule schedule;
  Interval i;
  i.task = "belt";
  i.car = s.car;
  i.distance = Distance{-5, "some"};
  i.source = "card";
  schedule.intervals = {i};
  out.emplace_back("interval", schedule);
  out.emplace_back("hours", EngineHours{s.car, {}, 60, "1\x1b[2Jh", ""});
  Gauge g;
  g.place = s.pan;
  g.level = litres_of(-1, -1, -1);
  g.reason = "dip stick";
  out.emplace_back("gauge", g);
  NewFluid f;
  f.code = "oat-2";
  f.of_class = "coolant";
  f.density = Density{1, "some"};
  f.density_source = "sheet";
  out.emplace_back("density", f);
  return out;
}

}  // namespace

TEST_SUITE("book/unfit drafts") {
  TEST_CASE(
      "a draft with a figure or a text that nothing typed could have is refused, says what to do, "
      "and leaves nothing") {
    Shop s;
    const std::string before = s.b.dump();
    for (const auto& [what, draft] : beyond(s)) {
      CAPTURE(what);
      const auto r = s.b.try_write(draft);
      CHECK(!r.ok());
      if (r.ok()) continue;
      CHECK(!r.refusal().what.empty());
      CHECK(!r.refusal().instead.empty());
      CHECK(r.refusal().code != Code::unsound);
      CHECK(difference(before, s.b.dump()) == "");
    }
  }

  TEST_CASE("the limits themselves can be written") {
    Shop s;
    s.b.write(TorqueNote{s.job, std::string(200, 'x'), {10'000'000, "10000Nm"}});
    s.b.write(Odometer{s.car, {}, {10'000'000'000, "10000000km"}, ""});
    Movement m = TestBook::move(MoveVerb::receive, kSupplier, s.can, "1000000L", {}, s.oat);
    s.b.write(m);
    // All of what is there may be more than can be typed at once.
    s.b.write(m);
    s.b.write(TestBook::move(MoveVerb::decant, s.can, s.pan, "all"));
    Work w;
    w.job = s.job;
    w.text = std::string(4000, 'x');
    s.b.write(w);
    const auto proof = prove(s.b.book());
    REQUIRE_MESSAGE(proof.ok(), why(proof));
    CHECK(proof->findings.empty());
    CHECK(proof->unfit_found == 0);
  }

  TEST_CASE("a correction is held to the limits of the entry that it puts right") {
    Shop s;
    const EntryId torque = s.b.write(TorqueNote{s.job, "bolt", {25'000, "25Nm"}}).entry.id;
    Movement m = TestBook::move(MoveVerb::receive, kSupplier, s.can, "1L", {}, s.oat);
    m.document = "4711";
    const EntryId delivery = s.b.write(m).entry.id;
    Fit f;
    f.job = s.job;
    f.part = "WP-1";
    f.quantity = {Dimension::count, 1, 1, 1, false, "1pcs"};
    const EntryId fitted = s.b.write(f).entry.id;
    const auto refused = [&](EntryId target, const std::function<void(Patch&)>& how) {
      Correction c;
      c.target = target;
      c.why = "looked again";
      how(c.patch);
      return !s.b.try_write(c).ok();
    };
    CHECK(refused(torque, [](Patch& p) { p.torque = Torque{-5, "some"}; }));
    CHECK(refused(torque, [](Patch& p) { p.text = std::string(201, 'x'); }));
    CHECK(refused(delivery, [](Patch& p) { p.document = "4711 (second sheet)"; }));
    CHECK(refused(delivery, [](Patch& p) { p.document = std::string(61, '7'); }));
    CHECK(refused(fitted, [](Patch& p) { p.part = "--"; }));
    CHECK(refused(fitted,
                  [](Patch& p) { p.amount = Amount{Dimension::count, 0, 0, 0, false, "none"}; }));
    CHECK(!refused(delivery, [](Patch& p) { p.document = "4712"; }));
  }
}
