// Books that took in, with an older version, what no entry can say.
#include "support/bad_bodies.hpp"
#include "support/past_the_reader.hpp"

#include <baybook/vin.hpp>

#include <sstream>

using namespace baybook;
using namespace baybook::test;

namespace {

Proof proof_of(TestBook& b) {
  auto p = prove(b.book());
  REQUIRE_MESSAGE(p.ok(), why(p));
  return std::move(p).value();
}

// What is printed after "type:", done: the command as it stands, with something fit where it leaves
// a word open.
Correction typed(TestBook& b, const Finding& f) {
  Correction c;
  c.why = "it came from elsewhere";
  c.target = f.entry->id;
  std::istringstream words(f.instead);
  std::string w;
  words >> w;
  REQUIRE(w == "baybook");
  words >> w;
  REQUIRE(w == "correct");
  words >> w;
  CHECK(b.book().find_entry(w).value() == c.target);
  const log::Fact fact = log::read_fact(b->inside().db, c.target);
  while (words >> w) {
    if (w == "--withdraw")
      c.withdraw = true;
    else if (w == "--with-dependants")
      c.with_dependants = true;
    else if (w == "--text")
      c.patch.text = "put right";
    else if (w == "--code")
      c.patch.code = fact.kind == log::Kind::code ? "P0217" : "put-right";
    else if (w == "--part")
      c.patch.part = "PR-1";
    else if (w == "--lot")
      c.patch.lot = "L-1";
    else if (w == "--doc")
      c.patch.document = "4711";
    else if (w == "--torque")
      c.patch.torque = parse_torque("25Nm", Units{}).value();
    else if (w == "--odo")
      c.patch.odometer = parse_distance("88250km", Units{}).value();
    else if (w == "--amount")
      c.patch.amount =
          fact.kind == log::Kind::fit ? parse_amount("1pcs", Units{}).value() : litres("150L");
    else if (w == "--line")
      words >> c.patch.line;
    else if (w == "--from")
      c.patch.from = kSupplier;
  }
  return c;
}

}  // namespace

TEST_SUITE("book/unfit prove") {
  TEST_CASE(
      "a book that took in what no entry can say is sound, is told which entry and what, and the "
      "correction that is named puts it right") {
    int held = 0;
    for (const Bad& bad : bad_bodies()) {
      CAPTURE(bad.what);
      if (std::string_view(bad.says).find("of kind") != std::string_view::npos)
        continue;  // every version looked at that
      Forged f(shop_file());
      bad.how(f);
      TestBook third("third", 23);
      try {
        past_the_reader(third, f.file());
      } catch (const std::exception&) {
        continue;  // no version could fold it
      }
      const Proof before = proof_of(third);
      for (const Finding& found : before.findings) {
        // Lines that break a rule of a place were told before, and are.
        const bool rule = found.what.find("(F") != std::string::npos ||
                          found.what.find("below nothing") != std::string::npos ||
                          found.what.find("private text") != std::string::npos ||
                          found.what.find("paper") != std::string::npos;
        CHECK_MESSAGE(rule, found.what);
      }
      if (!before.tables_compared) continue;
      ++held;
      REQUIRE(before.unfit_found >= 1);
      const Finding found = before.unfit.front();
      CHECK_MESSAGE(found.what.find(bad.says) != std::string::npos, found.what);
      CHECK(found.instead.find("a backup") == std::string::npos);
      if (before.unfit_open == 0) {
        CHECK(found.what.find("cannot be corrected") != std::string::npos);
        continue;
      }
      const auto done = third.try_write(typed(third, found));
      const std::string told = found.what + " | " + found.instead + " | " + why(done);
      CHECK_MESSAGE(done.ok(), told);
      const Proof after = proof_of(third);
      CHECK_MESSAGE(after.unfit_found == before.unfit_found - 1, found.instead);
    }
    CHECK(held > 20);
  }

  TEST_CASE(
      "what was withdrawn or replaced already is no finding, and neither is taken back") {
    TestBook bay("bay", 21);
    const CarId car = bay.car("MARSH-07");
    const JobId job = bay.job(car);
    TorqueNote t;
    t.job = job;
    t.fastener = "pump bolts";
    t.torque = parse_torque("25Nm", Units{}).value();
    bay.write(t);
    Forged f(file_of(bay.book()));
    f.details(f.line_of("torque"), [](log::Value& d) { d["torque-mnm"] = -5; });
    TestBook office("office", 22);
    past_the_reader(office, f.file());
    const Proof first = proof_of(office);
    REQUIRE(first.unfit_found == 1);
    CHECK(first.unfit_open == 1);
    CHECK(first.findings.empty());
    CHECK(
        first.unfit[0].what ==
        "entry 4@bay, torque: details/torque-mnm is -5, not a whole number between 1 and 10000000");
    CHECK(first.unfit[0].instead == "baybook correct 4@bay --torque TORQUE --why \"...\"");
    Correction c;
    c.target = first.unfit[0].entry->id;
    c.withdraw = true;
    c.why = "no such torque";
    const EntryId withdrawal = office.write(c).entry.id;
    CHECK(proof_of(office).unfit_found == 0);
    c.target = withdrawal;
    CHECK(office.try_write(c).refusal().code == Code::not_allowed);
    TestBook third("third", 24);
    past_the_reader(third, f.file());
    Correction right;
    right.target = first.unfit[0].entry->id;
    right.patch.torque = t.torque;
    right.why = "as the sheet says";
    c.target = third.write(right).entry.id;
    CHECK(proof_of(third).unfit_found == 0);
    CHECK(third.try_write(c).refusal().code == Code::not_allowed);
  }

  TEST_CASE(
      "what stands on an unfit entry is counted in the way out, and nothing of it goes before it "
      "is typed") {
    TestBook bay("bay", 21);
    const CarId car = bay.car("MARSH-07");
    bay.job(car);
    Forged f(file_of(bay.book()));
    f.details(f.line_of("car"), [](log::Value& d) { d["year"] = 1066; });
    TestBook office("office", 22);
    past_the_reader(office, f.file());
    const Proof p = proof_of(office);
    REQUIRE(p.unfit_found == 1);
    CHECK(p.unfit[0].instead == "baybook correct 2@bay --withdraw --with-dependants --why \"...\"");
    CHECK(p.unfit[0].what.ends_with(
        "; with what stands on it, which --dry-run lists: 1 entry and what names those"));
  }
}
