// The pieces that details are made of, read from any value that a body can hold.
#include "log/canonical.hpp"
#include "log/entry.hpp"
#include "property.hpp"
#include "targets.hpp"

#include <baybook/ids.hpp>
#include <baybook/places.hpp>

namespace baybook::fuzz {

namespace {

using log::Malformed;
using log::Value;

constexpr std::int64_t kOrigin = 0x12345;  // of an identity that begins with 48d14

const log::Installations& known() {
  static const log::Installations list{{{kOrigin, "48d14000000000000000000000000000", "bay", true}, {7, "0001c000000000000000000000000000", "office", false}}};
  return list;
}

bool is_known(std::int64_t origin) { return origin == kOrigin || origin == 7; }

void entry_id(std::int64_t id) {
  hold(id > 0 && id < std::int64_t{1} << 58, "a reference names an entry that can be");
  hold(EntryId{id}.origin() >= 1 && EntryId{id}.number() >= 1, "a reference has an origin and a number");
}

template <class Read>
void piece(Read&& read) {
  try {
    read();
  } catch (const Malformed& said) {
    hold(*said.what() != '\0', "a malformed piece is told");
  }
}

}  // namespace

void reference(std::string_view text) {
  const auto parsed = log::parse_json(text);
  if (!parsed) return;
  const Value& v = *parsed;
  piece([&] {
    const std::int64_t id = log::read_ref(v, kOrigin);
    entry_id(id);
    if (is_known(EntryId{id}.origin())) hold(log::read_ref(log::write_ref(id, known()), kOrigin) == id, "a reference goes round");
  });
  piece([&] {
    const PlaceId place = log::read_place(v, kOrigin);
    const bool own = is_circuit(place) ? is_known(EntryId{car_of(place).n}.origin()) : place.n < 1000 || is_known(EntryId{place.n}.origin());
    if (is_circuit(place)) entry_id(car_of(place).n);
    if (own) hold(log::read_place(log::write_place(place, known()), kOrigin) == place, "a place goes round");
  });
  piece([&] {
    const FluidId fluid = log::read_fluid(v, kOrigin);
    if (fluid.n >= 1000) entry_id(fluid.n);
    if (fluid.n < 1000 || is_known(EntryId{fluid.n}.origin())) hold(log::read_fluid(log::write_fluid(fluid, known()), kOrigin) == fluid, "a fluid goes round");
  });
  piece([&] {
    const Amount a = log::read_amount(v);
    hold(a.low <= a.best && a.best <= a.high, "low <= best <= high in a body");
    hold(log::read_amount(log::write_amount(a)) == a, "an amount goes round");
  });
  piece([&] {
    const Units u = log::read_units(v);
    hold(u.estimate_percent >= 0 && u.estimate_percent <= 100, "an estimate is off by 0 to 100 percent");
    const Units again = log::read_units(log::write_units(u));
    hold(again.volume == u.volume && again.distance == u.distance && again.torque == u.torque && again.gallon == u.gallon && again.estimate_percent == u.estimate_percent, "units go round");
  });
  if (v.is_string()) {
    piece([&] {
      const std::int64_t day = log::read_day_number(v.as_string());
      hold(to_string(Day{static_cast<std::int32_t>(day)}) == v.as_string(), "a day in a body has one spelling");
    });
  }
}

}  // namespace baybook::fuzz
