// A bay and an office that accepted each other and both know of a drum, a can, a product and a car.
#pragma once

#include "exchange_lines.hpp"

#include <baybook/drafts.hpp>

#include <algorithm>
#include <string>
#include <vector>

namespace baybook::test {

struct TwoBooks {
  TestBook bay{"bay", 71}, office{"office", 72};
  PlaceId drum = bay.place("drum", Role::waste, "200L", {"engine-oil"});
  PlaceId can = bay.place("can", Role::stock, "50L", {"coolant"});
  FluidId oat = bay.fluid("oat", "coolant");
  CarId car = bay.car("MARSH-07");

  TwoBooks() {
    both();
    both();  // the acceptance of the office reaches the bay
  }
  void to_office() {
    (void)taken(office, file_of(bay.book()));
    office.now = std::max(office.now, bay.now);
  }
  void to_bay() {
    (void)taken(bay, file_of(office.book()));
    bay.now = std::max(bay.now, office.now);
  }
  void both() {
    to_office();
    to_bay();
  }
  std::vector<TestBook*> books() { return {&bay, &office}; }
  void later(std::int64_t minutes) {
    bay.now.ms += minutes * 60'000;
    office.now.ms += minutes * 60'000;
  }
};

inline Correction withdrawal_of(EntryId target, const std::string& why = "a mistake") {
  Correction c;
  c.target = target;
  c.why = why;
  c.withdraw = true;
  return c;
}
inline Correction amount_of(EntryId target, const std::string& amount) {
  Correction c;
  c.target = target;
  c.patch.amount = litres(amount);
  c.why = "read the jug wrong";
  return c;
}

inline std::vector<Conflict> listed(TestBook& b, Conflict::What what) {
  auto all = conflicts(b.book());
  REQUIRE_MESSAGE(all.ok(), why(all));
  std::erase_if(*all, [&](const Conflict& c) { return c.what != what; });
  return std::move(all).value();
}

/// Everything can be read, nothing is found, and the tables are those of a rebuild.
inline void reads_well(TestBook& b) {
  const auto all = entries(b.book(), EntryFilter{});
  CHECK_MESSAGE(all.ok(), why(all));
  const auto p = prove(b.book());
  REQUIRE_MESSAGE(p.ok(), why(p));
  for (const Finding& f : p->findings) CHECK_MESSAGE(false, f.what);
  const std::string live = b.dump(true);
  REQUIRE(b.book().rebuild().ok());
  CHECK(difference(live, b.dump(true)) == "");
}

/// Both books say the same.
inline void agree(TwoBooks& s) {
  CHECK(difference(s.bay.dump(true), s.office.dump(true)) == "");
  for (TestBook* b : s.books()) reads_well(*b);
}

}  // namespace baybook::test
