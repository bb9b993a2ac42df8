#include "moment.hpp"

#include <array>

namespace baybook::tool::render {

namespace {

// In a zone that this machine does not know, by UTC.
LocalDay local(Instant at, std::string_view zone) {
  auto here = local_day(at, zone);
  if (!here.ok()) here = local_day(at, "UTC");
  return here.ok() ? *here : LocalDay{};
}

std::string weekday(Day day) {
  constexpr std::array<const char*, 7> names = {"Thursday", "Friday", "Saturday", "Sunday",
                                                "Monday",   "Tuesday", "Wednesday"};
  return names.at(static_cast<std::size_t>(((day.n % 7) + 7) % 7));  // day 0 was a Thursday
}

}  // namespace

std::string time_of_day(Instant at, std::string_view zone) {
  return to_string(local(at, zone).minute);
}

int days_since(Instant at, std::string_view zone, Day today) {
  return today.n - local(at, zone).day.n;
}

std::string moment(Instant at, std::string_view zone, Day today) {
  const LocalDay here = local(at, zone);
  const std::string time = to_string(here.minute);
  const int ago = today.n - here.day.n;
  if (ago == 0) return time + " today";
  if (ago == 1) return time + " yesterday";
  if (ago > 1 && ago < 7) return weekday(here.day) + " " + time;
  return to_string(here.day) + " " + time;
}

}  // namespace baybook::tool::render
