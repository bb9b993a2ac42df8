#include "due/schedule_read.hpp"
#include "property.hpp"
#include "targets.hpp"

#include <baybook/places.hpp>

namespace baybook::fuzz {

void schedule(std::string_view bytes) {
  Input in(bytes);
  Units units;
  if (in.choice(2) == 1) units.distance = DistanceUnit::mile;
  const auto find_car = [](std::string_view plate) -> Result<CarId> {
    if (plate_key(plate) == "MARSH07") return CarId{(std::int64_t{1} << 40) + 7};
    return Refusal{Code::not_found, "there is no car with the plate " + visible(plate.substr(0, 60)), "", "car = \"MARSH-07\"", {}};
  };
  const auto read = due::read_schedule(in.rest(), "fleet.toml", units, find_car);
  if (!read) {
    told_with_instead(read.refusal(), {});
    hold(read.refusal().what.starts_with("fleet.toml:"), "a fault of the file is told with its place: " + read.refusal().what);
    return;
  }
  hold(clean_code(read->name, "name").ok(), "a schedule has a name");
  hold(read->reuse_days >= 0 && read->reuse_days <= 3650, "a batch is looked at within ten years");
  for (const Interval& i : read->intervals) {
    hold(clean_code(i.task, "task").ok() && !i.source.empty(), "every interval has a task and a source");
    hold(i.months > 0 || i.hours > 0 || (i.distance && i.distance->metres > 0), "no interval is of nothing");
    const int cars = (i.car ? 1 : 0) + (i.make.empty() ? 0 : 1) + (i.specification.empty() ? 0 : 1);
    hold(cars == 1 && i.make.empty() == i.model.empty(), "an interval is for one sort of cars");
    hold(i.until_year == 0 || i.from_year <= i.until_year, "the years are in order");
    hold(i.circuit.empty() || find_circuit(std::string_view(i.circuit)) != nullptr, "a circuit is one that cars have");
    hold(i.months <= 1200 && i.hours <= 100'000 && i.filtered_percent >= 0 && i.filtered_percent <= 100, "no figure is past its end");
  }
}

}  // namespace baybook::fuzz
