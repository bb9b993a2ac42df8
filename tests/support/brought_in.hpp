// A month that the bay has closed, and what the office wrote about it by itself, brought in afterwards.
#pragma once

#include "support/test_book.hpp"

#include "support/carry.hpp"

namespace baybook::test {

struct BroughtIn {
  TestBook bay{"bay", 7, "2026-01-02T09:00:00.000Z"};
  TestBook office{"office", 8, "2026-01-02T09:00:00.000Z"};
  Receipt drained;

  /// January is closed in the bay; the office knows the drain of 5 L into drum-coolant, but not the closing.
  BroughtIn() {
    const CarId car = bay.car("MARSH-07", "200L");
    const PlaceId drum = bay.place("drum-coolant", Role::waste, "200L", {"coolant"});
    bay.now = instant("2026-01-05T10:00:00.000Z");
    const JobId job = bay.job(car);
    drained = bay.write(TestBook::move(MoveVerb::drain, bay.coolant(car), drum, "5L", job));
    carry(bay, office, "bay");
    bay.now = instant("2026-02-03T10:00:00.000Z");
    bay.write(CloseMonth{month_of(day("2026-01-01")), ""});

    office.now = instant("2026-02-04T10:00:00.000Z");
    NewPerson p;
    p.name = "Maren Ødegård";
    const PersonId maren{office.write(p).entry.id.n};
    Movement m = TestBook::move(MoveVerb::discard, kSupplier, drum, "2L", {}, FluidId{find_class("coolant")->number});
    m.note = "stood at the gate, slip of January";
    written_by(maren, m, "2026-01-30");
    Correction c;
    c.target = drained.entry.id;
    c.patch.amount = litres("5.5L");
    c.why = "the jug was read wrong";
    written_by(maren, c, "");
  }
  void bring() { carry(office, bay, "office"); }

 private:
  void written_by(PersonId who, const Draft& d, std::string_view on) {
    Stamp s = office.stamp(on);
    s.by = who;
    const auto r = office.book().append(d, s);
    REQUIRE_MESSAGE(r.ok(), why(r));
  }
  static void carry(TestBook& from, TestBook& to, const std::string& tag) {
    store::Transaction t(to->inside().db);
    for (const Carried& e : carry_out(from->inside())) {
      if (e.installation.tag == tag) bring_in(to->inside(), e);
    }
    t.commit();
  }
};

}  // namespace baybook::test
