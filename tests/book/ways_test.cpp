// Between which places each verb goes: the table of docs/invariants.md (F6), every verb, every pair of ends.
#include "support/test_book.hpp"

#include "fluids/build.hpp"

#include <set>

using namespace baybook;
using namespace baybook::test;

TEST_SUITE("book/ways") {
  TEST_CASE("every verb goes between the roles that the table of F6 names and between no others") {
    TestBook b;
    const CarId car = b.car("MARSH-07");
    // Two places of each role of the shop, so that a verb between places of one role is tried too.
    std::vector<std::pair<Role, PlaceId>> ends = {{Role::circuit, b.coolant(car)}, {Role::circuit, b.oil(car)}, {Role::supplier, kSupplier}, {Role::ground, kGround}, {Role::receiver, kReceiver},
                                                  {Role::before, kBefore}, {Role::used_up, kUsedUp}, {Role::difference, kDifference},
                                                  {Role::missing, kMissing}};
    for (const auto& [role, name] : {std::pair{Role::hold_catch, "pan"}, {Role::reuse, "keep"}, {Role::stock, "can"}, {Role::waste, "drum"}}) {
      for (const char* n : {"-1", "-2"}) ends.emplace_back(role, b.place(std::string(name) + n, role, "20L", role == Role::hold_catch ? std::vector<std::string>{} : std::vector<std::string>{"coolant"}));
    }
    const std::set<Role> shop = {Role::hold_catch, Role::reuse, Role::stock, Role::waste};
    const auto with = [](std::set<Role> roles, Role more) {
      roles.insert(more);
      return roles;
    };
    struct Row {
      MoveVerb verb;
      std::set<Role> from, to;
    };
    const std::vector<Row> table = {
        {MoveVerb::drain, {Role::circuit}, {Role::hold_catch, Role::reuse, Role::waste}},
        {MoveVerb::filter, {Role::hold_catch, Role::reuse}, {Role::reuse}},
        {MoveVerb::fill, {Role::stock, Role::reuse, Role::hold_catch, Role::supplier}, {Role::circuit}},
        {MoveVerb::spill, with(with(shop, Role::circuit), Role::supplier), {Role::ground, Role::waste}},
        {MoveVerb::decant, shop, shop},
        {MoveVerb::receive, {Role::supplier}, {Role::stock}},
        {MoveVerb::discard, {Role::supplier}, {Role::waste}},
        {MoveVerb::pickup, {Role::waste}, {Role::receiver}},
    };
    fluids::Ledger& ledger = b.book().inside().ledger;
    for (const Row& row : table) {
      for (const auto& source : ends) {
        for (const auto& target : ends) {
          const auto f = source.first, t = target.first;
          const PlaceId from = source.second, to = target.second;
          bool may = from != to && row.from.contains(f) && row.to.contains(t);
          if (row.verb == MoveVerb::decant && ((t == Role::stock && f != Role::stock) || (f == Role::waste && t != Role::waste))) may = false;
          CAPTURE(name_of(row.verb));
          CAPTURE(name_of(f));
          CAPTURE(name_of(t));
          const auto way = fluids::check_way(ledger, row.verb, from, to);
          CHECK(way.ok() == may);
          if (!way.ok()) CHECK(way.refusal().code == Code::not_allowed);
        }
      }
    }
  }
}
