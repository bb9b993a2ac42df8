// What is asked of a movement and of a gauge reading before it becomes an entry: every refusal says what, why and what to type instead.
#include "support/refused.hpp"

using namespace baybook;
using namespace baybook::test;

namespace {

FluidId absorbent() { return FluidId{find_class(std::string_view("absorbent"))->number}; }

/// A car, a pan, a can and a drum; 5.4 L of coolant in the pan, 20 L in the can.
struct Bay : TestBook {
  Bay() {
    marsh = car("MARSH-07");
    pan = place("pan-1", Role::hold_catch, "20L");
    keep = place("keep-1", Role::reuse, "20L");
    can = place("can-1", Role::stock, "25L");
    drum = place("drum-1", Role::waste, "180L", {"coolant"});
    oat = fluid("oat-violet", "coolant");
    open_job = job(marsh);
    write(move(MoveVerb::receive, kSupplier, can, "20L", {}, oat));
    write(move(MoveVerb::drain, coolant(marsh), pan, "5.4L", open_job));
  }
  CarId marsh;
  PlaceId pan, keep, can, drum;
  FluidId oat;
  JobId open_job;
};

}  // namespace

TEST_SUITE("book/movement drafts") {
  TEST_CASE("a movement has a line, and a line an amount of something") {
    Bay b;
    Movement m;
    m.verb = MoveVerb::decant;
    refused(b, m, Code::wrong_usage, "a movement without a line moves nothing");
    m = TestBook::move(MoveVerb::decant, b.pan, b.drum, "1L");
    m.lines[0].amount = Amount{Dimension::volume, 0, 0, 1, true, ""};
    refused(b, m, Code::not_allowed, "an amount of nothing moves nothing");
    m.lines[0].amount = Amount{Dimension::volume, -1, 1, 1, true, ""};
    refused(b, m, Code::not_allowed, "below nothing");
    m.lines[0].amount = Amount{Dimension::volume, 0, 1, 0, true, ""};
    refused(b, m, Code::not_allowed, "not between its bounds");
    m = TestBook::move(MoveVerb::receive, kSupplier, b.can, "1L");
    CHECK(has(refused(b, m, Code::wrong_usage, "what came from the supplier is not said").instead, "baybook fluid list"));
  }

  TEST_CASE("what leaves or enters a car belongs to a job") {
    Bay b;
    for (const auto& m : {TestBook::move(MoveVerb::drain, b.coolant(b.marsh), b.pan, "1L"), TestBook::move(MoveVerb::fill, b.can, b.coolant(b.marsh), "1L")}) {
      CHECK(has(refused(b, m, Code::wrong_usage, "belongs to a job").instead, "baybook job open"));
    }
  }

  TEST_CASE("all of a place can be moved, all of a circuit or of what never ends cannot") {
    Bay b;
    refused(b, TestBook::move(MoveVerb::drain, b.coolant(b.marsh), b.pan, "all", b.open_job), Code::unclear, "\"all\" needs a place of the shop");
    refused(b, TestBook::move(MoveVerb::receive, kSupplier, b.can, "all", {}, b.oat), Code::unclear, "\"all\" needs a place of the shop");
    CHECK(refused(b, TestBook::move(MoveVerb::decant, b.keep, b.drum, "all"), Code::would_overdraw, "keep-1 is empty by the book").instead == "baybook levels");
    b.write(TestBook::move(MoveVerb::decant, b.pan, b.drum, "all"));
    CHECK(b.level(b.pan) == 0);
    CHECK(b.level(b.drum) == 5'400'000'000);
  }

  TEST_CASE("litres and kilograms in one place are not moved as all of it, for they are never added up") {
    Bay b;
    const PlaceId bin = b.place("bin-1", Role::waste, "", {"absorbent"});
    b.write(TestBook::move(MoveVerb::discard, kSupplier, bin, "2kg", {}, absorbent()));
    b.write(TestBook::move(MoveVerb::discard, kSupplier, bin, "3L", {}, absorbent()));
    const PlaceId other = b.place("bin-2", Role::waste, "", {"absorbent"});
    CHECK(has(refused(b, TestBook::move(MoveVerb::decant, bin, other, "all"), Code::unclear, "bin-1 holds more than one kind of quantity").instead, "one after the other"));
    b.write(TestBook::move(MoveVerb::decant, bin, other, "2kg"));
    b.write(TestBook::move(MoveVerb::decant, bin, other, "all"));
    CHECK(b.level(bin) == 0);
    CHECK(b.level(other, Dimension::mass) == 2'000'000'000);
  }

  TEST_CASE("a product is moved in the kind of quantity that it is kept in") {
    Bay b;
    const auto product = [&](const std::string& code, Dimension d) {
      NewFluid f;
      f.code = code;
      f.of_class = "grease";
      f.dimension = d;
      return FluidId{b.write(f).entry.id.n};
    };
    const PlaceId shelf = b.place("shelf", Role::stock, "");
    struct Row {
      FluidId fluid;
      const char* amount;
      const char* says;
    };
    const FluidId by_mass = product("grease-1", Dimension::mass), by_piece = product("grease-2", Dimension::count), by_volume = product("grease-3", Dimension::volume);
    for (const Row& row : {Row{by_mass, "1L", "grease-1 is kept in mass, not in volume"}, Row{by_piece, "1L", "grease-2 is kept in pieces, not in volume"}, Row{by_volume, "1kg", "grease-3 is kept in volume, not in mass"},
                           Row{by_volume, "3pcs", "grease-3 is kept in volume, not in pieces"}}) {
      CAPTURE(row.says);
      CHECK(has(refused(b, TestBook::move(MoveVerb::receive, kSupplier, shelf, row.amount, {}, row.fluid), Code::unclear, row.says).instead, "in that unit"));
    }
    b.write(TestBook::move(MoveVerb::receive, kSupplier, shelf, "3pcs", {}, by_piece));
  }

  TEST_CASE("numbers that are kept in the open hold letters, digits, blanks and - / . _ # + alone") {
    Bay b;
    Movement m = TestBook::move(MoveVerb::receive, kSupplier, b.can, "1L", {}, b.oat);
    for (const char* lot : {"7731", "azAZ09", "7/7-3.1_a#b+c d"}) {
      CAPTURE(lot);
      m.lines[0].lot = lot;
      m.document = lot;
      b.write(m);
    }
    for (const char* lot : {"7731;", "Tam <tam@marsh.invalid>", "a,b", "a'b", "a@b", "a[b", "a{b", "a`b", "a:b", "7731\xC3\xA9"}) {
      CAPTURE(lot);
      m.document.clear();
      m.lines[0].lot = lot;
      CHECK(has(refused(b, m, Code::unclear, "holds a character that no such number has").instead, "only the number"));
      m.lines[0].lot.clear();
      m.document = lot;
      refused(b, m, Code::unclear, "document number");
    }
    m.document = "a\x1b";
    refused(b, m, Code::not_text, "document number");
    m.document.clear();
    m.lines[0].lot = std::string(80, '7');
    refused(b, m, Code::not_text, "lot");
    b.write(TestBook::move(MoveVerb::decant, b.pan, b.drum, "5L"));
    Movement gone = TestBook::move(MoveVerb::pickup, b.drum, kReceiver, "5L");
    gone.lines[0].treatment = "R9; and more";
    refused(b, gone, Code::unclear, "treatment code");
    gone.lines[0].treatment = "R9";
    b.write(gone);
  }

  TEST_CASE("a pick-up names its carrier and its paper, and what is written by hand is text") {
    Bay b;
    b.write(TestBook::move(MoveVerb::decant, b.pan, b.drum, "5L"));
    Movement m = TestBook::move(MoveVerb::pickup, b.drum, kReceiver, "5L");
    m.carrier.clear();
    CHECK(has(refused(b, m, Code::wrong_usage, "a pick-up names its carrier").instead, "--carrier"));
    m.carrier = "Quill & Tarn Recovery";
    m.document.clear();
    CHECK(has(refused(b, m, Code::wrong_usage, "a pick-up names its paper").instead, "--doc"));
    m.document = "0041233";
    m.note = "a\x1b]0;b\x07";
    refused(b, m, Code::not_text, "note");
    m.note.clear();
    m.carrier = "Quill\xFF";
    refused(b, m, Code::not_text, "carrier");
  }

  TEST_CASE("what is done with a pan that holds one open job's fluid belongs to that job, with two jobs' or a closed one's it does not") {
    Bay b;
    const auto job_of = [&](const Movement& m) { return b.write(m).entry; };
    const auto body = [&](EntryId id) {
      auto q = b->inside().db.query("SELECT body FROM entry WHERE id = ?");
      q.bind(id.n);
      REQUIRE(q.step());
      return q.text(0);
    };
    const auto mine = body(job_of(TestBook::move(MoveVerb::filter, b.pan, b.keep, "1L")).id);
    CHECK(has(mine, "\"job\":"));
    const CarId other = b.car("TERN-12");
    const JobId second = b.job(other);
    b.write(TestBook::move(MoveVerb::drain, b.coolant(other), b.pan, "2L", second));
    const auto both = body(job_of(TestBook::move(MoveVerb::filter, b.pan, b.keep, "1L")).id);
    CHECK_FALSE(has(both, "\"job\":"));
  }

  TEST_CASE("a gauge reading is of a place of the shop: a level, or two weights of which the full one is more") {
    Bay b;
    const auto mass = [](std::string_view text) { return litres(text); };
    Gauge g;
    for (const PlaceId p : {b.coolant(b.marsh), kSupplier, kDifference}) {
      g = Gauge{};
      g.place = p;
      g.level = litres("1L");
      CHECK(has(refused(b, g, Code::not_allowed, "only the shop's own places are gauged").instead, "baybook levels"));
    }
    g = Gauge{};
    g.place = b.drum;
    refused(b, g, Code::wrong_usage, "a gauge reading is a level, or a gross and a tare weight");
    g.gross = mass("201kg");
    refused(b, g, Code::wrong_usage, "a gauge reading is a level, or a gross and a tare weight");
    g.tare = litres("18L");
    refused(b, g, Code::unclear, "gross and tare are weights");
    g.tare = mass("18kg");
    g.gross = litres("18L");
    refused(b, g, Code::unclear, "gross and tare are weights");
    g.gross = mass("17kg");
    CHECK(has(refused(b, g, Code::not_allowed, "the empty container weighs more (18 kg) than the full one (17 kg)").instead, "the other way round"));
    g.gross = mass("201kg");
    CHECK(has(refused(b, g, Code::unclear, "drum-1 is kept in volume, and weights were given").instead, "--density"));
    g.density = density_of("1.07kg/L");
    CHECK(has(refused(b, g, Code::wrong_usage, "a density needs its source").instead, "--source"));
    g.density_source = "data sheet\x1b";
    refused(b, g, Code::not_text, "source");
    g.density_source = "data sheet of the maker, 2025";
    g.reason = "found\x1b";
    refused(b, g, Code::not_text, "reason");
  }

  TEST_CASE("weights alone are the reading of a place that is not kept in volume") {
    Bay b;
    const PlaceId scale = b.place("bin-1", Role::waste, "", {"absorbent"});
    Gauge g;
    g.place = scale;
    g.gross = litres("20kg");
    g.tare = litres("18kg");
    g.fluid = absorbent();
    g.reason = "begun before the book";
    b.write(g);
    CHECK(b.level(scale, Dimension::mass) == 2'000'000'000);
    // The same weights again, and nothing is different: no reason is needed, and none is asked for.
    g.reason.clear();
    b.write(g);
    // Empty by the scales: that is so in litres and in kilograms.
    Gauge none;
    none.place = b.keep;
    none.gross = litres("18kg");
    none.tare = litres("18kg");
    b.write(none);
    // A place without a size that holds litres is kept in volume all the same.
    const PlaceId open_pan = b.place("pan-2", Role::hold_catch, "");
    b.write(TestBook::move(MoveVerb::decant, b.pan, open_pan, "1L"));
    Gauge wrong;
    wrong.place = open_pan;
    wrong.gross = litres("20kg");
    wrong.tare = litres("18kg");
    refused(b, wrong, Code::unclear, "pan-2 is kept in volume, and weights were given");
    wrong.gross.reset();
    wrong.tare.reset();
    wrong.level = litres("2kg");
    wrong.reason = "weighed";
    CHECK(has(refused(b, wrong, Code::unclear, "pan-2 is kept in another kind of quantity").instead, "baybook levels"));
  }

  TEST_CASE("a reading that differs from the book says by how much, in both directions, and is booked with its reason") {
    Bay b;
    Gauge g;
    g.place = b.pan;
    g.level = litres("5.1L");
    CHECK(has(refused(b, g, Code::wrong_usage, "pan-1 reads 5.1 L and the book says 5.4 L: a difference of 0.3 L").instead, "--reason"));
    g.level = litres("5.9L");
    refused(b, g, Code::wrong_usage, "a difference of 0.5 L");
    g.level = litres("5.4L");
    b.write(g);
  }
}
