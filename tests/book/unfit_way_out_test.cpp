// A book that has what no entry can say, of its own or from elsewhere, is exchanged again once the
// correction that `prove` names was typed; and nothing else gets in by that door.
#include "support/exchange_lines.hpp"
#include "support/forged_file.hpp"
#include "support/has.hpp"
#include "support/past_the_funnel.hpp"
#include "support/past_the_reader.hpp"

#include <sstream>

using namespace baybook;
using namespace baybook::test;
using log::Kind;
using log::Value;

namespace {

// A shop with one of each thing that can be taken for another.
struct Bay : TestBook {
  explicit Bay(std::string_view tag = "bay", std::uint64_t seed = 21) : TestBook(tag, seed) {
    marsh = car("MARSH-07");
    drum = place("drum-1", Role::waste, "200L", {"coolant"});
    open_job = job(marsh);
    tam = PersonId{write(NewPerson{"Tam", "", ""}).entry.id.n};
  }
  CarId marsh;
  PlaceId drum;
  JobId open_job;
  PersonId tam;
  Value ref(std::int64_t id) { return log::write_ref(id, book().inside().known); }
};

struct Row {
  std::string what;
  std::function<Unchecked(Bay&)> entry;
  const char* says;
};

Value reading_of(Value car) {
  Value d;
  d["car"] = std::move(car);
  d["odometer-m"] = std::int64_t{88'210'000};
  d["odometer-typed"] = "88210km";
  return d;
}

std::vector<Row> wrong_entries() {
  return {
      {"a car as who wrote it",
       [](Bay& b) {
         return Unchecked{Kind::odometer, reading_of(b.ref(b.marsh.n)), b.marsh.n};
       },
       "by names entry 2, which is of kind car"},
      {"a place as the car of a reading",
       [](Bay& b) {
         return Unchecked{Kind::odometer, reading_of(b.ref(b.drum.n)), 0};
       },
       "details/car names entry 3, which is of kind place"},
      {"a person as the car of a reading",
       [](Bay& b) {
         return Unchecked{Kind::odometer, reading_of(b.ref(b.tam.n)), 0};
       },
       "which is of kind person"},
      {"a place as the car of a change",
       [](Bay& b) {
         Value d;
         d["car"] = b.ref(b.drum.n);
         d["scrapped"] = true;
         return Unchecked{Kind::car_change, d, 0};
       },
       "details/car names entry 3, which is of kind place"},
      {"a car as the job of a code",
       [](Bay& b) {
         Value d;
         d["job"] = b.ref(b.marsh.n);
         d["code"] = "P0217";
         d["what"] = "read";
         return Unchecked{Kind::code, d, 0};
       },
       "details/job names entry 2, which is of kind car"},
      {"a reading below nothing",
       [](Bay& b) {
         Value d = reading_of(b.ref(b.marsh.n));
         d["odometer-m"] = std::int64_t{-5};
         return Unchecked{Kind::odometer, d, 0};
       },
       "details/odometer-m is -5"},
      {"a fitting of nothing",
       [](Bay& b) {
         Value d;
         d["job"] = b.ref(b.open_job.n);
         d["part"] = "WP-4471";
         d["quantity"] = log::write_amount(Amount{Dimension::count, -1, -1, -1, false, "some"});
         return Unchecked{Kind::fit, d, 0};
       },
       "details/quantity/best is -1"},
  };
}

Proof proof_of(TestBook& b) {
  auto p = prove(b.book());
  REQUIRE_MESSAGE(p.ok(), why(p));
  for (const Finding& f : p->findings) FAIL_CHECK(f.what);
  return std::move(p).value();
}

// What is printed after "type:", done as it stands, with a figure where it leaves a word open.
Result<Receipt> type(TestBook& b, const Finding& f) {
  std::istringstream words(f.instead);
  std::string w;
  words >> w >> w;
  REQUIRE(w == "correct");
  words >> w;
  Correction c;
  c.target = b.book().find_entry(w).value();
  c.why = "as it was";
  while (words >> w) {
    if (w == "--withdraw") c.withdraw = true;
    if (w == "--with-dependants") c.with_dependants = true;
    if (w == "--odo") c.patch.odometer = parse_distance("88210km", Units{}).value();
    if (w == "--amount") c.patch.amount = parse_amount("1pcs", Units{}).value();
  }
  return b.try_write(c);
}

}  // namespace

TEST_SUITE("book/unfit way out") {
  TEST_CASE(
      "a book with an entry that names what it should not is not let in, is told the way out, and "
      "is "
      "exchanged again once that was typed") {
    for (const Row& row : wrong_entries()) {
      CAPTURE(row.what);
      Bay bay;
      past_the_funnel(bay, row.entry(bay));
      {
        TestBook office("office", 22);
        const std::string before = office.dump();
        const auto r = take_in(office, file_of(bay.book()));
        REQUIRE_FALSE(r.ok());
        CHECK_MESSAGE(has(r.refusal().lines.front(), row.says), r.refusal().lines.front());
        CHECK(difference(before, office.dump()) == "");
      }
      const Proof told = proof_of(bay);
      REQUIRE(told.unfit_found == 1);
      CHECK_MESSAGE(has(told.unfit[0].what, row.says), told.unfit[0].what);
      const auto typed = type(bay, told.unfit[0]);
      REQUIRE_MESSAGE(typed.ok(), why(typed));
      CHECK(proof_of(bay).unfit_found == 0);
      const std::string file = file_of(bay.book());
      for (const bool accepted : {false, true}) {
        TestBook office("office", 22);
        const auto in = accepted ? take_in(office, file) : meet(office, file);
        REQUIRE_MESSAGE(in.ok(), why(in));
        CHECK(in->left == 0);
        CHECK(proof_of(office).unfit_found == 0);
        CHECK(entries(office.book(), {}).ok());
        const std::string derived = office.dump(true);
        REQUIRE(office->rebuild().ok());
        CHECK(difference(derived, office.dump(true)) == "");
        // And on, to a third.
        TestBook third("third", 23);
        CHECK(taken(third, file_of(office.book())).left == 0);
        CHECK(proof_of(third).unfit_found == 0);
      }
    }
  }

  TEST_CASE("an entry that names what is in no book is told, withdrawn, and let in") {
    Bay bay;
    TestBook office("office", 22);
    office.place("pan-2", Role::hold_catch);
    taken(bay, file_of(office.book()));
    const std::int64_t nobody = office->inside().known.own().origin << 40 | 999;
    past_the_funnel(bay, {Kind::odometer, reading_of(bay.ref(bay.marsh.n)), nobody});
    const Proof told = proof_of(bay);
    REQUIRE(told.unfit_found == 1);
    CHECK_MESSAGE(
        has(told.unfit[0].what, "by names entry 999 of another installation, which is not here"),
        told.unfit[0].what);
    // Until then the end of the chain waits for what it names.
    CHECK(taken(office, file_of(bay.book())).left > 0);
    REQUIRE(type(bay, told.unfit[0]).ok());
    CHECK(proof_of(bay).unfit_found == 0);
    CHECK(taken(office, file_of(bay.book())).left == 0);
    CHECK(proof_of(office).unfit_found == 0);
  }

  TEST_CASE(
      "what was withdrawn because no entry can say it does not come back, neither here nor by a "
      "file") {
    Bay bay;
    past_the_funnel(bay, {Kind::odometer, reading_of(bay.ref(bay.drum.n)), 0});
    const Proof told = proof_of(bay);
    const auto withdrawal = type(bay, told.unfit[0]);
    REQUIRE(withdrawal.ok());
    Correction back;
    back.target = withdrawal->entry.id;
    back.withdraw = true;
    back.why = "it was right";
    const auto refused = bay.try_write(back);
    REQUIRE_FALSE(refused.ok());
    CHECK_MESSAGE(has(refused.refusal().what, "would hold again, and it says what no entry can"),
                  why(refused));
    // A program that looks at less takes it back all the same.
    TestBook office("office", 22);
    taken(office, file_of(bay.book()));
    const std::string before = office.dump();
    Value d;
    d["target"] = bay.ref(withdrawal->entry.id.n);
    d["action"] = "withdraw";
    // Its reason is a private text; without one it is unfit by itself, so it is forged with it.
    Work w;
    w.job = bay.open_job;
    w.text = "why";
    bay.write(w);
    Forged f(file_of(bay.book()));
    const std::size_t line = f.line_of("work");
    f.change(line, [&](Value& b) {
      b["kind"] = "correction";
      b["details"] = d;
    });
    f.without_text(line, "text");
    f.text(line, "why", "it was right");
    const auto r = take_in(office, f.file());
    REQUIRE_FALSE(r.ok());
    CHECK_MESSAGE(r.refusal().code != Code::unsound, why(r));
    CHECK(difference(before, office.dump()) == "");
    TestBook third("third", 23);
    CHECK_FALSE(take_in(third, f.file()).ok());
  }

  TEST_CASE("what has another form than an entry is not let in, whatever withdraws it") {
    Bay bay;
    past_the_funnel(bay, {Kind::odometer, reading_of(bay.ref(bay.drum.n)), 0});
    REQUIRE(type(bay, proof_of(bay).unfit[0]).ok());
    const std::string whole = file_of(bay.book());
    for (const auto& how : std::vector<std::function<void(Value&)>>{
             [](Value& d) { d = without(d, "odometer-m"); }, [](Value& d) { d["car"] = "nothing"; },
             [](Value& d) { d["odometer-m"] = "far"; }, [](Value& d) { d["warp"] = 9; },
             [](Value& d) { d["car"] = Value::array(); }}) {
      Forged f(whole);
      f.details(f.line_of("odometer"), how);
      TestBook office("office", 22);
      const std::string before = office.dump();
      const auto r = take_in(office, f.file());
      REQUIRE_FALSE(r.ok());
      CHECK_FALSE(r.refusal().lines.empty());
      CHECK(difference(before, office.dump()) == "");
    }
    TestBook office("office", 22);
    CHECK(take_in(office, whole).ok());
  }
}
