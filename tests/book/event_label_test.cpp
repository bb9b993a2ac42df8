// What stands on the container of an episodic event (40 CFR 262.232(a)(4)).
#include "support/waste_shop.hpp"

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/event_label") {
  TEST_CASE("the container of an episodic event says so, with the first day of the event, and in other days not") {
    WasteShop s("us-federal");
    const PlaceId drum = s.drum("drum-event", "petrol");
    s.on("2026-02-01");
    Circumstance c;
    c.what = Circumstance::What::event;
    c.day = day("2026-03-05");
    c.planned = true;
    c.containers = {drum};
    const EntryId event = s.b.write(c).entry.id;
    Filing f;
    f.what = "event-notice";
    f.about = event;
    f.on = day("2026-02-01");
    s.b.write(f);
    s.on("2026-03-06");
    s.put(drum, "petrol", "100L");
    const LabelFacts during = s.label_of(drum, "2026-03-06");
    CHECK(during.words == std::vector<std::string>{"Episodic Hazardous Waste"});
    CHECK(during.since == day("2026-03-05"));
    CHECK(carries(during.hazard, "Ignitable"));
    CHECK(s.label_of(drum, "2026-03-04").words == std::vector<std::string>{"Hazardous Waste"});
  }
}
