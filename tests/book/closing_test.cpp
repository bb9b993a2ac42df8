// Closing a job: what may be off, what is asked, and what is written of what nobody saw.
#include "support/exchange_lines.hpp"
#include "support/test_book.hpp"

#include "service/account.hpp"

#include <baybook/returns.hpp>

using namespace baybook;
using namespace baybook::test;

namespace {

// All that a refusal says can be typed, a line each.
std::string offers(const Refusal& r) {
  std::string out = r.instead + "\n";
  for (const std::string& other : r.others) out += other + "\n";
  return out;
}

constexpr std::int64_t mL = 1'000'000;
constexpr std::int64_t g = 1'000'000;

// A car with circuits of known and unknown size, and what goes into them.
struct Bay : TestBook {
  PlaceId pan = place("pan-1", Role::hold_catch, "40L");
  PlaceId can = place("can-1", Role::stock, "900L");
  PlaceId gear = place("can-gear", Role::stock, "60L", {"gear-oil"});
  PlaceId wash = place("can-wash", Role::stock, "60L", {"washer-fluid"});
  PlaceId cold = place("cyl-kept", Role::reuse, {}, {"refrigerant"});
  PlaceId cold_new = place("cyl-new", Role::stock, {}, {"refrigerant"});
  CarId tern;
  JobId j{};
  explicit Bay(std::string_view tag = "bay", std::uint64_t seed = 1) : TestBook(tag, seed) {
    NewCar c;
    c.plate = "MARSH-07";
    c.circuits = {{"coolant", litres("6.8L"), ""},
                  {"engine-oil", litres("4L"), ""},
                  {"front-axle", litres("1.2L"), ""},
                  {"rear-axle", litres("1.2L"), ""},
                  {"refrigerant", litres("500g"), ""},
                  {"washer", litres("5L"), ""},
                  {"gearbox", {}, ""}};
    tern = CarId{write(c).entry.id.n};
    supply(can, "800L", "coolant");
    supply(gear, "50L", "gear-oil");
    supply(wash, "50L", "washer-fluid");
    supply(cold_new, "9kg", "refrigerant");
    j = job(tern);
  }
  void supply(PlaceId to, const char* amount, const char* what) {
    write(move(MoveVerb::receive, kSupplier, to, amount, {},
               FluidId{find_class(std::string_view(what))->number}));
  }
  [[nodiscard]] PlaceId circuit(const char* name) const {
    return circuit_of(tern, *find_circuit(std::string_view(name)));
  }
  EntryId drain(const char* name, const char* amount) {
    const bool chill = std::string_view(name) == "refrigerant";
    Movement m = move(MoveVerb::drain, circuit(name), chill ? cold : pan, amount, j);
    m.mixing_reason = "one pan for all";
    return write(m).entry.id;
  }
  EntryId fill(const char* name, const char* amount) {
    const std::string_view n(name);
    const PlaceId from = n == "refrigerant" ? cold_new
                         : n == "washer"    ? wash
                         : n == "coolant"   ? can
                                            : gear;
    Movement m = move(MoveVerb::fill, from, circuit(name), amount, j);
    if (n == "engine-oil") m.mixing_reason = "no other can";
    return write(m).entry.id;
  }
  EntryId ran_out(const char* name, const char* amount) {
    return write(move(MoveVerb::spill, circuit(name), kGround, amount, j)).entry.id;
  }
  Result<Receipt> close(bool missing = false, bool low = false, std::string as_is = {}) {
    CloseJob c;
    c.job = j;
    c.book_missing = missing;
    c.was_low = low;
    c.as_is = std::move(as_is);
    return try_write(c);
  }
  Receipt closed(bool missing = false, bool low = false, std::string as_is = {}) {
    auto r = close(missing, low, std::move(as_is));
    REQUIRE_MESSAGE(r.ok(), why(r));
    return std::move(r).value();
  }
  /// Refused, and nothing left behind.
  Refusal open(bool missing = false, bool low = false) {
    const std::string before = dump();
    const auto r = close(missing, low);
    REQUIRE(!r.ok());
    CHECK(r.refusal().code == Code::does_not_close);
    CHECK(dump() == before);
    return r.refusal();
  }
  JobAccount account() {
    const auto view = baybook::job(book(), j);
    REQUIRE_MESSAGE(view.ok(), why(view));
    REQUIRE(view->accounts.size() == 1);
    return view->accounts.front();
  }
  void next() { j = job(tern); }
};

bool has(const std::string& text, std::string_view part) {
  return text.find(part) != std::string::npos;
}

}  // namespace

TEST_SUITE("book/closing") {
  TEST_CASE(
      "what went in unseen is booked as missing and not on the ground, and every report tells both "
      "and their sum") {
    Bay b;
    b.drain("coolant", "5L");
    b.ran_out("coolant", "0.5L");
    b.fill("coolant", "6.2L");
    const Receipt r = b.closed(true);
    CHECK(r.summary == "job closed, 0.7 L coolant missing");
    // Nobody spilled it: who writes it is not told to clean it up.
    CHECK(r.cautions.size() == 1);
    CHECK(b.level(kMissing) == 700 * mL);
    CHECK(b.level(kGround) == 500 * mL);
    const JobAccount a = b.account();
    CHECK(a.gone.best == 500 * mL);
    CHECK(a.missing.best == 700 * mL);
    CHECK(a.lost.best == 1200 * mL);
    CHECK(a.undecided.best + a.gone.best + a.missing.best == a.left.best);
    CHECK(a.change.best == 0);
    const auto t = totals(b.book(), day("2026-03-01"), day("2026-03-31"));
    REQUIRE_MESSAGE(t.ok(), why(t));
    const auto row = std::find_if(t->rows.begin(), t->rows.end(),
                                  [](const TotalsRow& x) { return x.fluid == "coolant"; });
    REQUIRE(row != t->rows.end());
    CHECK(row->ground_from_cars.best == 500 * mL);
    CHECK(row->missing_from_cars.best == 700 * mL);
    CHECK(row->lost_from_cars.best == 1200 * mL);
    const auto split = split_totals(b.book(), day("2026-03-01"), day("2026-03-31"), SplitBy::car);
    REQUIRE_MESSAGE(split.ok(), why(split));
    const auto mine = std::find_if(split->begin(), split->end(),
                                   [](const SplitRow& x) { return x.key == "MARSH-07"; });
    REQUIRE(mine != split->end());
    CHECK(mine->to_ground.best == 500 * mL);
    CHECK(mine->missing.best == 700 * mL);
    CHECK(mine->lost.best == 1200 * mL);
    const auto l = last(b.book(), b.tern, "coolant");
    REQUIRE_MESSAGE(l.ok(), why(l));
    CHECK(l->circuits.front().drained == 5 * L);
    CHECK(l->circuits.front().lost == 1200 * mL);
    CHECK(l->circuits.front().missing == 700 * mL);
    // A closed month has a column of its own for it, and what it was then is what it is.
    b.now = instant("2026-04-02T10:00:00.000Z");
    b.write(TestBook::move(MoveVerb::spill, b.pan, kGround, "all"), "2026-03-05");
    const Receipt month = b.write(CloseMonth{month_of(day("2026-03-01")), ""});
    CHECK(has(month.body, "\"missing-from-cars\":{\"best\":\"700000000\"}"));
    const auto then = closed_month(b.book(), month_of(day("2026-03-01")));
    REQUIRE_MESSAGE(then.ok(), why(then));
    CHECK((*then)->differences.empty());
  }

  TEST_CASE("filling two axles with nothing drained is asked about, and one word answers it") {
    Bay b;
    const EntryId front = b.fill("front-axle", "1.2L");
    const EntryId rear = b.fill("rear-axle", "1.1L");
    const Refusal r = b.open();
    CHECK(has(r.what, "front-axle: 0 L left, 1.2 L entered, 1.2 L more in than out"));
    CHECK(has(r.what, "entry " + std::to_string(front.number()) +
                          " put 1.2 L in, and nothing was drained"));
    CHECK(has(r.what,
              "entry " + std::to_string(rear.number()) + " put 1.1 L in, and nothing was drained"));
    CHECK(r.instead.starts_with(
        "baybook drain 1 front-axle AMOUNT --into PLACE  # if it was drained"));
    CHECK(has(offers(r), "baybook job close 1 --was-low  # if it was low or empty when it came"));
    // What never came out cannot be missing, and that is not offered.
    CHECK(!has(offers(r), "--missing"));
    CHECK(has(b.open(true).why,
              "nothing came out of front-axle in this job, so nothing of it can be missing"));
    const Receipt closed = b.closed(false, true);
    CHECK(closed.summary ==
          "job closed, front-axle was low when it came, rear-axle was low when it came");
    CHECK(b.level(kMissing) == 0);
    const auto view = job(b.book(), b.j);
    REQUIRE(view.ok());
    for (const JobAccount& a : view->accounts) {
      CHECK(a.was_low);
      CHECK(a.lost.best == 0);
    }
  }

  TEST_CASE(
      "what is off by no more than 5 percent, 0.2 L or 30 g is not asked about, and one unit more "
      "is, both ways") {
    struct Row {
      const char* circuit;
      const char* out;
      const char* in;
      bool asked;
    };
    // 5 % of 6.8 L are 0.34 L, of 4 L and of an unknown size 0.2 L, of 500 g 30 g at the least.
    for (const Row& row : {Row{"coolant", "5L", "5.34L", false},
                           {"coolant", "5L", "5.341L", true},
                           {"coolant", "5.34L", "5L", false},
                           {"coolant", "5.341L", "5L", true},
                           {"engine-oil", "3.8L", "4L", false},
                           {"engine-oil", "3.8L", "4.001L", true},
                           {"engine-oil", "4L", "3.8L", false},
                           {"engine-oil", "4L", "3.799L", true},
                           {"gearbox", "2L", "2.2L", false},
                           {"gearbox", "2L", "2.201L", true},
                           {"refrigerant", "470g", "500g", false},
                           {"refrigerant", "470g", "501g", true},
                           {"refrigerant", "500g", "470g", false},
                           {"refrigerant", "500g", "469g", true}}) {
      CAPTURE(row.circuit);
      CAPTURE(row.in);
      CAPTURE(row.out);
      Bay b;
      b.drain(row.circuit, row.out);
      b.fill(row.circuit, row.in);
      CHECK(b.close().ok() == !row.asked);
    }
    Bay top_up;
    top_up.fill("coolant", "0.34L");
    CHECK(top_up.close().ok());
    Bay more;
    more.fill("coolant", "0.341L");
    CHECK(has(more.open().instead, "--was-low"));
    // 0.05 US gallons over, as somebody met it.
    Bay gallon;
    gallon.drain("engine-oil", "1usgal");
    gallon.fill("engine-oil", "1.05usgal");
    CHECK(gallon.close().ok());
  }

  TEST_CASE("--was-low writes no movement and stays with the circuits that were over") {
    Bay b;
    b.drain("coolant", "5L");
    b.fill("coolant", "5.7L");
    b.drain("engine-oil", "3.8L");
    b.fill("engine-oil", "3.9L");
    const Receipt r = b.closed(false, true);
    CHECK(has(r.body, "\"was-low\":[\"coolant\"]"));
    CHECK(!has(r.body, "\"lines\""));
    const auto view = job(b.book(), b.j);
    REQUIRE(view.ok());
    for (const JobAccount& a : view->accounts) CHECK(a.was_low == (a.circuit == "coolant"));
    // What nobody would have asked about is written when it is said.
    b.next();
    b.drain("coolant", "5L");
    b.fill("coolant", "5.1L");
    CHECK(b.closed(true).summary == "job closed, 0.1 L coolant missing");
    // And what is about nothing is told.
    b.next();
    b.drain("coolant", "5L");
    b.fill("coolant", "5L");
    const Receipt nothing = b.closed(false, true);
    REQUIRE(nothing.warnings.size() == 1);
    CHECK(nothing.warnings[0] ==
          "--was-low is about nothing: of no circuit more went in than came out");
    CHECK(!has(nothing.body, "was-low"));
  }

  TEST_CASE(
      "a closing that does not close names the line that looks wrong first, then --missing, then a "
      "spill") {
    Bay b;
    b.drain("coolant", "5L");
    b.fill("coolant", "0.2L");
    const EntryId slip = b.fill("coolant", "57L");
    const std::string n = std::to_string(slip.number());
    const Refusal ten = b.open();
    CHECK(
        has(ten.what, "; entry " + n + " looks wrong: 57 L in, ten times what goes with the rest"));
    CHECK(ten.instead.starts_with("baybook correct " + n +
                                  " --amount AMOUNT --why \"...\"  # if that is a slip"));
    // 52 L can neither have been lacking in 6.8 L nor have run out of it.
    CHECK(!has(offers(ten), "--was-low"));
    CHECK(!has(offers(ten), "--missing"));
    CHECK(
        has(offers(ten), "baybook car change MARSH-07 --circuit coolant=AMOUNT  # if it holds more"));

    Bay d;
    d.drain("coolant", "5L");
    const EntryId much = d.fill("coolant", "8L");
    const Refusal more = d.open();
    CHECK(has(more.what, "entry " + std::to_string(much.number()) +
                             " looks wrong: 8 L in, and the circuit holds 6.8 L"));
    const std::size_t first = offers(more).find("baybook correct ");
    const std::size_t missing =
        offers(more).find("baybook job close 1 --missing  # if it left unseen");
    const std::size_t spill =
        offers(more).find("baybook spill 1 coolant AMOUNT  # if it ran out here");
    CHECK(first == 0);
    REQUIRE(missing != std::string::npos);
    REQUIRE(spill != std::string::npos);
    CHECK(first < missing);
    CHECK(missing < spill);
    CHECK(has(d.open(false, true).why,
              "coolant cannot have been low by 3 L: what went in and out asks for 8 L, and it "
              "holds 6.8 L"));

    Bay s;
    const EntryId small = s.drain("coolant", "0.54L");
    s.fill("coolant", "5.4L");
    CHECK(has(s.open().what, "entry " + std::to_string(small.number()) +
                                 " looks wrong: 0.54 L out, a tenth of what goes with the rest"));

    // A circuit that was a good deal low is no slip: it is asked about first.
    Bay low;
    low.drain("coolant", "5L");
    low.fill("coolant", "5.7L");
    const Refusal plain = low.open();
    CHECK(!has(plain.what, "entry "));
    CHECK(offers(plain) ==
          "baybook job close 1 --was-low  # if it was low or empty when it came\n"
          "baybook job close 1 --missing  # if it left unseen\n"
          "baybook spill 1 coolant AMOUNT  # if it ran out here\n"
          "baybook job close 1 --as-is \"...\"  # with the reason\n");
  }

  TEST_CASE("the line of an entry of several lines is named with its number") {
    Bay b;
    b.drain("coolant", "5L");
    Movement m = TestBook::move(MoveVerb::fill, b.can, b.circuit("coolant"), "0.1L", b.j);
    m.lines.push_back(m.lines.front());
    m.lines.back().amount = litres("50L");
    const EntryId two = b.write(m).entry.id;
    CHECK(b.open().instead.starts_with("baybook correct " + std::to_string(two.number()) +
                                       " --amount AMOUNT --line 2 --why"));
  }

  TEST_CASE(
      "--missing is refused where more came out than went in, and a circuit that goes out short "
      "asks for its reason") {
    Bay b;
    b.drain("coolant", "5L");
    b.fill("coolant", "4L");
    for (const bool missing : {true, false}) {
      const Refusal r = b.open(missing, !missing);
      CHECK(has(r.what, "coolant: 5 L left, 4 L entered, 1 L short"));
      CHECK(has(r.why, "of coolant more came out than went in"));
      CHECK(offers(r) ==
            "baybook fill 1 coolant AMOUNT --from PLACE  # if a fill was not written\n"
            "baybook job close 1 --as-is \"...\"  # with the reason, if it goes out short\n");
    }
    b.closed(false, false, "customer tops up");
    CHECK(b.account().change.best == -L);
    CHECK(b.level(kMissing) == 0);
  }

  TEST_CASE(
      "of a job with one circuit over and one short, a word and a reason are offered together and "
      "each says its own") {
    Bay b;
    b.drain("coolant", "5L");
    b.fill("coolant", "5.7L");
    b.drain("engine-oil", "4L");
    b.fill("engine-oil", "3L");
    const Refusal r = b.open();
    CHECK(has(offers(r), "baybook job close 1 --was-low --as-is \"...\""));
    CHECK(has(offers(r), "baybook job close 1 --missing --as-is \"...\""));
    CHECK(has(offers(r), "baybook fill 1 engine-oil AMOUNT --from PLACE"));
    const Receipt closed = b.closed(false, true, "oil comes tomorrow");
    CHECK(closed.summary == "job closed, coolant was low when it came, account left as it is");
    CloseJob both;
    both.job = b.j;
    both.book_missing = both.was_low = true;
    b.next();
    both.job = b.j;
    CHECK(b.try_write(both).refusal().code == Code::wrong_usage);
  }

  TEST_CASE(
      "refrigerant that left unseen is missing, and nobody is led to say that it was let out") {
    Bay b;
    b.drain("refrigerant", "300g");
    b.fill("refrigerant", "500g");
    const Refusal r = b.open();
    CHECK(!has(r.instead, "spill"));
    CHECK(has(r.instead, "--was-low"));
    b.closed(true);
    CHECK(b.level(kMissing, Dimension::mass) == 200 * g);
    CHECK(b.level(kGround, Dimension::mass) == 0);
  }

  TEST_CASE(
      "what the job before left short goes in without a question, and what is more than that is "
      "asked about") {
    for (const bool more : {false, true}) {
      CAPTURE(more);
      Bay b;
      b.drain("engine-oil", "3.5L");
      b.closed(false, false, "waits for the gasket");
      b.next();
      b.fill("engine-oil", more ? "3.9L" : "3.6L");
      CHECK(b.close().ok() == !more);
      if (!more) continue;
      // The drain is written: nobody is asked for another.
      CHECK(!has(b.open().what, "nothing was drained"));
      b.closed(false, true);
    }
  }

  TEST_CASE(
      "what is used up by driving is filled up without a question, and not beyond what the tank "
      "holds") {
    Bay b;
    b.fill("washer", "4.5L");
    CHECK(b.close().ok());
    b.next();
    b.fill("washer", "45L");
    CHECK(has(b.open().what, "looks wrong: 45 L in, and the circuit holds 5 L"));
  }

  TEST_CASE(
      "a shop's own tolerance holds from its day on, and a book that has the entry says the same") {
    Bay b;
    ChooseRules rules;
    rules.set = "eu";
    rules.from = day("2026-03-04");
    rules.file =
        "[[value]]\nkey = \"job.tolerance.percent\"\nis = 20\nsection = \"our own\"\nstatus = "
        "\"S\"\n"
        "[[value]]\nkey = \"job.tolerance.least\"\nis = \"1 L\"\nsection = \"our own\"\nstatus = "
        "\"S\"\n"
        "[[value]]\nkey = \"job.tolerance.refrigerant\"\nis = \"50 g\"\nsection = \"our "
        "own\"\nstatus = \"S\"\n";
    rules.file_name = "ours.toml";
    b.write(rules, "2026-03-04");
    const EntryId drained = b.drain("coolant", "5L");
    b.fill("coolant", "6.36L");
    b.drain("gearbox", "2L");
    b.fill("gearbox", "3L");
    b.drain("refrigerant", "500g");
    b.fill("refrigerant", "450g");
    b.closed();
    TestBook other("office", 9);
    const auto in =
        exchange_in(other.book(), lines_of(file_of(b.book())), "bay.exchange", other.stamp());
    REQUIRE_MESSAGE(in.ok(), why(in));
    // Half a litre less is within it there, and a litre and a half is not.
    for (const auto& [amount, off] :
         {std::pair<const char*, bool>{"4.97L", true}, {"5.1L", false}}) {
      Correction c;
      c.target = drained;
      c.why = "read anew";
      c.patch.amount = litres(amount);
      const Receipt here = b.write(c);
      CHECK(std::any_of(here.warnings.begin(), here.warnings.end(),
                        [](const std::string& w) { return has(w, "no longer agrees"); }) == off);
    }
    b.next();
    b.drain("coolant", "5L");
    b.fill("coolant", "6.361L");
    CHECK(has(b.open().why,
              "within 20 % of what the circuit holds, at least 1 L, refrigerant 50 g (F7)"));
  }

  TEST_CASE(
      "a correction in a closed job is covered by the word about it as far as that can be true") {
    Bay b;
    b.drain("coolant", "5L");
    const EntryId filled = b.fill("coolant", "5.7L");
    b.closed(false, true);
    const auto corrected = [&](const char* amount) {
      Correction c;
      c.target = filled;
      c.why = "jug read wrong";
      c.patch.amount = litres(amount);
      const Receipt r = b.write(c);
      return std::any_of(r.warnings.begin(), r.warnings.end(), [](const std::string& w) {
        return has(w, "its account no longer agrees");
      });
    };
    CHECK(!corrected("6.5L"));
    CHECK(corrected("9L"));
    CHECK(!corrected("5.1L"));
    CHECK(corrected("4L"));
  }

  TEST_CASE(
      "of a job that was closed before anybody asked, a correction does not say that it agreed "
      "before") {
    Bay b;
    const EntryId filled = b.fill("coolant", "0.9L");
    const EntryId closing = b.closed(false, true).entry.id;
    // As an older program closed it: a circuit that was only topped up asked nothing.
    auto& db = b.book().inside().db;
    {
      auto q = db.query(
          "UPDATE entry SET body = replace(body, ',\"was-low\":[\"coolant\"]', '') WHERE id = ?");
      q.bind(closing.n);
      REQUIRE(q.changed() == 1);
    }
    Correction c;
    c.target = filled;
    c.why = "jug read wrong";
    c.patch.amount = litres("0.8L");
    CHECK(b.write(c).warnings.empty());
  }

  TEST_CASE("an entry says in its version whether an older program can read it") {
    Bay b;
    b.drain("coolant", "5L");
    b.fill("coolant", "5L");
    CHECK(has(b.closed().body, "\"version\":1}"));
    b.next();
    b.drain("coolant", "5L");
    b.fill("coolant", "6L");
    const Receipt missing = b.closed(true);
    CHECK(has(missing.body, "\"to\":\"missing\""));
    CHECK(has(missing.body, "\"version\":2}"));
    b.next();
    b.fill("coolant", "1L");
    const Receipt low = b.closed(false, true);
    CHECK(has(low.body, "\"version\":2}"));
    // A correction that brings such details in says it too.
    for (const Receipt& r : {missing, low}) {
      Correction c;
      c.target = r.entry.id;
      c.why = "worded anew";
      c.patch.text = "dry";
      CHECK(has(b.write(c).body, "\"version\":2}"));
      c.patch = {};
      c.withdraw = true;
      CHECK(has(b.write(c).body, "\"version\":1}"));
    }
  }
}
