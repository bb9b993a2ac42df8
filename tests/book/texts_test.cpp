// What is written by hand is text, in every kind of entry: a byte that moves a cursor or is no UTF-8 is refused, and nothing is written.
#include "support/test_book.hpp"

#include <utility>
#include <vector>

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/texts") {
  TEST_CASE("no text of any kind of entry holds a control character or a byte that is not UTF-8") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    const PlaceId pan = b.place("pan-1", Role::hold_catch, "20L");
    NewPlace yard;
    yard.code = "drum-1";
    yard.role = Role::waste;
    yard.takes = {"coolant"};
    yard.area = "yard";
    const PlaceId drum{b.write(yard).entry.id.n};
    const JobId job = b.job(car);
    b.write(TestBook::move(MoveVerb::drain, b.coolant(car), pan, "5.4L", job));
    const EntryId worked = b.write(Work{job, "pump off", ""}).entry.id;
    const auto km = [](std::string_view text) { return *parse_distance(text, Units{}); };
    for (const std::string& bad : {std::string("a\x1b[2Jb"), std::string("a\xFF"), std::string("a\xC3"), std::string("a\0b", 3), std::string("\xED\xA0\x80")}) {
      std::vector<std::pair<std::string, Draft>> drafts;
      drafts.emplace_back("person", NewPerson{bad, "", ""});
      drafts.emplace_back("contact of a person", NewPerson{"Tam", bad, ""});
      drafts.emplace_back("certificate", NewPerson{"Tam", "", bad});
      drafts.emplace_back("complaint", OpenJob{car, {}, "", bad});
      drafts.emplace_back("reason of a reading", OpenJob{car, km("88210km"), bad, ""});
      drafts.emplace_back("result", CloseJob{job, bad, {}, true, false, ""});
      drafts.emplace_back("recheck", CloseJob{job, "", {Recheck{bad, 3, {}}}, true, false, ""});
      drafts.emplace_back("as it is", CloseJob{job, "", {}, false, false, bad});
      drafts.emplace_back("odometer", Odometer{car, {}, km("88210km"), bad});
      drafts.emplace_back("code", CodeNote{CodeNote::What::read, job, "P0217", bad});
      drafts.emplace_back("work", Work{job, bad, ""});
      drafts.emplace_back("fastener", TorqueNote{job, bad, *parse_torque("25Nm", Units{})});
      Fit fit;
      fit.job = job;
      fit.part = "PN-12";
      fit.quantity = litres("1pcs");
      fit.description = bad;
      drafts.emplace_back("part", fit);
      CarChange change;
      change.car = car;
      change.keeper = bad;
      drafts.emplace_back("keeper", change);
      change.keeper.reset();
      change.note = bad;
      drafts.emplace_back("note of a car", change);
      NewFirm firm;
      firm.code = "quill-tarn";
      firm.name = bad;
      firm.carries = true;
      drafts.emplace_back("firm", firm);
      drafts.emplace_back("findings", Inspection{"yard", true, bad, {}});
      Determination determined;
      determined.stream = "waste-coolant";
      determined.reason = bad;
      drafts.emplace_back("reason of a determination", determined);
      determined.reason = "sheet 12";
      determined.laboratory = bad;
      drafts.emplace_back("laboratory", determined);
      Deadline deadline;
      deadline.code = "registration";
      deadline.due = day("2026-09-01");
      deadline.what = bad;
      drafts.emplace_back("deadline", deadline);
      drafts.emplace_back("note of a month", CloseMonth{month_of(day("2026-02-01")), bad});
      Correction correction;
      correction.target = worked;
      correction.withdraw = true;
      correction.why = bad;
      drafts.emplace_back("why", correction);
      correction.why = "a slip";
      correction.withdraw = false;
      correction.patch.text = bad;
      drafts.emplace_back("corrected text", correction);
      Gauge gauge;
      gauge.place = pan;
      gauge.level = litres("5L");
      gauge.reason = bad;
      drafts.emplace_back("reason of a gauge", gauge);
      drafts.emplace_back("mark", PlaceMark{PlaceMark::What::retire, drum, bad});
      Movement spill = TestBook::move(MoveVerb::spill, b.coolant(car), kGround, "0.2L", job);
      spill.note = bad;
      drafts.emplace_back("note of a movement", spill);
      const std::string before = b.dump();
      for (const auto& one : drafts) {
        CAPTURE(one.first);
        const auto r = b.try_write(one.second);
        REQUIRE_FALSE(r.ok());
        CAPTURE(why(r));
        CHECK(r.refusal().code == Code::not_text);
      }
      CHECK(b.dump() == before);
    }
  }
}
